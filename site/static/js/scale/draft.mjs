import { insist } from "../frame/saved.mjs";
import { untilRead } from "../frame/unread.mjs";
import { DraftKeeper, dropDraft, loadDraft, storeDraft } from "../store/drafts.mjs";

/** first: what was typed the first time, where it is typed twice. @typedef {{typed: string, first: string}} Digits */

/** @type {Digits} */
const NOTHING = { typed: "", first: "" };

const CORRECTION = "correct:";

/** The name of what is typed to correct a step's reading; a reading of a step goes by the step's key. @param {string} key */
export const correctionOf = (key) => `${CORRECTION}${key}`;

/** The digits that are typed and not yet confirmed: a reload or a killed browser finds them again. */
export class Draft {
  /** @param {string} key @param {() => string | null} head */
  constructor(key, head) {
    this.key = key;
    this.head = head;
    /** The reading of one step and the correction of one, by name: either can wait while the other is typed. @type {Record<string, Digits>} */
    this.readings = {};
    /** What was tapped and typed as a reason, by the screen that asks for it. @type {Record<string, {why: string, text: string}>} */
    this.reasons = {};
    this.keeper = new DraftKeeper(() => this.write(), () => void insist(() => this.write()));
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "hidden") void this.flush();
    });
  }

  async load() {
    const draft = await untilRead((limit) => loadDraft(this.key, limit), () => undefined);
    const { readings, reasons = "{}", step, typed = "", first = "" } = draft?.values ?? {};
    // Earlier builds kept one reading, beside its name.
    this.readings = readings !== undefined ? JSON.parse(readings) : step ? { [step]: { typed, first } } : {};
    this.reasons = JSON.parse(reasons);
  }

  /** Whether digits are being typed under a name. @param {string} name */
  begun(name) {
    return name in this.readings;
  }

  /** @param {string} name @returns {Digits} */
  of(name) {
    return this.readings[name] ?? NOTHING;
  }

  /** @param {string} name */
  begin(name) {
    if (this.begun(name)) return;
    const others = Object.entries(this.readings).filter(([other]) => other.startsWith(CORRECTION) !== name.startsWith(CORRECTION));
    this.readings = { ...Object.fromEntries(others), [name]: NOTHING };
    this.keeper.touch();
  }

  /** @param {string} name @param {Partial<Digits>} change */
  set(name, change) {
    this.readings = { ...this.readings, [name]: { ...this.of(name), ...change } };
    this.keeper.touch();
  }

  /** @param {string} screen @param {{why: string, text: string}} reason */
  setReason(screen, reason) {
    this.reasons = { ...this.reasons, [screen]: reason };
    this.keeper.touch();
  }

  write() {
    const { readings, reasons } = this;
    return storeDraft(this.key, { readings: JSON.stringify(readings), reasons: JSON.stringify(reasons) }, this.head());
  }

  flush() {
    return this.keeper.flush();
  }

  /** A step was done, or its reading corrected. Digits typed for another stay, a keypad without any goes. @param {string} key */
  finish(key) {
    const blank = Object.entries(this.readings).flatMap(([name, { typed, first }]) => (typed + first === "" ? [name] : []));
    return this.forget([key, correctionOf(key), ...blank], Object.keys(this.reasons));
  }

  /** @param {string[]} names @param {string[]} [screens] Whose reasons are forgotten. */
  async forget(names, screens = []) {
    const begun = Object.entries(this.readings).filter(([name]) => !names.includes(name));
    const reasons = Object.entries(this.reasons).filter(([screen]) => !screens.includes(screen));
    if (begun.length + reasons.length === 0) return this.clear();
    this.readings = Object.fromEntries(begun);
    this.reasons = Object.fromEntries(reasons);
    this.keeper.touch();
    await this.flush();
  }

  async clear() {
    this.keeper.cancel();
    this.readings = this.reasons = {};
    await dropDraft(this.key).catch(() => {});
  }
}
