/** Tables of rows: a template, an add button, a remove button in each row. Gaps in the numbering are allowed. */

/** @typedef {HTMLElement} RowSet  an element with data-rows */

/** @param {ParentNode} form @returns {RowSet[]} */
export const rowSets = (form) => [...form.querySelectorAll(/** @type {"div"} */ ("[data-rows]"))];

/** @param {RowSet} set @returns {HTMLElement[]} */
const rowsOf = (set) => [...set.querySelectorAll(/** @type {"div"} */ ("[data-row]"))];

/** @param {HTMLElement} row */
function indexOf(row) {
  const name = row.querySelector("[name]")?.getAttribute("name") ?? "";
  return Number(name.split(".")[1] ?? -1);
}

/** @param {RowSet} set @param {number} index @returns {HTMLElement | null} */
export function addRow(set, index = Math.max(-1, ...rowsOf(set).map(indexOf)) + 1) {
  const template = set.querySelector("template");
  const copy = template && document.importNode(template.content, true);
  const row = copy?.querySelector(/** @type {"div"} */ ("[data-row]")) ?? null;
  if (!template || !copy || !row) return null;
  for (const element of [row, ...row.querySelectorAll("*")]) {
    for (const attribute of element.attributes) {
      attribute.value = attribute.value.replaceAll(".#.", `.${index}.`);
    }
  }
  template.before(copy);
  limit(set);
  return row;
}

/** @param {HTMLElement} row */
function removeRow(row) {
  const set = /** @type {RowSet} */ (row.closest("[data-rows]"));
  const rows = rowsOf(set);
  const place = rows.indexOf(row);
  const neighbour = rows[place + 1] ?? rows[place - 1];
  row.remove();
  limit(set);
  const target = neighbour?.querySelector("input, select, textarea") ?? set.querySelector("[data-add-row]");
  if (target instanceof HTMLElement) target.focus();
}

/** Rows with exactly these indices, all blank. @param {RowSet} set @param {number[]} indices */
export function setRows(set, indices) {
  for (const row of rowsOf(set)) row.remove();
  for (const index of indices) addRow(set, index);
  while (rowsOf(set).length < Number(set.dataset.min ?? 0) && addRow(set)) continue;
  limit(set);
}

/** @param {RowSet} set */
function limit(set) {
  const count = rowsOf(set).length;
  const least = Number(set.dataset.min ?? 0);
  const most = Number(set.dataset.max ?? Infinity);
  for (const button of set.querySelectorAll("button")) {
    if (button.matches("[data-add-row]")) button.disabled = count >= most;
    if (button.matches("[data-remove-row]")) button.disabled = count <= least;
  }
}

/** Buttons that would leave too few or too many rows are off. @param {HTMLFormElement} form */
export const limitRows = (form) => rowSets(form).forEach(limit);

/**
 * @param {HTMLFormElement} form
 * @param {(added: HTMLElement | null, set: RowSet) => void} changed Called after a row came or went.
 */
export function watchRows(form, changed) {
  limitRows(form);
  form.addEventListener("click", (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    const set = /** @type {RowSet | null} */ (button?.closest("[data-rows]") ?? null);
    if (!button || !set) return;
    if (button.matches("[data-add-row]")) {
      const row = addRow(set);
      row?.setAttribute("data-by-hand", "");
      changed(row, set);
      row?.querySelector(/** @type {"input"} */ ("input, select, textarea"))?.focus();
    } else if (button.matches("[data-remove-row]")) {
      removeRow(/** @type {HTMLElement} */ (button.closest("[data-row]")));
      changed(null, set);
    }
  });
}
