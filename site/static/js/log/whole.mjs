import { untilRead } from "../frame/unread.mjs";
import { allLog, makeLog } from "../store/log.mjs";

/** @import { LogEntry } from "../rules/types.mjs" */

/** The whole batch log; what of it is still to be made is made first. @param {(share: number | null) => void} [making] Told how far that is, and null once it is over. @returns {Promise<LogEntry[]>} */
export async function wholeLog(making = () => {}) {
  for (;;) {
    const log = await untilRead((limit) => allLog(limit), () => []);
    making(null);
    if (log !== null) return log;
    making(0);
    await untilRead(() => makeLog(making));
  }
}
