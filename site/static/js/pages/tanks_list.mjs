/** Starts the list of tanks: what is in each. */

import "../tanks/told.mjs";
import { showStanding } from "../frame/standing.mjs";
import { startPage } from "./every.mjs";

await startPage({ changed: showStanding });
await showStanding();
