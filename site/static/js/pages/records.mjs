/** Starts the batch log. It works when Python can't start. */

import { onStored } from "../frame/tabs.mjs";
import { showLog, watchSearch } from "../log/list.mjs";
import { startPage } from "./every.mjs";

void startPage();
watchSearch();
onStored(() => void showLog());
await showLog();
