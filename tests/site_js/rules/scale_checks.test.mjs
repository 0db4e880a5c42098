/** The check of a scale holds for a shift: one day, one person, one scale, asked of the same things, and never after a move. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { askedBy, checkThatHolds, vesselScale } from "../../../site/static/js/rules/scale_checks.mjs";

const SAID = "Floor scale stands level. Stop if it doesn't come to zero.";
const event = (time, kind, fields = {}) => {
  const at = `2026-11-25T${time}:00.000Z`;
  return { id: `${time}${kind}`, at, local: at, kind, subject: "scale_check:Floor", scale: "Floor", person: "Ana", said: SAID, ...fields };
};
const today = ({ at }) => at.startsWith("2026-11-25");
const CHECKED = event("07:00", "scale_checked");
const holds = (events, { scale = "Floor", said = SAID, person = "Ana", isToday = today } = {}) =>
  checkThatHolds(events, scale, said, person, isToday)?.id ?? null;

test("it holds for later blocks of the day, whoever writes the name how", () => {
  assert.equal(holds([CHECKED]), CHECKED.id);
  assert.equal(holds([CHECKED], { person: " ana " }), CHECKED.id);
});

test("another day, person or scale is asked anew, and so is another check weight", () => {
  assert.equal(holds([CHECKED], { isToday: () => false }), null);
  assert.equal(holds([CHECKED], { person: "Bea" }), null);
  assert.equal(holds([CHECKED], { scale: "Bench" }), null);
  assert.equal(holds([CHECKED], { said: `${SAID} 20 kg` }), null);
  assert.equal(holds([]), null);
});

test("a scale that was moved is asked again, by whomever it was moved and in whatever order the events come", () => {
  const moved = event("08:00", "scale_moved", { person: "Bea" });
  const again = event("08:05", "scale_checked");
  for (const [events, expected] of [[[CHECKED, moved], null], [[moved, CHECKED], null], [[again, moved, CHECKED], again.id]]) {
    assert.equal(holds(events), expected);
  }
  assert.equal(holds([CHECKED, event("08:00", "scale_moved", { scale: "Bench" })]), CHECKED.id);
});

test("the vessel's scale is the one on which something is weighed into it; what a check asks is its words", () => {
  const steps = [
    { kind: "weigh", scale: "Bench", gross_text: null }, { kind: "confirm", scale: null, gross_text: "11.40" },
    { kind: "weigh", scale: "Floor", gross_text: "27.14" },
  ];
  assert.equal(vesselScale(steps), "Floor");
  assert.equal(vesselScale(steps.slice(0, 2)), null);
  assert.equal(askedBy({ how: "Level.", stop: null }), "Level.");
});
