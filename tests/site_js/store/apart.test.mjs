import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { allApart, putAway } from "../../../site/static/js/store/apart.mjs";
import { append, IdTaken, merge, newEvent, Unfit } from "../../../site/static/js/store/events.mjs";
import { allEvents, FAILURES, failAt, freshDatabase, watch } from "../database_for_tests.mjs";

beforeEach(freshDatabase);

const saved = (name) => newEvent("saved", `mould:${name}`, { values: { name } });
const APART = [() => {}, { apart: true }];

test("a record under a taken number is set apart with its own words, and all others go in", async () => {
  const mine = await append(saved("a"));
  const theirs = { ...mine, values: { name: "forged" } };
  const other = saved("b");
  // A copy stays all or nothing.
  await assert.rejects(merge([other, theirs]), IdTaken);
  assert.deepEqual([await allEvents(), await allApart()], [[mine], []]);
  assert.equal(await merge([theirs, other, mine], ...APART), 1);
  assert.deepEqual(new Set((await allEvents()).map(({ id }) => id)), new Set([mine.id, other.id]));
  assert.deepEqual((await allEvents()).find(({ id }) => id === mine.id), mine);
  assert.deepEqual((await allApart()).map(({ here, there }) => [here, there]), [[mine, theirs]]);
});

test("each version is told once, stays once it is put away, and a third one is told anew", async () => {
  const mine = await append(saved("a"));
  const theirs = [{ ...mine, values: { name: "x" } }, { ...mine, values: { name: "y" } }];
  await merge(theirs, ...APART);
  await merge([...theirs].reverse(), ...APART);
  assert.equal((await allApart()).length, 2);
  for (const { key } of await allApart()) await putAway(key);
  await merge(theirs, ...APART);
  assert.deepEqual(await allApart(), []);
  await merge([{ ...mine, values: { name: "z" } }], ...APART);
  assert.deepEqual((await allApart()).map(({ there }) => there.values.name), ["z"]);
});

test("what comes twice in one batch, each time with other words, is there once and apart once", async () => {
  const one = saved("a");
  assert.equal(await merge([one, { ...one, values: { name: "b" } }], ...APART), 1);
  assert.deepEqual([await allEvents(), (await allApart()).length], [[one], 1]);
});

test("what is no record is refused with its batch, set apart or not", async () => {
  await assert.rejects(merge([saved("a"), { ...saved("b"), more: 1 }], ...APART), Unfit);
  assert.deepEqual([await allEvents(), await allApart()], [[], []]);
});

for (const [name, failure] of Object.entries(FAILURES)) {
  test(`${name} at each call in turn: new records and what is set apart are stored together or not at all`, async () => {
    for (let nth = 1; ; nth += 1) {
      await freshDatabase();
      const mine = await append(saved("a"));
      failAt(nth, failure);
      const done = await merge([{ ...mine, values: { name: "x" } }, saved("b")], ...APART).then(() => true, () => false);
      const { hit } = watch;
      failAt(0, failure);
      assert.deepEqual([(await allEvents()).length, (await allApart()).length], done ? [2, 1] : [1, 0], `call ${nth}`);
      if (!hit) break;
    }
  });
}
