import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { standing } from "../../../site/static/js/rules/taken_back.mjs";

const { stories } = JSON.parse(readFileSync(new URL("../../fixtures/stories/taken_back.json", import.meta.url), "utf-8"));

for (const { name, events, stand } of stories) {
  test(name, () => assert.deepEqual(standing(events).map(({ id }) => id), stand));
}
