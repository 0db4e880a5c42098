import { word } from "./words.mjs";

/** @import { Item, State } from "../store/types.mjs" */

/** Kinds whose list also offers items of another kind, under a prefix; the rest of the list is reference data. */
const ALSO = /** @type {Record<string, {kind: string, prefix: string}>} */ ({ oil: { kind: "own_oil", prefix: "own:" } });

/**
 * @param {string} kinds The value of data-items.
 * @param {State} state
 * @returns {{value: string, text: string}[]}
 */
function offers(kinds, state) {
  return kinds.split(" ").flatMap((kind) => {
    const source = ALSO[kind] ?? { kind, prefix: "" };
    const items = /** @type {Item[]} */ (state[source.kind] ?? []);
    return items.map(({ id, values }) => ({ value: source.prefix + id, text: values.name || values.code || id }));
  });
}

/** @param {string} value @param {string} text */
function option(value, text) {
  const element = document.createElement("option");
  element.value = value;
  element.textContent = text;
  return element;
}

/**
 * Fills the lists of items from the workshop. Options that stand for no demo item (reference rows, the empty one) stay
 * as they were built.
 *
 * @param {ParentNode} root
 * @param {State} state
 * @param {State} demo
 * @param {boolean} keep Keep a chosen item that no longer exists, marked as missing, so that nothing changes unseen.
 */
export function fillSelects(root, state, demo, keep) {
  for (const select of root.querySelectorAll(/** @type {"select"} */ ("select[data-items]"))) {
    const chosen = select.value;
    const kinds = select.dataset.items ?? "";
    const built = new Set(offers(kinds, demo).map(({ value }) => value));
    for (const old of [...select.options]) {
      if (old.dataset.item !== undefined || built.has(old.value)) old.remove();
    }
    for (const { value, text } of offers(kinds, state)) {
      const added = option(value, text);
      added.dataset.item = "";
      select.append(added);
    }
    choose(select, chosen, keep);
  }
}

/**
 * Sets a select's value; one that the list lacks is added to it and named as missing.
 *
 * @param {HTMLSelectElement} select
 * @param {string} value
 * @param {boolean} [keep]
 */
export function choose(select, value, keep = true) {
  if (![...select.options].some((known) => known.value === value)) {
    if (!keep || value === "") {
      select.selectedIndex = 0;
      return;
    }
    const missing = option(value, word("missing-item", { value }));
    missing.dataset.item = "";
    select.append(missing);
  }
  select.value = value;
}
