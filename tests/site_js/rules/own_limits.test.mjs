import assert from "node:assert/strict";
import { test } from "node:test";

import { ownLimit, plainNumber } from "../../../site/static/js/rules/own_limits.mjs";

// NIOSH lifting equation, load constant 23 kg (51 lb), on a page of CCOHS; 29 CFR 1910.242(b): 30 psi.
const LIFT = [["kg", "kg", 23], ["lb", "lb", 51]];
const AIR = [["", "psi", 30]];
// ANSI/ISEA Z358.1: tepid water from 60 °F (16 °C).
const TEPID = [["degC", "°C", 16], ["degF", "°F", 60]];
const lift = (text, unit) => ownLimit({ lift_g: text, "lift_g.unit": unit }, "lift_g", "most", LIFT);

test("a stricter limit is shown in the unit in which it was typed", () => {
  assert.equal(lift("18", "kg"), "18\u00a0kg");
  assert.equal(lift(" 22,5 ", "kg"), "22.5\u00a0kg");
  assert.equal(lift("40", "lb"), "40\u00a0lb");
  assert.equal(ownLimit({ air_psi: "25" }, "air_psi", "most", AIR), "25\u00a0psi");
  assert.equal(ownLimit({ t: "64.0", "t.unit": "degF" }, "t", "least", TEPID), "64\u00a0°F");
  assert.equal(ownLimit({ t: "18" }, "t", "least", TEPID), "18\u00a0°C");
  assert.equal(ownLimit({ n: "8" }, "n", "most", [["", "", 10]]), "8");
});

test("a looser one, the same one and what is no plain number are none", () => {
  for (const [text, unit] of [["24", "kg"], ["23", "kg"], ["52", "lb"], ["0", "kg"], ["-5", "kg"], ["18 kg", "kg"], ["1/2", "kg"], ["18", "stone"], ["", "kg"]]) {
    assert.equal(lift(text, unit), "", text);
  }
  assert.equal(ownLimit({}, "lift_g", "most", LIFT), "");
  assert.equal(ownLimit({ t: "15", "t.unit": "degC" }, "t", "least", TEPID), "");
});

test("what the form takes for a whole number is one here, and nothing else", () => {
  // As calc/entry/quantity_text.py reads them: point or comma, no exponent, no sign, no other base.
  for (const [text, number] of [["3", 3], ["3.0", 3], ["3,0", 3], ["03", 3]]) assert.equal(plainNumber(text), number, text);
  for (const text of ["", "-3", "+3", "3e1", "0x3", "1.000.0", "3 ", "½", "Infinity"]) assert.ok(Number.isNaN(plainNumber(text)), text);
});
