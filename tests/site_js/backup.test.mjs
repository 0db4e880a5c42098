import assert from "node:assert/strict";
import { test } from "node:test";
import { countByKind, readCopy, writeCopy } from "../../site/static/js/store/backup.mjs";
import { canonical, sha256 } from "../../site/static/js/store/canonical.mjs";
import { newEvent } from "../../site/static/js/store/events.mjs";

const EVENTS = [
  newEvent("saved", "mould:m-a", { values: { name: "Mould “A” ½" } }),
  newEvent("saved", "formula:f-a", { values: { name: "Plain" }, revision: 3 }),
  newEvent("issued", "batch:QM-1", { code: "QM-1", html: "<p>1</p>", formula: { id: "f", revision: 1, event: "e", name: "P" } }),
  newEvent("removed", "mould:m-a"),
  newEvent("settings", "settings:shop", { values: { units: "us" } }),
  newEvent("demo_cleared", "demo:workshop"),
];

const refusal = async (text) => (await readCopy(new Blob([text]))).refused;

/** A copy with a right digest around whatever events. */
const around = async (events) =>
  canonical({ format: "tarewell-records", version: 1, events, sha256: await sha256(canonical(events)) });

test("SHA-256 is that of FIPS 180-4 (its example, the text abc)", async () => {
  // NIST, FIPS 180-4 example values: "abc"
  assert.equal(await sha256("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
});

test("canonical JSON orders keys and leaves out white space", () => {
  assert.equal(canonical({ b: [1, { d: null, c: "é\n" }], a: true }), '{"a":true,"b":[1,{"c":"é\\n","d":null}]}');
});

test("a copy comes back as it went, and is the same bytes for the same records", async () => {
  const text = await writeCopy(EVENTS);
  const { events } = await readCopy(new Blob([text]));
  assert.equal(await writeCopy([...events].reverse()), text);
  assert.deepEqual(new Set(events.map(({ id }) => id)), new Set(EVENTS.map(({ id }) => id)));
  assert.deepEqual([...countByKind(events).values()].reduce((a, b) => a + b), EVENTS.length);
});

test("a changed character anywhere, or a lost end, is refused", async () => {
  const text = await writeCopy(EVENTS);
  for (let place = 0; place < text.length; place += 7) {
    const changed = text.slice(0, place) + (text[place] === "7" ? "8" : "7") + text.slice(place + 1);
    assert.ok(await refusal(changed), `at ${place}`);
    assert.ok(await refusal(text.slice(0, place)), `cut at ${place}`);
  }
});

test("a file that is too big is refused unread", async () => {
  const file = { size: 400 * 1024 * 1024 + 1, text: () => assert.fail("read") };
  assert.deepEqual(await readCopy(file), { refused: "import-too-big" });
});

const [good] = EVENTS;
const BAD = {
  "an unknown key": { ...good, more: "x" },
  "an unknown kind": { ...good, kind: "forged" },
  "a kind of the prototype": { ...good, kind: "constructor" },
  "no id": { ...good, id: "" },
  "a number for a text": { ...good, values: { name: 1 } },
  "no values": { ...good, values: undefined },
  "a text without end": { ...good, values: { name: "x".repeat(5001) } },
  "a time of another form": { ...good, at: "yesterday" },
  "a subject without kind": { ...good, subject: "m-a" },
  "a sheet under another's code": { ...EVENTS[2], code: "QM-2" },
  "a sheet without html": { ...EVENTS[2], html: undefined },
  "deep nesting": { ...EVENTS[2], inputs: JSON.parse("[".repeat(20) + "]".repeat(20)) },
};
for (const [name, event] of Object.entries(BAD)) {
  test(`an event with ${name} is refused, even with a right digest`, async () => {
    assert.equal(await refusal(await around([EVENTS[1], event])), "import-format");
  });
}

test("keys that reach an object's prototype are refused", async () => {
  const events = JSON.parse(`[${canonical(good).replace('"name"', '"__proto__"')}]`);
  assert.equal(await refusal(await around(events)), "import-format");
});

test("two events under one id are refused", async () => {
  assert.equal(await refusal(await around([good, good])), "import-format");
});

test("what is not such a file is refused", async () => {
  assert.equal(await refusal("not json"), "import-not-json");
  for (const text of ["[]", "null", "{}", '{"format":"tarewell-records","version":2,"events":[],"sha256":""}']) {
    assert.equal(await refusal(text), "import-format");
  }
});
