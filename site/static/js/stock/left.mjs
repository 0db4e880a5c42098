/** What is left of each lot, for pages that ask of a lot how much there is: reckoned once their first answer stands, which then follows. */

import { app, onWorkshop, question } from "../frame/app.mjs";
import { untilRead } from "../frame/unread.mjs";
import { wholeLog } from "../log/whole.mjs";
import { savedLots } from "../log/lot_saves.mjs";
import { AFTER_SALE_KINDS, TANK_KINDS } from "../rules/kinds.mjs";
import { lotKey, sameLots } from "../rules/lot_key.mjs";
import { batchesWith, namesInTanks } from "../rules/stock.mjs";
import { eventsOfKinds } from "../store/events.mjs";
import { readLedger } from "./told.mjs";

/** @import { Item } from "../rules/types.mjs" */

/** The lots of which a sheet and a stand-in ask how much there is. */
const LOTS = ["oil_lot", "alkali_lot"];
/** What of the workshop the accounts are read with. */
const ALSO = ["units", "own_oil", "scent_lot", "scent", "additive_lot"];

/** @type {Record<string, number | null> | null} */
let left = null;
/** Whether it came before anybody followed. */
let missed = false;
let changed = () => {
  missed = true;
};

onWorkshop(async () => {
  if (left) app.state.lots_left = left;
  // Of a lot under recall the sheet says so.
  app.state.after_sale = await untilRead((limit) => eventsOfKinds(AFTER_SALE_KINDS, limit), () => []);
  void reckon();
});

/** @param {() => void} follow Asks the page's answers anew. */
export function followLeft(follow) {
  changed = follow;
  if (missed) changed();
}

async function reckon() {
  const { state } = app;
  /** @type {Item[]} */
  const lots = LOTS.flatMap((kind) => state[kind] ?? []);
  if (lots.length === 0) return;
  const tanks = [...(state.contents ?? []), ...(await untilRead((limit) => eventsOfKinds(TANK_KINDS, limit), () => []))];
  const inTanks = namesInTanks(tanks);
  const same = sameLots(await savedLots());
  const codes = lots.map(({ values }) => values.code ?? "").filter((code) => code !== "" && !inTanks.has(lotKey(code)));
  const ledger = await readLedger(batchesWith(await wholeLog(), new Set(codes.flatMap((code) => [...same(code)]))), true);
  const workshop = Object.fromEntries([...LOTS, ...ALSO].map((kind) => [kind, state[kind]]).filter(([, own]) => own !== undefined));
  const reply = await question("lots_left", {}, { state: { ...workshop, ...ledger } });
  // Read again meanwhile: that reading tells it.
  if (!reply?.ok || state !== app.state) return;
  const { lots_left: now = null, differs = false } = reply.record ?? {};
  const stays = left ? JSON.stringify(left) === JSON.stringify(now) : !differs;
  left = now;
  if (left) app.state.lots_left = left;
  // An answer that stays as it is isn't asked for anew: it would go and come under somebody's finger.
  if (!stays) changed();
}
