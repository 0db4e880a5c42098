import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { readCopy, writeCopy } from "../../../site/static/js/store/backup.mjs";
import { clock } from "../../../site/static/js/store/clock.mjs";
import { append, everyEvent, merge, newEvent, Unfit, workshopEvents } from "../../../site/static/js/store/events.mjs";
import { back } from "../copies_for_tests.mjs";
import { allEvents, freshDatabase } from "../database_for_tests.mjs";
import { EVERY_KIND, ofKind, wholeShape } from "../shapes_for_tests.mjs";

beforeEach(freshDatabase);

/** Whether the store takes an event. */
const taken = (event) => append(event).then(() => true, (error) => {
  if (error instanceof Unfit) return false;
  throw new Error(`${event.kind} ${JSON.stringify(event).slice(0, 300)} ${error.cause?.stack}`);
});
const comesBack = async (event) => (await readCopy(await writeCopy([[event]]))).events?.length === 1;

/** What may go wrong with a field: texts around each length that stands in the declaration, what is no such thing, what JSON hasn't. */
function* spoilt(shape, value) {
  if (typeof value === "string") {
    const { maxLength: most = 300 } = wholeShape(shape);
    for (const n of [0, most, most + 1]) yield "w".repeat(n);
    yield* ["<b>", "\u0000", "\ud800", ...(most === 300 ? ["a".repeat(1_000_001)] : [])];
  } else if (shape === "values") {
    for (const n of [5000, 5001]) yield { ...value, notes: "w".repeat(n) };
    yield* [{ "Not a name": "a" }, { a: 1 }, { a: undefined }];
  } else if (typeof value === "object") {
    yield* [[], {}, "a", Array(600).fill(Array.isArray(value) ? value[0] : value)];
  } else {
    yield* [-1, 0.5, Number.NaN, 1e300, "1", !value];
  }
  yield* [null, undefined];
}

test("what is stored comes back out of a copy, and what doesn't come back is not stored, whatever the kind and the field", async () => {
  let n = 0;
  let refused = 0;
  const tried = async (kind, subject, fields) => {
    const event = newEvent(kind, subject, fields);
    const [stored, good] = [await taken(event), await comesBack(event)];
    assert.equal(stored, good, `${kind}: ${Object.entries(fields).map(([key, held]) => `${key}=${String(JSON.stringify(held)).slice(0, 60)}`)}`);
    refused += stored ? 0 : 1;
    return stored;
  };
  for (const kind of EVERY_KIND) {
    const { declared } = ofKind(kind, "A");
    const shapes = { ...declared.must, ...declared.may };
    const next = () => ofKind(kind, `Q-${(n += 1)}`);
    const whole = next();
    assert.ok(await tried(kind, whole.subject, whole.fields), `a whole ${kind} is refused`);
    for (const [field, shape] of Object.entries(shapes)) {
      for (const value of spoilt(shape, whole.fields[field])) {
        const { subject, fields } = next();
        await tried(kind, subject, { ...fields, [field]: value });
      }
    }
    const { subject, fields } = next();
    await tried(kind, subject, { ...fields, more: 1 });
  }
  const all = [];
  for await (const some of everyEvent()) all.push(...some);
  assert.ok(all.length > 500 && refused > 500, `${all.length} stored, ${refused} refused`);
  // Together too, as a workshop's own copy.
  const { events } = await back(await writeCopy([all]));
  assert.equal(events.length, all.length);
});

test("a name pasted too long is not stored, and it is said how long it may be", async () => {
  const name = "CI 77891 (and) Mica ".repeat(11);
  const error = await append(newEvent("inci_confirmed", "inci:clay@f-1", { person: "Q", name })).catch((found) => found);
  assert.ok(error instanceof Unfit);
  // shared/records/shapes.json: a name has at most 200 characters.
  assert.deepEqual(error.misfit, { field: "name", length: 220, most: 200 });
  const long = await append(newEvent("saved", "formula:f-1", { values: { notes: "w".repeat(5001) }, revision: 1 })).catch((found) => found);
  assert.deepEqual(long.misfit, { field: "values", length: 5001, most: 5000 });
  assert.deepEqual(await allEvents(), []);
});

test("nothing of what is stored together goes in without the rest", async () => {
  const good = newEvent("saved", "mould:m-1", { values: { name: "Oak" } });
  const bad = newEvent("inci_confirmed", "inci:clay@f-1", { person: "Q", name: "" });
  await assert.rejects(append(good, undefined, [bad]), Unfit);
  await assert.rejects(merge([good, bad]), Unfit);
  await assert.rejects(merge([good, null]), Unfit);
  assert.deepEqual(await allEvents(), []);
});

test("a change of what is dated at the end of time is refused, not stored where no copy reads it", async (context) => {
  const last = { ...newEvent("saved", "formula:f-1", { values: { name: "Reed" }, revision: 1 }), at: "2099-12-31T23:59:59.998Z" };
  await merge([last]);
  const next = (revision) => append(newEvent("saved", "formula:f-1", { values: { name: "Reed" }, revision }));
  assert.equal((await next(2)).at, "2099-12-31T23:59:59.999Z");
  await assert.rejects(next(3), (error) => error instanceof Unfit && error.misfit.field === "at");
  assert.equal((await workshopEvents()).length, 2);
  assert.ok("events" in (await readCopy(await writeCopy([await allEvents()]))));
  // A wrong clock of this phone is another thing, and passes once it is set right.
  context.mock.method(clock, "now", () => Date.parse("2100-01-01T00:00:00Z"));
  await assert.rejects(append(newEvent("removed", "mould:m-1")), { code: "store-clock" });
});

test("a copy says how many of its records no phone would take: an older build may have stored some", async () => {
  const good = newEvent("saved", "mould:m-1", { values: { name: "Oak" } });
  const bad = newEvent("inci_confirmed", "inci:clay@f-1", { person: "Q", name: "w".repeat(201) });
  let unfit = 0;
  const copy = await writeCopy([[good, bad], [good]], (n) => (unfit += n));
  assert.equal(unfit, 1);
  assert.match(await copy.text(), /w{201}/);
});
