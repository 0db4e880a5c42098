import assert from "node:assert/strict";
import test from "node:test";

import { overBlocks, replacedCodes, sameOrder, waits } from "../../../site/static/js/rules/orders.mjs";

const ORDER = { formula: "f-1", mould: "m-1", blocks: "2", naoh_lot: "a-1" };

test("two orders are the same whoever issues them under whatever code, and not once an amount, lot or mold differs", () => {
  assert.equal(sameOrder({ ...ORDER, code: "QM-1", issued_by: "Q" }, { ...ORDER, issued_by: "R", reason: "asked for", replaces: "QM-0", cutter: "" }), true);
  assert.equal(sameOrder(ORDER, { ...ORDER, blocks: "3" }), false);
  assert.equal(sameOrder(ORDER, { ...ORDER, cutter: "c-1" }), false);
  assert.equal(sameOrder({ ...ORDER, koh_lot: "k-1" }, ORDER), false);
});

test("a batch waits until each of its blocks is closed; one without steps is weighed by nobody", () => {
  const issued = { blocks: 2, steps: [] };
  const event = (kind, n) => ({ kind, subject: `block:QM-1/${n}` });
  assert.equal(waits(issued, []), true);
  assert.equal(waits(issued, [event("closed", 1), event("checked", 2)]), true);
  assert.equal(waits(issued, [event("closed", 1), event("closed", 2)]), false);
  assert.equal(waits({ blocks: 2 }, []), false);
});

test("a block that somebody ended needs nothing more, whether its record was closed or not, and its neighbor still does", () => {
  const event = (kind, n) => ({ kind, subject: `block:QM-1/${n}` });
  assert.deepEqual(overBlocks([event("weighed", 1), event("ended", 1), event("checked", 2)]), [1]);
  assert.deepEqual(overBlocks([event("closed", 1), event("ended", 1), event("closed", 2)]), [1, 2]);
  assert.equal(waits({ blocks: 2, steps: [] }, [event("ended", 1), event("checked", 2)]), true);
  assert.equal(waits({ blocks: 2, steps: [] }, [event("ended", 1), event("closed", 2)]), false);
});

test("a sheet in whose place another stands is told, and the one in its place is not, however often that went on", () => {
  const batches = [{ code: "QM-3", replaces: "QM-2" }, { code: "QM-2", replaces: "QM-1" }, { code: "QM-1" }, { code: "QM-0" }];
  assert.deepEqual([...replacedCodes(batches)].sort(), ["QM-1", "QM-2"]);
  assert.deepEqual([...replacedCodes([{ code: "QM-0" }])], []);
});
