import { word } from "../frame/words.mjs";
import { copyDue } from "../rules/due.mjs";
import { dayOn } from "../store/clock.mjs";
import { lastCopy, noteCopy } from "../store/copied.mjs";
import { StoreError } from "../store/database.mjs";
import { countClosed, countEvents, firstBatch } from "../store/events.mjs";
import { mode } from "../store/mode.mjs";

/** A copy has been handed over. @param {number} records */
export async function copied(records) {
  noteCopy({ records, closed: await countClosed() });
  await showCopyAge();
}

/**
 * The day of the last copy, "" where there is none, and how many records have come and how many blocks were closed since.
 *
 * @returns {Promise<{last: string, since: number, closed: number}>}
 */
export async function copyAge() {
  const [now, closed] = await Promise.all([countEvents(), countClosed()]);
  const kept = lastCopy();
  if (!kept) return { last: "", since: now, closed };
  return { last: kept.local.slice(0, 10), since: Math.max(0, now - kept.records), closed: Math.max(0, closed - (kept.closed ?? closed)) };
}

/** Says how old the last copy is, what has come since, and whether the next one is overdue; nothing where there is nothing to lose. */
export async function showCopyAge() {
  const places = document.querySelectorAll(/** @type {"section"} */ ("[data-copy-age]"));
  if (places.length === 0) return;
  try {
    const age = await copyAge();
    const first = (await firstBatch())?.local.slice(0, 10) ?? "";
    const text = age.last ? word("copy-last", { day: age.last, n: age.since }) : word("copy-never", { n: age.since });
    for (const place of places) {
      const { copyDays, copyBlocks } = place.dataset;
      // Nobody has to keep a copy of practice.
      const [due] = mode === "own" ? copyDue({ ...age, first, every: Number(copyDays), after: Number(copyBlocks) }, dayOn()) : [];
      place.hidden = (!age.last && age.since === 0) || (place.dataset.onceOverdue !== undefined && !due?.alarm);
      place.toggleAttribute("data-overdue", Boolean(due?.alarm));
      fill(place, "[data-copy-overdue]", due?.alarm ? word("copy-overdue") : "");
      fill(place, "[data-copy-age-text]", text);
      fill(place, "[data-copy-age-blocks]", age.closed > 0 ? word("copy-blocks", { n: age.closed }) : "");
    }
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
  }
}

/** @param {HTMLElement} place @param {string} selector @param {string} text */
function fill(place, selector, text) {
  const part = /** @type {HTMLElement} */ (place.querySelector(selector));
  part.textContent = text;
  part.hidden = text === "";
}
