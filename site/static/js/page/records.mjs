/** Starts what lives from the records alone: issued sheets, lists, copies. It works when Python can't start. */

import { watchCopies } from "./copies.mjs";
import { noticeCarried } from "./notice.mjs";
import { tellPersistence } from "./saved.mjs";
import { showLists, showSheet } from "./sheet.mjs";
import { onOthers, tellHere, onHere } from "./tabs.mjs";

noticeCarried();
watchCopies(tellHere);
document.addEventListener("click", (event) => {
  if (event.target instanceof Element && event.target.closest("[data-print]")) print();
});
addEventListener("hashchange", () => void showSheet());
onOthers(() => void showLists());
onHere(() => void showLists());
addEventListener("pageshow", (event) => {
  if (event.persisted) void showLists();
});
await Promise.all([showSheet(), showLists(), tellPersistence()]);
