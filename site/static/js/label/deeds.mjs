/** The deeds of the page of labels: another formula or batch leads on, a name is confirmed. */

import { findItem, reload } from "../frame/app.mjs";
import { notice } from "../frame/notice.mjs";
import { personHere } from "../frame/people.mjs";
import { keep } from "../frame/saved.mjs";
import { newEvent } from "../store/events.mjs";

/** @param {string} name */
const select = (name) => /** @type {HTMLSelectElement | null} */ (document.querySelector(`form[data-task="soap_label"] select[name="${name}"]`));

/** @param {() => void} changed Called once a name was confirmed. */
export function watchLabel(changed) {
  select("formula")?.addEventListener("change", () => {
    const formula = select("formula")?.value ?? "";
    if (formula !== "") location.hash = `#${formula}`;
  });
  // A batch is of one formula: its label is the one that is kept for that.
  select("batch")?.addEventListener("change", () => {
    const code = select("batch")?.value ?? "";
    const formula = findItem("label_batch", code)?.values.formula ?? "";
    if (formula !== "" && formula !== select("formula")?.value && findItem("formula", formula)) {
      location.hash = `#${formula}?${new URLSearchParams({ batch: code })}`;
    }
  });
  document.addEventListener("click", ({ target }) => {
    const button = target instanceof Element ? target.closest("button") : null;
    if (button?.dataset.inci !== undefined) void confirm(button).then((done) => done && changed());
    if (button?.dataset.mend !== undefined) mend(button.dataset.mend);
  });
}

/** Leads to where what is open is put right: a fold of the answer, or a control of the form. @param {string} at */
function mend(at) {
  const fold = document.querySelector(/** @type {"details"} */ (`details[data-fold="${at}"]`));
  const control = /** @type {HTMLElement | null} */ (document.querySelector(`form[data-task="soap_label"] [name="${at}"]`));
  for (let each = fold ?? control?.closest("details"); each; each = each.parentElement?.closest("details")) each.open = true;
  const field = fold?.querySelector("input") ?? control;
  if (field) field.focus();
  else fold?.querySelector("summary")?.focus();
}

/** @param {HTMLButtonElement} button @returns {Promise<boolean>} Whether it is stored. */
async function confirm(button) {
  const field = button.parentElement?.querySelector("input");
  const name = field?.value.trim() ?? "";
  if (name === "") {
    field?.focus();
    notice("inci-empty");
    return false;
  }
  const person = await personHere();
  if (!person) return false;
  await keep(newEvent("inci_confirmed", `inci:${button.dataset.inci}`, { person, name }));
  await reload();
  return true;
}
