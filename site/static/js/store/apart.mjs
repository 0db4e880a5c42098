import { canonical } from "../rules/canonical.mjs";
import { clock, utc } from "./clock.mjs";
import { transact } from "./database.mjs";
import { Sha256 } from "./sha256.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */
/** @import { Writing } from "./database.mjs" */

/**
 * Versions of a record that came under a number which is taken here. No record is ever changed, so none of them counts; each
 * is kept until somebody has looked at it, beside the one that is stored. Among the drafts: a store of its own would shut out
 * every older build.
 */
const PREFIX = "apart:";

// ";" is the character after ":": all keys with the prefix.
export const APART = () => IDBKeyRange.bound(PREFIX, "apart;");

/** Whether nobody has looked at it. @param {import("./database.mjs").Draft} kept */
export const isUnseen = ({ values }) => !values.seen;

/** @param {TarewellEvent} event */
function keyOf(event) {
  const sum = new Sha256();
  sum.update(new TextEncoder().encode(canonical(event)));
  return `${PREFIX}${event.id}:${sum.hex().slice(0, 16)}`;
}

/** Keeps one; the same version again stays as it is, looked at or not. @param {Writing} transaction @param {TarewellEvent} event */
export async function setApart(transaction, event) {
  const drafts = transaction.objectStore("drafts");
  const key = keyOf(event);
  if ((await drafts.getKey(key)) === undefined) await drafts.put({ key, values: {}, base: event.id, at: utc(clock.now()), apart: event });
}

/** @typedef {{key: string, here: TarewellEvent, there: TarewellEvent}} Apart  What is stored, and what came under its number. */

/** Those that nobody has looked at. @returns {Promise<Apart[]>} */
export const allApart = () =>
  transact("readonly", async (transaction) => {
    const kept = (await transaction.objectStore("drafts").getAll(APART())).filter(isUnseen);
    const found = await Promise.all(kept.map(async ({ key, apart: there }) => {
      const here = there && (await transaction.objectStore("events").get(there.id));
      return here ? [{ key, here, there }] : [];
    }));
    return found.flat();
  });

/** Somebody has looked at it. It stays, so that it isn't shown anew when it comes again. @param {string} key */
export const putAway = (key) =>
  transact("readwrite", async (transaction) => {
    const drafts = transaction.objectStore("drafts");
    const kept = await drafts.get(key);
    if (kept) await drafts.put({ ...kept, values: { seen: utc(clock.now()) } });
  });
