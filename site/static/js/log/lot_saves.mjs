/** What was saved of every lot: which codes it bore, and what its forms said of it. */

import { app } from "../frame/app.mjs";
import { untilRead } from "../frame/unread.mjs";
import { lotSaves } from "../rules/stock.mjs";
import { eventsOfKinds } from "../store/events.mjs";

/** @import { Item } from "../rules/types.mjs" */

const KINDS = ["oil_lot", "alkali_lot", "scent_lot", "additive_lot"];

/** In order; of lots of the invented workshop that were changed since, first what stood in their forms before. */
export async function savedLots() {
  const saves = await untilRead((limit) => eventsOfKinds(["saved"], limit), () => []);
  const invented = KINDS.flatMap((kind) => (app.demo[kind] ?? []).map((/** @type {Item} */ { id, values }) => ({ id: `demo-${id}`, kind: "invented", subject: `${kind}:${id}`, values })));
  return [...invented, ...lotSaves(saves)];
}
