/** Starts a page with a form about lye. */

import "../tanks/unstarted.mjs";
import { startForms } from "../forms/start.mjs";
import { startPage } from "./every.mjs";

await startForms(startPage);
