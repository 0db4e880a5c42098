/** The shop's phones and what people call them, as this phone has heard it last: it is told too where the server can't be heard. */

import { tellHere } from "../frame/tabs.mjs";
import { named } from "../store/mode.mjs";
import { askPhones } from "./ask.mjs";

const KEPT = named("phones");

/** @import { Phone } from "./ask.mjs" */

/** The shop's phones as they were heard of last; none of them is told as connected. @returns {Phone[]} */
export function phonesBefore() {
  try {
    const found = JSON.parse(localStorage.getItem(KEPT) ?? "[]");
    return Array.isArray(found) ? found.map((phone) => ({ ...phone, connected: false })) : [];
  } catch {
    return [];
  }
}

/** "" where it isn't known. @param {string} device */
export const nameOf = (device) => phonesBefore().find((phone) => phone.device === device)?.name ?? "";

/** @param {Phone[]} phones */
const names = (phones) => JSON.stringify(phones.map(({ device, name }) => [device, name]));

/** What stands on the page by another name, or by none, is told anew. @param {Phone[]} phones */
export function keepPhones(phones) {
  const before = names(phonesBefore());
  try {
    localStorage.setItem(KEPT, JSON.stringify(phones));
  } catch {
    return; // Then they are called "another phone".
  }
  if (names(phones) !== before) tellHere();
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
  if (told) keepPhones(told.phones);
  return told !== null;
}
