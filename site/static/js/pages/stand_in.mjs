/** Starts the page of stand-ins: what there is of each oil is what is left of its lots. */

import { startForms } from "../forms/start.mjs";
import { followLeft } from "../stock/left.mjs";
import { startPage } from "./every.mjs";

followLeft(await startForms(startPage));
