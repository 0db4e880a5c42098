/** Starts the list of what lies set aside. */

import "../cure/set_aside.mjs";
import { watchDeeds } from "../frame/deeds.mjs";
import { showStanding } from "../frame/standing.mjs";
import { startPage } from "./every.mjs";

await startPage({ changed: showStanding });
await showStanding();
watchDeeds(() => void showStanding());
