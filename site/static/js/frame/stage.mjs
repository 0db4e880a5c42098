/** Screens, at the scale, in a safety walk and in the lists of Today: each is a template of the page, filled with text. No wording stands in a script. */

/** @typedef {Record<string, string | number | boolean | null | undefined>} Slots */

/** A tap this soon after the screen has changed was meant for the screen before. [ms] */
const SETTLE = 300;

/** @param {unknown} value */
const empty = (value) => value === null || value === undefined || value === "" || value === false;

/** @param {string} name @param {Slots} [slots] @returns {DocumentFragment} */
export function screen(name, slots = {}) {
  const template = document.querySelector(`template[data-screen="${CSS.escape(name)}"]`);
  if (!(template instanceof HTMLTemplateElement)) throw new Error(`no screen ${name}`);
  const part = document.importNode(template.content, true);
  for (const element of part.querySelectorAll("[data-if]")) {
    if (empty(slots[element.getAttribute("data-if") ?? ""])) element.remove();
  }
  fill(part, slots);
  return part;
}

/** @param {ParentNode} part @param {Slots} slots */
export function fill(part, slots) {
  for (const element of part.querySelectorAll("[data-slot]")) {
    element.textContent = String(slots[element.getAttribute("data-slot") ?? ""] ?? "");
  }
  for (const element of part.querySelectorAll("[data-slot-href]")) {
    const to = slots[element.getAttribute("data-slot-href") ?? ""];
    if (empty(to)) element.remove();
    else element.setAttribute("href", String(to));
  }
}

/** Where the screens stand, and the one place that hears their buttons. */
export class Stage {
  /**
   * @param {HTMLElement} root
   * @param {(action: string, button: HTMLElement) => Promise<unknown> | void} act
   * @param {(error: unknown) => void} failed
   * @param {(place: HTMLElement) => void} [told] Called whenever a screen has been put there.
   */
  constructor(root, act, failed, told = () => {}) {
    this.root = root;
    this.told = told;
    this.place = /** @type {HTMLElement} */ (root.querySelector("[data-stage]"));
    /** What every screen says besides its own. @type {Slots} */
    this.always = {};
    this.shownAt = -Infinity;
    this.acting = false;
    this.locked = false;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.settling = undefined;
    root.addEventListener("click", (event) => {
      const button = event.target instanceof Element ? event.target.closest(/** @type {"button"} */ ("button[data-do], button[data-decide]")) : null;
      if (!button || button.disabled) return;
      // By the instant of the tap, not of its handling: a busy phone may handle it late.
      if (this.acting || event.timeStamp - this.shownAt < SETTLE) return;
      this.acting = true;
      Promise.resolve(act(button.dataset.do ?? "decide", button))
        .catch(failed)
        .finally(() => (this.acting = false));
    });
  }

  /** @param {string} name @param {Slots} [slots] @param {Record<string, Node[]>} [lists] */
  show(name, slots = {}, lists = {}) {
    const part = screen(name, { ...this.always, ...slots });
    for (const [key, nodes] of Object.entries(lists)) part.querySelector(`[data-list="${key}"]`)?.append(...nodes);
    const moved = this.place.dataset.shown !== undefined;
    this.place.dataset.shown = name;
    this.place.replaceChildren(part);
    this.told(this.place);
    this.lock(this.locked);
    if (moved) {
      scrollTo(0, 0);
      /** @type {HTMLElement | null} */ (this.place.querySelector("h2"))?.focus({ preventScroll: true });
    }
    this.changed();
  }

  /** Nothing of the screen before is left to be seen or tapped, while the next one is still read. */
  clear() {
    clearTimeout(this.settling);
    this.place.replaceChildren();
    if (this.place.dataset.shown !== undefined) this.place.dataset.shown = "";
    delete this.place.dataset.settled;
  }

  /** The screen is another one from now on. */
  changed() {
    this.shownAt = performance.now();
    delete this.place.dataset.settled;
    clearTimeout(this.settling);
    this.settling = setTimeout(() => (this.place.dataset.settled = ""), SETTLE);
  }

  /** Looking only, or working. @param {boolean} locked */
  lock(locked) {
    this.locked = locked;
    this.root.toggleAttribute("data-locked", locked);
    for (const control of this.root.querySelectorAll("[data-writes], [data-decide]")) {
      if (control instanceof HTMLButtonElement || control instanceof HTMLInputElement) control.disabled = locked;
    }
  }

  /** @param {string} selector @returns {HTMLElement | null} */
  find(selector) {
    return this.place.querySelector(selector);
  }

  /** What stands in a text field of the screen. @param {string} name */
  typed(name) {
    const field = this.place.querySelector(`input[name="${name}"]:not([type="radio"])`);
    return field instanceof HTMLInputElement ? field.value.trim() : "";
  }
}
