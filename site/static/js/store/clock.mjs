/** The only source of time and of new ids, so that tests can set both. */
export const clock = {
  now: () => Date.now(),
  uuid: () => crypto.randomUUID(),
};

/** No clock shows a later date. Sorted behind everything else, such an event would outlive every change to come. */
export const END_OF_TIME = "2100";

/** @param {number} number @param {number} [width] */
const padded = (number, width = 2) => String(number).padStart(width, "0");

/** @param {number} instant Milliseconds since the epoch. */
export const utc = (instant) => new Date(instant).toISOString();

/** The day on the user's own calendar: "2026-11-25". @param {number} [instant] */
export const dayOn = (instant = clock.now()) => localTime(instant).slice(0, 10);

/**
 * The instant on the user's own clock, with its offset: "2026-11-25T09:30:00+01:00".
 *
 * @param {number} instant Milliseconds since the epoch.
 */
export function localTime(instant) {
  const date = new Date(instant);
  const offset = -date.getTimezoneOffset();
  const day = `${padded(date.getFullYear(), 4)}-${padded(date.getMonth() + 1)}-${padded(date.getDate())}`;
  const time = `${padded(date.getHours())}:${padded(date.getMinutes())}:${padded(date.getSeconds())}`;
  const zone = `${padded(Math.floor(Math.abs(offset) / 60))}:${padded(Math.abs(offset) % 60)}`;
  return `${day}T${time}${offset < 0 ? "-" : "+"}${zone}`;
}
