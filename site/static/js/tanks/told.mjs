/** What pages about tanks tell Python beside the workshop: what happened to the tanks, what blocks drew, what open sheets still need. */

import { app } from "../frame/app.mjs";
import { untilMade } from "../frame/made.mjs";
import { untilRead } from "../frame/unread.mjs";
import { wholeLog } from "../log/whole.mjs";
import { tankOf } from "../rules/fill.mjs";
import { TANK_KINDS } from "../rules/kinds.mjs";
import { overBlocks, replacedCodes } from "../rules/orders.mjs";
import { blendedBatches, comesBlended, drawnFrom, filledTanks, sheetsDrawn } from "../rules/tanks.mjs";
import { batch, eventsOfBatch, eventsOfKinds, fillsInHand, recentBatches } from "../store/events.mjs";
import { makeStanding, weighingsFor } from "../store/standing.mjs";

/** @import { BatchEntry, TarewellEvent } from "../rules/types.mjs" */

/** So many of the newest sheets are looked at for blocks still to be made. */
const RECENT = 12;

/** Puts it beside the workshop as it was read, in the place of what was read before. Where no tank has anything in it, no sheet is read. */
export async function readTanks() {
  const told = await untilRead(() => eventsOfKinds(TANK_KINDS), () => []);
  /** @type {TarewellEvent[]} */
  const events = [...(app.demo.contents ?? []), ...told];
  const filled = filledTanks(events);
  const weighings = filled.size > 0 ? await untilMade((limit) => weighingsFor(filled, limit), makeStanding, () => []) : [];
  const drawn = drawnFrom(filled, weighings);
  const recent = filled.size > 0 ? await untilRead(() => recentBatches(RECENT), () => []) : [];
  const codes = new Set([...recent.map(({ code }) => code), ...sheetsDrawn(drawn)]);
  app.state.contents = [...events, ...drawn];
  app.state.fills = (await untilRead(fillsInHand, () => [])).map((id) => ({ id, tank: tankOf(id) }));
  const sheets = await Promise.all([...codes].map((code) => sheetOf(code, recent)));
  app.state.sheets = [...sheets.flat(), ...(await blended(blendedBatches(drawn).filter((code) => !codes.has(code))))];
}

/** Of what formula older batches were, by the log: a whole sheet is some hundred times as long as its entry. @param {string[]} codes */
async function blended(codes) {
  const log = codes.length > 0 ? await wholeLog() : [];
  const wanted = new Set(codes);
  return log.filter(({ code }) => wanted.has(code)).map(({ code, formula, formulaName: soap, blocks, local }) =>
    ({ code, soap, formula, pours: [], tare_g: null, blocks, issued_on: local.slice(0, 10), closed: null, blended: false, order: {} }));
}

/** A sheet without its steps and what is only to be read. @param {string} code @param {BatchEntry[]} recent */
async function sheetOf(code, recent) {
  const [issued] = await untilRead(() => batch(code), () => []);
  if (!issued) return [];
  const { formula, pours, vessel, blocks = 1, local } = issued;
  const sheet = { code, soap: formula?.name ?? code, formula: formula?.id ?? "", pours, tare_g: vessel?.tare_g ?? null, blocks, issued_on: local.slice(0, 10) };
  if (!recent.some((entry) => entry.code === code)) return [{ ...sheet, closed: null, blended: false, order: {} }];
  const events = await untilRead(() => eventsOfBatch(code), () => []);
  if (events.length === 0 && replacedCodes(recent).has(code)) return [];
  return [{ ...sheet, closed: overBlocks(events), blended: comesBlended(issued), order: issued.inputs?.order ?? {} }];
}
