/** What the pages about stock are told, out of records as they are stored; expected values by hand. */

import assert from "node:assert/strict";
import test from "node:test";

import { batchesWith, batchForCost, cutBatches, everFilled, namesInTanks, sheetForNeeds, sheetsAsked } from "../../../site/static/js/rules/stock.mjs";

const on = (day, time = "08:00:00") => ({ at: `2026-11-${day}T${time}.000Z`, local: `2026-11-${day}T${time}+00:00` });
const loaded = (id, day, more = {}) => ({ id, kind: "tank_loaded", subject: `contents:${id}`, ...on(day), ...more });
const about = (kind, block, day, more = {}) => ({ id: `${kind}${block}`, kind, subject: `block:QM-1/${block}`, ...on(day), ...more });

const ISSUED = {
  id: "i", kind: "issued", subject: "batch:QM-1", code: "QM-1", blocks: 2, steps: [{ key: "look" }], ...on(24, "18:00:00"),
  formula: { id: "f-1", name: "Plain", event: "e" }, planned: { total: 252, bar_mm: [25, 90, 60] },
  pours: [{ key: "oil:0", kind: "oil", phase: "vessel", name: "Olive oil", lot: "OLV-1", target_g: 18000 }],
  oils: [{ key: "olive", share: 1 }], chemistry: { alkalis: [{ pour: "lye:naoh", alkali: "naoh", hydroxide_fraction: 0.33, grams: 1 }] },
};

test("stock looks back to the first load there ever was, of lye by every name it had, and of blends apart", () => {
  const events = [loaded("t-oil", 10), loaded("t-lye", 11, { as_lot: "LYE-1" }), { id: "x", kind: "tank_emptied", subject: "contents:t-lye", ...on(12) }, loaded("t-lye2", 13, { as_lot: "LYE-2" })];
  const found = everFilled(events);
  assert.deepEqual([...found], [
    ["lye", { since: on(10).at, lots: ["LYE-1", "LYE-2"], lot: null }],
    ["blends", { since: on(10).at, lots: [], lot: null }],
  ]);
  assert.deepEqual([...everFilled(events.slice(1)).keys()], ["lye"]);
  assert.deepEqual([...everFilled(events.slice(0, 1)).keys()], ["blends"]);
  assert.equal(everFilled([]).size, 0);
});

test("a load of the invented workshop has no moment, so all that was weighed since counts", () => {
  const invented = { id: "demo", kind: "tank_loaded", subject: "contents:t", days_ago: 1 };
  assert.equal(everFilled([invented, loaded("t", 13)]).get("blends").since, "");
});

test("a sheet is told with the days its blocks were begun on, also once all are closed; one without steps is none", () => {
  const told = [about("checked", 1, 25), about("closed", 1, 26), about("checked", 2, 26), about("closed", 2, 26)];
  const [sheet] = sheetForNeeds(ISSUED, told);
  assert.deepEqual(sheet, {
    code: "QM-1", blocks: 2, issued_on: "2026-11-24", formula: "f-1", closed: [1, 2], begun: { 1: "2026-11-25", 2: "2026-11-26" },
    pours: [{ key: "oil:0", kind: "oil", target_g: 18000 }], oils: ["olive"], alkalis: [{ pour: "lye:naoh", alkali: "naoh", hydroxide_fraction: 0.33 }],
  });
  assert.deepEqual(sheetForNeeds(ISSUED, [])[0].begun, {});
  // Of an additive its key goes along, where the sheet has it.
  const honey = { key: "additive:0", kind: "additive", name: "Honey", lot: "HNY-1", target_g: 370, exact_g: 370, additive: "honey" };
  assert.deepEqual(sheetForNeeds({ ...ISSUED, pours: [honey] }, [])[0].pours, [{ key: "additive:0", kind: "additive", target_g: 370, additive: "honey" }]);
  // Given up while it was weighed: nothing has to be ordered for it.
  assert.deepEqual(sheetForNeeds(ISSUED, [about("weighed", 1, 25), about("ended", 1, 25)])[0].closed, [1]);
  assert.deepEqual(sheetForNeeds({ ...ISSUED, steps: undefined }, told), []);
});

test("the sheet of every untared display is asked for, of blends only of the newest", () => {
  const weighed = (code, mode, lot) => ({ kind: "weighed", subject: `block:${code}/1`, mode, lot });
  const drawn = [weighed("G-1", "gross", "LYE-1"), weighed("B-1", "net", null), weighed("B-2", "net", null), weighed("L-1", "net", "LYE-1"), weighed("G-2", "gross", null), weighed("B-3", "net", null)];
  // Blends are of B-1, B-2, G-2 and B-3: the two newest are G-2 and B-3, and G-1 stays however old it is.
  assert.deepEqual(sheetsAsked(drawn, 2), ["G-1", "G-2", "B-3"]);
});

test("of the newest batches those count of which every made block has its bars, so that none half counted hides an older one", () => {
  const entry = (code, at, ...parts) => ({ code, at, parts: parts.map(([state, bars]) => ({ state, bars })) });
  const log = [
    entry("OLD", "2026-11-01", ["curing", 250]), entry("WAITS", "2026-11-09", ["issued", null]), entry("POURED", "2026-11-08", ["poured", null]),
    entry("NEW", "2026-11-07", ["curing", 249], ["issued", null], ["apart", null]), entry("HALF", "2026-11-06", ["curing", 250], ["poured", null]), entry("NONE", "2026-11-06", ["ended", null]), entry("MID", "2026-11-05", ["released", 0]),
  ];
  assert.deepEqual(cutBatches(log, 2).map(({ code }) => code), ["NEW", "MID"]);
  assert.deepEqual(cutBatches(log, 9).map(({ code }) => code), ["NEW", "MID", "OLD"]);
});

test("a batch's cost is reckoned from each block's own amounts and moments", () => {
  const amounts = [{ pour: "oil:0", name: "Olive oil", planned_g: 18000, weighed_g: 18010, lot: "OLV-1" }];
  const told = [about("checked", 1, 25), about("closed", 1, 25, { record: { amounts } }), about("checked", 2, 26), { ...about("closed", 1, 27), subject: "block:QM-10/1" }];
  assert.deepEqual(batchForCost(ISSUED, told), {
    code: "QM-1", planned_bars: 252,
    blocks: [
      { n: 1, amounts: [{ pour: "oil:0", name: "Olive oil", planned_g: 18000 }], events: [{ kind: "checked", local: on(25).local }, { kind: "closed", local: on(25).local }] },
      { n: 2, amounts: [], events: [{ kind: "checked", local: on(26).local }] },
    ],
  });
});

test("what is left of some lots hangs on the batches that used them, and of lye in a tank the tank tells", () => {
  const log = [["A", "OLV-1", "LYE-1"], ["B", "OLV-2"], ["C", ""], ["D", "COC-1", "OLV-1"]].map(([code, ...lots]) => ({ code, used: lots.map((lot) => ({ n: 1, lot })) }));
  assert.deepEqual(batchesWith([...log, { code: "OLD" }], new Set(["olv-1"])).map(({ code }) => code), ["A", "D"]);
  const mixed = { code: "M", used: [{ n: 1, lot: "CLV-1, ORG-1", parts: [{ lot: "CLV-1", share: 0.4 }, { lot: "ORG-1", share: 0.6 }] }] };
  assert.deepEqual(batchesWith([...log, mixed], new Set(["org-1"])).map(({ code }) => code), ["M"]);
  assert.deepEqual(batchesWith(log, new Set()), []);
  assert.deepEqual([...namesInTanks([loaded("t-oil", 10), loaded("t-lye", 11, { as_lot: "LYE-1" })])], ["lye-1"]);
});
