/** Starts a page with forms. */

import { startForms } from "../forms/start.mjs";
import { startPage } from "./every.mjs";

await startForms(startPage);
