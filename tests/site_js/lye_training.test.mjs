import assert from "node:assert/strict";
import { test } from "node:test";
import { answerOf, standing, stillHolds } from "../../site/static/js/page/scale/lye_training.mjs";

const PHASES = ["tank", "mix"];
const trained = (helper) => ({
  helper, guide: "Q", reason: "", languages: [], way: "", phases: PHASES, points: ["tank-a", "mix-a"], day: "2026-11-01",
  until: "2027-11-01", again: [], lapsed: [], initials: "R", path: "",
});
const STOP = { subject: "walk:w9", helper: "Ana", phases: ["tank"] };
const record = (stops = []) => ({ all: [trained("Bea")], stops, required: { tank: ["tank-a"], mix: ["mix-a"] } });
const now = (person, stops) => standing(record(stops), PHASES, "2026-11-26", person);
const said = (fields) => ({ id: "t", at: "", local: "", kind: "trained", subject: "block:QM-1/1", person: "Ana", ...fields });
const BEA = said({ helper: "Bea", until: "2027-11-01", reason: null });

test("a stop of the person at the scale counts, whoever else's training covers the lye", () => {
  assert.deepEqual(now(" ána ", [STOP]), { helpers: [{ helper: "Bea", until: "2027-11-01" }], stop: "walk:w9" });
  assert.equal(now("Quill", [STOP]).stop, "");
  assert.equal(now("Ana", [{ ...STOP, phases: ["lift"] }]).stop, "");
});

test("what was said holds until a stop comes of who said it, or of the helper who was named", () => {
  assert.ok(stillHolds(BEA, now("Ana", [])));
  assert.ok(!stillHolds(BEA, now("Ana", [STOP])));
  assert.ok(!stillHolds(BEA, now("Ana", [{ ...STOP, helper: "bea" }])));
  assert.ok(stillHolds(said({ helper: null, reason: "Alone" }), now("Ana", [{ ...STOP, helper: "bea" }])), "nobody was named");
  assert.ok(!stillHolds(said({ helper: null, reason: "Alone" }), now("Ana", [STOP])));
});

test("a stop that a reason was given for is not asked about again, another one is", () => {
  const known = { ...BEA, reason: "Hose is mended", stopped: "walk:w9" };
  assert.ok(stillHolds(known, now("Ana", [STOP])));
  assert.ok(stillHolds(known, now("Ana", [])));
  assert.ok(!stillHolds(known, now("Ana", [{ ...STOP, subject: "walk:w10" }])));
});

test("the last answer of the same person on that day counts", () => {
  const events = [said({ id: "1", at: "old" }), said({ id: "2", at: "new" }), said({ id: "3", at: "new", person: "aná" }), said({ id: "4", at: "new", person: "Bo" })];
  const ofToday = ({ at }) => at === "new";
  assert.equal(answerOf(events, "Ana", ofToday)?.id, "3");
  assert.equal(answerOf(events.slice(0, 1), "Ana", ofToday), undefined);
});
