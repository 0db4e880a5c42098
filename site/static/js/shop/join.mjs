/** This phone becomes one of a shop's. */

import { mode } from "../store/mode.mjs";
import { dropJoining, readJoining, storeJoining, storePhone } from "../store/shop.mjs";
import { say } from "./channel.mjs";
import { askToJoin, newSeed, shopHere } from "./link.mjs";
import { Refused } from "./refused.mjs";
import { keepTold } from "./state.mjs";

/** @import { Stage } from "./link.mjs" */

/**
 * Makes this phone's own key, which never leaves it, and asks to become one of the shop's. Waits until the maker has
 * confirmed or refused it, up to ten minutes; a page that is opened anew meanwhile asks again with the same key.
 *
 * @param {string} secret  out of the address that was scanned
 * @param {string} name    what the person calls this phone
 * @param {(stage: Stage) => void} [told] "connecting" until the server is heard, then "waiting" for the maker.
 * @returns {Promise<{device: string, shop: string, name: string}>} `name`: the server's. Rejects with `Refused`: refused, expired,
 *   taken_name, no_shop (no shop server at this address), practice, unreachable (not heard within the ten minutes).
 */
export async function join(secret, name, told = () => {}) {
  if (mode !== "own") throw new Refused("practice");
  const here = await shopHere();
  if (!here) throw new Refused("no_shop");
  const begun = await readJoining(secret);
  const seed = begun ?? (await newSeed());
  if (!begun) await storeJoining(secret, seed);
  const reply = await askToJoin({ ...here, secret, seed, called: name }, told);
  if ("refused" in reply) {
    await dropJoining();
    throw new Refused(reply.refused);
  }
  // The server may know it by another name than the one that was asked for.
  await storePhone({ ...here, device: reply.device, called: reply.name || name, seed });
  keepTold(null);
  say({ changed: true });
  return { ...here, device: reply.device };
}
