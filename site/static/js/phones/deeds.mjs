/** What is done on the page of phones: adding one, letting it in, taking one out, leaving. */

import { confirmed } from "../frame/confirmed.mjs";
import { question } from "../frame/app.mjs";
import { rememberPerson } from "../frame/people.mjs";
import { redraw } from "../frame/redrawn.mjs";
import { keep } from "../frame/saved.mjs";
import { word } from "../frame/words.mjs";
import { deed } from "../shop/ask.mjs";
import { forgetNames } from "../shop/names.mjs";
import { Refused } from "../shop/refused.mjs";
import { leaveShop } from "../shop/state.mjs";
import { clock } from "../store/clock.mjs";
import { newEvent } from "../store/events.mjs";
import { one, onDeed } from "./parts.mjs";

/** @import { Phones } from "../shop/ask.mjs" */
/** @import { ShopState } from "../shop/state.mjs" */

/** @typedef {{state: ShopState, told: Phones | null}} Seen  What the page shows. */

/** What changes this page alone. */
const HERE_ALONE = ["add", "hide", "revoke", "keep"];

/** How long a code holds at most. [min] */
const MOST = 10;

/** Until when the code holds that is shown, by the server's clock; "" where none is. */
let until = "";

/** Says how long the code is good for. Where the two clocks differ too much to tell, nothing is said of minutes. */
export function showMinutes() {
  const left = Math.ceil((Date.parse(until) - clock.now()) / 60_000);
  one("[data-phones-minutes]").textContent = until === "" ? "" : left > 0 && left <= MOST ? word("code-minutes", { n: left }) : word("code-most", { n: MOST });
}

/** @param {boolean} is */
function showAdding(is) {
  one("[data-phones-add]").hidden = !is;
  // In the place of the button that has brought it.
  document.querySelector("[data-phones]")?.toggleAttribute("data-adding", is);
}

export function hideCode() {
  until = "";
  showAdding(false);
  redraw(one("[data-phones-code]"), "");
}

async function showCode() {
  const { address = "", until: end = "" } = await deed({ do: "pair" });
  until = end;
  one("[data-phones-address]").textContent = address;
  showAdding(true);
  showMinutes();
  one("[data-phones-add]").scrollIntoView({ block: "start" });
  const reply = await question("hand_code", { link: address });
  redraw(one("[data-phones-code]"), reply?.ok ? (reply.html?.hand_code ?? "") : "");
  one("[data-phones-off]").textContent = reply?.off ?? "";
}

/** @param {string} [key] */
const say = (key) => (one("[data-phones-problem]").textContent = key ? word(`shop-refused-${key}`) : "");

/** @param {HTMLElement} button */
const rowOf = (button) => /** @type {HTMLElement} */ (button.closest("li"));

/** @param {() => Seen} seen @param {() => Promise<void>} changed */
export function watchDeeds(seen, changed) {
  const form = /** @type {HTMLFormElement} */ (one("[data-phones-revoke]"));

  /** @type {Record<string, (button: HTMLElement) => Promise<unknown> | void>} */
  const deeds = {
    add: showCode,
    hide: hideCode,
    confirm: async (button) => {
      await deed({ do: "confirm", ask: rowOf(button).dataset.ask ?? "" });
      hideCode();
    },
    refuse: (button) => deed({ do: "refuse", ask: rowOf(button).dataset.ask ?? "" }),
    owner: async (button) => confirmed(button) && deed({ do: "owner", device: rowOf(button).dataset.device ?? "" }),
    revoke: (button) => {
      rowOf(button).append(form);
      form.hidden = false;
      form.querySelector("input")?.focus();
    },
    keep: () => void (form.hidden = true),
    leave: async (button) => {
      if (!confirmed(button)) return;
      const { device, state } = seen().state;
      // The others see that it has left; where the server isn't heard, or took it out itself, it leaves all the same.
      await deed({ do: "revoke", device }).catch((error) => {
        if (error.key === "last_owner" || state === "together") throw error;
      });
      await leaveShop();
      forgetNames();
    },
  };

  /** @param {() => Promise<unknown> | void} work @param {boolean} [asks] Whether the list may be another one then: it isn't drawn anew for nothing. */
  const act = async (work, asks = true) => {
    say();
    try {
      await work();
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      say(error.key);
    }
    if (asks) await changed();
  };

  onDeed((action, button) => void (deeds[action] && act(() => deeds[action]?.(button), !HERE_ALONE.includes(action))));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    void act(() => revoke(form, seen().told));
  });
}

/** @param {HTMLFormElement} form @param {string} name */
const typedIn = (form, name) => /** @type {HTMLInputElement} */ (form.querySelector(`input[name="${name}"]`));

/** Takes a phone out: the server first, then the record of who did it and why. @param {HTMLFormElement} form @param {Phones | null} told */
async function revoke(form, told) {
  const phone = told?.phones.find(({ device }) => device === form.closest("li")?.dataset.device);
  const [person = "", reason = ""] = ["person", "reason"].map((name) => typedIn(form, name).value.trim());
  one("[data-phones-revoke-problem]").textContent = person === "" ? word("person-first") : "";
  if (person === "") typedIn(form, "person").focus();
  if (!phone || person === "") return;
  await deed({ do: "revoke", device: phone.device });
  form.hidden = true;
  typedIn(form, "reason").value = "";
  await rememberPerson(person).catch(() => {});
  await keep(newEvent("phone_revoked", `phone:${phone.device}`, { person, phone: phone.name, reason: reason || null }));
}
