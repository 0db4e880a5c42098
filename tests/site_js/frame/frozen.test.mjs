import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { test } from "node:test";
import { gunzipSync } from "node:zlib";
import { inert } from "../../../site/static/js/frame/frozen.mjs";

const COPIES = new URL("../../fixtures/copies/", import.meta.url);
const PAGES = new URL("../../../site/pages/templates/", import.meta.url);

/** Every data-* that a page of the app hangs something on. */
const HOOKS = new Set(readdirSync(PAGES).flatMap((name) => readFileSync(new URL(name, PAGES), "utf8").match(/\bdata-[a-z-]+/g) ?? []));

test("sheets and records of earlier builds look as they did", () => {
  const frozen = readdirSync(COPIES).filter((name) => name.endsWith(".json.gz")).flatMap((name) => {
    const { events } = JSON.parse(gunzipSync(readFileSync(new URL(name, COPIES))).toString());
    return events.flatMap(({ html }) => (html ? [html] : []));
  });
  assert.ok(frozen.length > 10);
  for (const html of frozen) assert.equal(inert(html), html);
});

test("nothing in a sheet from elsewhere is found where the page looks for its own parts", () => {
  assert.ok(HOOKS.has("data-take-confirm") && HOOKS.has("data-do") && HOOKS.size > 100);
  for (const hook of HOOKS) {
    if (hook === "data-label" || hook === "data-datetime" || hook === "data-tells") continue;
    assert.equal(inert(`<p class="figure" ${hook}>Tap here</p>`), '<p class="figure">Tap here</p>');
    assert.equal(inert(`<p\n${hook.toUpperCase()}="yes"\tclass="figure">Tap here</p>`), '<p\tclass="figure">Tap here</p>');
  }
  for (const name of ["id", "name", "for", "href", "tabindex", "aria-labelledby", "hidden", "list", "headers"])
    assert.equal(inert(`<a ${name}="not-saved">x</a>`), "<a>x</a>");
});

test("what is left out can't put a tag together", () => {
  for (const markup of ['<<p id="a">p data-do="yes">', '<p title="<p>" data-do>', "<p data-do='yes'>", "<script>1</script>", '<p onclick="x()">', "<p id=a>"])
    assert.throws(() => inert(markup), TypeError);
  assert.equal(inert('<p title="> data-do=" data-do="yes">a</p>'), '<p title="> data-do=">a</p>');
});
