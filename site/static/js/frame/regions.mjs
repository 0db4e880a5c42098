import { speak } from "./notice.mjs";
import { redraw } from "./redrawn.mjs";
import { word } from "./words.mjs";

/** The parts of the page that hold answers: kept true, or marked as not. */
export class Regions {
  /** @param {HTMLElement[]} places Elements with data-answer. */
  constructor(places) {
    this.places = places;
    /** @type {Map<HTMLElement, string>} */
    this.shown = new Map();
  }

  /** An answer to changed input is being worked out. */
  busy() {
    for (const place of this.places) place.setAttribute("aria-busy", "true");
  }

  /** The wait is over, with or without an answer. */
  idle() {
    for (const place of this.places) place.removeAttribute("aria-busy");
  }

  /**
   * Puts in what came; regions it does not name are marked as not current.
   *
   * @param {Record<string, string>} html By region.
   * @param {boolean} current False when there were problems.
   * @param {string} [first] What is spoken before the answer.
   */
  show(html, current, first = "") {
    for (const place of this.places) {
      const text = html[place.dataset.answer ?? ""];
      if (text === undefined) {
        if (current) settle(place);
        else if (place.dataset.live === undefined) place.hidden = true;
        else age(place, word("not-current"));
        continue;
      }
      // The same answer stays as it stands: drawn anew under a finger, it would move what is being pressed.
      if (this.shown.get(place) !== text) redraw(place, text);
      this.shown.set(place, text);
      place.dataset.live = "";
      settle(place);
    }
    this.idle();
    if (current && performance.getEntriesByName("tarewell-first-answer").length === 0) {
      performance.mark("tarewell-first-answer");
    }
    if (current) speak(`${first} ${this.summary()}`.trim());
  }

  /**
   * No calculation: what was built for the demo gives way to the reason where the data are the user's own; an answer
   * that no longer fits is marked.
   *
   * @param {string} reason
   * @param {boolean} changed Whether the input has changed since the answer.
   */
  off(reason, changed) {
    this.idle();
    for (const place of this.places) {
      const live = place.dataset.live !== undefined;
      const own = changed || document.documentElement.dataset.own !== undefined;
      if (!own || (live && !changed)) continue;
      // Where nothing is left to look at, the reason is said once.
      if (live || place === this.places[0]) age(place, reason);
      place.hidden = !live;
    }
  }

  summary() {
    const parts = this.places.flatMap((place) => [...place.querySelectorAll("[data-announce]")]);
    return parts.map((part) => part.textContent?.replace(/\s+/g, " ").trim()).join(" ") || word("answer-ready");
  }
}

/** @param {HTMLElement} place @param {string} reason */
function age(place, reason) {
  place.dataset.stale = "";
  let note = place.previousElementSibling;
  if (!note?.matches(".stale-note")) {
    note = document.createElement("p");
    note.className = "stale-note";
    place.before(note);
  }
  note.textContent = reason;
}

/** @param {HTMLElement} place */
function settle(place) {
  delete place.dataset.stale;
  place.hidden = false;
  if (place.previousElementSibling?.matches(".stale-note")) place.previousElementSibling.remove();
}
