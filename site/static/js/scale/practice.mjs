/** In practice a batch of the demo workshop always waits to be weighed; it was issued when the app was built. */

import { keep } from "../frame/saved.mjs";
import { untilRead } from "../frame/unread.mjs";
import { nowLocal } from "../frame/when.mjs";
import { batch, CodeTaken, eventsOfBatch, newEvent } from "../store/events.mjs";
import { blockLink } from "./lists.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */

/** How the address of the page at the scale asks for it. In other addresses a batch's code stands before the slash. */
export const PRACTICE = "practice";

/** It says "practice" on the sheet and on each record of its blocks. The build has issued the first. @param {number} n */
const codeOf = (n) => `PRACTICE-${n}`;

/** The address of the first block that is not closed. Once all of them are, the same batch is issued anew. @returns {Promise<string>} */
export async function blockToPractice() {
  for (let n = 1; ; n += 1) {
    const code = codeOf(n);
    const [issued] = await untilRead(() => batch(code));
    const { blocks = 1 } = issued ?? (await issue(code));
    const events = await untilRead(() => eventsOfBatch(code));
    const closed = new Set(events.flatMap(({ kind, subject }) => (kind === "closed" ? [subject] : [])));
    for (let number = 1; number <= blocks; number += 1) {
      if (!closed.has(`block:${code}/${number}`)) return blockLink(code, number);
    }
  }
}

/** Another tab may issue it meanwhile: then that one stands. @param {string} code @returns {Promise<TarewellEvent>} */
async function issue(code) {
  const response = await fetch(new URL("../../practice.json", import.meta.url));
  const built = await response.text();
  const { issued_at } = JSON.parse(built);
  const now = nowLocal();
  const spaced = (/** @type {string} */ at) => at.replace("T", " ");
  const anew = built.replaceAll(codeOf(1), code).replaceAll(issued_at, now).replaceAll(spaced(issued_at), spaced(now));
  const { record } = JSON.parse(anew);
  try {
    return await keep(newEvent("issued", `batch:${code}`, record));
  } catch (error) {
    const [first] = error instanceof CodeTaken ? await untilRead(() => batch(code)) : [];
    if (!first) throw error;
    return first;
  }
}
