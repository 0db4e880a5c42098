import { untilMade } from "../frame/made.mjs";
import { allLog, makeLog } from "../store/log.mjs";

/** @import { LogEntry } from "../rules/types.mjs" */

/** The whole batch log; what of it is still to be made is made first. @param {(share: number | null) => void} [making] Told how far that is, and null once it is over. @returns {Promise<LogEntry[]>} */
export const wholeLog = (making) => untilMade(allLog, makeLog, () => [], making);
