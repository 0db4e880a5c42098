/** What people call the shop's phones, as this phone has heard it last: it is told too where the server can't be heard. */

import { tellHere } from "../frame/tabs.mjs";
import { named } from "../store/mode.mjs";
import { askPhones } from "./ask.mjs";

const KEPT = named("phones");

/** @returns {Record<string, string>} The names by the phones' ids. */
function kept() {
  try {
    const found = JSON.parse(localStorage.getItem(KEPT) ?? "{}");
    return found && typeof found === "object" ? found : {};
  } catch {
    return {};
  }
}

/** "" where it isn't known. @param {string} device */
export const nameOf = (device) => String(kept()[device] ?? "");

/** What stands on the page by another name, or by none, is told anew. @param {{device: string, name: string}[]} phones */
export function keepNames(phones) {
  const names = JSON.stringify(Object.fromEntries(phones.map(({ device, name }) => [device, name])));
  if (names === JSON.stringify(kept())) return;
  try {
    localStorage.setItem(KEPT, names);
    tellHere();
  } catch {
    // Then they are called "another phone".
  }
}

export function forgetNames() {
  try {
    localStorage.removeItem(KEPT);
  } catch {
    // A browser that refuses this has kept none.
  }
}

/** Asks the shop server for them; where it isn't heard those from before stay. @returns {Promise<boolean>} Whether it was heard. */
export async function learnNames() {
  const told = await askPhones().catch(() => null);
  if (told) keepNames(told.phones);
  return told !== null;
}
