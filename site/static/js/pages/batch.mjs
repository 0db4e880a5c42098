/** Starts the batch sheet: its order may take of what lies set aside. */

import "../cure/set_aside.mjs";
import { startForms } from "../forms/start.mjs";
import { startPage } from "./every.mjs";

await startForms(startPage);
