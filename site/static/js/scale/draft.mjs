import { insist } from "../frame/saved.mjs";
import { untilRead } from "../frame/unread.mjs";
import { DraftKeeper, dropDraft, loadDraft, storeDraft } from "../store/drafts.mjs";

const NOTHING = { step: "", typed: "", first: "", reasons: {} };

/** The digits that are typed and not yet confirmed: a reload or a killed browser finds them again. */
export class Draft {
  /** @param {string} key @param {() => string | null} head */
  constructor(key, head) {
    this.key = key;
    this.head = head;
    /** The step, or "correct:" and the step. */
    this.step = "";
    this.typed = "";
    /** What was typed the first time, where it is typed twice. */
    this.first = "";
    /** What was tapped and typed as a reason, by the screen that asks for it. @type {Record<string, {why: string, text: string}>} */
    this.reasons = {};
    this.keeper = new DraftKeeper(() => this.write(), () => void insist(() => this.write()));
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "hidden") void this.flush();
    });
  }

  async load() {
    const draft = await untilRead((limit) => loadDraft(this.key, limit), () => undefined);
    const { reasons = "{}", ...stored } = draft?.values ?? {};
    Object.assign(this, NOTHING, stored, { reasons: JSON.parse(reasons) });
  }

  /** @param {string} step */
  begin(step) {
    if (this.step === step) return;
    Object.assign(this, NOTHING, { step });
    this.keeper.touch();
  }

  /** @param {{typed?: string, first?: string}} change */
  set(change) {
    Object.assign(this, change);
    this.keeper.touch();
  }

  /** @param {string} screen @param {{why: string, text: string}} reason */
  setReason(screen, reason) {
    this.reasons = { ...this.reasons, [screen]: reason };
    this.keeper.touch();
  }

  write() {
    const { step, typed, first, reasons } = this;
    return storeDraft(this.key, { step, typed, first, reasons: JSON.stringify(reasons) }, this.head());
  }

  flush() {
    return this.keeper.flush();
  }

  async clear() {
    this.keeper.cancel();
    Object.assign(this, NOTHING);
    await dropDraft(this.key).catch(() => {});
  }
}
