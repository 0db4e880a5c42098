/** Starts the page of upkeep. No Python is needed. */

import { offerPeople, proposePerson } from "../forms/who.mjs";
import { watchUpkeep } from "../upkeep/deeds.mjs";
import { openNamed, showUpkeep } from "../upkeep/list.mjs";
import { startPage } from "./every.mjs";

async function show() {
  offerPeople();
  await showUpkeep();
}

await startPage({ changed: show });
await show();
await proposePerson();
watchUpkeep();
openNamed();
addEventListener("hashchange", openNamed);
