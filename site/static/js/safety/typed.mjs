import { insist } from "../frame/saved.mjs";
import { untilRead } from "../frame/unread.mjs";
import { DraftKeeper, dropDraft, loadDraft, storeDraft } from "../store/drafts.mjs";

/** @import { Values } from "../rules/types.mjs" */

/** Those whose text may still be on its way to the store. @type {Set<Typed>} */
const open = new Set();
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "hidden") for (const each of open) void each.keeper.flush();
});

/** Keeps what is typed, ticked and drawn in one place until it is a record. A reload, a kill or a look at the emergency card loses none of it. */
export class Typed {
  /** @param {HTMLElement} place @param {string} key */
  constructor(place, key) {
    this.key = key;
    /** @type {(HTMLInputElement | HTMLTextAreaElement)[]} */
    this.controls = [...place.querySelectorAll(/** @type {"input"} */ ("input[name], textarea[name]"))];
    const store = () => storeDraft(key, this.values(), null);
    this.keeper = new DraftKeeper(store, () => void insist(store));
    for (const control of this.controls) control.addEventListener("input", () => this.touch());
    /** Until what was there has been read, nothing is written over it. */
    this.read = false;
    /** Whether something was typed before that. */
    this.early = false;
    open.add(this);
  }

  touch() {
    if (this.read) this.keeper.touch();
    else this.early = true;
  }

  /** @returns {Values} */
  values() {
    return Object.fromEntries(
      this.controls.flatMap((control) => (isTick(control) ? (control.checked ? [[nameOf(control), "on"]] : []) : [[control.name, control.value]])),
    );
  }

  /**
   * Puts back what was there; what has been typed since stays.
   *
   * @param {(at: string) => boolean} [counts] Whether what was typed at an instant still does; else it is forgotten.
   * @returns {Promise<boolean>} Whether something was there.
   */
  async load(counts = () => true) {
    const draft = await untilRead((limit) => loadDraft(this.key, limit), () => undefined);
    this.read = true;
    if (draft && !counts(draft.at)) await this.forget();
    const held = draft && counts(draft.at) ? draft.values : {};
    for (const control of this.controls) {
      if (isTick(control)) control.checked ||= held[nameOf(control)] === "on";
      else if (held[control.name]) control.value ||= held[control.name] ?? "";
    }
    if (this.early) this.keeper.touch();
    return Object.keys(held).length > 0;
  }

  /** It is not shown any more. */
  leave() {
    open.delete(this);
    return this.keeper.flush();
  }

  /** It is a record now. */
  async drop() {
    open.delete(this);
    this.early = false;
    await this.forget();
  }

  /** What was typed so far is of no use any more. */
  async forget() {
    this.keeper.cancel();
    await dropDraft(this.key).catch(() => {});
  }
}

/** @param {HTMLInputElement | HTMLTextAreaElement} control @returns {control is HTMLInputElement} */
const isTick = (control) => control.type === "radio" || control.type === "checkbox";

/** One of several with the same name. @param {HTMLInputElement} control */
const nameOf = ({ name, value }) => `${name}=${value}`;
