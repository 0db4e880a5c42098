/** Starts the page at the scale: which batch, which block, which step the address names. */

import { decoded } from "../frame/address.mjs";
import { start } from "../frame/app.mjs";
import { fault, hush } from "../frame/notice.mjs";
import { onPythonState } from "../frame/python.mjs";
import { Stage } from "../frame/stage.mjs";
import { onStored } from "../frame/tabs.mjs";
import { untilRead } from "../frame/unread.mjs";
import { tellEyewash } from "../safety/eyewash_state.mjs";
import { keepAwake, watchAwake } from "../scale/awake.mjs";
import { BlockAtScale } from "../scale/block.mjs";
import { watchComforts } from "../scale/comforts.mjs";
import { DEEDS } from "../scale/deeds.mjs";
import { FillAtScale } from "../scale/fill.mjs";
import { FILLS } from "../scale/fill_link.mjs";
import { heardAnew, watchTyping } from "../scale/entry.mjs";
import { showBatches, showBlocks } from "../scale/lists.mjs";
import { watchHeard } from "../scale/live.mjs";
import { blockToPractice, PRACTICE } from "../scale/practice.mjs";
import { readAnswered } from "../scale/ready.mjs";
import { batch, fillEvents, Unfit } from "../store/events.mjs";
import { chooseMode, mode } from "../store/mode.mjs";
import { startPage } from "./every.mjs";

const root = /** @type {HTMLElement} */ (document.querySelector("[data-floor]"));

/** What surrounds the screens of a block. */
const BLOCK_PARTS = "[data-floor-head], [data-floor-tools], [data-floor-elsewhere], [data-floor-twice]";

/** @type {BlockAtScale | null} */
let block = null;
/** Which address is being opened; an older opening that ends later shows nothing. */
let opening = 0;

/** What is not stored for its form has been said already. @param {unknown} error */
const failed = (error) => error instanceof Unfit || fault(String(error), error instanceof Error ? (error.stack ?? "") : "");

/** The block on the page; a later opening may have put another there. @returns {BlockAtScale | null} */
const current = () => block;

const stage = new Stage(
  root,
  (action, button) => {
    hush();
    if (action === "more") return showBatches(stage, Number(button.dataset.limit));
    if (block) return DEEDS[action]?.(block, button);
  },
  failed,
  tellEyewash,
);

/** "#CODE/2/oil%3A0" -> ["CODE", "2", "oil:0"] */
function readAddress() {
  return location.hash.slice(1).split("/").map(decoded);
}

async function open() {
  const [code = "", number = "", key, more] = readAddress();
  const fill = code === "" && number === FILLS ? (key ?? "") : "";
  if (block && fill !== "" && block.code === fill) return block.look(more ?? null);
  if (block && block.code === code && String(block.number) === number) return block.look(key ?? null);
  const mine = ++opening;
  const left = block;
  block = null;
  if (left) stage.clear();
  await left?.stop();
  await readAnswered();
  if (mine !== opening) return;
  atBlock(false);
  if (code === "" && number === PRACTICE) return practice();
  if (fill !== "") return openFill(fill, more ?? null, mine);
  if (code === "") return showBatches(stage);
  const sheets = await untilRead(() => batch(code));
  if (mine !== opening) return;
  const issued = sheets[0];
  const blocks = issued?.blocks ?? 0;
  const wanted = Number(number);
  const faulty = {
    absent: sheets.length === 0,
    several: sheets.length > 1,
    stepless: sheets.length === 1 && !issued?.steps,
    "no-block": sheets.length === 1 && issued?.steps && number !== "" && !(Number.isInteger(wanted) && wanted >= 1 && wanted <= blocks),
  };
  if (!issued || Object.values(faulty).some(Boolean)) return stage.show("missing", { code, blocks, ...faulty });
  if (number === "") return showBlocks(stage, issued);
  block = new BlockAtScale(stage, issued, wanted);
  atBlock(true);
  await block.start(key ?? null);
}

/** @param {string} id @param {string | null} key @param {number} mine Of the opening. */
async function openFill(id, key, mine) {
  const issued = (await untilRead(() => fillEvents(id))).find(({ kind }) => kind === "fill_issued");
  if (mine !== opening) return;
  if (!issued) return stage.show("fill-missing");
  block = new FillAtScale(stage, issued, id);
  atBlock(true);
  await block.start(key);
}

/** From one's own workshop this page has to be opened anew: it keeps its mode. */
async function practice() {
  if (mode !== "practice") return chooseMode("practice") ? location.reload() : showBatches(stage);
  const block = await blockToPractice();
  history.replaceState(null, "", block);
  await open();
}

/** @param {boolean} at */
function atBlock(at) {
  document.documentElement.toggleAttribute("data-at-block", at);
  if (!at) {
    for (const part of root.querySelectorAll(/** @type {"div"} */ (BLOCK_PARTS))) part.hidden = true;
    document.documentElement.toggleAttribute("data-busy", false);
    stage.lock(false);
  }
  keepAwake(at);
}

/** Something has been stored elsewhere. */
async function others() {
  await readAnswered();
  if (block) await block.others();
  else await open();
}

const guarded = (/** @type {() => Promise<void> | void} */ work) => () => void Promise.resolve(work()).catch(failed);

void startPage();
watchComforts(root);
watchAwake(root.querySelector("[data-awake]"));
watchTyping(current);
void watchHeard(current, heardAnew);
addEventListener("hashchange", guarded(open));
onStored(guarded(others));
await open().catch(failed);
await start();
current()?.peopleKnown();
// The page's own watcher is told first, so that it is known why calculation is off.
setTimeout(() => onPythonState(() => setTimeout(() => block?.pythonChanged())));
