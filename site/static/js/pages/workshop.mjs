/** Starts the page of the workshop: what it has, and its settings. */

import { openFolds } from "../frame/folds.mjs";
import { showStanding } from "../frame/standing.mjs";
import { watchSettings } from "../records/settings.mjs";
import { startPage } from "./every.mjs";

const show = async () => {
  await showStanding();
  openFolds();
};
const started = startPage({ changed: show });
watchSettings(started);
await started;
await show();
