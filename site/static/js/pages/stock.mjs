/** Starts the page of stock and cost. */

import { onWorkshop } from "../frame/app.mjs";
import { showStanding } from "../frame/standing.mjs";
import { readStock } from "../stock/told.mjs";
import { startPage } from "./every.mjs";

onWorkshop(readStock);
await startPage({ changed: showStanding });
await showStanding();
