// What a form stores is stored on top of what its answer knew of, and over nothing else.
import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { append, newEvent } from "../../../site/static/js/store/events.mjs";
import { allEvents, freshDatabase } from "../database_for_tests.mjs";
import { values } from "../page_for_tests.mjs";

const { reload } = await import("../../../site/static/js/frame/app.mjs");
const { commit } = await import("../../../site/static/js/forms/commit.mjs");

const SHOP = "shop:shop";
const named = (name) => newEvent("saved", SHOP, { values: { name } });
const names = async () => (await allEvents()).filter(({ subject }) => subject === SHOP).map((event) => event.values.name);

/** The set-up's last form. @param {() => Promise<unknown>} meanwhile Done elsewhere between the answer and what is stored. */
const crew = (meanwhile) => ({
  asBuilt: false,
  form: { dataset: { items: "" }, elements: [] },
  unsaved: { clear() {} },
  refresh() {},
  async submit() {
    await meanwhile();
    const items = [{ kind: "shop", id: "shop", values: { name: "Typed here" } }, { kind: "person", id: "", values: { name: "Q" } }];
    return { ok: true, record: { items } };
  },
});

beforeEach(async () => {
  values.clear();
  await freshDatabase();
  await append(named("Before"), null);
  await reload();
});

test("a change made in another tab between a form's answer and its storing is not overwritten", async () => {
  const [before] = await allEvents();
  assert.equal(await commit(crew(() => append(named("From the other tab"), before.id)), null), false);
  assert.deepEqual(await names(), ["Before", "From the other tab"]);
  assert.equal((await allEvents()).length, 2);
  // The next press comes after the page has read it.
  assert.equal(await commit(crew(async () => {}), null), true);
  assert.deepEqual(await names(), ["Before", "From the other tab", "Typed here"]);
});
