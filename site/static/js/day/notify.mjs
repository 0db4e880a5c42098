/**
 * Notifications of the plan, where somebody asked for them and the phone grants them: shown by a page that is open, through
 * the service worker where there is one, so that no network is needed. A closed app shows none.
 */

import { untilMade } from "../frame/made.mjs";
import { untilRead } from "../frame/unread.mjs";
import { word } from "../frame/words.mjs";
import { atOf, plansOf } from "../rules/day.mjs";
import { openSwitches, withoutSwitched } from "../rules/switches.mjs";
import { clock, dayOn } from "../store/clock.mjs";
import { eventsAbout } from "../store/events.mjs";
import { mode } from "../store/mode.mjs";
import { makeStanding, switchesTold } from "../store/standing.mjs";

/** @import { DayEntry } from "../rules/types.mjs" */

const KEY = `tarewell-notify-${mode}`;
/** How often the clock is looked at, and how long after its time an entry is still worth a notification. [ms] */
const TICK = 20_000;
const WORTH = 10 * 60_000;

/** What stands at a key of this browser: a comfort, no record. @param {string} key */
function held(key) {
  try {
    return localStorage.getItem(key) ?? "";
  } catch {
    return "";
  }
}

/** @param {string} key @param {string} text */
function hold(key, text) {
  try {
    localStorage.setItem(key, text);
  } catch {
    // Not kept: then it holds until the page is left.
  }
}

/** "missing" where the browser has none; "off", "on", or "denied" by the phone. @returns {"missing" | "off" | "on" | "denied"} */
export function notifyState() {
  if (typeof Notification === "undefined") return "missing";
  if (Notification.permission === "denied") return "denied";
  return held(KEY) === "on" && Notification.permission === "granted" ? "on" : "off";
}

/** Turns them on or off; the phone is asked at this tap alone. */
export async function toggleNotify() {
  if (notifyState() === "on") return hold(KEY, "");
  if (typeof Notification !== "undefined" && (await Notification.requestPermission()) === "granted") hold(KEY, "on");
}

/** A switch-on that is kept, as the plan would tell it. @param {import("../rules/switches.mjs").Switch} kept @returns {DayEntry} */
const asEntry = ({ at, name, tank }) => ({ at, kind: "tank_on", mark: "", soap: name, subject: "", tank });

/** An entry in words. @param {DayEntry} entry */
export const entryWords = ({ kind, mark, soap }) => word(`day-${kind.replace("_", "-")}`, { mark, soap });

/** Looks at the plan from time to time, on whatever page is open. */
export function watchEntries() {
  setInterval(() => {
    if (notifyState() === "on") void tell();
  }, TICK);
}

async function tell() {
  const plan = plansOf(await untilRead((limit) => eventsAbout(`day:${dayOn()}`, limit), () => [])).get(dayOn());
  const tanks = await untilMade(switchesTold, makeStanding, () => []);
  const now = clock.now();
  for (const entry of [...withoutSwitched(plan?.entries ?? [], tanks, dayOn()), ...openSwitches(tanks).map(asEntry)]) {
    const tag = `${entry.at} ${entry.kind} ${entry.mark}`;
    if (atOf(entry) > now || atOf(entry) < now - WORTH || held(`${KEY}-told`).split("\n").includes(tag)) continue;
    // Those of other days are forgotten.
    hold(`${KEY}-told`, [...held(`${KEY}-told`).split("\n").filter((each) => each.startsWith(dayOn())), tag].join("\n"));
    await show(entryWords(entry), tag);
  }
}

/** @param {string} title @param {string} tag Of two pages that are open the second one's takes the place of the first. */
async function show(title, tag) {
  const options = { tag, lang: document.documentElement.lang };
  const worker = await navigator.serviceWorker?.getRegistration().catch(() => undefined);
  if (worker?.active) await worker.showNotification(title, options);
  // Phones know only the worker's way: there this throws.
  else try {
    new Notification(title, options);
  } catch {
    hold(KEY, "");
  }
}
