/** How this phone stands with the shop server, for any page that shows it. */

import { named } from "../store/mode.mjs";
import { dropPhone, readPhone, readStanding } from "../store/shop.mjs";
import { onWord, say } from "./channel.mjs";

/**
 * - `off`: this phone isn't paired.
 * - `connecting`: it is looking for the server, for the first time since the page was opened.
 * - `together`: the server is heard; what is here goes there, and what is there comes here.
 * - `unreachable`: it is not heard just now; it's tried again by itself.
 * - `revoked`: the server takes nothing from this phone any more.
 * - `full`: the server takes nothing more from this phone, for its share of the disk is used up; what others did still comes in.
 * - `wiped`: the server has lost what it had, and is given everything anew.
 * - `other_shop`: another workshop's server answers at this address.
 * - `too_large`: all is well but for at least one record that is larger than the server takes.
 *
 * @typedef {"off" | "connecting" | "together" | "unreachable" | "revoked" | "full" | "wiped" | "other_shop" | "too_large"} Stands
 *
 * @typedef {object} Told            What the tab that has the connection tells.
 * @property {Stands} state
 * @property {string | null} heard   when the server was last heard, ISO in UTC
 * @property {number} large          records that are too large to be sent
 *
 * @typedef {object} ShopState
 * @property {boolean} paired
 * @property {string} shop           the shop's id, "" where not paired
 * @property {string} name           the server's name: "tarewell.local"
 * @property {string} device         this phone's id
 * @property {string} phone          what the person calls this phone
 * @property {Stands} state
 * @property {string | null} heard
 * @property {number} waiting        records that are still to go out
 * @property {number} large          those of them that are too large to be sent
 * @property {number} apart          records that came in and can't be used: other content under a number that is taken here
 * @property {number} unread         records that came in and this build can't read; they are asked for again by the next one
 */

/** How it stood when it was last told, on whatever page: until it is told anew that holds. */
const KEPT = named("shop");

/** @type {Told} */
let last = lastTold();

/** @returns {Told} */
export function lastTold() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEPT) ?? "null");
    if (typeof kept?.state === "string") return kept;
  } catch {
    // Then it is told once the server is heard.
  }
  return { state: "connecting", heard: null, large: 0 };
}

/** @param {Told | null} told null: nothing from before counts any more. */
export function keepTold(told) {
  try {
    if (told) localStorage.setItem(KEPT, JSON.stringify(told));
    else localStorage.removeItem(KEPT);
  } catch {
    // As above.
  }
}

onWord(({ told, changed }) => {
  if (told) last = told;
  if (changed) last = lastTold();
});

/** @returns {Promise<ShopState>} Rejects with `StoreError`. */
export async function shopState() {
  const phone = await readPhone();
  if (!phone) return { paired: false, shop: "", name: "", device: "", phone: "", state: "off", heard: null, waiting: 0, large: 0, apart: 0, unread: 0 };
  const { shop, name, device, called } = phone;
  return { paired: true, shop, name, device, phone: called, ...last, ...(await readStanding()) };
}

/** Together at most so often. [ms] */
const PAUSE = 200;

/**
 * Calls back with the state, at once and at each change, in whichever tab it comes about.
 *
 * @param {(state: ShopState) => void} listener
 * @returns {() => void} What ends it.
 */
export function watchShop(listener) {
  let ended = false;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;
  const show = async () => {
    timer = undefined;
    const state = await shopState().catch(() => null);
    if (state && !ended) listener(state);
  };
  const end = onWord(({ told, changed }) => {
    if (told || changed) timer ??= setTimeout(show, PAUSE);
  });
  say({ who: true });
  void show();
  return () => {
    ended = true;
    end();
  };
}

/** This phone's own records stay; its key, and what it knew of the server, are gone. */
export async function leaveShop() {
  await dropPhone();
  keepTold(null);
  say({ changed: true });
}
