import { findItem } from "../frame/app.mjs";
import { fill } from "../frame/stage.mjs";
import { untilRead } from "../frame/unread.mjs";
import { sameOrder, waits } from "../rules/orders.mjs";
import { dayOn } from "../store/clock.mjs";
import { batch, eventsOfBatch, recentBatches } from "../store/events.mjs";
import { collect } from "./forms.mjs";

/** @import { TarewellEvent, Values } from "../rules/types.mjs" */

/** How many sheets of a day are looked through. */
const LOOKED = 12;

/** A sheet of today by the same order, with a block that is not closed yet. @param {Values} values @returns {Promise<TarewellEvent | null>} */
async function waiting(values) {
  const recent = await untilRead(() => recentBatches(LOOKED), () => []);
  const revision = findItem("formula", values.formula ?? "")?.revision;
  for (const { code } of recent.filter(({ local }) => local.slice(0, 10) === dayOn())) {
    // The sheet in whose place this one is issued is no reason to hold it back.
    if (code === values.replaces) continue;
    const [issued, ...others] = await untilRead(() => batch(code), () => []);
    if (!issued || others.length > 0 || issued.formula?.revision !== revision || !sameOrder(issued.inputs?.order ?? {}, values)) continue;
    if (waits(issued, await untilRead(() => eventsOfBatch(code), () => []))) return issued;
  }
  return null;
}

/** The newest question: an older one that ends later says nothing. */
let asked = 0;

/**
 * Says beside the button that just this was issued today already, and leads to it: a second sheet of one batch is another
 * batch in the records for good.
 *
 * @param {HTMLFormElement} form @param {Values} [values]
 * @returns {Promise<boolean>} Whether it was.
 */
export async function sayIssuedToday(form, values = collect(form)) {
  const place = /** @type {HTMLElement | null} */ (form.querySelector("[data-issued-today]"));
  if (!place) return false;
  const turn = ++asked;
  const found = await waiting(values);
  if (turn !== asked) return found !== null;
  place.hidden = found === null;
  if (found) {
    const code = found.code ?? "";
    fill(place, { code, batch: `${place.dataset.scaleUrl}#${encodeURIComponent(code)}${found.blocks === 1 ? "/1" : ""}` });
  }
  return found !== null;
}
