import { word } from "../frame/words.mjs";

/** @import { Item, State } from "../rules/types.mjs" */

/** Kinds whose list also offers items of another kind, under a prefix; the rest of the list is reference data. */
const ALSO = /** @type {Record<string, {kind: string, prefix: string}>} */ ({
  oil: { kind: "own_oil", prefix: "own:" },
  scent_material: { kind: "scent_lot", prefix: "lot:" },
});

/**
 * What a list calls an item: its name or code. Caustic adds its form and strength, a lot of essential oil the oil it is of.
 *
 * @param {Item} item @param {HTMLSelectElement} select
 */
function title({ id, values }, select) {
  const { form = "", code = "", essential_oil: oil = "" } = values;
  const named = oil && [...select.options].find(({ value }) => value === oil)?.text;
  if (named) return `${code}, ${named}`;
  const share = { solid: values.assay_fraction, premixed: values.strength_fraction }[form];
  const name = values.name || values.code || "";
  if (!name || !share) return name || id;
  return word(`lot-${form}`, { code: name, share: share.replace(/%$/, "").trim() });
}

/**
 * @param {HTMLSelectElement} select With data-items, and data-only where an item must have a value to be offered ("alkali=naoh").
 * @param {State} state
 * @returns {{value: string, text: string}[]}
 */
function offers(select, state) {
  const { items = "", only = "" } = select.dataset;
  const [name = "", wanted = ""] = only.split("=");
  return items.split(" ").flatMap((kind) => {
    const source = ALSO[kind] ?? { kind, prefix: "" };
    const stored = /** @type {Item[]} */ (state[source.kind] ?? []);
    const fit = stored.filter(({ values }) => !only || values[name] === wanted);
    return fit.map((item) => ({ value: source.prefix + item.id, text: title(item, select) }));
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
 * Fills the lists of items from the workshop. Options that stand for no item (reference rows, the empty one) stay as they
 * were built.
 *
 * @param {ParentNode} root
 * @param {State} state
 * @param {boolean} say Say at the field that a chosen item no longer exists, so that nothing changes unseen.
 */
export function fillSelects(root, state, say) {
  for (const select of root.querySelectorAll(/** @type {"select"} */ ("select[data-items]"))) {
    const chosen = select.value;
    for (const old of [...select.options]) if (old.dataset.item !== undefined) old.remove();
    // What is one's own comes before the rows of a table.
    const listed = [...select.options].find(({ value }) => value !== "") ?? null;
    for (const { value, text } of offers(select, state)) {
      const added = option(value, text);
      added.dataset.item = "";
      select.insertBefore(added, listed);
    }
    const all = offers(select, state);
    const add = select.closest("[data-field]")?.querySelector(/** @type {"p"} */ ("[data-add-one]"));
    if (add) add.hidden = all.length > 0;
    // One of a kind needs no choosing. What was chosen and is gone is asked for: another one may give other amounts.
    const lone = select.dataset.lone !== undefined && all.length === 1 ? all[0]?.value : undefined;
    const blank = chosen === "" && goneNote(select)?.hidden !== false;
    choose(select, blank ? (lone ?? "") : chosen, say);
  }
}

/**
 * Sets a select's value. For an item that the list lacks the empty choice is set, and a note at the field says so. Any other
 * value is kept as it is: another unit would be another amount.
 *
 * @param {HTMLSelectElement} select
 * @param {string} value
 * @param {boolean} [say]
 */
export function choose(select, value, say = true) {
  const known = value === "" || [...select.options].some((each) => each.value === value);
  if (!known && select.dataset.items === undefined) select.append(option(value, word("missing-choice", { value })));
  if (value === "" || (!known && select.dataset.items !== undefined)) select.selectedIndex = 0;
  else select.value = value;
  const note = goneNote(select);
  if (note && !known) note.hidden = !say;
}

/** The line at a list that says that what was chosen is gone. @param {HTMLSelectElement} select */
const goneNote = (select) => select.closest("[data-field]")?.querySelector(/** @type {"p"} */ ("[data-gone]"));

/** The note that an item was gone has done its work once something is chosen. @param {Element | null} part */
export function forgetGone(part) {
  for (const note of part?.querySelectorAll(/** @type {"p"} */ ("[data-gone]")) ?? []) note.hidden = true;
}
