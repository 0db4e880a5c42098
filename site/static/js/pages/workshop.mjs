/** Starts the page of the workshop: what it has, its settings, and copies of all records, which need no Python. */

import { openFolds } from "../frame/folds.mjs";
import { tellPersistence } from "../frame/saved.mjs";
import { showStanding } from "../frame/standing.mjs";
import { onStored, tellHere } from "../frame/tabs.mjs";
import { readAgain } from "../frame/unread.mjs";
import { watchCopies } from "../records/copies.mjs";
import { showCopyAge } from "../records/copy_age.mjs";
import { watchSettings } from "../records/settings.mjs";
import { startPage } from "./every.mjs";

watchCopies(() => {
  readAgain();
  tellHere();
});
onStored(() => void showCopyAge());
void showCopyAge();
void tellPersistence();
const show = async () => {
  await showStanding();
  openFolds();
};
watchSettings(await startPage({ changed: show }));
await show();
