/** Starts the page of phones: which part of it is shown goes by the address, the mode, and whether this phone is in a shop. */

import { offerPeople, proposePerson } from "../forms/who.mjs";
import { untilRead } from "../frame/unread.mjs";
import { hideCode, showMinutes, watchDeeds } from "../phones/deeds.mjs";
import { opensOwn, secretHere, showJoin, watchJoin } from "../phones/joining.mjs";
import { showPhones, showState } from "../phones/list.mjs";
import { part, showPart } from "../phones/parts.mjs";
import { askPhones, watchPhones } from "../shop/ask.mjs";
import { keepPhones } from "../shop/names.mjs";
import { shopState, watchShop } from "../shop/state.mjs";
import { mode } from "../store/mode.mjs";
import { startPage } from "./every.mjs";

/** How often the clock is looked at. [ms] */
const TICK = 15_000;

/** In a browser that keeps no records there is no key of a phone either. @type {import("../shop/state.mjs").ShopState} */
const UNPAIRED = { paired: false, shop: "", name: "", device: "", phone: "", state: "off", heard: null, waiting: 0, large: 0, apart: 0, unread: 0 };

/** Nothing else is shown in its place while it can't be read. */
const readState = () => untilRead(shopState, () => UNPAIRED);

/** @type {{state: import("../shop/state.mjs").ShopState, told: import("../shop/ask.mjs").Phones | null}} */
const seen = { state: UNPAIRED, told: null };

/** Which question is the newest: an older one may be answered later, or not at all. */
let turn = 0;

/** Asks who is in the shop, and shows it. */
async function showTold() {
  const mine = (turn += 1);
  const told = await askPhones().catch(() => null);
  if (mine !== turn) return;
  seen.told = told;
  if (seen.told) keepPhones(seen.told.phones);
  await showPhones(seen.told, seen.state);
  // Whoever asks has scanned the code, and no second phone may.
  if ((seen.told?.joining.length ?? 0) > 0) hideCode();
}

/** Where this phone is in no shop. Nothing is asked of a server before a code was scanned: most phones have none. */
function showUnpaired() {
  if (mode !== "own") return showPart("practice");
  return secretHere() !== "" ? showJoin() : showPart("unpaired");
}

async function show() {
  seen.state = await readState();
  if (!seen.state.paired) return part("waiting").hidden && part("over").hidden ? showUnpaired() : undefined;
  showPart("paired");
  showState(seen.state);
  await showTold();
}

if (!opensOwn()) {
  await startPage({ changed: offerPeople });
  offerPeople();
  watchJoin(() => void show());
  watchDeeds(() => seen, showTold);
  watchPhones(() => seen.state.paired && void showTold());
  watchShop((state) => {
    const was = seen.state;
    seen.state = state;
    if (state.paired !== was.paired) return void show();
    if (!state.paired) return;
    showState(state);
    // What was told before this page was opened may not hold any more, and who had the connection may be gone.
    if (state.state !== was.state || (seen.told === null && state.heard !== was.heard)) void showTold();
  });
  addEventListener("hashchange", () => void (!seen.state.paired && showUnpaired()));
  setInterval(() => {
    showMinutes();
    if (seen.state.paired) showState(seen.state);
  }, TICK);
  await show();
  await proposePerson();
}
