/** The page of phones where this one is in a shop: how it stands, who asks to be let in, who is in it. */

import { screen } from "../frame/stage.mjs";
import { latelyWords } from "../frame/when.mjs";
import { inOrder } from "../rules/fold.mjs";
import { phonesBefore } from "../shop/names.mjs";
import { eventsOfKinds } from "../store/events.mjs";
import { untilRead } from "../frame/unread.mjs";
import { countWords, howWords, thenWords } from "./words.mjs";
import { one, part } from "./parts.mjs";

/** @import { Phone, Phones } from "../shop/ask.mjs" */
/** @import { ShopState } from "../shop/state.mjs" */
/** @import { TarewellEvent } from "../rules/types.mjs" */

const COUNTED = /** @type {const} */ (["waiting", "large", "apart", "unread"]);

/** @param {ShopState} state */
export function showState(state) {
  one("[data-phones-how]").textContent = howWords(state);
  one("[data-phones-then]").textContent = thenWords(state);
  for (const what of COUNTED) {
    for (const each of part("paired").querySelectorAll(/** @type {"p"} */ (`[data-phones-if="${what}"]`))) each.hidden = state[what] === 0;
    for (const each of part("paired").querySelectorAll(`[data-phones-line="${what}"]`)) each.textContent = countWords(what, state[what]);
  }
}

/** Whether this phone may let others in. @param {Phones | null} told @param {string} device */
export const isOwner = (told, device) => told?.phones.some((phone) => phone.device === device && phone.owner && !phone.revoked) ?? false;

/** What was drawn last: nothing is drawn anew under a thumb where nothing has changed. */
let drawn = "";

/** @param {Phones | null} told null where the server isn't heard. @param {ShopState} state */
export async function showPhones(told, { device }) {
  const owner = isOwner(told, device);
  const revoked = await untilRead((limit) => eventsOfKinds(["phone_revoked"], limit), () => []);
  const phones = told?.phones ?? phonesBefore();
  const draws = JSON.stringify([told, phones, device, revoked]);
  if (draws === drawn) return;
  drawn = draws;
  one("[data-phones-list-heading]").hidden = phones.length === 0;
  one("[data-phones-unlisted]").hidden = told !== null;
  one("[data-phones-owner]").hidden = !owner;
  one("[data-phones-asking]").replaceChildren(...(told?.joining ?? []).map(({ ask, name }) => {
    const item = screen("phone-asking", { name, owner, other: !owner });
    /** @type {HTMLElement} */ (item.querySelector("li")).dataset.ask = ask;
    return item;
  }));
  // A form that somebody has begun to fill in stays in the row that it is about.
  const form = one("[data-phones-revoke]");
  const about = form.closest("li")?.dataset.device;
  part("paired").append(form);
  one("[data-phones-list]").replaceChildren(...sorted(phones, device).map((phone) => row(phone, device, owner, revoked)));
  const again = [...one("[data-phones-list]").children].find((item) => item instanceof HTMLElement && item.dataset.device === about);
  if (again) again.append(form);
  else form.hidden = true;
}

/** This phone first, then the others by name; those that were taken out come last. @param {Phone[]} phones @param {string} device */
const sorted = (phones, device) =>
  phones.toSorted((a, b) => rank(a, device) - rank(b, device) || a.name.localeCompare(b.name));

/** @param {Phone} phone @param {string} device */
const rank = (phone, device) => (phone.revoked ? 2 : phone.device === device ? 0 : 1);

/** @param {Phone} phone @param {string} device Of this one. @param {boolean} owner @param {TarewellEvent[]} revoked */
function row(phone, device, owner, revoked) {
  const { name, seen, connected } = phone;
  const here = phone.device === device;
  const by = phone.revoked ? inOrder(revoked.filter(({ subject }) => subject === `phone:${phone.device}`))[0] : undefined;
  const item = screen("phone", {
    name,
    here,
    owner: phone.owner && !phone.revoked,
    connected: !phone.revoked && connected,
    seen: !phone.revoked && !connected && seen && latelyWords(seen),
    never: !phone.revoked && !connected && !seen,
    revoked: phone.revoked && latelyWords(phone.revoked),
    by: by?.person,
    why: by?.reason,
    deeds: owner && !here && !phone.revoked,
    "may-own": !phone.owner,
  });
  /** @type {HTMLElement} */ (item.querySelector("li")).dataset.device = phone.device;
  return item;
}
