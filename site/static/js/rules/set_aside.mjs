import { counting } from "./readings.mjs";

/** @import { TarewellEvent } from "./types.mjs" */

/** What was told at the cutter of soap that is no bar for sale, and what a bar weighed: Python reckons from these steps. */
const [TRIM, SET_ASIDE, FIRST_BAR] = ["after:trim", "after:set-aside", "after:first-bar"];

/** Of the work after the pour, what is needed to read it. @param {{key: string}} step */
export const isOfAside = ({ key }) => [TRIM, SET_ASIDE, FIRST_BAR].includes(key);

/**
 * What was told last of soap of a block that was set aside and still lies there; a reading of nothing tells of none, and one
 * that was put right tells what it was put right to. What somebody said is gone, all used or thrown away, is no more there until
 * more is told.
 *
 * @param {TarewellEvent[]} events Of one block, in order. @returns {TarewellEvent | undefined}
 */
export function asideOf(events) {
  const gone = events.findLast(({ kind }) => kind === "aside_gone")?.at ?? "";
  return events.findLast((event) => event.kind === "measured" && (event.step === TRIM || event.step === SET_ASIDE) && event.at > gone && /[1-9]/.test(counting(events, event).reading ?? ""));
}
