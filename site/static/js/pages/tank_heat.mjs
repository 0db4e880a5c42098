/** Starts a page with a form about a tank's heat, whose answer names an instant to be reminded of. */

import "../forms/remind.mjs";
import { startForms } from "../forms/start.mjs";
import { onWorkshop } from "../frame/app.mjs";
import { watchDeeds } from "../frame/deeds.mjs";
import { readTanks } from "../tanks/told.mjs";
import { startPage } from "./every.mjs";

onWorkshop(readTanks);
watchDeeds(await startForms(startPage));
