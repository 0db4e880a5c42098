import { hold, takeOver } from "../tabs.mjs";

/** A page that is just being left (a reload) lets go of its block within this. [ms] */
const LEAVING = 400;
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

  /** Becomes the one when the other tab is closed. */
  async wait() {
    this.waiting = new AbortController();
    this.begin(await hold(this.name, this.waiting.signal, () => this.lose()));
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
