/** Starts the form in which a lot or bars are counted: those that its address names, else none. */

import { watchDeeds } from "../frame/deeds.mjs";
import { startForms } from "../forms/start.mjs";
import { onWorkshop } from "../frame/app.mjs";
import { readStock } from "../stock/told.mjs";
import { startPage } from "./every.mjs";

onWorkshop(readStock);
watchDeeds(await startForms(startPage));
