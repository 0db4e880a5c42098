/** Starts the page of labels: its address names the formula, and perhaps a batch of it. */

import "../cure/racks.mjs";
import "../label/read.mjs";
import { watchDeeds } from "../frame/deeds.mjs";
import { watchLabel } from "../label/deeds.mjs";
import { startForms } from "../forms/start.mjs";
import { startPage } from "./every.mjs";

const changed = await startForms(startPage);
watchLabel(changed);
watchDeeds(changed);

const formula = document.querySelector(/** @type {"select"} */ ('form[data-task="soap_label"] select[name="formula"]'));
if (location.hash === "" && formula?.value) location.replace(`#${formula.value}`);
