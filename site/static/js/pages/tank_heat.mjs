/** Starts a page with a form whose answer names an instant to be reminded of. */

import "../tanks/told.mjs";
import "../forms/remind.mjs";
import { startForms } from "../forms/start.mjs";
import { startPage } from "./every.mjs";

await startForms(startPage);
