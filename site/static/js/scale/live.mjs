/** Scales that speak, on the page at the scale: what the one of the step in hand shows, and which slips it tells of. */

import { word } from "../frame/words.mjs";
import { HeardScale, isSameScale, keptOf, Pour } from "../rules/heard.mjs";
import { checksTogether } from "../rules/joined.mjs";
import { vesselScale } from "../rules/scale_checks.mjs";
import { watchScales } from "../shop/ask.mjs";
import { thisDevice } from "../shop/elsewhere.mjs";
import { clock } from "../store/clock.mjs";
import { mode } from "../store/mode.mjs";
import { signal } from "./comforts.mjs";
import { hearPicked, pickPort } from "./serial.mjs";
import { isGross } from "./view.mjs";

/** @import { Heard, Step } from "../rules/types.mjs" */
/** @import { Noticed, Reading, Shown, Slip } from "../rules/heard.mjs" */
/** @import { BlockAtScale } from "./block.mjs" */

/** @type {{name: string, scale: HeardScale}[]} */
const scales = [];

/** The pour of the step in hand, since its scale was first heard at it. @type {{of: string, pour: Pour} | null} */
let poured = null;

/** A scale that falls silent is looked at so often. [ms] */
const LOOK = 1_000;

/** Steps at which nothing is read, and the vessel's scale is looked at: tare, and zero. */
const AT_ZERO = ["check:tare-oils", "check:tare-lye"];

/** The keys of steps at which a display goes on from what stands there. */
const GOES_ON = ["on:", "out:"];

/** What is heard by ear as well as seen: something is to be done at once. @type {Slip[]} */
const LOUD = ["untared", "emptied", "fell", "past"];

/** @param {string} name */
const scaleCalled = (name) => scales.find((each) => isSameScale(each.name, name))?.scale ?? null;

/** Whether tare is pressed at this step, and the display has to stand at zero behind it. @param {Step | null} step */
export const isTare = (step) => step !== null && AT_ZERO.includes(step.key);

/** The step in hand; of those that are confirmed together, the one that a scale has a say in. @param {BlockAtScale} block */
export const stepHeard = (block) => checksTogether(block.fold).find(isTare) ?? block.step;

/** The scale that a step looks at. @param {BlockAtScale} block @param {Step} step */
function scaleOf(block, step) {
  const name = isTare(step) ? vesselScale(block.issued.steps ?? []) : step.kind === "temperature" ? null : step.scale;
  return name === null ? null : scaleCalled(name);
}

/**
 * What the scale of the step in hand shows; null where none speaks. What is put right later is typed.
 *
 * @param {BlockAtScale} block
 * @returns {{reading: Reading, shown: Shown} | null}
 */
export function heardNow(block) {
  const step = stepHeard(block);
  const scale = step && !block.aside ? scaleOf(block, step) : null;
  const now = clock.now();
  const [reading, shown] = [scale?.now(now), step && scale?.shows(now, step)];
  return reading && shown ? { reading, shown } : null;
}

/** Whether it can be heard what the scale of a step shows. @param {BlockAtScale} block @param {Step} step */
export const speaks = (block, step) => (scaleOf(block, step)?.now(clock.now())?.status ?? "gone") !== "gone";

/** What goes into the record with a reading that is confirmed. @param {BlockAtScale} block @returns {Heard | null} */
export function heardWith(block) {
  const heard = heardNow(block);
  return heard && heard.shown.mark !== "gone" ? keptOf(heard.reading) : null;
}

/** The slip that shows at the step in hand. @param {BlockAtScale} block @returns {Noticed | null} */
export const noticedAt = (block) => (poured?.of === placeOf(block) ? poured.pour.noticed : null);

/** @param {BlockAtScale} block */
const placeOf = ({ subject, step }) => `${subject} ${step?.key}`;

/** @param {BlockAtScale} block */
function follow(block) {
  const { step } = block;
  const heard = heardNow(block);
  if (!step || !heard || step.kind !== "weigh") return;
  const of = placeOf(block);
  if (poured?.of !== of) {
    poured = { of, pour: new Pour(step, { gross: isGross(block.fold, step), goesOn: GOES_ON.some((prefix) => step.key.startsWith(prefix)) }) };
  }
  const before = poured.pour.noticed?.slip;
  // Its target may have followed from what was weighed.
  poured.pour.step = step;
  poured.pour.hear(heard.shown);
  const slip = poured.pour.noticed?.slip;
  if (slip && slip !== before && LOUD.includes(slip)) signal("look");
}

/** What has come is told to the page once it is there. @type {(reading: Reading) => void} */
let hear = () => {};

/**
 * Listens to the scales that the shop's server hears, and to those at this device's own ports.
 *
 * @param {() => BlockAtScale | null} current
 * @param {(block: BlockAtScale) => void} changed
 */
export async function watchHeard(current, changed) {
  const tell = () => {
    const block = current();
    if (block && scales.length > 0) changed(block);
  };
  hear = (reading) => {
    let scale = scaleCalled(reading.name);
    if (!scale) scales.push({ name: reading.name, scale: (scale = new HeardScale()) });
    scale.hear(reading, clock.now());
    const block = current();
    if (block) follow(block);
    tell();
  };
  setInterval(tell, LOOK);
  void hearPicked(hear);
  if (mode === "own" && (await thisDevice()) !== "") watchScales(hear);
}

/** The scale of the step in hand is connected to this device: nobody waits for it at the scale. @param {BlockAtScale} block */
export function connectScale({ step, stage }) {
  const place = stage.root.querySelector("[data-serial-told]");
  const name = step?.scale;
  if (!name || !place) return;
  void pickPort(name, (reading) => hear(reading), (state) => (place.textContent = word(`serial-${state}`, { name })));
}
