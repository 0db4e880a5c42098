/** Starts what lives from the records alone: issued sheets, lists, copies. It works when Python can't start. */

import { watchCopies } from "./copies.mjs";
import { showCopyAge } from "./copy_age.mjs";
import { showInHand } from "./in_hand.mjs";
import { noticeCarried } from "./notice.mjs";
import { tellPersistence } from "./saved.mjs";
import { showLists, showSheet } from "./sheet.mjs";
import { onOthers, tellHere, onHere } from "./tabs.mjs";
import { readAgain } from "./unread.mjs";

noticeCarried();
watchCopies(() => {
  readAgain();
  tellHere();
});
document.addEventListener("click", (event) => {
  if (event.target instanceof Element && event.target.closest("[data-print]")) print();
});
addEventListener("hashchange", () => void showSheet());
const lists = () => Promise.all([showInHand(), showLists(), showCopyAge()]);
onOthers(() => void lists());
onHere(() => void lists());
addEventListener("pageshow", (event) => {
  if (event.persisted) void lists();
});
await Promise.all([showSheet(), lists(), tellPersistence()]);
