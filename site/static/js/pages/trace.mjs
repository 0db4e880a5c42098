/** Starts the page that traces a code. */

import { watchDeeds } from "../trace/deeds.mjs";
import { readAll, watchTrace } from "../trace/page.mjs";
import { startPage } from "./every.mjs";

await startPage({ changed: readAll });
watchTrace();
watchDeeds();
await readAll();
