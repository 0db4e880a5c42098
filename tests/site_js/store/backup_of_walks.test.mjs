import assert from "node:assert/strict";
import { test } from "node:test";

import { writeCopy } from "../../../site/static/js/store/backup.mjs";
import { back } from "../copies_for_tests.mjs";
import { begun, daily, event, no, phased } from "../walks_for_tests.mjs";

test("a copy carries walks and eyewash checks whole, and refuses them misshapen", async () => {
  const first = begun();
  const no = event("walk_answered", { point: "weigh-a", answer: "no" });
  const words = { what: "a", question: "b", stop: "c" };
  const point = { key: "own:0", phase: "weigh" };
  const all = [
    { ...first, reason: "The first one here", own: [{ ...point, ...words }] },
    no,
    event("walk_cleared", { clears: no.id, person: "Q", reason: "mended" }),
    event("walk_signed", { person: "R", initials: "", path: "M10 20L30 40" }),
    event("eyewash_checked", { person: "Q", subject: "eyewash:weekly" }),
    event("eyewash_checked", { person: "Q", subject: "eyewash:yearly", day: "2026-10-30", order: "yes", way_free: "no", tepid: "yes" }),
    event("walk_taken_back", { takes: no.id }),
    event("walk_closed"),
    event("walk_signed", { person: "R", initials: "R", path: "", language: "es" }),
    { ...begun(), own: [{ ...point, en: words }, { ...point, es: words }, { ...point, en: words, es: words }] },
    { ...phased() },
    event("walk_signed", { person: "R", initials: "R", path: "", phases: ["weigh"] }),
    daily(),
    event("trained", { subject: "block:QM-1/1", person: "Q", helper: "R", reason: null }),
    event("trained", { subject: "block:QM-1/1", person: "Q", helper: null, reason: "Alone", daily: "missing", stopped: "walk:d1", took_over: true }),
    event("saved", { subject: "safety:safety", values: { "own.0.what": "a", "lift_g": "18", "lift_g.unit": "kg" } }),
  ];
  const read = await back(await writeCopy([all]));
  assert.deepEqual(read.events, all);
  const misshapen = [
    { ...no, answer: "maybe" },
    ...[{}, { weigh: [] }, { weigh: "weigh-a" }, ["weigh"]].map((by_phase) => ({ ...phased(), by_phase })),
    { ...begun(), way: "by heart" },
    event("walk_signed", { person: "R", initials: "R", path: "", phases: [] }),
    event("trained", { subject: "block:QM-1/1", person: "Q", helper: null, reason: "Alone", daily: "perhaps" }),
    { ...all[3], path: "M10 20\"/><script>" },
    { ...all[4], subject: "eyewash:daily" },
    { ...all[0], points: [] },
    { ...all[0], reason: "" },
    { ...no, html: "<b>" },
    { ...no, language: "fr" },
    { ...all[5], day: "2026-02-30" },
    { ...all[5], tepid: "cold" },
    ...[{ ...point }, { ...point, en: { what: "a", question: "b" } }, { ...point, fr: words }, { ...point, ...words, en: words }, { ...words }].map(
      (wrong) => ({ ...first, own: [wrong] }),
    ),
  ];
  for (const wrong of misshapen) {
    assert.deepEqual(await back(await writeCopy([[wrong]])), { refused: "import-format" });
  }
});
