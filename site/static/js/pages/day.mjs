/** Starts the page of the day: its address names the day, today where it names none. */

import { watchDay } from "../day/deeds.mjs";
import "../day/read.mjs";
import { startForms } from "../forms/start.mjs";
import { onWorkshop } from "../frame/app.mjs";
import { watchDeeds } from "../frame/deeds.mjs";
import { dayOn } from "../store/clock.mjs";
import { readTanks } from "../tanks/told.mjs";
import { startPage } from "./every.mjs";

if (location.hash === "") history.replaceState(history.state, "", `#${dayOn()}`);
onWorkshop(readTanks);
const changed = await startForms(startPage);
watchDay(changed);
watchDeeds(changed);
