/** What every page starts, whatever it is about: the records, Python, the app's stored copy, what the emergency card knows. */

import { watchEntries } from "../day/notify.mjs";
import { reload, start, watchPython } from "../frame/app.mjs";
import { watchLeaving } from "../frame/came_from.mjs";
import { notice, noticeCarried } from "../frame/notice.mjs";
import "../frame/offline.mjs";
import { onStored } from "../frame/tabs.mjs";
import { watchTapped } from "../frame/tapped.mjs";
import { unfoldToPrint } from "../frame/unfold.mjs";
import { watchUnread } from "../frame/unread.mjs";
import { watchLine } from "../phones/line.mjs";
import { watchEyewash } from "../safety/eyewash_state.mjs";
import { watchPlace } from "../safety/mirror.mjs";
import { startShop } from "../shop/start.mjs";
import { onLetGo } from "../store/database.mjs";
import { chooseMode } from "../store/mode.mjs";

/**
 * Comes back when the workshop has been read.
 *
 * @param {object} [page]
 * @param {() => Promise<void> | void} [page.changed] Called when it has been read again, for something was stored.
 * @param {() => void} [page.pythonChanged] Called when calculation starts or stops.
 * @returns {Promise<() => Promise<void>>} What reads it again.
 */
export async function startPage({ changed = () => {}, pythonChanged = () => {} } = {}) {
  const again = async () => {
    await reload();
    await changed();
  };
  noticeCarried();
  document.addEventListener("click", (event) => {
    if (!(event.target instanceof Element)) return;
    if (event.target.closest("[data-print]")) print();
    // A link into one's own workshop: the page that it leads to is opened there.
    if (event.target.closest("[data-enter-own]")) chooseMode("own");
  });
  unfoldToPrint();
  watchTapped();
  watchLeaving();
  // Of a text of several lines a browser brings only the line with the caret out from under the bar at the bottom edge.
  document.addEventListener("focusin", ({ target }) => {
    if (target instanceof HTMLTextAreaElement) target.scrollIntoView({ block: "nearest" });
  });
  watchUnread();
  watchPlace();
  watchEyewash();
  watchEntries();
  onLetGo((gone) => (gone ? void again() : notice("newer-open")));
  await start();
  watchPython(pythonChanged);
  onStored(() => void again());
  startShop();
  watchLine();
  return again;
}
