import assert from "node:assert/strict";
import { createHash, randomBytes } from "node:crypto";
import { readFile } from "node:fs/promises";
import { test } from "node:test";
import { countByKind, ofTheFuture, readCopy } from "../../../site/static/js/store/backup.mjs";
import { canonical } from "../../../site/static/js/rules/canonical.mjs";
import { newEvent } from "../../../site/static/js/store/events.mjs";
import { Sha256 } from "../../../site/static/js/store/sha256.mjs";
import { back, copyOf } from "../copies_for_tests.mjs";

const EVENTS = [
  newEvent("saved", "mould:m-a", { values: { name: "Mould “A” ½" } }),
  newEvent("saved", "formula:f-a", { values: { name: "Plain" }, revision: 3 }),
  newEvent("issued", "batch:QM-1", { code: "QM-1", html: "<p>1</p>", formula: { id: "f", revision: 1, event: "e", name: "P" } }),
  newEvent("removed", "mould:m-a"),
  newEvent("settings", "settings:shop", { values: { units: "us" } }),
  newEvent("demo_cleared", "demo:workshop"),
];

const refusal = async (text) => (await readCopy(new Blob([text]))).refused;

/** By the library of Node (OpenSSL). @param {string | Uint8Array} content */
const sha256 = (content) => createHash("sha256").update(content).digest("hex");

/** A copy with a right digest around whatever events. */
const around = (events) =>
  canonical({ format: "tarewell-records", version: 1, events, sha256: sha256(canonical(events)) });

/** Piece by piece, in pieces of any length. @param {Uint8Array} bytes */
function inPieces(bytes) {
  const sum = new Sha256();
  for (let at = 0, length = 0; at < bytes.length; at += length) {
    length = 1 + Math.floor(Math.random() * 150);
    sum.update(bytes.subarray(at, at + length));
  }
  return sum.hex();
}

test("SHA-256 is that of FIPS 180-4 (its examples), and OpenSSL's for any length in any pieces", () => {
  // NIST, FIPS 180-4 example values: "abc", and the text of 448 bits
  assert.equal(inPieces(new TextEncoder().encode("abc")), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  const long = new TextEncoder().encode("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq");
  assert.equal(inPieces(long), "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  for (let length = 0; length < 300; length += 1) {
    const bytes = randomBytes(length);
    assert.equal(inPieces(bytes), sha256(bytes), `${length} bytes`);
  }
});

test("canonical JSON orders keys and leaves out white space", () => {
  assert.equal(canonical({ b: [1, { d: null, c: "é\n" }], a: true }), '{"a":true,"b":[1,{"c":"é\\n","d":null}]}');
});

test("a copy comes back as it went, and is the same bytes for the same records", async () => {
  const text = await copyOf(EVENTS);
  const { events } = await back(new Blob([text]));
  assert.equal(await copyOf([...EVENTS].reverse()), text);
  assert.deepEqual(new Set(events.map(({ id }) => id)), new Set(EVENTS.map(({ id }) => id)));
  assert.deepEqual([...countByKind(events).values()].reduce((a, b) => a + b), EVENTS.length);
});

test("a changed character anywhere, or a lost end, is refused", async () => {
  const text = await copyOf(EVENTS);
  for (let place = 0; place < text.length; place += 7) {
    const changed = text.slice(0, place) + (text[place] === "7" ? "8" : "7") + text.slice(place + 1);
    assert.ok(await refusal(changed), `at ${place}`);
    assert.ok(await refusal(text.slice(0, place)), `cut at ${place}`);
  }
});

test("a file that is too big is refused unread", async () => {
  const file = { size: 2 * 1024 ** 3 + 1, slice: () => assert.fail("read") };
  assert.deepEqual(await readCopy(file), { refused: "import-too-big" });
});

const [good] = EVENTS;
const BAD = {
  "an unknown key": { ...good, more: "x" },
  "markup for its id": { ...good, id: "<b>" },
  "markup in its subject": { ...good, subject: 'mould:"><i>' },
  "a kind of item that is none": { ...good, subject: "units:x" },
  "the list of codes for its subject": { ...good, subject: "batch_codes:x" },
  "a field of the prototype": { ...good, values: { "__proto__.x": "1", name: "a" } },
  "a time after the end of the century": { ...good, at: "9999-12-31T23:59:59.999Z" },
  "a local time that is on no calendar": { ...good, local: "2026-99-99T10:00:00+00:00" },
  "settings that are none": { ...EVENTS[4], values: { units: "stone" } },
  "a sheet of no blocks": { ...EVENTS[2], blocks: 0 },
  "a sheet of garbage for its oils": { ...EVENTS[2], oils: "olive" },
  "a sheet of garbage for its chemistry": { ...EVENTS[2], chemistry: { alkalis: [{ relative: 1 }], oils: [], acids: [] } },
  "a sheet without a formula's name": { ...EVENTS[2], formula: { event: "e" } },
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
    assert.equal(await refusal(around([EVENTS[1], event])), "import-format");
  });
}

test("keys that reach an object's prototype are refused", async () => {
  const events = JSON.parse(`[${canonical(good).replace('"name"', '"__proto__"')}]`);
  assert.equal(await refusal(around(events)), "import-format");
});

test("two events under one id are refused", async () => {
  assert.equal(await refusal(around([good, good])), "import-format");
});

test("what is not such a file is refused", async () => {
  assert.equal(await refusal("not json"), "import-not-json");
  // RFC 7946, 1.5: a GeoJSON feature, as another program's file.
  const geo = '{"type":"Feature","geometry":{"type":"Point","coordinates":[125.6,10.1]},"properties":{"name":"Dinagat Islands"}}';
  for (const text of ["[]", "null", "{}", "7", geo]) assert.equal(await refusal(text), "import-not-json", text);
});

test("a copy of practice is refused as that", async () => {
  assert.equal(await refusal((await around([good])).replace("tarewell-records", "tarewell-practice-records")), "import-of-practice");
});

test("a copy of a later version, or with a kind of record of one, is said to be newer", async () => {
  assert.equal(await refusal('{"format":"tarewell-records","version":2,"events":[],"sha256":""}'), "import-newer");
  for (const kind of ["forged", "constructor"]) assert.equal(await refusal(await around([{ ...good, kind }])), "import-newer");
});

test("records of a day to come are found, those of a clock that is a little fast are not", () => {
  const now = Date.parse("2026-11-25T08:00:00.000Z");
  const at = (text) => ({ ...good, at: text });
  const events = [at("2026-11-25T07:00:00.000Z"), at("2026-11-26T07:59:00.000Z"), at("2026-11-26T08:01:00.000Z"), at("2099-01-01T00:00:00.000Z")];
  assert.deepEqual(ofTheFuture(events, now).map(({ at }) => at.slice(0, 10)), ["2026-11-26", "2099-01-01"]);
});

test("every item of the demo workshop comes back from a copy", async () => {
  const demo = JSON.parse(await readFile(new URL("../../../shared/demo/workshop.json", import.meta.url), "utf8"));
  const TOLD = [demo.cure, demo.contents, demo.release_events, demo.packed_events];
  const items = Object.entries(demo).filter(([, list]) => Array.isArray(list) && list[0]?.values && !TOLD.includes(list));
  const saved = items.flatMap(([kind, list]) => list.map(({ id, values }) => newEvent("saved", `${kind}:${id}`, { values })));
  // What lies on its racks and in its tanks, and what was sold, stands there as events that say how many days ago they were.
  const events = [...saved, ...TOLD.flat().map(({ id: _, days_ago: __, kind, subject, ...fields }) => newEvent(kind, subject, fields))];
  assert.ok(events.length > 20);
  assert.equal((await readCopy(new Blob([await copyOf(events)]))).events?.length, events.length);
});

test("a copy that is put down otherwise is read all the same, whatever stands where a slice ends", async () => {
  const around = { format: "tarewell-records", version: 1 };
  // Longer than several slices, with letters of two to four bytes, quotes, brackets and backslashes where they mislead.
  const events = Array.from({ length: 900 }, (_, n) =>
    newEvent("saved", `mould:m-${n}`, { values: { name: `]}é"\\,[{ñ🧼${"x".repeat(n)}\\`, note: '"},{"' } }));
  const content = { sha256: sha256(canonical(events)), ...around, events };
  const file = new Blob([JSON.stringify(content, null, 3)]);
  assert.ok(file.size > 600_000);
  assert.deepEqual((await back(file)).events, events);
});

test("a comma too many, too few or alone is refused", async () => {
  const text = await copyOf(EVENTS);
  for (const [from, to] of [["},{", "},,{"], ["},{", "}{"], ["[{", "[,{"], ["}]", "},]"], ["[{", "[[{"], ["}]", "}]]"]]) {
    assert.ok(await refusal(text.replace(from, to)), `${from} -> ${to}`);
  }
  assert.equal(await refusal(`{"events":[],"more":[],"format":"tarewell-records"}`), "import-not-json");
});

test("a file of no bytes, and one that ends within a letter, are no copy", async () => {
  assert.equal(await refusal(""), "import-not-json");
  assert.equal(await refusal(new TextEncoder().encode('{"events":["ñ').subarray(0, -1)), "import-not-json");
});
