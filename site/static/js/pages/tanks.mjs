/** Starts a page with a form about a tank: the one that its address names, else the first in its list. */

import { startForms } from "../forms/start.mjs";
import { onWorkshop } from "../frame/app.mjs";
import { watchDeeds } from "../frame/deeds.mjs";
import { readTanks } from "../tanks/told.mjs";
import { startPage } from "./every.mjs";

onWorkshop(readTanks);
watchDeeds(await startForms(startPage));

const tank = document.querySelector(/** @type {"select"} */ ('form select[name="tank"]'));
const first = [...(tank?.options ?? [])].find(({ value }) => value !== "");
if (location.hash === "" && tank?.value === "" && first) location.replace(`#${first.value}`);
