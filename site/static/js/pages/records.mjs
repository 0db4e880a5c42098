/** Starts the page of records: the issued sheets, the newest first. It works when Python can't start. */

import { onStored } from "../frame/tabs.mjs";
import { showLists } from "../records/sheet.mjs";
import { startPage } from "./every.mjs";

void startPage();
onStored(() => void showLists());
await showLists();
