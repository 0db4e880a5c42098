import { standing } from "./taken_back.mjs";

/** @import { DayEntry, Kind, TarewellEvent } from "./types.mjs" */

/** @typedef {{id: string, tank: string, name: string, at: string, person: string}} Switch  `at`: by the clock of where it was kept or done, "2026-12-01T05:10". */

/** All that the three below go by. @type {Kind[]} */
export const SWITCH_KINDS = ["tank_switch_kept", "tank_switched_on", "tank_switch_dropped", "tank_switched_off", "tank_taken_back"];

const tankOf = (/** @type {TarewellEvent} */ { subject }) => subject.slice(subject.indexOf(":") + 1);

/** The day that a switch-on is for: of one from before that was kept, the day on which it is switched on. @param {TarewellEvent} event */
const dayOf = ({ ready_at: ready, switch_at: at = "" }) => (ready ?? at).slice(0, 10);

/**
 * The switch-ons that are kept and neither done nor dropped, the first one first: of each tank the newest. calc/tanks/switching.py
 * has the same rules.
 *
 * @param {TarewellEvent[]} events In order. @returns {Switch[]}
 */
export const openSwitches = (events) =>
  openKept(events).map((event) => ({ id: event.id, tank: tankOf(event), name: event.name ?? "", at: event.switch_at ?? "", person: event.person ?? "" }));

/** @param {TarewellEvent[]} events */
function openKept(events) {
  const told = standing(events);
  const over = new Set(told.flatMap(({ kind, takes }) => (kind === "tank_switched_on" || kind === "tank_switch_dropped" ? [takes] : [])));
  const newest = new Map(told.filter(({ kind }) => kind === "tank_switch_kept").map((event) => [tankOf(event), event]));
  return [...newest.values()].filter(({ id }) => !over.has(id)).sort(({ switch_at: a = "" }, { switch_at: b = "" }) => (a < b ? -1 : 1));
}

/** What was switched on, with the day that it was for; of one tank the last one last. @param {TarewellEvent[]} events */
function switchedOn(events) {
  const told = standing(events);
  const byId = new Map(told.map((event) => [event.id, event]));
  return told.filter(({ kind }) => kind === "tank_switched_on").map((event) => {
    const kept = byId.get(event.takes ?? "");
    return { event, name: kept?.name ?? "", day: kept ? dayOf(kept) : event.local.slice(0, 10) };
  });
}

/**
 * The tanks that are on: switched on for that day or a later one, and not off since.
 *
 * @param {TarewellEvent[]} events In order. @param {string} today @returns {Switch[]}
 */
export function onTanks(events, today) {
  const off = new Set(standing(events).flatMap(({ kind, takes }) => (kind === "tank_switched_off" ? [takes] : [])));
  const newest = new Map(switchedOn(events).map((each) => [tankOf(each.event), each]));
  return [...newest.values()]
    .filter(({ event: { id }, day }) => day >= today && !off.has(id))
    .map(({ event, name }) => ({ id: event.id, tank: tankOf(event), name, at: event.local.slice(0, 16), person: event.person ?? "" }));
}

/**
 * The entries of a day's plan, without those of tanks whose switch-on for that day is told by itself: as it is kept, or done.
 *
 * @param {DayEntry[]} entries @param {TarewellEvent[]} events Of the tanks, in order. @param {string} day
 */
export function withoutSwitched(entries, events, day) {
  const done = switchedOn(events).filter((each) => each.day === day).map(({ event }) => tankOf(event));
  const told = new Set([...openKept(events).filter((event) => dayOf(event) === day).map(tankOf), ...done]);
  return entries.filter(({ tank = "" }) => !told.has(tank));
}
