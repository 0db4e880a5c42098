/** Starts a form from the rack to the customer. Its address may name a block, "#CODE:1" or "#CODE/1". */

import "../trace/sale.mjs";
import { startForms } from "../forms/start.mjs";
import { watchDeeds } from "../trace/deeds.mjs";
import { startPage } from "./every.mjs";

// Lists name a block with a colon.
const slashed = /^(#[^?]+)\/([1-9]\d{0,2})$/.exec(location.hash);
if (slashed) history.replaceState(history.state, "", `${slashed[1]}:${slashed[2]}`);

watchDeeds(await startForms(startPage));

// What was tapped in a long list would else be shown as far down as the list was read.
addEventListener("hashchange", () => scrollTo(0, 0));
