/** The buttons of an answer from the rack to the customer: an entry is taken back with who and why; a list is saved or shared. */

import { reload } from "../frame/app.mjs";
import { confirmed } from "../frame/confirmed.mjs";
import { notice } from "../frame/notice.mjs";
import { personHere } from "../frame/people.mjs";
import { keep } from "../frame/saved.mjs";
import { handOver } from "../frame/share.mjs";
import { line, MARK } from "../rules/csv.mjs";
import { newEvent } from "../store/events.mjs";

/** @param {() => void} [changed] Called once something was stored. */
export function watchDeeds(changed = () => {}) {
  document.addEventListener("click", ({ target }) => {
    const button = target instanceof Element ? target.closest("button") : null;
    if (button?.dataset.table !== undefined) void handTable(button);
    else if (button?.dataset.takeBack !== undefined) void takeBack(button).then((done) => done && changed());
  });
}

/** @param {HTMLButtonElement} button Its rows, the first of them the heads. */
async function handTable({ dataset: { table = "[]", name } }) {
  const rows = /** @type {(string | number)[][]} */ (JSON.parse(table));
  await handOver(new File([MARK, ...rows.map(line)], `${name}.csv`, { type: "text/csv" }));
}

/** @param {HTMLButtonElement} button */
async function takeBack(button) {
  const { kind = "", subject = "", takeBack: takes = "" } = button.dataset;
  const field = /** @type {HTMLInputElement | HTMLTextAreaElement | null} */ (document.querySelector('form [name="reason"]'));
  const reason = field?.value.trim() ?? "";
  if (!reason) {
    field?.closest("details")?.setAttribute("open", "");
    field?.focus();
    notice("reason-first");
    return false;
  }
  const person = await personHere();
  if (!person || !confirmed(button)) return false;
  await keep(newEvent(kind === "packed_taken_back" ? "packed_taken_back" : "release_taken_back", subject, { person, takes, reason }));
  if (field) field.value = "";
  await reload();
  return true;
}
