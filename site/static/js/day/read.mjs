/** What the page of the day tells Python beside the workshop: the newest sheets with what was told of their blocks; and what its lists offer. */

import { app, onWorkshop } from "../frame/app.mjs";
import { readLifted } from "../frame/lifted.mjs";
import { untilRead } from "../frame/unread.mjs";
import { word } from "../frame/words.mjs";
import { plansOf, pouredOf, sheetForDay } from "../rules/day.mjs";
import { DAY_KINDS } from "../rules/kinds.mjs";
import { replacedCodes, waits } from "../rules/orders.mjs";
import { localTime } from "../store/clock.mjs";
import { batch, eventsOfBatch, eventsOfKinds, recentBatches } from "../store/events.mjs";

/** @import { Item } from "../rules/types.mjs" */

/** So many of the newest batches are read: their blocks tell how long each stage takes here. */
const RECENT = 24;

onWorkshop(async () => {
  const plans = plansOf(await untilRead((limit) => eventsOfKinds(DAY_KINDS, limit), () => []));
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
  app.state.day_plan = [...plans].map(([id, event]) => ({ id, values: event.values ?? {} }));
  app.state.to_make = [
    ...sheets.filter(({ open }) => open).map(({ sheet }) => ({ id: `sheet:${sheet.code}`, values: { name: word("open-sheet", { code: sheet.code, soap: sheet.formula.name }) } })),
    ...(app.state.formula ?? []).map((/** @type {Item} */ { id, values }) => ({ id: `formula:${id}`, values: { name: values.name ?? id } })),
  ];
});
