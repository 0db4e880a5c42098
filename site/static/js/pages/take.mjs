/** Starts the page that takes in what another phone handed over. No Python is needed. */

import { takeLink, watchTake } from "../handover/take.mjs";
import { startPage } from "./every.mjs";

watchTake();
addEventListener("hashchange", () => void takeLink());
await startPage();
await takeLink();
