import { markOwn } from "../frame/flags.mjs";
import { insist } from "../frame/saved.mjs";
import { hold, takeOver } from "../frame/tabs.mjs";
import { untilRead } from "../frame/unread.mjs";
import { DraftKeeper, dropDraft, loadDraft, storeDraft } from "../store/drafts.mjs";
import { collect } from "./forms.mjs";
import { limitRows } from "./rows.mjs";

/** @import { Draft } from "../store/database.mjs" */

/** A page that is being left, as by a reload, lets go of its text within this. A busy phone needs longer; its next page then
 * says for a moment that the text is open elsewhere. [ms] */
const LEAVING = 400;
const LEAVING_SLOWLY = 10_000;
/** Time for the tab that is taken over to write down its last characters. [ms] */
const HANDING_OVER = 400;

/** The text of a form that is not saved yet: kept as a draft, and changed in one tab only. */
export class Unsaved {
  /**
   * @param {HTMLFormElement} form
   * @param {HTMLElement | null} elsewhere The notice that another tab has it.
   * @param {(draft: Draft | undefined) => void} put Shows the text as another tab has left it.
   */
  constructor(form, elsewhere, put) {
    this.form = form;
    this.elsewhere = elsewhere;
    this.put = put;
    this.waiting = new AbortController();
    this.key = "";
    /** The event that the text was begun on. @type {string | null} */
    this.base = null;
    this.edited = false;
    /** Whether something was typed before this tab held the text: what a draft says then is older. */
    this.early = false;
    this.failing = false;
    /** Only the tab that holds the text writes it. @type {DraftKeeper | null} */
    this.keeper = null;
    /** What lets go of it. @type {() => void} */
    this.release = () => {};
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "hidden") void this.keeper?.flush();
    });
    form.querySelector("[data-discard-draft]")?.addEventListener("click", async () => {
      await this.clear();
      location.reload();
    });
  }

  /** A text that could not be read is none yet: what is typed then would be written over it. @param {string} key @returns {Promise<Draft | undefined>} */
  load(key) {
    this.key = key;
    return untilRead((limit) => loadDraft(key, limit), () => undefined);
  }

  /** Something was typed. */
  touch() {
    this.early ||= this.keeper === null;
    this.setEdited(true);
    markOwn();
    this.keeper?.touch();
  }

  /** Unsaved work holds off an update of the app. @param {boolean} edited */
  setEdited(edited) {
    this.edited = edited;
    document.documentElement.toggleAttribute("data-busy", edited);
  }

  /** @param {boolean} shown */
  note(shown) {
    const note = this.form.querySelector(/** @type {"p"} */ ("[data-draft-note]"));
    if (note) note.hidden = !shown;
  }

  /** Makes this tab the one that changes the text, unless another one is. @param {() => boolean} current */
  async take(current) {
    const release = await hold(this.key, AbortSignal.timeout(LEAVING), () => this.lose());
    this.begin(release, current);
    // Not waited for: the form stands locked meanwhile.
    if (!release && current()) void this.takeLate(current);
  }

  /** @param {() => boolean} current */
  async takeLate(current) {
    this.waiting = new AbortController();
    const tired = setTimeout(() => this.waiting.abort(), LEAVING_SLOWLY);
    const late = await hold(this.key, this.waiting.signal, () => this.lose());
    clearTimeout(tired);
    if (late) await this.receive(late, current);
  }

  /** Makes this tab the one, whoever had it. @param {() => boolean} current */
  async takeOver(current) {
    this.waiting.abort();
    await this.receive(await takeOver(this.key, () => this.lose()), current);
  }

  /** @param {(() => void) | null} release @param {() => boolean} current */
  async receive(release, current) {
    await new Promise((resolve) => setTimeout(resolve, HANDING_OVER));
    const draft = await this.load(this.key);
    if (current() && !this.early) this.put(draft);
    this.begin(release, current);
  }

  /** @param {(() => void) | null} release @param {() => boolean} current */
  begin(release, current) {
    if (!current()) return release?.();
    this.lock(!release);
    if (!release) return;
    this.release = release;
    this.keeper = new DraftKeeper(() => this.store(), () => void this.failed());
    if (this.edited) this.keeper.touch();
  }

  store() {
    return storeDraft(this.key, collect(this.form, { all: true }), this.base);
  }

  /** The draft can't be written: the bar says so until it can. */
  async failed() {
    if (this.failing) return;
    this.failing = true;
    await insist(() => this.store());
    this.failing = false;
  }

  /** @param {boolean} locked */
  lock(locked) {
    this.form.toggleAttribute("data-locked", locked);
    for (const element of this.form.elements) {
      if ("disabled" in element) element.disabled = locked;
    }
    if (!locked) limitRows(this.form);
    if (this.elsewhere) this.elsewhere.hidden = !locked;
  }

  /** Another tab has taken it over. */
  lose() {
    void this.keeper?.flush();
    this.keeper = null;
    this.early = false;
    this.release = () => {};
    this.lock(true);
  }

  /** Writes down what was typed and lets go. */
  async leave() {
    this.waiting.abort();
    await this.keeper?.flush();
    this.keeper = null;
    this.release();
    this.release = () => {};
  }

  /** The text is saved or given up. */
  async clear() {
    this.keeper?.cancel();
    await dropDraft(this.key).catch(() => {});
    this.setEdited(false);
    this.note(false);
  }
}
