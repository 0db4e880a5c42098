import assert from "node:assert/strict";
import { test } from "node:test";
import { HeardScale, isSameScale, keptOf, Pour } from "../../../site/static/js/rules/heard.mjs";

/** 15.74 kg, taken from 15.72 to 15.76, on a display of 0.02 kg whose valve is shut at 15.30. */
const OIL = { unit: "kg", decimals: 2, division: 2, low: 1572, high: 1576, close_valve: 1530 };

const reading = (count, said = {}) => ({
  name: "Bench scale", at: "2026-12-01T08:00:00.000Z", raw: `ST,NT,${count}kg`, status: "stable", zero: false, net: true, count, unit: "kg", ...said,
});

/** What is shown after each of some readings, a tenth of a second apart. */
function heard(readings, step = OIL) {
  const scale = new HeardScale();
  return readings.map((each, n) => {
    scale.hear(each, n * 100);
    return scale.shows(n * 100, step);
  });
}

test("a reading is taken once two in a row say the same, at rest", () => {
  const [moving, once, twice] = heard([reading("15.70", { status: "moving" }), reading("15.74"), reading("15.74")]);
  assert.deepEqual([moving.mark, moving.count, moving.text], ["moving", null, "15.70"]);
  assert.deepEqual([once.mark, once.count], ["moving", null]);
  assert.deepEqual([twice.mark, twice.count, twice.text], ["stable", 1574, "15.74"]);
});

test("two that say the same digits in two units are not the same", () => {
  const [, second] = heard([reading("15.74", { unit: "lb" }), reading("15.74")]);
  assert.equal(second.count, null);
});

test("another unit is said, shown as no digits and never converted", () => {
  for (const unit of ["lb", "g", "oz", "lb:oz"]) {
    const [, shown] = heard([reading("15.74", { unit }), reading("15.74", { unit })]);
    assert.deepEqual([shown.mark, shown.count, shown.text, shown.unit], ["unit", null, "", unit]);
  }
});

test("overload, dashes, errors, garbage and a scale that is gone are no number", () => {
  for (const status of ["over", "under", "zero_error", "dashes", "garbage", "gone"]) {
    const none = reading(null, { status, unit: null });
    const [, shown] = heard([none, none]);
    assert.deepEqual([shown.mark, shown.count, shown.text], [status, null, ""]);
  }
});

test("below zero is shown and not taken, and other digits than the display has are not", () => {
  const [, below] = heard([reading("-0.50"), reading("-0.50")]);
  assert.deepEqual([below.mark, below.count, below.text], ["below", null, "-0.50"]);
  for (const other of ["15.742", "15.7", "15"]) {
    const [, shown] = heard([reading(other), reading(other)]);
    assert.deepEqual([shown.mark, shown.count, shown.text], ["digits", null, ""]);
  }
  // A zero more says nothing else.
  const [, finer] = heard([reading("15.740"), reading("15.740")]);
  assert.deepEqual([finer.text, finer.count], ["15.74", 1574]);
});

test("three seconds without a word and it's gone, never its last reading", () => {
  const scale = new HeardScale();
  assert.equal(scale.shows(0, OIL), null);
  scale.hear(reading("15.74"), 0);
  scale.hear(reading("15.74"), 100);
  assert.equal(scale.shows(3_000, OIL).count, 1574);
  assert.deepEqual(scale.shows(3_100, OIL), { mark: "gone", text: "", count: null, unit: "", net: null });
});

test("a scale is known by its name, however it's typed", () => {
  assert.ok(isSameScale("Bench  scale", "bench scale "));
  assert.ok(isSameScale("Báscula", "bascula"));
  assert.ok(!isSameScale("bench scale", "floor scale"));
});

test("what was read is kept as it came", () => {
  assert.deepEqual(keptOf(reading("15.74")), {
    scale: "Bench scale", at: "2026-12-01T08:00:00.000Z", raw: "ST,NT,15.74kg", status: "stable", count: "15.74", unit: "kg",
  });
});

/** What is noticed after some counts at rest; "~15.50" is one in motion. */
function noticed(counts, how = {}, step = OIL, said = {}) {
  const scale = new HeardScale();
  const pour = new Pour(step, { gross: false, goesOn: false, ...how });
  let now = 0;
  for (const each of counts) {
    const moving = each.startsWith("~");
    for (let n = 0; n < 2; n += 1) {
      scale.hear(reading(each.replace("~", ""), { ...said, ...(moving ? { status: "moving" } : {}) }), (now += 100));
      pour.hear(scale.shows(now, step));
    }
  }
  return pour.noticed;
}

test("a pour from zero into its band is left alone, and told when to shut the valve", () => {
  assert.equal(noticed(["0.00"]), null);
  assert.equal(noticed(["0.00", "~8.20"]), null);
  assert.equal(noticed(["0.00", "8.20"]), null);
  assert.deepEqual(noticed(["0.00", "~15.40"]), { slip: "valve", at: 1530 });
  assert.equal(noticed(["0.00", "~15.40", "15.74"]), null);
});

test("a display that doesn't stand at zero when the step begins is told, until it does", () => {
  assert.deepEqual(noticed(["11.40"]), { slip: "standing", at: 1140 });
  assert.deepEqual(noticed(["11.40", "~12.00"]), { slip: "standing", at: 1140 });
  assert.equal(noticed(["11.40", "0.00", "~1.00"]), null);
  // Two divisions are no more than a drop or a hand.
  assert.equal(noticed(["0.04"]), null);
  // A page that is opened anew behind the pour asks nothing.
  assert.equal(noticed(["15.74"]), null);
});

test("past the band is told while it still runs", () => {
  assert.deepEqual(noticed(["0.00", "~15.78"]), { slip: "past", at: 1576 });
  assert.equal(noticed(["0.00", "~15.76"]), null);
});

test("a display that goes down is told with what stood there, and one that rises again is not", () => {
  assert.deepEqual(noticed(["0.00", "8.20", "7.90"]), { slip: "fell", at: 820 });
  assert.equal(noticed(["0.00", "8.20", "8.16"]), null);
  assert.equal(noticed(["0.00", "8.20", "7.90", "8.20"]), null);
});

test("tare in the middle of a pour is told with what was in by then", () => {
  assert.deepEqual(noticed(["0.00", "8.20", "0.00"]), { slip: "emptied", at: 820 });
  assert.deepEqual(noticed(["0.00", "8.20", "0.00", "~3.00"]), { slip: "emptied", at: 820 });
});

test("without tare a display that stands high is as it should be, and one at zero was tared", () => {
  const gross = { ...OIL, low: 2712, high: 2716, close_valve: null };
  assert.equal(noticed(["11.40", "~20.00"], { gross: true }, gross, { net: false }), null);
  assert.deepEqual(noticed(["11.40", "0.00"], { gross: true }, gross, { net: null }), { slip: "untared", at: 0 });
  // And where the display itself says that a tare is off.
  assert.deepEqual(noticed(["~20.00"], { gross: true }, gross, { net: true }), { slip: "untared", at: 0 });
});

test("a step that goes on from what stands there, up or down, is not held against zero", () => {
  assert.equal(noticed(["15.90", "15.80"], { goesOn: true }), null);
});

test("what is no number says nothing of a pour", () => {
  const pour = new Pour(OIL, { gross: false, goesOn: false });
  pour.hear({ mark: "over", text: "", count: null, unit: "", net: null });
  assert.equal(pour.noticed, null);
});
