import assert from "node:assert/strict";
import { test } from "node:test";
import { answerOf, bars, handlesLye, isInMidBlock, saidHere, standing, takenOver, withoutQuestion } from "../../../site/static/js/rules/lye_training.mjs";

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
  assert.deepEqual(now(" ána ", [STOP]), { helpers: [{ helper: "Bea", until: "2027-11-01" }], stop: "walk:w9", place: "" });
  assert.equal(now("Quill", [STOP]).stop, "");
  assert.equal(now("Ana", [{ ...STOP, phases: ["lift"] }]).stop, "");
});

const ORDER = { daily: "held", eyewash: {} };
const ready = (person, stops, fields = {}) => ({ ...now(person, stops), ...ORDER, ...fields });

test("a stop of the place counts for whoever is at the scale, and no answer of before it goes with the next block", () => {
  const eyewash = { ...STOP, place: "daily-eyewash" };
  assert.deepEqual(now("Bea", [eyewash]), { helpers: [{ helper: "Bea", until: "2027-11-01" }], stop: "walk:w9", place: "daily-eyewash" });
  assert.equal(withoutQuestion(ready("Bea", [eyewash]), "Bea", { ...BEA, daily: "held" }), null);
});

test("who is trained, has done the daily check and finds the eyewash in order is asked nothing", () => {
  assert.deepEqual(withoutQuestion(ready("béa", []), "béa", undefined), { helper: "Bea", until: "2027-11-01", reason: null });
  assert.equal(withoutQuestion(ready("Bea", [], { daily: "missing" }), "Bea", undefined), null);
  assert.equal(withoutQuestion(ready("Bea", [], { eyewash: { weekly: "over" } }), "Bea", undefined), null);
  assert.equal(withoutQuestion(ready("Bea", [{ ...STOP, helper: "Bea" }]), "Bea", undefined), null);
  assert.equal(withoutQuestion(ready("Ana", []), "Ana", undefined), null);
});

test("what a person said today at another block goes with the next, unless more is missing by then", () => {
  const alone = said({ helper: null, reason: "Alone", daily: "missing", eyewash: { weekly: "over" } });
  const amiss = { daily: "missing", eyewash: { weekly: "over" } };
  assert.deepEqual(withoutQuestion(ready("Ana", [], amiss), "Ana", alone), { helper: null, reason: "Alone" });
  assert.deepEqual(withoutQuestion(ready("Ana", []), "Ana", alone), { helper: null, reason: "Alone" });
  assert.equal(withoutQuestion(ready("Ana", [], { ...amiss, eyewash: { weekly: "faulty" } }), "Ana", alone), null);
  assert.equal(withoutQuestion(ready("Ana", [], { ...amiss, eyewash: { weekly: "over", yearly: "over" } }), "Ana", alone), null);
  assert.equal(withoutQuestion(ready("Ana", [STOP], amiss), "Ana", alone), null);
  assert.deepEqual(withoutQuestion(ready("Ana", [STOP], amiss), "Ana", { ...alone, stopped: "walk:w9" }), { helper: null, reason: "Alone" });
  assert.equal(withoutQuestion(ready("Ana", [], { daily: "missing" }), "Ana", { ...alone, daily: "held" }), null);
  // The helper who was named has been stopped since. An older event says nothing of a daily check: there was none then.
  const bea = { ...BEA, daily: "held" };
  assert.deepEqual(withoutQuestion(ready("Ana", []), "Ana", bea), { helper: "Bea", until: "2027-11-01", reason: null });
  assert.equal(withoutQuestion(ready("Ana", [{ ...STOP, helper: "bea" }]), "Ana", bea), null);
  assert.equal(withoutQuestion(ready("Ana", []), "Ana", BEA), null);
});

test("between warm oil and lye whoever takes over is kept as they stand, and asked at the next block", () => {
  const weighed = said({ kind: "weighed", at: "2026-11-25T22:30:00.000Z" });
  const mid = (events, now) => isInMidBlock(events, () => false, Date.parse(now));
  assert.equal(mid([weighed], "2026-11-26T01:00:00.000Z"), true);
  assert.equal(mid([weighed], "2026-11-26T07:00:00.000Z"), false);
  assert.equal(mid([], "2026-11-26T01:00:00.000Z"), false);
  const amiss = { daily: "missing", eyewash: { weekly: "over" } };
  assert.deepEqual(takenOver(ready("Ana", [], amiss), "Ana", "took over"), { helper: null, reason: "took over", took_over: true });
  const bea = takenOver(ready("Bea", [], amiss), "bea", "took over");
  assert.deepEqual(bea, { helper: "Bea", until: "2027-11-01", reason: "took over", took_over: true });
  assert.equal(withoutQuestion(ready("Bea", [], amiss), "Bea", said({ ...bea, person: "Bea", ...amiss })), null);
  // Nor does it open a stop.
  assert.equal(bars("walk:w9", said({ ...bea, ...amiss, stopped: "walk:w9" })), true);
});

test("an open stop bars lye whatever reason was given, but for a block begun while a reason was enough", () => {
  const reason = { helper: null, reason: "Hose is mended", stopped: "walk:w9" };
  assert.equal(bars("", said(reason)), false);
  assert.equal(bars("walk:w9", undefined), true);
  assert.equal(bars("walk:w9", said({ ...reason, daily: "held" })), true);
  assert.equal(bars("walk:w9", said(reason)), false);
  assert.equal(bars("walk:w10", said(reason)), true);
});

test("what was said of a block in the evening is not asked for again after midnight, the next morning it is", () => {
  const evening = said({ at: "2026-11-25T22:30:00.000Z" });
  const asked = (now) => saidHere([evening], "Ana", () => false, Date.parse(now));
  assert.equal(asked("2026-11-26T01:00:00.000Z"), evening);
  assert.equal(asked("2026-11-26T07:00:00.000Z"), undefined);
});

test("the last answer of the same person on that day counts", () => {
  const events = [said({ id: "1", at: "old" }), said({ id: "2", at: "new" }), said({ id: "3", at: "new", person: "aná" }), said({ id: "4", at: "new", person: "Bo" })];
  const ofToday = ({ at }) => at === "new";
  assert.equal(answerOf(events, "Ana", ofToday)?.id, "3");
  assert.equal(answerOf(events.slice(0, 1), "Ana", ofToday), undefined);
});

test("lye is told by the kind of the pour, and by its key in steps from before the kind was frozen", () => {
  const step = { key: "add:x:3", pour: "lye:naoh" };
  assert.ok(handlesLye(step));
  assert.ok(handlesLye({ ...step, pour: "x", pour_kind: "alkali" }));
  assert.ok(handlesLye({ ...step, pour: "x", pour_kind: "lye made" }));
  for (const kind of ["oil", "water", "additive", "scent"]) assert.ok(!handlesLye({ key: "x", pour: "x", pour_kind: kind }), kind);
  assert.ok(!handlesLye({ key: "oil:0", pour: "oil:0" }));
  // Drawn, read and dissolved, it is no pour.
  for (const key of ["reserve:lye", "temp:lye", "lye:dissolve"]) assert.ok(handlesLye({ key, pour: null, pour_kind: null }), key);
});
