import assert from "node:assert/strict";
import { test } from "node:test";
import { writeCopy } from "../../../site/static/js/store/backup.mjs";
import { newEvent } from "../../../site/static/js/store/events.mjs";
import { back } from "../copies_for_tests.mjs";

const CONFIRM = {
  key: "check:zero", kind: "confirm", safety: false, title: "Check the zero", how: "Nothing stands on it.", stop: null, pour: null,
  lot: null, scale: null, unit: null, decimals: null, division: null, most: null, target: null, low: null, high: null, target_text: null,
  band_text: null, gross_text: null, close_valve: null, close_valve_text: null, fine: null, twice: false, questions: [],
  seconds: null, next: null,
};
const WEIGH = {
  ...CONFIRM, key: "lye:naoh", kind: "weigh", title: "Pour lye", pour: "lye:naoh", lot: "LYE-1", scale: "Floor scale", unit: "kg",
  decimals: 2, division: 2, most: 15000, target: 1574, low: 1572, high: 1576, target_text: "15.74", band_text: "15.72 to 15.76 kg",
  close_valve: 1540, close_valve_text: "Close the valve at 15.40 kg.", twice: true,
  fine: { scale: "Bench scale", unit: "g", decimals: 1, division: 1, from_text: "From 15.60 kg on." },
  questions: [{ code: "digits-swapped", low: 1754, high: 1754, text: "Two digits may be swapped." }],
};
const WORDS = {
  title: "Vierta", how: "Abra la válvula.", stop: null, band_text: "15.72 a 15.76 kg", close_valve_text: null, next: null,
  from_text: null, questions: ["¿Dos cifras cambiadas?"],
};
const TIMER = { ...CONFIRM, key: "mix", kind: "timer", seconds: 600 };
const TEMPERATURE = { ...CONFIRM, key: "temp:oils", kind: "temperature", unit: "degC", decimals: 1 };
const AFTER = [
  { ...CONFIRM, key: "after:cover", kind: "cover" },
  { ...CONFIRM, key: "after:gel", kind: "gel", seconds: 14400 },
  { ...CONFIRM, key: "after:lift", kind: "lift", safety: true, seconds: 86400 },
  { ...CONFIRM, key: "after:good", kind: "measure", unit: "bars", decimals: 0, division: 1, target: 276, target_text: "276" },
  { ...CONFIRM, key: "after:rack", kind: "rack", unit: "bars", decimals: 0, division: 1 },
];
const ASKED = { target: 1574, low: 1572, high: 1576, decimals: 2, unit: "kg", division: 2 };

const of = (kind, fields) => newEvent(kind, "block:QM-1/2", { person: "Ana Quill", ...fields });
const WEIGHED = of("weighed", { step: "lye:naoh", reading: "15.74", unit: "kg", lot: null, asked: ASKED, question: null, mode: "net" });
const DECIDED = of("decided", {
  step: "lye:naoh", choice: "add-oil", reason: "Valve stuck", text: "Add oil.", steps: [TIMER, TEMPERATURE], replaced: { "lye:naoh": WEIGH },
});
const CLOSED = of("closed", { outcome: "poured", reason: "", record: { amounts: [{ pour: "oil:0", actual_g: 12.5 }] }, html: "<p>record</p>" });
const STARTED = of("timed", { step: "mix", action: "started", seconds: 600 });
const TRAINED = of("trained", { helper: "Bea", until: "2027-11-25", reason: null, eyewash: { weekly: "over", yearly: "never" }, daily: "held" });
const EVENTS = [
  newEvent("issued", "batch:QM-1", { code: "QM-1", html: "<p>1</p>", steps: [CONFIRM, WEIGH, TIMER, TEMPERATURE], after: AFTER, planned: { total: 276, bar_mm: [25, 90, 60] } }),
  of("lots", { lots: { "lye:naoh": "LYE-1" } }),
  of("checked", { step: "check:zero" }),
  of("checked", { step: "temp:oils", reading: "38.5", unit: "degC", note: "outside-range" }),
  WEIGHED,
  of("corrected", { corrects: WEIGHED.id, reading: "15.47", unit: "kg", reason: "Digits swapped" }),
  DECIDED,
  STARTED,
  of("timed", { step: "mix", action: "ended", seconds: 612 }),
  TRAINED,
  // Of an older build, or with an eyewash in order.
  of("trained", { helper: null, reason: "The maker alone" }),
  of("trained", { helper: "Bea", until: "2027-11-25", reason: "Stop mended", stopped: "walk:w1" }),
  CLOSED,
  of("closed", { outcome: "quarantined", reason: "Cracked mould", record: null, html: "" }),
  of("covered", { step: "after:cover", cover: "lid", room: null }),
  of("gelled", { step: "after:gel", gel: "partial" }),
  of("lifted", { step: "after:lift", seconds: 90000, cover: "lid", in_mould: "Big", of_formula: "Marsh" }),
  of("measured", { step: "after:good", reading: "249", unit: "bars" }),
  of("measured", { step: "after:trim", note: "not-read" }),
  of("racked", { step: "after:rack", trays: 4, bars: 249, place: "Rack 1", of_formula: "Marsh", density_g_per_ml: 1.04 }),
  of("ended", { reason: "Trial" }),
];

const outcome = async (events) => back(await writeCopy([events]));

test("a block's events and the steps of its sheet come back from a copy as they went", async () => {
  const { events } = await outcome(EVENTS);
  const byId = (list) => new Map(list.map((event) => [event.id, event]));
  assert.deepEqual(byId(events), byId(EVENTS));
});

test("steps with their words in Spanish come back as they went, on a sheet and in a decision", async () => {
  const spanish = { ...WEIGH, es: WORDS };
  const sent = [{ ...EVENTS[0], steps: [CONFIRM, spanish] }, { ...DECIDED, steps: [spanish], replaced: { [WEIGH.key]: spanish } }];
  const { events } = await outcome(sent);
  assert.deepEqual(new Map(events.map((event) => [event.id, event])), new Map(sent.map((event) => [event.id, event])));
});

const [ISSUED] = EVENTS;
const issuedWith = (step) => ({ ...ISSUED, steps: [step] });
const without = (event, key) => Object.fromEntries(Object.entries(event).filter(([name]) => name !== key));
const BAD = {
  "a key of another kind": { ...WEIGHED, outcome: "poured" },
  "an unknown key": { ...WEIGHED, more: "x" },
  "no person": without(WEIGHED, "person"),
  "an empty person": { ...WEIGHED, person: "" },
  "no block in its subject": { ...WEIGHED, subject: "block:QM-1" },
  "block 0": { ...WEIGHED, subject: "block:QM-1/0" },
  "block 1000": { ...WEIGHED, subject: "block:QM-1/1000" },
  "a batch for its subject": { ...WEIGHED, subject: "batch:QM-1" },
  "no reading": without(WEIGHED, "reading"),
  "a reading that is a number": { ...WEIGHED, reading: 15.74 },
  "a reading in words": { ...WEIGHED, reading: "fifteen" },
  "a reading below zero": { ...WEIGHED, reading: "-1.00" },
  "an endless reading": { ...WEIGHED, reading: "1".repeat(40) },
  "a unit no scale shows": { ...WEIGHED, unit: "stone" },
  "another mode": { ...WEIGHED, mode: "tare" },
  "a band with a fraction of a count": { ...WEIGHED, asked: { ...ASKED, low: 1572.5 } },
  "a band that lacks a key": { ...WEIGHED, asked: without(ASKED, "high") },
  "a band with a key more": { ...WEIGHED, asked: { ...ASKED, more: 1 } },
  "decimals without end": { ...WEIGHED, asked: { ...ASKED, decimals: 1e9 } },
  "another action": { ...STARTED, action: "paused" },
  "a time below zero": { ...STARTED, seconds: -1 },
  "a reason that is no text": { ...CLOSED, reason: { a: "b" } },
  "a record that is no object": { ...CLOSED, record: "x" },
  "html that is no text": { ...CLOSED, html: ["<p>"] },
  "another outcome": { ...CLOSED, outcome: "sold" },
  "a replaced step under another's key": { ...DECIDED, replaced: { mix: WEIGH } },
  "an inserted step that is none": { ...DECIDED, steps: [{ key: "x" }] },
  "steps without end": { ...DECIDED, steps: Array.from({ length: 501 }, () => TIMER) },
  "a note without end": { ...DECIDED, text: "x".repeat(5001) },
  "a lot that is no text": of("lots", { lots: { "oil:0": 7 } }),
  "a correction of nothing": without(EVENTS[5], "corrects"),
  "a training that ends on no day": { ...TRAINED, until: "2027-02-30" },
  "an eyewash in a state that there is not": { ...TRAINED, eyewash: { weekly: "held" } },
  "an eyewash check that there is not": { ...TRAINED, eyewash: { daily: "over" } },
  "a sheet whose steps are no list": { ...ISSUED, steps: { 0: CONFIRM } },
  "a sheet with a step of an unknown kind": issuedWith({ ...CONFIRM, kind: "dance" }),
  "a sheet with a step of a kind of the prototype": issuedWith({ ...CONFIRM, kind: "constructor" }),
  "a sheet with a weighing without target": issuedWith({ ...WEIGH, target: null }),
  "a sheet with a target that is a text": issuedWith({ ...WEIGH, target: "1574" }),
  "a sheet with a timer without length": issuedWith({ ...TIMER, seconds: null }),
  "a sheet with a step that lacks a key": issuedWith(without(CONFIRM, "safety")),
  "a sheet with Spanish that lacks a key": issuedWith({ ...WEIGH, es: without(WORDS, "next") }),
  "a sheet with Spanish that is no text": issuedWith({ ...WEIGH, es: { ...WORDS, title: 7 } }),
  "a sheet with Spanish for another number of questions": issuedWith({ ...WEIGH, es: { ...WORDS, questions: [] } }),
  "a sheet with Spanish that is none": issuedWith({ ...WEIGH, es: null }),
  "a sheet with a step with a key more": issuedWith({ ...CONFIRM, more: null }),
};
for (const [name, event] of Object.entries(BAD)) {
  test(`${name}: the copy is refused, though its digest is right`, async () => {
    assert.deepEqual(await outcome([STARTED.id === event.id ? CLOSED : STARTED, event]), { refused: "import-format" });
  });
}

const COMMON = ["id", "at", "local", "kind", "subject"];
const ofBlocks = EVENTS.filter(({ kind }) => kind !== "issued");
const refused = { refused: "import-format" };

test("no field of a block's event may be of another sort, whatever the event", async () => {
  for (const event of ofBlocks) {
    for (const key of Object.keys(event)) {
      // No field is a truth value or a list of texts.
      for (const wrong of [true, ["x"]]) {
        assert.deepEqual(await outcome([{ ...event, [key]: wrong }]), refused, `${event.kind}.${key} = ${JSON.stringify(wrong)}`);
      }
    }
  }
});

/** What an event can't be understood without, by hand from what the page does with it. */
const NEEDED = {
  weighed: ["person", "step", "reading", "unit", "asked", "mode"],
  checked: ["person", "step"],
  timed: ["person", "step", "action", "seconds"],
  corrected: ["person", "corrects", "reading", "unit", "reason"],
  decided: ["person", "step", "choice", "reason", "steps", "replaced"],
  closed: ["person", "outcome"],
  lots: ["person", "lots"],
  trained: ["person", "helper", "reason"],
  covered: ["person", "step", "cover"],
  gelled: ["person", "step", "gel"],
  lifted: ["person", "step", "seconds"],
  measured: ["person", "step"],
  racked: ["person", "step", "trays"],
  ended: ["person", "reason"],
};

test("no event of a block comes in without what it can't be understood without", async () => {
  for (const event of ofBlocks) {
    for (const key of [...COMMON, ...NEEDED[event.kind]]) {
      assert.deepEqual(await outcome([without(event, key)]), refused, `${event.kind} without ${key}`);
    }
  }
});

test("a step frozen before it held the most a scale carries comes in from a copy", async () => {
  const older = without(WEIGH, "most");
  for (const event of [issuedWith(older), { ...DECIDED, steps: [older], replaced: { [older.key]: older } }]) {
    assert.notDeepEqual(await outcome([event]), refused);
  }
});

test("every field of a step is looked at, on a sheet and in a decision", async () => {
  for (const step of [CONFIRM, WEIGH, TIMER, TEMPERATURE]) {
    for (const key of Object.keys(step)) {
      // Sheets issued before steps had the most a scale carries have none.
      for (const wrong of key === "most" ? [{}] : [{}, undefined]) {
        const changed = wrong ? { ...step, [key]: wrong } : without(step, key);
        const what = `${step.kind}.${key} = ${JSON.stringify(wrong)}`;
        assert.deepEqual(await outcome([issuedWith(changed)]), refused, `sheet, ${what}`);
        assert.deepEqual(await outcome([{ ...DECIDED, steps: [changed] }]), refused, `put in, ${what}`);
        assert.deepEqual(await outcome([{ ...DECIDED, replaced: { [step.key]: changed } }]), refused, `replaced, ${what}`);
      }
    }
  }
});
