/** @import { TarewellEvent } from "./types.mjs" */

/**
 * How much is left of a time that was begun, by the clock on the wall: it counts on through sleep, a locked screen, a
 * closed page, changes of the hour and of the zone, since only instants are compared.
 *
 * @param {TarewellEvent} started
 * @param {number} seconds The time's length, where the event does not say it.
 * @param {number} now [ms]
 * @param {string} [newest] The instant of the newest event known: the clock can't rightly be before it.
 * @returns {{seconds: number, clockBack: boolean}} Below zero once it is over; `clockBack` when the clock was set back.
 */
export function remaining(started, seconds, now, newest = started.at) {
  const end = Date.parse(started.at) + 1000 * (started.seconds ?? seconds);
  // Events of one moment sort by whole milliseconds, each pushed one on: that much is no clock set back.
  return { seconds: (end - now) / 1000, clockBack: now < Date.parse(newest) - SLACK_MS };
}

const SLACK_MS = 1000;
