/** Starts a page with a form about a batch on the rack: the one that its address names; where the page hides the choice in a fold, else the first. */

import "../cure/racks.mjs";
import { startForms } from "../forms/start.mjs";
import { watchDeeds } from "../frame/deeds.mjs";
import { startPage } from "./every.mjs";

watchDeeds(await startForms(startPage));

const batch = document.querySelector(/** @type {"select"} */ ('form[data-event] select[name="batch"]'));
const first = [...(batch?.options ?? [])].find(({ value }) => value !== "");
if (location.hash === "" && batch?.value === "" && first && batch.closest("details")) location.replace(`#${first.value}`);
