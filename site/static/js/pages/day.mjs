/** Starts the page of the day. */

import { watchDay } from "../day/deeds.mjs";
import { openDay, sayTurned } from "../day/opening.mjs";
import { readPlan, shownDay } from "../day/read.mjs";
import { lastChoices } from "../forms/last_choices.mjs";
import { startForms } from "../forms/start.mjs";
import { onWorkshop } from "../frame/app.mjs";
import { watchDeeds } from "../frame/deeds.mjs";
import { readTanks } from "../tanks/told.mjs";
import { startPage } from "./every.mjs";

const form = /** @type {HTMLFormElement} */ (document.querySelector('form[data-task="day"]'));

onWorkshop(async () => {
  await openDay((await lastChoices(form)).ends_at || (form.dataset.endsUsual ?? ""));
  await readPlan(shownDay());
});
onWorkshop(readTanks);
addEventListener("hashchange", sayTurned);
const changed = await startForms(startPage, ({ id }) => readPlan(id));
watchDay(changed);
watchDeeds(changed);
