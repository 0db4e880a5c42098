/** Starts the page of the workshop: what it has, and its settings. */

import { showStanding } from "../frame/standing.mjs";
import { watchSettings } from "../records/settings.mjs";
import { startPage } from "./every.mjs";

watchSettings(await startPage({ changed: showStanding }));
await showStanding();
