/** Starts a page that shows the workshop as it stands, and asks for no form. */

import { showStanding } from "../frame/standing.mjs";
import { startPage } from "./every.mjs";

await startPage({ changed: showStanding });
await showStanding();
