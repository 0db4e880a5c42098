/** Starts the first page: blocks in hand, the last copy. It works when Python can't start. */

import { tellPersistence } from "../frame/saved.mjs";
import { onStored } from "../frame/tabs.mjs";
import { showCopyAge } from "../records/copy_age.mjs";
import { showInHand } from "../records/in_hand.mjs";
import { startPage } from "./every.mjs";

const lists = () => Promise.all([showInHand(), showCopyAge()]);

void startPage();
onStored(() => void lists());
await Promise.all([lists(), tellPersistence()]);
