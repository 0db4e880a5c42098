/** Starts the batch sheet: its order may take of what lies set aside, and its lots of what is left. */

import "../cure/set_aside.mjs";
import { startForms } from "../forms/start.mjs";
import { followLeft } from "../stock/left.mjs";
import { startPage } from "./every.mjs";

followLeft(await startForms(startPage));
