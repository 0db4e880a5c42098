/** The state of a batch or a block, by word and by shape. */

import { word } from "../frame/words.mjs";

/** @import { LogEntry, LogState } from "../rules/types.mjs" */

/** @param {LogState} state */
const templateOf = (state) => document.querySelector(/** @type {"template"} */ (`template[data-log-state="${state}"]`));

/** Its sign and its word. @param {LogState} state */
export function stateShown(state) {
  const shown = document.createElement("span");
  shown.className = `log-state log-state-${state}`;
  const made = templateOf(state)?.content.cloneNode(true);
  if (made) shown.append(made);
  return shown;
}

/** @type {Map<LogState, string>} */
const said = new Map();

/** Its word. @param {LogState} state */
export function stateSaid(state) {
  const words = said.get(state) ?? templateOf(state)?.content.textContent?.trim() ?? state;
  said.set(state, words);
  return words;
}

/** How many of its blocks are poured, where some of several are; else "". @param {LogEntry} entry */
export function pouredSaid({ parts, blocks }) {
  const poured = parts.filter(({ poured_on }) => poured_on !== "").length;
  return poured > 0 && poured < blocks ? word("log-blocks-poured", { n: poured, all: blocks }) : "";
}
