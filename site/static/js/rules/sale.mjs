/** @import { LogPart } from "./types.mjs" */

/** The states of a block whose release is waited for, and of one that is decided on; calc/record/release.py decides. @type {Set<string>} */
export const WAITING = new Set(["cut", "curing", "cured"]);
/** @type {Set<string>} */
export const DECIDED = new Set(["released", "reworked", "rejected"]);

/** The block of a batch that its release is about next: the first that waits, else the first decided on; null where none is cut. @param {LogPart[]} parts */
export const toRelease = (parts) => (parts.find(({ state }) => WAITING.has(state)) ?? parts.find(({ state }) => DECIDED.has(state)))?.n ?? null;
