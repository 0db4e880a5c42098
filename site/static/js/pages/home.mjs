/** Starts Today: what this is, where nothing is recorded yet; else what is in hand and what is due. It works when Python can't start. */

import { start } from "../frame/app.mjs";
import { markOwn, unmarkOwn } from "../frame/flags.mjs";
import { watchDeeds } from "../frame/deeds.mjs";
import { untilRead } from "../frame/unread.mjs";
import { keepByItself } from "../records/folder.mjs";
import { thisDevice } from "../shop/elsewhere.mjs";
import { dayOn } from "../store/clock.mjs";
import { countEvents } from "../store/events.mjs";
import { readFills, readInHand } from "../today/blocks.mjs";
import { readDue, showDue } from "../today/due.mjs";
import { showInHand } from "../today/in_hand.mjs";
import { watchSwitches } from "../today/switches.mjs";
import { showTanks } from "../today/tanks.mjs";
import { dateWords } from "../frame/when.mjs";
import { startPage } from "./every.mjs";

/** How often the clock is looked at. [ms] */
const TICK = 30_000;

/** The day that stands on the page. */
let day = "";

function showDay() {
  /** @type {HTMLElement} */ (document.querySelector("[data-today]")).textContent = dateWords(dayOn());
  // What is due by the day is read anew on another one.
  if (day !== "" && day !== dayOn()) void show();
  else showDue();
  day = dayOn();
}

async function show() {
  // Read first: where records are missing, it waits, and nothing passes for a first start.
  const inHand = await readInHand();
  const fills = await readFills();
  showInHand(inHand, fills, await thisDevice());
  if ((await untilRead(() => countEvents(), () => 0)) > 0) markOwn();
  else unmarkOwn();
  // Whose eyewash it is, is known with the workshop.
  await start();
  await readDue(inHand, fills);
  await showTanks();
}

watchSwitches(show);
watchDeeds(() => void show());
void startPage({ changed: show });
showDay();
setInterval(showDay, TICK);
document.addEventListener("visibilitychange", showDay);
await show();
await keepByItself();
