import { DraftKeeper, dropDraft, loadDraft, storeDraft } from "../../store/drafts.mjs";
import { insist } from "../saved.mjs";

const NOTHING = { step: "", typed: "", first: "", reason: "", why: "" };

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
    this.reason = "";
    /** The reason that was tapped. */
    this.why = "";
    this.keeper = new DraftKeeper(() => this.write(), () => void insist(() => this.write()));
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "hidden") void this.flush();
    });
  }

  async load() {
    const stored = (await loadDraft(this.key).catch(() => undefined))?.values ?? {};
    Object.assign(this, NOTHING, stored);
  }

  /** @param {string} step */
  begin(step) {
    if (this.step === step) return;
    Object.assign(this, NOTHING, { step });
    this.keeper.touch();
  }

  /** @param {{typed?: string, first?: string, reason?: string, why?: string}} change */
  set(change) {
    Object.assign(this, change);
    this.keeper.touch();
  }

  write() {
    const { step, typed, first, reason, why } = this;
    return storeDraft(this.key, { step, typed, first, reason, why }, this.head());
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
