import assert from "node:assert/strict";
import { test } from "node:test";
import { clock } from "../../../site/static/js/store/clock.mjs";

const page = (/** @type {string} */ lang, /** @type {string[]} */ languages) => {
  Object.assign(globalThis, { document: { documentElement: { lang } } });
  Object.defineProperty(globalThis, "navigator", { value: { languages }, configurable: true });
};
page("en", ["en-US"]);
const { dateWords, tellTimes, timeWords, typedWays, whenWords } = await import("../../../site/static/js/frame/when.mjs");
// Newer browsers put a narrow no-break space before AM and PM.
const plain = (/** @type {string} */ text) => text.replaceAll(/[\u00a0\u202f]/g, " ");

test("a time is told as the clock showed it where it was written, whatever the zone of this device", () => {
  clock.now = () => Date.parse("2026-12-01T12:00:00Z");
  for (const zone of ["Z", "-06:00", "+13:00", ""]) {
    assert.equal(plain(timeWords(`2026-11-25T14:36:00${zone}`)), "2:36 PM");
    assert.equal(plain(whenWords(`2026-11-25T14:36:00${zone}`)), "Nov 25, 2:36 PM");
  }
  assert.equal(plain(whenWords("2025-11-25 14:36")), "Nov 25, 2025, 2:36 PM");
  assert.equal(dateWords("2026-11-25"), "Wed, Nov 25");
});

test("a reader who keeps to twenty-four hours sees them, in Spanish too", () => {
  page("en", ["en-GB"]);
  assert.equal(timeWords("2026-11-25T14:36"), "14:36");
  page("es", ["en-US", "es-ES"]);
  assert.equal(timeWords("2026-11-25T14:36"), "14:36");
  page("en", ["en-US"]);
});

test("the times of a frozen sheet are told the same way, and words that are none stay", () => {
  const time = (/** @type {string} */ datetime, /** @type {string} */ tells) => ({ dataset: tells ? { tells } : {}, textContent: "as frozen", getAttribute: () => datetime });
  const all = [time("2026-11-25T14:36", "time"), time("2026-11-25", "day"), time("2026-11-25T14:36", ""), time("soon", "when")];
  tellTimes(/** @type {any} */ ({ querySelectorAll: () => all }));
  assert.deepEqual(all.map(({ textContent }) => plain(textContent)), ["2:36 PM", "Wed, Nov 25", "as frozen", "soon"]);
});

test("a day is found by its month in full and by the figures that a reader types", () => {
  page("en", ["en-US"]);
  assert.deepEqual(typedWays("2026-11-05"), ["November 5, 2026", "11/5/2026", "11/05/2026"]);
  page("es", ["es-MX"]);
  assert.match(typedWays("2026-11-05")[0] ?? "", /5 de noviembre/);
  page("en", ["en-US"]);
});
