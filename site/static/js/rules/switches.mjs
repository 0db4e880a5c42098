/** @import { DayEntry, Kind, TarewellEvent } from "./types.mjs" */

/** @typedef {{id: string, tank: string, name: string, at: string, person: string}} Switch  `at`: by the clock of where it was kept, "2026-12-01T05:10". */

/** All that the two below go by. @type {Kind[]} */
export const SWITCH_KINDS = ["tank_switch_kept", "tank_switched_on", "tank_switch_dropped"];

const tankOf = (/** @type {TarewellEvent} */ { subject }) => subject.slice(subject.indexOf(":") + 1);

/**
 * The switch-ons that are kept and neither done nor dropped, the first one first: of each tank the newest. calc/tanks/switching.py
 * has the same rules.
 *
 * @param {TarewellEvent[]} events In order. @returns {Switch[]}
 */
export function openSwitches(events) {
  const over = new Set(events.flatMap(({ kind, takes }) => (kind === "tank_switched_on" || kind === "tank_switch_dropped" ? [takes] : [])));
  const newest = new Map(events.filter(({ kind }) => kind === "tank_switch_kept").map((event) => [tankOf(event), event]));
  return [...newest.values()]
    .filter(({ id }) => !over.has(id))
    .map((event) => ({ id: event.id, tank: tankOf(event), name: event.name ?? "", at: event.switch_at ?? "", person: event.person ?? "" }))
    .sort((a, b) => (a.at < b.at ? -1 : 1));
}

/**
 * The entries of a day's plan, without those of tanks whose switch-on is told by itself: as it is kept, or done.
 *
 * @param {DayEntry[]} entries @param {TarewellEvent[]} events Of the tanks, in order. @param {string} day
 */
export function withoutSwitched(entries, events, day) {
  const done = events.filter(({ kind, local }) => kind === "tank_switched_on" && local.startsWith(day)).map(tankOf);
  const told = new Set([...openSwitches(events).filter(({ at }) => at.startsWith(day)).map(({ tank }) => tank), ...done]);
  return entries.filter(({ tank = "" }) => !told.has(tank));
}
