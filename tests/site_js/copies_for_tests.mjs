import { eventsIn, readCopy, writeCopy } from "../../site/static/js/store/backup.mjs";
import { inOrder } from "../../site/static/js/rules/fold.mjs";

/** Everything that comes some at a time. @param {AsyncIterable<any[]>} source */
export async function gathered(source) {
  const all = [];
  for await (const some of source) all.push(...some);
  return all;
}

/** The text of a copy of these events. */
export const copyOf = async (events) => (await writeCopy([inOrder(events)])).text();

/** What comes back from a copy: its whole events, or why it was refused. @param {Blob} file */
export async function back(file) {
  const read = await readCopy(file);
  return "refused" in read ? read : { events: await gathered(eventsIn(file, read.sha256)) };
}
