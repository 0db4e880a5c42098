/** Copies by a hostile hand: refused whole with words that are there, or taken just as they stand. Nothing throws, nothing is touched. */
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { gzipSync } from "node:zlib";
import { canonical } from "../../../site/static/js/rules/canonical.mjs";
import { eventsIn, readCopy } from "../../../site/static/js/store/backup.mjs";
import { newEvent } from "../../../site/static/js/store/events.mjs";
import { gathered } from "../copies_for_tests.mjs";

const TEMPLATE = readFileSync(new URL("../../../site/pages/templates/_words.html", import.meta.url), "utf-8");
const WORDS = new Set([...TEMPLATE.matchAll(/data-word="([\w-]+)"/g)].map(([, key]) => key));

const ASKED = { target: 1634, low: 1632, high: 1636, decimals: 2, unit: "kg", division: 2 };
const EVENTS = [
  newEvent("saved", "mould:m-a", { values: { name: "Oak", "height_mm.unit": "in" } }),
  newEvent("issued", "batch:QM-1", { code: "QM-1", html: "<p>1</p>", blocks: 2, formula: { event: "e", name: "Marsh" }, cautions: [{ code: "a" }], inputs: { shop: { a: { b: "c" } } } }),
  newEvent("weighed", "block:QM-1/1", { person: "Q", step: "oil:0", reading: "16.34", unit: "kg", lot: null, asked: ASKED, question: null, mode: "net" }),
  newEvent("closed", "block:QM-1/1", { person: "Q", outcome: "poured", reason: "", record: { amounts: [{ pour: "oil:0", actual_g: 1 }] }, html: "" }),
];

/** @param {string} text */
const sha256 = (text) => createHash("sha256").update(text).digest("hex");

/** With a digest that fits whatever stands there. @param {string} events */
const around = (events) => `{"events":${events},"format":"tarewell-records","sha256":"${sha256(events)}","version":1}`;

/** @param {string | Uint8Array} content @returns {Promise<string | undefined>} Why it was refused. */
async function refusal(content) {
  const read = await readCopy(new Blob([content]));
  if ("refused" in read) assert.ok(WORDS.has(read.refused), `no words for ${read.refused}`);
  assert.deepEqual(Object.keys(Object.prototype), []);
  assert.equal({}.polluted, undefined);
  return read.refused;
}

test("a copy with any one byte changed is refused, and so is one cut at any place", async () => {
  const bytes = Buffer.from(around(canonical(EVENTS.slice(0, 3))));
  assert.equal(await refusal(bytes), undefined);
  for (let at = 0; at < bytes.length; at += 1) {
    const changed = Buffer.from(bytes);
    changed[at] ^= 1 << (at % 8);
    assert.ok(await refusal(changed), `byte ${at}`);
    assert.ok(await refusal(bytes.subarray(0, at)), `cut at ${at}`);
  }
});

/** What stands in place of a value, as JSON text. */
const HOSTILE = [
  '{"__proto__":{"polluted":1}}', '{"constructor":{"prototype":{"polluted":1}}}', '{"__proto__":null}', '"__proto__"', "1e400", "-1e400", "1e308",
  "9007199254740993", "0.1e-400", "-0", "null", "[]", "{}", '""', "[[[[[[[[[[[[1]]]]]]]]]]]]", `${"[".repeat(50_000)}${"]".repeat(50_000)}`,
  `"${"x".repeat(1_000_001)}"`, '"<img src=x onerror=alert(1)>"', '"</script><script>alert(1)</script>"', '"\\u0000"', '"\\ud800"', '"\\u202e"', '"javascript:alert(1)"',
  '{"toString":1,"valueOf":1,"hasOwnProperty":1}', `{${Array.from({ length: 5001 }, (_, n) => `"k${n}":1`).join(",")}}`, `[${"1,".repeat(5001)}1]`, "true",
];

/** Every place in a value. @param {any} value @param {(string | number)[]} [path] @returns {(string | number)[][]} */
const places = (value, path = []) => [
  ...(path.length > 0 ? [path] : []),
  ...(typeof value === "object" && value !== null ? Object.entries(value).flatMap(([key, held]) => places(held, [...path, key])) : []),
];

/** The text of a value with another text at one place. @param {any} value @param {(string | number)[]} path @param {string} text */
function withText(value, [key, ...rest], text) {
  const parts = Object.keys(value).sort().map((name) => {
    const inner = name !== String(key) ? canonical(value[name]) : rest.length === 0 ? text : withText(value[name], rest, text);
    return Array.isArray(value) ? inner : `${JSON.stringify(name)}:${inner}`;
  });
  return Array.isArray(value) ? `[${parts.join(",")}]` : `{${parts.join(",")}}`;
}

test("whatever stands at any place of an event: refused, or taken letter by letter as it stands", async () => {
  let taken = 0;
  let refused = 0;
  for (const event of EVENTS) {
    for (const path of places(event)) {
      for (const text of HOSTILE) {
        const events = `[${withText(event, path, text)}]`;
        const content = around(events);
        if (await refusal(content)) refused += 1;
        else {
          taken += 1;
          assert.equal(canonical(await gathered(eventsIn(new Blob([content]), sha256(events)))), canonical(JSON.parse(events)), `${path} ${text.slice(0, 40)}`);
          // Only where a person's own words, or things that nothing reads, may stand; an id may be any plain letters.
          assert.ok(!["id", "at", "local", "kind", "subject"].includes(path[0]) || (path[0] === "id" && text === '"__proto__"'), `${path}: ${text.slice(0, 40)}`);
        }
      }
    }
  }
  assert.ok(taken > 20 && refused > 5 * taken, `${taken} taken, ${refused} refused`);
});

test("a key that no record has is refused at every depth that is declared", async () => {
  for (const key of ["__proto__", "constructor", "prototype", "more", "<b>"]) {
    for (const event of EVENTS) {
      const text = canonical(event).replace("{", `{${JSON.stringify(key)}:1,`);
      assert.ok(await refusal(around(`[${text}]`)), `${key} in ${event.kind}`);
    }
  }
});

test("archives are never unpacked, whatever they would become", async () => {
  const bomb = gzipSync(Buffer.alloc(50_000_000));
  for (const bytes of [bomb, Buffer.concat([Buffer.from("PK\x03\x04"), bomb]), gzipSync(around(canonical(EVENTS)))]) {
    assert.equal(await refusal(bytes), "import-not-json");
  }
});

test("wrong digests of every sort are damage", async () => {
  const good = around(canonical(EVENTS));
  for (const digest of ["", "0".repeat(64), "x", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"]) {
    assert.equal(await refusal(good.replace(/"sha256":"\w+"/, `"sha256":"${digest}"`)), "import-damaged");
  }
  for (const digest of ["null", "1", "[]"]) assert.ok(await refusal(good.replace(/"sha256":"\w+"/, `"sha256":${digest}`)));
});
