/** Starts the page of one batch. What is frozen of it stands there also when Python can't start. */

import { showBatch } from "../log/batch.mjs";
import { startPage } from "./every.mjs";

await startPage({ changed: showBatch });
addEventListener("hashchange", () => void showBatch());
await showBatch();
