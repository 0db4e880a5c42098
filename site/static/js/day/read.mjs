/** What the page of the day tells Python beside the workshop: its plan, the newest sheets with what was told of their blocks; and what its lists offer. */

import { app, onWorkshop } from "../frame/app.mjs";
import { readLifted } from "../frame/lifted.mjs";
import { untilRead } from "../frame/unread.mjs";
import { word } from "../frame/words.mjs";
import { plansOf, pouredOf, sheetForDay } from "../rules/day.mjs";
import { replacedCodes, waits } from "../rules/orders.mjs";
import { dayOn, localTime } from "../store/clock.mjs";
import { batch, eventsAbout, eventsOfBatch, recentBatches } from "../store/events.mjs";

/** @import { Item } from "../rules/types.mjs" */

/** So many of the newest batches are read: their blocks tell how long each stage takes here. */
const RECENT = 24;

let shown = "";

/** The day that the page is about: the one its address named last, which may name a place on the page in between. */
export function shownDay() {
  shown = /^#(\d{4}-\d\d-\d\d)/.exec(location.hash)?.[1] ?? (shown || dayOn());
  return shown;
}

/** What was kept of one day: of all the years' plans no other one is read. @param {string} day */
export const planOf = async (day) => plansOf(await untilRead((limit) => eventsAbout(`day:${day}`, limit), () => [])).get(day);

/** Puts the day's plan beside the workshop, for its form. @param {string} day */
export async function readPlan(day) {
  const plan = await planOf(day);
  // Meanwhile another day may have been turned to.
  if (day === shownDay()) app.state.day_plan = plan ? [{ id: day, values: plan.values ?? {} }] : [];
}

onWorkshop(async () => {
  const least = Number(/** @type {HTMLElement | null} */ (document.querySelector("[data-own-blocks]"))?.dataset.ownBlocks);
  const recent = await untilRead(() => recentBatches(RECENT), () => []);
  const replaced = replacedCodes(recent);
  const read = await Promise.all(recent.map(async ({ code }) => {
    const [issued, ...others] = await untilRead(() => batch(code), () => []);
    if (!issued || others.length > 0) return [];
    const events = await untilRead(() => eventsOfBatch(code), () => []);
    // A plan that names a sheet from before it was replaced can still be opened: it is offered no more, and that is all.
    const over = events.length === 0 && replaced.has(code);
    return [{ issued, events, open: !over && waits(issued, events) }];
  }));
  const told = read.flat();
  const lifted = await readLifted(told.flatMap(({ issued, events }) => pouredOf(issued, events)));
  const sheets = told.map(({ issued, events, open }) => ({ sheet: sheetForDay(issued, events, lifted, least, localTime), open }));
  app.state.made = sheets.map(({ sheet }) => sheet);
  app.state.to_make = [
    ...sheets.filter(({ open }) => open).map(({ sheet }) => ({ id: `sheet:${sheet.code}`, values: { name: word("open-sheet", { code: sheet.code, soap: sheet.formula.name }) } })),
    ...(app.state.formula ?? []).map((/** @type {Item} */ { id, values }) => ({ id: `formula:${id}`, values: { name: values.name ?? id } })),
  ];
});
