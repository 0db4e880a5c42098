import { freshDatabase, allEvents } from "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { test } from "node:test";
import { constants, deflateRawSync, inflateRawSync } from "node:zlib";

import { fitsCode, packed, unpacked } from "../../../site/static/js/handover/link.mjs";
import { fromFile, fromLink } from "../../../site/static/js/handover/received.mjs";
import { canonical } from "../../../site/static/js/rules/canonical.mjs";
import { writeCopy } from "../../../site/static/js/store/backup.mjs";
import { append, merge, newEvent } from "../../../site/static/js/store/events.mjs";

const REFUSALS = /^import-(link-(damaged|newer|big|kinds)|of-practice)$/;
/** The same bytes each time, so that each letter of its link is always the same one. */
const FORMULA = {
  ...newEvent("saved", "formula:f-a", {
    values: { name: "Reed Lavender", "oils.0.oil": "olive", "oils.0.share_fraction": "45", "oils.1.oil": "palm", "oils.1.share_fraction": "55", superfat_fraction: "6" },
    revision: 3,
  }),
  id: "f-a-3", at: "2026-11-25T08:00:00.000Z", local: "2026-11-25T08:00:00+00:00",
};

const sha256 = (text) => createHash("sha256").update(text).digest("hex");

/** By the library of Node (zlib), not by the page's own way. @param {string | Uint8Array} content */
const part = (content) => `1.${deflateRawSync(content).toString("base64url")}`;

/** A copy with a right digest around whatever events. */
const around = (events, more = {}) => canonical({ format: "tarewell-records", version: 1, events, sha256: sha256(canonical(events)), ...more });

/** Seeded, so that what is found can be found again: mulberry32. @param {number} seed */
function chance(seed) {
  return () => {
    seed = (seed + 0x6d2b79f5) | 0;
    let t = Math.imul(seed ^ (seed >>> 15), 1 | seed);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** @param {string} text Refused in words, and nothing stored, nor any prototype touched. @param {RegExp} [as] */
async function refused(text, as = REFUSALS) {
  const read = await fromLink(text);
  assert.match(read.refused ?? "let in", as, text.slice(0, 80));
  assert.equal({}.polluted, undefined);
  assert.deepEqual(await allEvents(), []);
}

test("a formula fits into one code, is plain deflate and base64url, and comes back as it went, unsaved", async () => {
  await freshDatabase();
  const text = await packed(await writeCopy([[FORMULA]]));
  assert.match(text, /^1\.[A-Za-z0-9_-]+$/);
  assert.ok(fitsCode(`https://soap.example/take/#${text}`), `${text.length} characters`);
  // RFC 1951 and RFC 4648 by Node's own.
  assert.equal(inflateRawSync(Buffer.from(text.slice(2), "base64url")).toString(), around([FORMULA]));
  const { came, compared } = await fromLink(text);
  assert.deepEqual(came, [FORMULA]);
  assert.equal(compared[0].how, "new");
  assert.deepEqual(await allEvents(), []);
  // Taken in: by id, and twice changes nothing.
  assert.deepEqual([await merge(came), await merge(came)], [1, 0]);
  assert.equal((await fromLink(text)).compared[0].how, "same");
  assert.deepEqual(await allEvents(), [FORMULA]);
});

test("the file that is handed over is a copy in its own format, and is compared with the sheets here", async () => {
  await freshDatabase();
  const sheet = newEvent("issued", "batch:QM-1", { code: "QM-1", html: "<p>1</p>", formula: { id: "f", revision: 1, event: "e", name: "P" } });
  const file = await writeCopy([[sheet]]);
  assert.deepEqual((await fromFile(file)).came, [sheet]);
  await append({ ...sheet, id: "another", html: "<p>2</p>" });
  assert.equal((await fromFile(file)).compared[0].how, "conflict");
});

test("what no link of ours holds is refused in words, and nothing is stored", async () => {
  await freshDatabase();
  const text = await packed(await writeCopy([[FORMULA]]));
  await refused("", /damaged/);
  await refused("1.", /damaged/);
  await refused("1.!!!!", /damaged/);
  await refused("javascript:alert(1)", /damaged/);
  await refused("2.abcd", /newer/);
  await refused(text.replace("1.", "17."), /newer/);
  await refused(`1.${"A".repeat(300_000)}`, /big/);
  // Cut short anywhere; every letter of it changed once.
  for (let n = 2; n < text.length; n += 7) await refused(text.slice(0, n), /damaged/);
  for (let n = 2; n < text.length; n += 1) {
    const letter = text[n] === "A" ? "B" : "A";
    const read = await fromLink(text.slice(0, n) + letter + text.slice(n + 1));
    // Bits behind the end say nothing, neither in the last byte of what is packed (RFC 1951) nor in the last letter of its text
    // (RFC 4648): then it is the very same copy.
    if (!("refused" in read)) assert.deepEqual([n >= text.length - 2, read.came], [true, [FORMULA]]);
  }
  // A wrong digest; of another version; of practice; with more than a copy has.
  await refused(part(around([FORMULA], { sha256: sha256("something else") })), /damaged/);
  await refused(part(around([FORMULA], { version: 2 })), /newer/);
  await refused(part(around([FORMULA], { format: "tarewell-practice-records" })), /practice/);
  await refused(part(around([FORMULA], { more: 1 })), /damaged/);
  await refused(part("<script>alert(1)</script>"), /damaged/);
});

test("an archive that swells is left off as it unpacks, whatever it holds", async () => {
  await freshDatabase();
  // 40 MB of spaces pack into about 40 kB: more than a hundred times what may come out of a link.
  const swollen = deflateRawSync(Buffer.alloc(40_000_000, 32), { level: constants.Z_BEST_COMPRESSION }).toString("base64url");
  assert.ok(swollen.length < 200_000);
  const before = process.memoryUsage().arrayBuffers;
  await refused(`1.${swollen}`, /big/);
  assert.ok(process.memoryUsage().arrayBuffers - before < 20_000_000);
});

test("prototypes, depth, numbers beyond all, records that only a copy may bring: refused, nothing stored", async () => {
  await freshDatabase();
  const raw = (events) => part(`{"events":${events},"format":"tarewell-records","sha256":"${sha256(events)}","version":1}`);
  const of = (fields) => canonical([{ ...FORMULA, ...fields }]);
  await refused(raw(of({}).replace('"values":{', '"values":{"__proto__":{"polluted":"yes"},')));
  await refused(raw(of({}).replace('"values":{', '"__proto__":{"polluted":"yes"},"values":{')));
  await refused(raw(of({}).replace('"values":{', '"values":{"constructor":"x",')));
  await refused(raw(`[${"[".repeat(50_000)}${"]".repeat(50_000)}]`));
  await refused(raw(`[{"a":${'{"a":'.repeat(20_000)}1${"}".repeat(20_000)}}]`));
  for (const number of ["1e400", "-1e400", "1e308", "123456789012345678901234567890", "1.5", "-1"]) {
    await refused(raw(of({}).replace('"revision":3', `"revision":${number}`)), /damaged/);
  }
  await refused(raw(of({}).replace('"superfat_fraction":"6"', '"superfat_fraction":6')));
  await refused(raw(of({ id: "<img src=x onerror=alert(1)>" })));
  await refused(raw(of({ subject: "formula:<b>" })));
  await refused(raw(of({ subject: "formula:../x" })));
  await refused(raw(of({ kind: "from the future" })), /newer/);
  await refused(raw(of({ at: "2999-01-01T00:00:00.000Z" }).replace('"local":"', '"local":"x')));
  await refused(part(around([newEvent("removed", "formula:f-a")])), /kinds/);
  await refused(part(around([FORMULA, newEvent("saved", "person:p-a", { values: { name: "Q" } })])), /kinds/);
  await refused(part(around([newEvent("settings", "settings:shop", { values: { units: "us" } })])), /kinds/);
  // The same number twice.
  await refused(part(around([FORMULA, FORMULA])), /damaged/);
});

test("markup in a name is a name: it comes through as text, for the page to show as such", async () => {
  await freshDatabase();
  const name = "<img src=x onerror=alert(1)>\u202e${x}";
  const { came } = await fromLink(part(around([{ ...FORMULA, values: { ...FORMULA.values, name } }])));
  assert.equal(came[0].values.name, name);
});

test("300 links made by chance out of a good one: none is let in changed, none throws, nothing is stored", async () => {
  await freshDatabase();
  const good = around([FORMULA]);
  let in_ = 0;
  for (let seed = 1; seed <= 300; seed += 1) {
    const dice = chance(seed);
    const pick = (n) => Math.floor(dice() * n);
    let text = good;
    for (let times = 1 + pick(4); times > 0; times -= 1) {
      const [a, b] = [pick(text.length), pick(text.length)].sort((x, y) => x - y);
      const junk = ["", "{", "}", "[", '"', "__proto__", "1e999", "<script>", "\u0000", "\\ud800", text.slice(a, b), "null", ","][pick(13)];
      text = text.slice(0, a) + junk + text.slice(pick(2) ? a : Math.min(b, a + pick(30)));
    }
    const read = await fromLink(part(text));
    if ("refused" in read) assert.match(read.refused, REFUSALS, `seed ${seed}`);
    else {
      in_ += 1;
      assert.deepEqual(read.came, [FORMULA], `seed ${seed}`);
    }
  }
  assert.ok(in_ < 100);
  assert.deepEqual(await allEvents(), []);
  assert.equal({}.polluted, undefined);
});

test("what can't be unpacked by this browser says so", async () => {
  const own = globalThis.DecompressionStream;
  try {
    delete globalThis.DecompressionStream;
    assert.deepEqual(await unpacked("1.abcd"), { refused: "import-link-unable" });
  } finally {
    globalThis.DecompressionStream = own;
  }
});
