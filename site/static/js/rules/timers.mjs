/** @import { TarewellEvent } from "./types.mjs" */

/**
 * What the clock said when an event was stored. `at` is the same instant, unless the clock had been set back since the event
 * before. Then `at` was pushed behind that event: it orders events and is no time of day.
 *
 * @param {{at: string, local: string}} event [ms]
 */
export function instantOf({ at, local }) {
  const [ordered, said] = [Date.parse(at), Date.parse(local)];
  return Math.abs(ordered - said) < LOCAL_IS_SHORTER_MS ? ordered : said;
}

/** `local` has whole seconds only. */
const LOCAL_IS_SHORTER_MS = 2000;

/** When a timer that was started is over [ms]. @param {TarewellEvent} started @param {number} seconds Its length, where the event does not say it. */
export const endOf = (started, seconds) => instantOf(started) + 1000 * (started.seconds ?? seconds);

/**
 * How much is left of a timer that was started, by the clock on the wall. Only instants are compared, so it counts on
 * through sleep, a locked screen, a closed page, and changes of the hour or the zone.
 *
 * @param {TarewellEvent} started
 * @param {number} seconds The timer's length, where the event does not say it.
 * @param {number} now [ms]
 * @param {{at: string, local: string}} [newest] The newest event known: the clock can't rightly be before it.
 * @returns {{seconds: number, clockBack: boolean, longOver: boolean}} Below zero once it is over, never above the length.
 *   `clockBack`: the clock was set back. `longOver`: by the clock the end is days ago, so it may have been set forward.
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
/** Nobody leaves a block at the scale for so long; only a clock set far forward looks like it. */
const LONG_OVER_S = 3 * 24 * 3600;
