// The lots of the block before go with the next one, but never over what was named there.
import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { append, merge, newEvent } from "../../../site/static/js/store/events.mjs";
import { allEvents, freshDatabase } from "../database_for_tests.mjs";
import { values } from "../page_for_tests.mjs";

const { BlockAtScale } = await import("../../../site/static/js/scale/block.mjs");
const { lotsOf } = await import("../../../site/static/js/rules/readings.mjs");

const OLIVE = { key: "oil:0", kind: "weigh", pour: "oil:0", lot: "OLV-0400" };
const PALM = { key: "oil:1", kind: "weigh", pour: "oil:1", lot: "PLM-0400" };
const ISSUED = { code: "QM-1", steps: [OLIVE, PALM], after: [] };
const SECOND = "block:QM-1/2";

/** The second block in a tab that nobody looks at: nothing is drawn. */
async function second() {
  const block = new BlockAtScale({}, ISSUED, 2);
  block.open = false;
  block.person = "R";
  await block.read();
  block.inherited = await block.lotsOfToday();
  return block;
}

const stored = async () => lotsOf((await allEvents()).filter(({ subject }) => subject === SECOND));

beforeEach(async () => {
  values.clear();
  await freshDatabase();
  await append(newEvent("lots", "block:QM-1/1", { lots: { "oil:0": "OLV-0500", "oil:1": "PLM-0500" }, person: "Q" }), null);
});

test("a lot named first at the next block stays, and the lots of the block before go with it", async () => {
  const block = await second();
  assert.equal(block.lotFor(OLIVE), "OLV-0500");
  assert.ok(await block.store("lots", { lots: { "oil:0": "OLV-0600" } }));
  assert.deepEqual([block.lotFor(OLIVE), block.lotFor(PALM)], ["OLV-0600", "PLM-0500"]);
  assert.ok(await block.store("checked", { step: "wait" }));
  assert.deepEqual(await stored(), { "oil:0": "OLV-0600", "oil:1": "PLM-0500" });
});

test("a lot named in another tab or on another phone stays", async () => {
  const block = await second();
  await merge([newEvent("lots", SECOND, { lots: { "oil:0": "OLV-0700" }, person: "R" })]);
  await block.others();
  assert.equal(block.lotFor(OLIVE), "OLV-0700");
  assert.ok(await block.store("checked", { step: "wait" }));
  assert.deepEqual(await stored(), { "oil:0": "OLV-0700" });
});

test("what another tab stored a moment ago is not overwritten by the lots of the block before", async () => {
  const block = await second();
  block.show = () => {};
  await append(newEvent("lots", SECOND, { lots: { "oil:0": "OLV-0700" }, person: "R" }), null);
  assert.equal(await block.store("checked", { step: "wait" }), false);
  assert.ok(await block.store("checked", { step: "wait" }));
  assert.deepEqual(await stored(), { "oil:0": "OLV-0700" });
});
