/** Questions to the shop server, over the connection that one of the tabs has. */

import { clock } from "../store/clock.mjs";
import { onWord, say } from "./channel.mjs";
import { Refused } from "./refused.mjs";

/** @import { Reading } from "../rules/heard.mjs" */

/**
 * @typedef {object} Phone
 * @property {string} device
 * @property {string} name
 * @property {boolean} owner
 * @property {string | null} seen     ISO
 * @property {boolean} connected
 * @property {string | null} revoked  ISO
 *
 * @typedef {object} Phones
 * @property {Phone[]} phones
 * @property {{ask: string, name: string, since: string}[]} joining
 * @property {number} events
 * @property {string | null} copy     when the server last made a copy, ISO
 *
 * @typedef {{do: "pair"} | {do: "confirm" | "refuse", ask: string} | {do: "revoke" | "owner", device: string}} Deed
 */

/** How long an answer may take. [ms] */
const PATIENCE = 6_000;

/** @param {"phones" | "deed"} subject @param {object | null} body @returns {Promise<any>} Rejects with `Refused`. */
function ask(subject, body) {
  const id = clock.uuid();
  return new Promise((resolve, reject) => {
    const unheard = () => {
      end();
      reject(new Refused("unreachable"));
    };
    const timer = setTimeout(unheard, PATIENCE);
    const end = onWord(({ answer }) => {
      if (answer?.id !== id) return;
      if (answer.reply === null) return unheard();
      end();
      clearTimeout(timer);
      if (answer.reply.refused) reject(new Refused(answer.reply.refused));
      else resolve(answer.reply);
    });
    say({ question: { id, subject, body } });
  });
}

/** The phones of this shop, and who waits to become one. @returns {Promise<Phones>} Rejects with `Refused("unreachable")`. */
export const askPhones = () => ask("phones", null);

/**
 * Asks the server to do something about phones.
 *
 * @param {Deed} wanted
 * @returns {Promise<{ok?: true, secret?: string, until?: string, address?: string}>} Of "pair" the secret, how long it holds and
 *   the address for the other phone. Rejects with `Refused`: not_owner, unknown, last_owner, expired, waiting, no_seat, unreachable.
 */
export const deed = (wanted) => ask("deed", wanted);

/** Calls back when the list of phones has changed. @param {() => void} listener @returns {() => void} What ends it. */
export const watchPhones = (listener) => onWord(({ phones }) => phones && listener());

/**
 * Calls back with each reading of each scale that the server hears. No word for three seconds means that it is gone.
 *
 * @param {(reading: Reading) => void} listener
 * @returns {() => void} What ends it.
 */
export function watchScales(listener) {
  const end = onWord(({ reading }) => reading && listener(reading));
  // The tab that has the connection hears scales only as long as some tab says this.
  say({ scales: true });
  const timer = setInterval(() => say({ scales: true }), 5_000);
  return () => {
    clearInterval(timer);
    end();
  };
}
