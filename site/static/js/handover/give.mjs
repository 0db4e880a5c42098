/** The page that hands something to another phone: as a code for its camera, or as a file. Neither goes through a server. */

import { decoded } from "../frame/address.mjs";
import { question } from "../frame/app.mjs";
import { redraw } from "../frame/redrawn.mjs";
import { handOver } from "../frame/share.mjs";
import { untilRead } from "../frame/unread.mjs";
import { word } from "../frame/words.mjs";
import { inOrder } from "../rules/fold.mjs";
import { parcelOf } from "../rules/parcel.mjs";
import { writeCopy } from "../store/backup.mjs";
import { batch, workshopEvents } from "../store/events.mjs";
import { fitsCode, packed } from "./link.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */

const root = /** @type {HTMLElement} */ (document.querySelector("[data-hand]"));

/** @param {string} selector */
const one = (selector) => /** @type {HTMLElement} */ (root.querySelector(selector));

/** The file, made before it is asked for: the share sheet wants a fresh tap. @type {File | null} */
let file = null;

/** What the address names: "formula/ID" or "batch/CODE". @returns {Promise<{name: string, events: TarewellEvent[]}>} */
async function named() {
  const [kind = "", ...rest] = location.hash.slice(1).split("/");
  const id = decoded(rest.join("/"));
  if (kind === "batch") return { name: id, events: await untilRead(() => batch(id), () => []) };
  const events = parcelOf(await untilRead((limit) => workshopEvents(limit), () => []), id);
  return { name: events[0]?.values?.name ?? "", events: kind === "formula" ? events : [] };
}

/** Letters and digits of any language; what a file's name can't hold everywhere becomes a dash. @param {string} name */
const plain = (name) => name.replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "") || "formula";

export async function showHand() {
  const { hash } = location;
  const { name, events } = await named();
  if (location.hash !== hash) return;
  one("[data-hand-name]").textContent = name;
  one("[data-hand-missing]").hidden = events.length > 0;
  one("[data-hand-ways]").hidden = events.length === 0;
  file = null;
  redraw(one("[data-hand-code]"), "");
  if (events.length === 0) return;
  const copy = await writeCopy([inOrder(events)]);
  file = new File([copy], `tarewell-${plain(name)}.json`, { type: "application/json" });
  const part = await packed(copy);
  const link = new URL(`${root.dataset.takeUrl}#${part}`, location.href).href;
  const fits = part !== null && fitsCode(link);
  root.toggleAttribute("data-fits", fits);
  one("[data-hand-large]").hidden = fits;
  const reply = fits ? await question("hand_code", { link }) : null;
  if (location.hash !== hash) return;
  redraw(one("[data-hand-code]"), reply?.ok ? (reply.html?.hand_code ?? "") : "");
  one("[data-hand-off]").textContent = reply?.off ?? "";
}

export function watchHand() {
  one("[data-hand-file]").addEventListener("click", async () => {
    if (!file) return;
    const outcome = await handOver(file);
    one("[data-hand-status]").textContent = outcome === "cancelled" ? "" : word("hand-file");
  });
}
