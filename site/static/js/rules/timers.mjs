/** @import { TarewellEvent } from "./types.mjs" */

/**
 * What the clock said when an event was stored. `at` is the same instant, but pushed behind the event before it where the
 * clock had been set back since: it orders events and is no time of day then.
 *
 * @param {{at: string, local: string}} event [ms]
 */
export function instantOf({ at, local }) {
  const [ordered, said] = [Date.parse(at), Date.parse(local)];
  return Math.abs(ordered - said) < LOCAL_IS_SHORTER_MS ? ordered : said;
}

/** `local` ends at whole seconds. */
const LOCAL_IS_SHORTER_MS = 2000;

/** When a time that was begun is over. @param {TarewellEvent} started @param {number} seconds Its length, where the event does not say it. [ms] */
export const endOf = (started, seconds) => instantOf(started) + 1000 * (started.seconds ?? seconds);

/**
 * How much is left of a time that was begun, by the clock on the wall: it counts on through sleep, a locked screen, a
 * closed page, changes of the hour and of the zone, since only instants are compared.
 *
 * @param {TarewellEvent} started
 * @param {number} seconds The time's length, where the event does not say it.
 * @param {number} now [ms]
 * @param {{at: string, local: string}} [newest] The newest event known: the clock can't rightly be before it.
 * @returns {{seconds: number, clockBack: boolean, longOver: boolean}} Below zero once it is over, never above the length.
 *   `clockBack` when the clock was set back, `longOver` when it says that the end is days ago: it may have been set forward.
 */
export function remaining(started, seconds, now, newest = started) {
  const left = (endOf(started, seconds) - now) / 1000;
  return {
    seconds: Math.min(left, started.seconds ?? seconds),
    clockBack: now < Math.max(instantOf(started), instantOf(newest)) - SLACK_MS,
    longOver: left < -LONG_OVER_S,
  };
}

const SLACK_MS = 1000;
/** Nobody leaves a block at the scale for so long; a clock set a year forward does. */
const LONG_OVER_S = 3 * 24 * 3600;
