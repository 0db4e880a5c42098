import { keep } from "../frame/saved.mjs";
import { fill } from "../frame/stage.mjs";
import { untilRead } from "../frame/unread.mjs";
import { whenWords } from "../frame/when.mjs";
import { inOrder } from "../rules/fold.mjs";
import { isDaily, isReady, monthsAfter, nameKey, openStops, unfit } from "../rules/training.mjs";
import { dayOf, foldWalk, isOver, isSignature, walkSubject } from "../rules/walk.mjs";
import { dayOn } from "../store/clock.mjs";
import { ChangedElsewhere, eventsAbout, newEvent } from "../store/events.mjs";
import { hush } from "./aloud.mjs";
import { cardAllows } from "./card.mjs";
import { dailyRows, markDaily } from "./daily.mjs";
import { eyewashAllows, takeEyewashBack, tellEyewash } from "./eyewash.mjs";
import { drawInitials, showInitials } from "./initials.mjs";
import { shownLanguage } from "./language.mjs";
import { showLimits } from "./limits.mjs";
import { items } from "./overview.mjs";
import { onlyIn, ownWords } from "./own_words.mjs";
import { groupOf, lasting, ownPoint, phaseName, pointName, required, templateOf, wordsIn } from "./points.mjs";
import { trainingMonths } from "./shop.mjs";
import { readWalks } from "./walks_read.mjs";
import { Typed } from "./typed.mjs";

/** @import { TarewellEvent, WalkFold, WalkPart } from "../rules/types.mjs" */
/** @import { OpenStop } from "../rules/training.mjs" */
/** @import { Slots, Stage } from "../frame/stage.mjs" */

/** The phases that are answered today and not signed. @param {WalkFold} fold @returns {WalkPart[]} */
const toSign = ({ parts }) => parts.filter(({ left, signed }) => left.length === 0 && !signed);

/** The answer that was given last. @param {WalkPart[]} parts */
const lastYes = (parts) => inOrder(parts.flatMap(({ done }) => [...done.values()])).at(-1);

/** Whether anything of a walk that is closed was signed. @param {WalkFold} fold */
const partly = ({ begun, parts }) => {
  const signed = Boolean(begun.by_phase) && parts.some((part) => part.signed);
  return { signed, unsigned: !signed };
};

/** The phases of which nothing is left to ask today. @param {WalkFold} fold */
const doneParts = ({ parts }) =>
  parts.filter(({ left }) => left.length === 0).map(({ phase, signed }) => {
    const line = wordsIn('template[data-part="phase-done"]');
    line.querySelector(`[data-if="${signed ? "answered" : "signed"}"]`)?.remove();
    fill(line, { signed: signed ? dayOf(signed) : "" });
    line.querySelector("[data-phase-name]")?.append(phaseName(phase ?? ""));
    return line;
  });

/** One walk on the page. What the screen says has been stored before. */
export class Walk {
  /** @param {Stage} stage @param {string} id @param {boolean} older Whether somebody wanted to begin another walk, and was led here first because a stop is open in this one. */
  constructor(stage, id, older) {
    this.stage = stage;
    this.id = id;
    this.older = older;
    /** @type {WalkFold | null} */
    this.fold = null;
    /** The open stops of all walks: one that lasts for the day counts in every walk of that person. @type {OpenStop[]} */
    this.stops = [];
    /** @type {ReturnType<typeof drawInitials> | null} */
    this.pad = null;
    /** What is typed on the screen that is shown. @type {Typed | null} */
    this.typed = null;
    /** The point before which a pause has been taken. */
    this.rested = "";
    /** The phase that was chosen to go on with. @type {string | null} */
    this.phase = null;
    /** Whether what is answered is to be signed, though there is more to ask. */
    this.signing = false;
    this.open = true;
  }

  /** What is stored decides what is shown. */
  async show() {
    await this.read();
    this.draw();
  }

  /** Something has been stored elsewhere. The screen, on which somebody may be typing, changes only if it concerns this walk. */
  async others() {
    const before = [this.fold?.last, this.unfit()?.subject];
    await this.read();
    if (before[0] !== this.fold?.last || before[1] !== this.unfit()?.subject) this.draw();
  }

  leave() {
    this.open = false;
    void this.typed?.leave();
    takeEyewashBack();
    hush();
  }

  async read() {
    this.fold = foldWalk(await untilRead((limit) => eventsAbout(walkSubject(this.id), limit)), dayOn());
    this.stops = openStops(await readWalks(null), required(), lasting());
  }

  /** The stop for which helper or guide cannot go on today. */
  unfit() {
    const { helper, guide } = this.fold?.begun ?? {};
    return unfit(this.stops, helper ?? "", dayOn()) ?? unfit(this.stops, guide ?? "", dayOn());
  }

  draw() {
    const { fold, stage } = this;
    if (!this.open) return;
    void this.typed?.leave();
    takeEyewashBack();
    hush();
    this.typed = this.pad = null;
    if (!fold) return stage.show("gone");
    const { begun, stopped, signed, closed } = fold;
    /** @type {Slots} */
    const slots = { helper: begun.helper ?? "", begun: dayOf(begun) };
    if (stopped) return this.drawStop(stopped, { ...slots, older: this.older });
    if (closed) return stage.show("closed", { ...slots, ...partly(fold) });
    if (isOver(fold, dayOn())) return stage.show("over", slots);
    if (signed) return this.drawSigned(signed, slots);
    const kept = this.unfit();
    if (kept) return stage.show("unfit", { unfit: kept.helper, href: `#${kept.subject.slice("walk:".length)}` });
    if (isDaily(fold)) return this.drawDaily(fold, slots);
    const part = this.part();
    if (part) return this.drawPart(part, slots);
    if (fold.parts.every(({ left }) => left.length === 0) || (this.signing && toSign(fold).length > 0)) return this.drawSign(slots);
    this.drawPhases(fold, slots);
  }

  /** What is asked now; null where somebody has to choose a phase, or nothing is left to ask. @returns {WalkPart | null} */
  part() {
    const { begun, parts } = /** @type {WalkFold} */ (this.fold);
    const open = parts.filter(({ left }) => left.length > 0);
    if (this.signing) return null;
    const chosen = open.find(({ phase }) => phase === this.phase) ?? open.find(({ left, points }) => left.length < points.length);
    const fresh = dayOf(begun) === dayOn() && open.length === parts.length;
    return chosen ?? (fresh ? (open[0] ?? null) : null);
  }

  /** @param {WalkPart} part @param {Slots} slots */
  drawPart(part, slots) {
    const [point = ""] = part.left;
    const at = part.points.indexOf(point);
    const told = { ...slots, progress: `${at + 1} / ${part.points.length}`, back: at > 0 };
    if (this.pauses(part, at)) return this.stage.show("pause", told);
    this.drawPoint(point, told);
  }

  /** Whether a pause comes here: between two groups of points. It goes by what is stored, so that a reload is no pause. @param {WalkPart} part @param {number} at */
  pauses({ points }, at) {
    const [before, point = ""] = [points[at - 1], points[at]];
    if (before === undefined || this.rested === point) return false;
    const own = this.fold?.begun.own ?? [];
    return groupOf(before, own) !== groupOf(point, own);
  }

  /** @param {WalkFold} fold @param {Slots} slots */
  drawPhases(fold, slots) {
    const open = fold.parts.filter(({ left }) => left.length > 0).map(({ phase }) => {
      const button = wordsIn('template[data-part="phase-open"]');
      /** @type {HTMLElement} */ (button.firstElementChild).dataset.phase = phase ?? "";
      button.querySelector("[data-phase-name]")?.append(phaseName(phase ?? ""));
      return button;
    });
    const sign = toSign(fold).length > 0;
    const another = dayOf(fold.begun) !== dayOn();
    this.stage.show("phases", { ...slots, "another-day": another, "to-sign": sign, "may-close": !sign }, { open, done: doneParts(fold) });
  }

  /** @param {WalkFold} fold @param {Slots} slots */
  drawDaily(fold, slots) {
    if (isReady(fold)) return this.stage.show("daily-done", { ...slots, at: whenWords(lastYes(fold.parts)?.local ?? ""), back: true });
    this.stage.show("daily", slots, { points: dailyRows(fold) });
    markDaily(this.stage.place, fold);
    showLimits(this.stage.place);
    tellEyewash(this.stage.place);
  }

  /** @param {TarewellEvent} signed @param {Slots} slots */
  drawSigned(signed, slots) {
    const months = trainingMonths();
    const until = months === null ? "" : monthsAfter(dayOf(signed), months);
    this.stage.show("signed", { ...slots, day: dayOf(signed), initials: signed.initials ?? "", until });
    showInitials(this.stage.place, signed.path ?? "");
  }

  /** @param {Slots} slots */
  drawSign(slots) {
    const { parts } = /** @type {WalkFold} */ (this.fold);
    const signing = toSign(/** @type {WalkFold} */ (this.fold));
    const phases = items(signing.flatMap((part) => part.phases).map(phaseName));
    const more = parts.some(({ left }) => left.length > 0);
    this.stage.show("sign", { ...slots, back: true, more }, { phases });
    this.pad = drawInitials(this.stage.place);
    this.keepTyped("sign");
  }

  /** @param {string} what */
  keepTyped(what) {
    const typed = new Typed(this.stage.place, `walk:${this.id}:${what}`);
    this.typed = typed;
    void typed.load().then(() => this.typed === typed && this.pad?.show());
  }

  /** @param {string} point @param {Slots} slots */
  drawPoint(point, slots) {
    const { stage, fold } = this;
    if (!fold) return;
    const own = fold.begun.own ?? [];
    const mine = ownPoint(point, own);
    const told = { ...slots, again: fold.again.filter((event) => event.point === point).length || "" };
    if (templateOf(point)) stage.show(point, told);
    // A point of another build is still asked, by what is known of it.
    else {
      const words = { what: ownWords(mine, "what"), question: ownWords(mine, "question"), stop: ownWords(mine, "stop") };
      stage.show("own", { ...told, ...onlyIn(mine) }, words);
    }
    stage.find("[data-own-phase]")?.replaceChildren(phaseName(mine.phase));
    showLimits(stage.place);
    tellEyewash(stage.place);
  }

  /** @param {TarewellEvent} stopped @param {Slots} slots */
  drawStop(stopped, slots) {
    const point = stopped.point ?? "";
    const mine = ownPoint(point, this.fold?.begun.own ?? []);
    if (templateOf(`${point}/stop`)) this.stage.show(`${point}/stop`, slots);
    else this.stage.show("own/stop", { ...slots, ...onlyIn(mine) }, { what: ownWords(mine, "what") });
    showLimits(this.stage.place);
    this.stage.place.append(wordsIn(`template[data-part="${this.lasts(stopped) ? "other-day" : "clear"}"]`));
    const ends = !this.endsCleared() ? "on" : this.fold && isDaily(this.fold) ? "daily" : "over";
    for (const words of this.stage.place.querySelectorAll(`[data-clears]:not([data-clears~="${ends}"])`)) words.remove();
    this.keepTyped(stopped.id);
  }

  /** Whether it is a stop that nobody can put right today. @param {TarewellEvent} stopped */
  lasts(stopped) {
    return templateOf(`${stopped.point}/stop`)?.dataset.otherDay !== undefined && dayOf(stopped) >= dayOn();
  }

  /** Whether clearing the stop can only close the walk: one of another day asks nothing any more. */
  endsCleared() {
    return this.fold !== null && isOver({ ...this.fold, signed: null }, dayOn());
  }

  /** @param {string} action @param {HTMLElement} button */
  async act(action, button) {
    const { fold, stage } = this;
    if (!fold) return;
    this.tellClash(false);
    const part = this.part();
    const point = button.dataset.point ?? part?.left[0] ?? "";
    if (action === "on") {
      this.rested = point;
      return this.draw();
    }
    if (action === "phase") this.phase = button.dataset.phase ?? "";
    if (action === "sign-now" || action === "sign-later") this.signing = action === "sign-now";
    if (action === "phase" || action === "sign-now" || action === "sign-later") return this.draw();
    if (action === "wipe") return this.pad?.wipe();
    const asked = button.closest("li") ?? stage.place;
    if (action === "yes" && !fold.done.has(point) && !((await eyewashAllows(asked)) && (await cardAllows(asked)))) return;
    if (action === "yes" && isDaily(fold)) return this.tick(fold, point);
    if (action === "yes" || action === "no" || action === "again") {
      await this.store("walk_answered", { point, answer: action, language: shownLanguage(stage.root) });
      return this.draw();
    }
    if (action === "take-back") {
      const before = part ? fold.done.get(part.points[part.points.indexOf(point) - 1]) : lastYes(isDaily(fold) ? fold.parts : toSign(fold));
      if (before) await this.store("walk_taken_back", { takes: before.id });
      this.rested = "";
      this.signing = false;
      return this.draw();
    }
    if (action === "close") {
      await this.store("walk_closed", {});
      return this.draw();
    }
    if (action === "clear" && fold.stopped) {
      const [person, reason] = [stage.typed("person"), this.text("reason")];
      const missing = this.complain("[data-clear-problem]", !person || !reason);
      const mine = nameKey(person) === nameKey(fold.begun.helper ?? "");
      const alone = this.complain("[data-clear-alone]", mine && nameKey(fold.begun.guide ?? "") !== nameKey(person));
      const kept = this.complain("[data-clear-unfit]", Boolean(unfit(this.stops, person, dayOn())));
      if (missing || alone || kept) return;
      this.older = false;
      const ends = this.endsCleared() && !fold.closed;
      if (!(await this.store("walk_cleared", { clears: fold.stopped.id, person, reason }))) return this.draw();
      await this.typed?.drop();
      if (ends) await this.store("walk_closed", {});
      return this.draw();
    }
    if (action === "sign" && this.pad) {
      const [initials, path] = [stage.typed("initials"), this.pad.path()];
      if (this.complain("[data-sign-problem]", !isSignature(initials, path))) return;
      this.signing = false;
      const phases = fold.begun.by_phase ? { phases: toSign(fold).flatMap((each) => each.phases) } : {};
      return this.finish("walk_signed", { person: fold.begun.helper ?? "", initials, path, language: shownLanguage(stage.root), ...phases });
    }
  }

  /** A "yes" of the daily check, or the same one taken back: the screen stays where it is. @param {WalkFold} fold @param {string} point */
  async tick(fold, point) {
    const before = fold.done.get(point);
    const language = shownLanguage(this.stage.root);
    if (before) await this.store("walk_taken_back", { takes: before.id });
    else await this.store("walk_answered", { point, answer: "yes", language });
    if (this.stage.place.dataset.shown !== "daily" || !this.fold || this.fold.stopped || isReady(this.fold)) return this.draw();
    markDaily(this.stage.place, this.fold);
  }

  /** Stores what was typed on this screen. @param {TarewellEvent["kind"]} kind @param {Partial<TarewellEvent>} fields */
  async finish(kind, fields) {
    if (await this.store(kind, fields)) await this.typed?.drop();
    this.draw();
  }

  /** @param {string} name */
  text(name) {
    const field = this.stage.place.querySelector(`textarea[name="${name}"]`);
    return field instanceof HTMLTextAreaElement ? field.value.trim() : "";
  }

  /** @param {string} selector @param {boolean} wrong */
  complain(selector, wrong) {
    const place = this.stage.find(selector);
    if (place) place.hidden = !wrong;
    return wrong;
  }

  /** @param {boolean} clash */
  tellClash(clash) {
    /** @type {HTMLElement} */ (this.stage.root.querySelector("[data-clash]")).hidden = !clash;
  }

  /**
   * @param {TarewellEvent["kind"]} kind @param {Partial<TarewellEvent>} fields
   * @returns {Promise<boolean>} false, and said, where another tab was quicker: what it stored is shown, and nothing is stored twice
   */
  async store(kind, fields) {
    // A "no" names no event that it builds on: it stops the walk wherever that has got to.
    const after = fields.answer === "no" ? undefined : this.fold?.last;
    let stored = true;
    try {
      await keep(newEvent(kind, walkSubject(this.id), fields), after);
    } catch (error) {
      if (!(error instanceof ChangedElsewhere)) throw error;
      stored = false;
      this.tellClash(true);
    }
    await this.read();
    return stored;
  }
}
