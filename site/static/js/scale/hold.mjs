import { hold, takeOver } from "../frame/tabs.mjs";

/** A page that is just being left (a reload) lets go of its block within this. [ms] */
const LEAVING = 400;
/** A page that is being loaded anew comes back for its block within this. [ms] */
const COMING_BACK = 1500;
/** Time for the tab that is taken over to write down its last digits. [ms] */
const HANDING_OVER = 400;

/** One block is weighed in one tab; in the others it can be looked at, and taken over. */
export class Hold {
  /** @param {string} name @param {() => Promise<void> | void} changed */
  constructor(name, changed) {
    this.name = name;
    this.changed = changed;
    this.held = false;
    this.left = false;
    this.waiting = new AbortController();
    /** @type {() => void} */
    this.release = () => {};
  }

  async take() {
    this.begin(await hold(this.name, AbortSignal.timeout(LEAVING), () => this.lose()));
    if (!this.held) void this.wait();
  }

  /** Takes the block once the other tab is closed for good and somebody looks at this one. */
  async wait() {
    this.waiting = new AbortController();
    const { signal } = this.waiting;
    while (!this.held && !signal.aborted) {
      const free = await hold(this.name, signal, () => {});
      free?.();
      if (!free) return;
      await new Promise((resolve) => setTimeout(resolve, COMING_BACK));
      await seen();
      if (!signal.aborted) this.begin(await hold(this.name, AbortSignal.timeout(LEAVING), () => this.lose()));
    }
    if (this.held) await this.changed();
  }

  async takeOver() {
    this.waiting.abort();
    const release = await takeOver(this.name, () => this.lose());
    await new Promise((resolve) => setTimeout(resolve, HANDING_OVER));
    this.begin(release);
    await this.changed();
  }

  /** @param {(() => void) | null} release */
  begin(release) {
    if (this.left) return release?.();
    this.held = release !== null;
    if (release) this.release = release;
  }

  lose() {
    this.held = false;
    this.release = () => {};
    void this.changed();
    void this.wait();
  }

  leave() {
    this.left = true;
    this.waiting.abort();
    this.release();
    this.release = () => {};
  }
}

/** Resolves when somebody looks at this tab. @returns {Promise<void>} */
const seen = () =>
  new Promise((resolve) => {
    const look = () => {
      if (document.visibilityState !== "visible") return;
      document.removeEventListener("visibilitychange", look);
      resolve();
    };
    document.addEventListener("visibilitychange", look);
    look();
  });
