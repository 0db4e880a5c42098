/** What the page of the lye's strength tells Python beside the workshop: issued sheets of which nothing is weighed yet. */

import { app, onWorkshop } from "../frame/app.mjs";
import { untilRead } from "../frame/unread.mjs";
import { replacedCodes } from "../rules/orders.mjs";
import { batch, eventsOfBatch, recentBatches } from "../store/events.mjs";

/** So many of the newest batches are looked at. */
const RECENT = 20;

onWorkshop(async () => {
  const recent = await untilRead(() => recentBatches(RECENT), () => []);
  const replaced = replacedCodes(recent);
  const waiting = recent.filter(({ code }) => !replaced.has(code));
  app.state.unstarted = (await Promise.all(waiting.map(({ code }) => unstarted(code)))).flat();
});

/** What a sheet takes its lye for; nothing where a block of it is begun. @param {string} code */
async function unstarted(code) {
  const [issued, ...others] = await untilRead(() => batch(code), () => []);
  if (!issued || others.length > 0 || (await untilRead(() => eventsOfBatch(code), () => [])).length > 0) return [];
  const { formula, blocks, inputs, chemistry, superfat_stated_fraction: superfat } = issued;
  return [{ code, soap: formula?.name ?? code, formula, blocks, order: inputs?.order, alkalis: chemistry?.alkalis, superfat }];
}
