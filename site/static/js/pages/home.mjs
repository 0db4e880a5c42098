/** Starts what lives from the records alone: issued sheets, lists, copies. It works when Python can't start. */

import { watchCopies } from "../records/copies.mjs";
import { showCopyAge } from "../records/copy_age.mjs";
import { showInHand } from "../records/in_hand.mjs";
import { noticeCarried } from "../frame/notice.mjs";
import { tellPersistence } from "../frame/saved.mjs";
import { showLists, showSheet } from "../records/sheet.mjs";
import { onOthers, tellHere, onHere } from "../frame/tabs.mjs";
import { readAgain } from "../frame/unread.mjs";

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
