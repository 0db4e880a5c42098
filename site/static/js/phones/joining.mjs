/** This phone asks to be let into a shop: by the address that was scanned, and a name that a person gives it. */

import { chooseMode, mode } from "../store/mode.mjs";
import { word } from "../frame/words.mjs";
import { join } from "../shop/join.mjs";
import { Refused } from "../shop/refused.mjs";
import { StoreError } from "../store/database.mjs";
import { countEvents } from "../store/events.mjs";
import { one, showPart } from "./parts.mjs";

/** "#join=" and what the server has made for one phone. */
const ADDRESS = /^#join=([a-zA-Z2-7]{16,64})$/;

export const secretHere = () => ADDRESS.exec(location.hash)?.[1] ?? "";

/** After these the same code is of no more use. */
const OVER = ["refused", "expired", "no_shop"];

/** @type {{phone: HTMLInputElement, problem: HTMLElement}} */
const field = { phone: /** @type {HTMLInputElement} */ (one("#phone-name")), problem: one("[data-phones-join-problem]") };

/** A code that was scanned is about one's own workshop, and this page keeps the mode that it was opened in. @returns {boolean} Whether it is opened anew. */
export function opensOwn() {
  if (secretHere() === "" || mode === "own" || !chooseMode("own")) return false;
  location.reload();
  return true;
}

export async function showJoin() {
  showPart("join");
  const n = await countEvents().catch(() => 0);
  one("[data-phones-has]").hidden = n === 0;
  one("[data-phones-records]").textContent = String(n);
}

/** @param {() => void} joined Called once this phone is in. */
export function watchJoin(joined) {
  one("[data-phones-join]").addEventListener("submit", (event) => {
    event.preventDefault();
    void ask(field.phone.value.trim()).then((is) => is && joined());
  });
}

/** @param {string} name @returns {Promise<boolean>} Whether this phone is in. */
async function ask(name) {
  field.problem.textContent = name === "" ? word("phone-name-missing") : "";
  if (name === "") {
    field.phone.focus();
    return false;
  }
  one("[data-phones-name]").textContent = name;
  showPart("waiting");
  try {
    await join(secretHere(), name, (stage) => {
      for (const each of document.querySelectorAll(/** @type {"span"} */ ("[data-phones-stage]"))) each.hidden = each.dataset.phonesStage !== stage;
    });
    // Scanned once, it is of no more use; nobody is asked again when the page is opened anew.
    history.replaceState(null, "", location.pathname);
    return true;
  } catch (error) {
    if (!(error instanceof Refused || error instanceof StoreError)) throw error;
    const said = error instanceof Refused ? word(`shop-refused-${error.key}`) : word(error.code, error.filled);
    if (error instanceof Refused && OVER.includes(error.key)) {
      one("[data-phones-over]").textContent = said;
      showPart("over");
    } else {
      field.problem.textContent = said;
      showPart("join");
      field.phone.focus();
    }
    return false;
  }
}
