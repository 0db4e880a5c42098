/** What the page of labels tells Python beside the workshop: what the newest sheets say of a label, and which names were confirmed. */

import { app, onWorkshop } from "../frame/app.mjs";
import { untilRead } from "../frame/unread.mjs";
import { confirmedNames } from "../rules/inci.mjs";
import { INCI_KINDS } from "../rules/kinds.mjs";
import { usedForSale } from "../rules/log.mjs";
import { batch, eventsOfKinds, recentBatches } from "../store/events.mjs";
import { logOf } from "../store/log.mjs";

/** @import { TarewellEvent, UsedLot } from "../rules/types.mjs" */

/** So many of the newest batches are offered; any other is by its address. */
const RECENT = 20;

onWorkshop(async () => {
  const recent = await untilRead(() => recentBatches(RECENT), () => []);
  const codes = new Set([...recent.map(({ code }) => code), ...named()]);
  const sheets = (await Promise.all([...codes].map(sheetOf))).flat();
  app.state.label_sheets = sheets;
  app.state.label_batch = sheets.map(({ code, soap, formula }) => ({ id: code, values: { name: `${code}, ${soap}`, formula } }));
  app.state.inci = confirmedNames(await untilRead(() => eventsOfKinds(INCI_KINDS), () => []));
});

/** The batch that the page was opened for. */
function named() {
  const code = new URLSearchParams(location.hash.split("?")[1] ?? "").get("batch");
  return code ? [code] : [];
}

/** A sheet as far as a label needs it, with what was really weighed into its blocks. @param {string} code */
async function sheetOf(code) {
  const [issued] = await untilRead(() => batch(code), () => []);
  if (!issued?.chemistry || !issued.pours || !issued.formula) return [];
  return [told(issued, usedForSale(await untilRead((limit) => logOf(code, limit), () => null)))];
}

/** @param {TarewellEvent} issued @param {UsedLot[]} used */
function told({ code = "", local, formula, pours, oils, chemistry, scent, set_aside, inputs }, used) {
  const soap = formula?.name ?? code;
  return { code, local, soap, formula: formula?.id ?? "", pours, oils, chemistry, scent, set_aside, typed: inputs?.formula ?? {}, used };
}
