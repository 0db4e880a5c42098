/** Starts the list of tanks: what is in each. */

import { onWorkshop } from "../frame/app.mjs";
import { showStanding } from "../frame/standing.mjs";
import { readTanks } from "../tanks/told.mjs";
import { startPage } from "./every.mjs";

onWorkshop(readTanks);
await startPage({ changed: showStanding });
await showStanding();
