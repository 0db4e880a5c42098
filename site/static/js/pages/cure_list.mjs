/** Starts the cure rack: every batch on it, and the racks as they stand. */

import "../cure/racks.mjs";
import { showStanding } from "../frame/standing.mjs";
import { startPage } from "./every.mjs";

await startPage({ changed: showStanding });
await showStanding();
