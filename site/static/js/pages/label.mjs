/** Starts the page of labels: its address names the formula, and perhaps a batch of it; or the batch alone. */

import "../cure/racks.mjs";
import "../label/read.mjs";
import { findItem } from "../frame/app.mjs";
import { watchDeeds } from "../frame/deeds.mjs";
import { watchLabel } from "../label/deeds.mjs";
import { startForms } from "../forms/start.mjs";
import { startPage } from "./every.mjs";

// Read before the form is opened: what an address puts into it is taken out of the address.
const batch = location.hash.startsWith("#?") ? (new URLSearchParams(location.hash.slice(2)).get("batch") ?? "") : "";
const changed = await startForms(startPage);
watchLabel(changed);
watchDeeds(changed);

const of = findItem("label_batch", batch)?.values.formula;
const shown = document.querySelector(/** @type {"select"} */ ('form[data-task="soap_label"] select[name="formula"]'))?.value;
if (of) location.replace(`#${of}?${new URLSearchParams({ batch })}`);
else if (location.hash === "" && shown) location.replace(`#${shown}`);
