/** Starts the page of copies: all records out of the browser, and back. It works when Python can't start. */

import { tellPersistence } from "../frame/saved.mjs";
import { onStored, tellHere } from "../frame/tabs.mjs";
import { readAgain } from "../frame/unread.mjs";
import { showApart } from "../records/apart.mjs";
import { watchCopies } from "../records/copies.mjs";
import { showCopyAge } from "../records/copy_age.mjs";
import { startPage } from "./every.mjs";

watchCopies(() => {
  readAgain();
  tellHere();
});
onStored(() => {
  void showCopyAge();
  void showApart();
});
void startPage();
await Promise.all([showCopyAge(), showApart(), tellPersistence()]);
