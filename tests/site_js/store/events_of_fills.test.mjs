import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { fillSubject } from "../../../site/static/js/rules/fill.mjs";
import { disconnect } from "../../../site/static/js/store/database.mjs";
import { append, blocksInHand, ChangedElsewhere, fillEvents, fillsInHand, merge, newEvent } from "../../../site/static/js/store/events.mjs";
import { allEvents, FAILURES, failAt, freshDatabase, watch } from "../database_for_tests.mjs";

beforeEach(freshDatabase);

const ID = "t-lye.20261201070500";
const issued = () => newEvent("fill_issued", fillSubject(ID), { tank: "t-lye", tank_name: "Lye tank", steps: [], pours: [{ key: "water", name: "Water", grams: 15920 }] });
const closed = (load) => newEvent("fill_closed", fillSubject(ID), { person: "Q", outcome: "poured", load });
const loaded = () => newEvent("tank_loaded", "contents:t-lye", { person: "Q", parts: [{ name: "Water", grams: 15920 }], fill: ID });

test("a fill is in hand from its beginning to its closing, and passes for no block", async () => {
  const first = await append(issued());
  assert.deepEqual(await fillsInHand(), [ID]);
  assert.deepEqual(await blocksInHand(9), []);
  await append(closed(null), first.id);
  assert.deepEqual(await fillsInHand(), []);
  const last = (await fillEvents(ID)).at(-1);
  await append(newEvent("fill_corrected", fillSubject(ID), { person: "Q", corrects: first.id, reading: "1", unit: "kg", reason: "" }), last.id);
  assert.deepEqual(await fillsInHand(), [ID]);
});

test("a fill's end and the tank's load are stored together, once, or neither is", async () => {
  const first = await append(issued());
  const load = loaded();
  const end = closed(load.id);
  await append(end, first.id, [load]);
  // A second try of the same deed, as after a failure that was none.
  await append(end, first.id, [load]);
  assert.deepEqual((await allEvents()).map(({ kind }) => kind).sort(), ["fill_closed", "fill_issued", "tank_loaded"]);
  await assert.rejects(append(closed("x"), first.id, [loaded()]), ChangedElsewhere);
  assert.equal((await allEvents()).length, 3);
});

for (const [name, failure] of Object.entries(FAILURES)) {
  test(`a fill is closed, ${name} at each call in turn: its end and the load are there together or not at all`, async () => {
    for (let nth = 1; ; nth += 1) {
      await freshDatabase();
      const first = await append(issued());
      const load = loaded();
      failAt(nth, failure);
      await append(closed(load.id), first.id, [load]).catch(() => {});
      const { hit } = watch;
      failAt(0, failure);
      await disconnect();
      const kinds = (await allEvents()).map(({ kind }) => kind);
      assert.equal(kinds.includes("fill_closed"), kinds.includes("tank_loaded"), `call ${nth}`);
      if (!hit) break;
    }
  });
}

test("a copy brings fills in hand along", async () => {
  await merge([issued()]);
  assert.deepEqual(await fillsInHand(), [ID]);
  // Of one millisecond either may come first.
  await merge([{ ...closed(null), at: "2099-12-31T00:00:00.000Z" }]);
  assert.deepEqual(await fillsInHand(), []);
});
