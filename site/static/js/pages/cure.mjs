/** Starts a page with a form about a batch on the rack: the one that its address names. The page that shows one batch whole opens on the first, where none is named. */

import "../cure/racks.mjs";
import { startForms } from "../forms/start.mjs";
import { watchDeeds } from "../frame/deeds.mjs";
import { startPage } from "./every.mjs";

watchDeeds(await startForms(startPage));

const batch = document.querySelector(/** @type {"select"} */ ('form[data-task="cure_batch"] select[name="batch"]'));
const first = [...(batch?.options ?? [])].find(({ value }) => value !== "");
if (location.hash === "" && batch?.value === "" && first) location.replace(`#${first.value}`);
