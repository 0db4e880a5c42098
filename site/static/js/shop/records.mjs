/** What the engine asks of this phone's own store. */

import { StoreError } from "../store/database.mjs";
import { merge, Unfit } from "../store/events.mjs";
import { fits } from "../store/fits.mjs";
import { beginAnew, markAll, noteSent, outgoing, readCursor, readPhone } from "../store/shop.mjs";

/**
 * Whether something could not be stored for what it is: a record that this build makes nothing of, and not a store that fails.
 *
 * @param {unknown} error
 */
export function isOfEvents(error) {
  if (error instanceof Unfit) return true;
  if (!(error instanceof StoreError) || error.code !== "store-failed") return false;
  const { cause } = error;
  // What a browser's store has to say is a DOMException; of a record, only that it can't be kept or found by what it holds.
  return !(cause instanceof DOMException) || cause.name === "DataError" || cause.name === "DataCloneError";
}

/** @type {import("./engine.mjs").Store} */
export const store = {
  readPhone,
  readCursor,
  beginAnew,
  markAll,
  outgoing,
  noteSent,
  take: (events, cursor) => merge(events, undefined, { apart: true, shop: cursor }),
  fits,
  isOfEvents,
};
