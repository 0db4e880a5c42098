import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { test } from "node:test";
import { decoded } from "../../../site/static/js/frame/address.mjs";
import { readPlace } from "../../../site/static/js/forms/place.mjs";

test("a damaged address is read as it stands, and nothing breaks", () => {
  // RFC 3986, 2.1: two hexadecimal digits stand behind each percent sign; RFC 3629: C3 alone is no letter.
  for (const part of ["%", "%zz", "QM%2", "%C3", "%FF/1"]) assert.equal(decoded(part), part);
  assert.equal(decoded("%C3%89%20a"), "É a");
  assert.equal(readPlace("#QM-%zz/1", []).id, "QM-%zz/1");
});

test("no script reads an address another way", () => {
  const folder = new URL("../../../site/static/js/", import.meta.url);
  const scripts = readdirSync(folder, { recursive: true }).filter((name) => /\.m?js$/.test(name) && !name.startsWith("vendor"));
  assert.ok(scripts.length > 100);
  const own = scripts.filter((name) => /decodeURI/.test(readFileSync(new URL(name, folder), "utf8")));
  assert.deepEqual(own, ["frame/address.mjs"]);
});
