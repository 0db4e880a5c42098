/** Starts the page that hands a formula or an issued sheet to another phone. */

import { showHand, watchHand } from "../handover/give.mjs";
import { startPage } from "./every.mjs";

watchHand();
addEventListener("hashchange", () => void showHand());
await startPage({ changed: showHand });
await showHand();
