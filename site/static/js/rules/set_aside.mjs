import { blockOf } from "./block.mjs";

/** @import { TarewellEvent } from "./types.mjs" */

/** What was told at the cutter of soap that is no bar for sale, and what a bar weighed: Python reckons from these steps. */
const [TRIM, SET_ASIDE, FIRST_BAR] = ["after:trim", "after:set-aside", "after:first-bar"];

/** Of the work after the pour, what is needed to read it. @param {{key: string}} step */
export const isOfAside = ({ key }) => [TRIM, SET_ASIDE, FIRST_BAR].includes(key);

/**
 * The blocks of which something was told set aside, the newest first; a reading of nothing is none. What somebody said is gone,
 * all used or thrown away, is no more there until more is told.
 *
 * @param {TarewellEvent[]} events What was measured of all blocks, and what is gone; in order.
 * @returns {{id: string, code: string, block: number}[]}
 */
export function blocksWithAside(events) {
  const told = events.filter(({ kind, step, reading }) => kind === "measured" && (step === TRIM || step === SET_ASIDE) && /[1-9]/.test(reading ?? ""));
  const gone = new Map(events.filter(({ kind }) => kind === "aside_gone").map(({ subject, at }) => [subject.replace(/^aside:/, "block:"), at]));
  const there = told.filter(({ subject, at }) => at > (gone.get(subject) ?? ""));
  const subjects = [...new Set(there.map(({ subject }) => subject).reverse())];
  return subjects.map((subject) => {
    const [code, block] = blockOf(subject);
    return { id: `${code}:${block}`, code, block };
  });
}
