import assert from "node:assert/strict";
import { test } from "node:test";
import { foldBlock } from "../../../site/static/js/rules/block.mjs";
import { aboveMost, lack, offeredCounts, onDisplay, pendingKey } from "../../../site/static/js/scale/view.mjs";

const OIL = { key: "oil:0", kind: "weigh", unit: "kg", decimals: 2, target: 1574, low: 1572, high: 1576, gross_text: "27.14", close_valve: null, questions: [] };
const ON = { ...OIL, key: "on:oil:0" };
const NEXT = { ...OIL, key: "oil:1", target: 1050, low: 1048, high: 1052, gross_text: "37.64" };

const asked = (up = 0) => ({ target: 1574 + up, low: 1572 + up, high: 1576 + up, decimals: 2, unit: "kg", division: 2 });
const event = (second, kind, fields) => {
  const at = `2026-11-25T08:00:0${second}.000Z`;
  return { id: `e${second}`, at, local: at, kind, subject: "block:QM-1/1", person: "P", ...fields };
};
const SHORT = event(1, "weighed", { step: "oil:0", reading: "15.00", unit: "kg", mode: "net", asked: asked() });
const DECIDED = event(2, "decided", { step: "oil:0", choice: "pour-on", steps: [ON], replaced: {} });
const ENOUGH = event(3, "weighed", { step: "on:oil:0", reading: "15.74", unit: "kg", mode: "net", asked: asked() });

const pending = (events) => pendingKey(foldBlock([OIL, NEXT], events), events);

test("without tare a pour goes on to where it was meant to end, and the next from where it ended", () => {
  // A vessel of 11.40 kg: 26.40 shown for 27.14, then on to 27.14; at 27.16 the next ends at 37.66.
  Object.assign(globalThis, { HTMLTemplateElement: class {}, CSS: { escape: String }, document: { documentElement: {}, getElementById: () => null, querySelector: () => null } });
  const events = [{ ...SHORT, reading: "26.40", mode: "gross", asked: asked(1140) }, DECIDED];
  assert.equal(onDisplay(foldBlock([OIL, NEXT], events), events, ON).target, 2714);
  const after = [...events, { ...ENOUGH, reading: "27.16", mode: "gross", asked: asked(1140) }];
  assert.equal(onDisplay(foldBlock([OIL, NEXT], after), after, NEXT).target, 3766);
});

test("a count without tare that was frozen as a number counts as its text did in older sheets", () => {
  const [oil, next] = [{ ...OIL, gross: 2714, gross_text: "?" }, { ...NEXT, gross: 3764, gross_text: "?" }];
  const events = [{ ...SHORT, reading: "27.16", mode: "gross", asked: asked(1140) }];
  assert.equal(onDisplay(foldBlock([oil, next], events), events, next).target, 3766);
});

test("without tare a pour that goes on twice is still meant to end where the first was", () => {
  const again = { ...ON, key: "on:on:oil:0" };
  const first = { ...SHORT, reading: "26.40", mode: "gross", asked: asked(1140) };
  const second = { ...event(3, "weighed", { step: "on:oil:0", reading: "26.90", unit: "kg", mode: "gross" }), asked: asked(1140) };
  const on = event(4, "decided", { step: "on:oil:0", choice: "pour-on", steps: [again], replaced: {} });
  const events = [first, DECIDED, second, on];
  assert.equal(onDisplay(foldBlock([OIL, NEXT], events), events, again).target, 2714);
});

test("a pour that was ladled back waits no more, and the next goes on from what stayed", () => {
  const OUT = { ...OIL, key: "out:oil:0" };
  const over = { ...SHORT, reading: "28.40", mode: "gross", asked: asked(1140) };
  const back = event(2, "decided", { step: "oil:0", choice: "ladle", steps: [OUT], replaced: {} });
  assert.equal(pending([over]), "oil:0");
  const events = [over, back];
  assert.equal(pending(events), null);
  assert.equal(onDisplay(foldBlock([OIL, NEXT], events), events, OUT).target, 2714);
  const stays = { ...event(3, "weighed", { step: "out:oil:0", reading: "27.16", unit: "kg", mode: "gross" }), asked: asked(1140) };
  const after = [...events, stays];
  assert.equal(onDisplay(foldBlock([OIL, NEXT], after), after, NEXT).target, 3766);
  const fixed = event(4, "corrected", { corrects: over.id, reading: "28.20", unit: "kg", reason: "misread" });
  assert.equal(pending([...after, fixed]), null);
});

test("without tare a pour goes on from the last one in time, wherever its step stands", () => {
  // Olive is topped up to 38.50 kg after palm stood at 37.64; the next then starts from there, not from palm.
  const more = { ...OIL, key: "add:oil:0:2", target: 86, low: 84, high: 88, gross_text: "38.50" };
  const third = { ...OIL, key: "oil:2", target: 874, low: 872, high: 876, gross_text: "47.24" };
  const events = [
    { ...SHORT, reading: "27.14", mode: "gross", asked: asked(1140) },
    { ...event(2, "weighed", { step: "oil:1", reading: "37.64", unit: "kg", mode: "gross" }), asked: asked(1140) },
    event(3, "decided", { step: "oil:0", choice: "add:oil:0", steps: [more], replaced: {} }),
    { ...event(4, "weighed", { step: "add:oil:0:2", reading: "38.54", unit: "kg", mode: "gross" }), asked: asked(1140) },
  ];
  assert.equal(onDisplay(foldBlock([OIL, NEXT, third], events), events, third).target, 4728);
});

test("a display shows no more than its scale carries, whatever was on it before; a step frozen without that takes all", () => {
  // 13.46 typed without its point on a scale of 150 kg: 1346.00.
  const carries = { ...NEXT, most: 15000 };
  assert.equal(aboveMost(carries, 134600), true);
  assert.equal(aboveMost(carries, 15001), true);
  assert.equal(aboveMost(carries, 15000), false);
  const events = [{ ...SHORT, reading: "27.16", mode: "gross", asked: asked(1140) }];
  assert.equal(aboveMost(onDisplay(foldBlock([OIL, carries], events), events, carries), 15001), true);
  assert.equal(aboveMost({ ...carries, most: null }, 134600), false);
  assert.equal(aboveMost(NEXT, 134600), false);
});

test("a missing answer says why: on its way, off, the app's own fault, or something to put right", () => {
  const none = { lacking: false, off: false, fault: false, problem: "" };
  assert.deepEqual(lack(null, "scale_recovery", ""), none);
  assert.deepEqual(lack({ html: { scale_recovery: "<p>ways</p>" } }, "scale_recovery", ""), none);
  // An answer that came before calculation stopped stays.
  assert.deepEqual(lack({ html: { scale_recovery: "<p>ways</p>" } }, "scale_recovery", "Calculation is off (x)."), none);
  assert.deepEqual(lack(null, "scale_recovery", "Calculation is off (x)."), { ...none, lacking: true, off: true });
  assert.deepEqual(lack({ fault: "StopIteration" }, "scale_recovery", ""), { ...none, lacking: true, fault: true });
  const problems = [{ message: "The display showed less.", remedy: "Correct it." }];
  assert.deepEqual(lack({ html: {}, problems }, "scale_recovery", ""), { ...none, lacking: true, problem: "The display showed less. Correct it." });
});

test("without tare a blend that was added and came short goes on from the blend poured before it", () => {
  const blend = { ...OIL, key: "oil:blend" };
  const added = { ...OIL, key: "add:oil:blend:6:oil:blend", target: 614, low: 612, high: 616, gross_text: "33.28" };
  const on = { ...added, key: `on:${added.key}` };
  const up = { ...asked(2714), target: 3328, low: 3326, high: 3330 };
  const events = [
    { ...SHORT, step: "oil:blend", reading: "27.20", mode: "gross", asked: asked(1140) },
    event(2, "decided", { step: "oil:blend", choice: "add:blend", steps: [added], replaced: {} }),
    { ...event(3, "weighed", { step: added.key, reading: "32.00", unit: "kg", mode: "gross" }), asked: up },
    event(4, "decided", { step: added.key, choice: "pour-on", steps: [on], replaced: {} }),
  ];
  // 27.20 stood for 27.14: the blend added ends 0.06 kg higher than planned, poured on or not.
  assert.equal(onDisplay(foldBlock([blend], events), events, on).target, 3334);
});

test("the readings of a narrow band stand as keys, as the display can show them; lye and wide bands are typed", () => {
  // 15.04 to 15.08 kg in steps of 0.02 kg.
  assert.deepEqual(offeredCounts({ ...OIL, low: 1504, high: 1508, division: 2 }), [1504, 1506, 1508]);
  // 28.1 to 28.5 lb in steps of 0.1 lb.
  assert.deepEqual(offeredCounts({ ...OIL, low: 281, high: 285, division: 1 }), [281, 282, 283, 284, 285]);
  assert.deepEqual(offeredCounts({ ...OIL, low: 1503, high: 1507, division: 2 }), [1504, 1506]);
  assert.equal(offeredCounts({ ...OIL, low: 10, high: 16, division: 1 }).length, 7);
  assert.deepEqual(offeredCounts({ ...OIL, low: 10, high: 17, division: 1 }), []);
  assert.deepEqual(offeredCounts({ ...OIL, low: 1504, high: 1508, division: 2, twice: true }), []);
  assert.deepEqual(offeredCounts({ ...OIL, kind: "temperature", low: 350, high: 353, division: 1 }), []);
});
