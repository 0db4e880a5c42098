import { clock, localTime } from "../../store/clock.mjs";
import { ChangedElsewhere, eventsOfKinds, newEvent } from "../../store/events.mjs";
import { monthsAfter, nameKey, openStops, unfit } from "../../store/training.mjs";
import { dayOf, foldWalk, isOver, isSignature, WALK_KINDS, walkSubject } from "../../store/walk.mjs";
import { keep } from "../saved.mjs";
import { hush } from "./aloud.mjs";
import { eyewashAllows, takeEyewashBack, tellEyewash } from "./eyewash.mjs";
import { drawInitials, showInitials } from "./initials.mjs";
import { shownLanguage } from "./language.mjs";
import { showLimits } from "./limits.mjs";
import { items } from "./overview.mjs";
import { onlyIn, ownWords } from "./own_words.mjs";
import { groupOf, lasting, ownPoint, phaseName, pointName, required, templateOf, wordsIn } from "./points.mjs";
import { trainingMonths } from "./shop.mjs";
import { Typed } from "./typed.mjs";
import { untilRead } from "../unread.mjs";

/** @import { TarewellEvent, WalkFold } from "../../store/types.mjs" */
/** @import { OpenStop } from "../../store/training.mjs" */
/** @import { Slots, Stage } from "../scale/stage.mjs" */

const today = () => localTime(clock.now()).slice(0, 10);

/** One walk on the page. What the screen says has been stored before. */
export class Walk {
  /** @param {Stage} stage @param {string} id @param {boolean} older Whether another walk was to begin, and this one's stop comes first. */
  constructor(stage, id, older) {
    this.stage = stage;
    this.id = id;
    this.older = older;
    /** @type {WalkFold | null} */
    this.fold = null;
    /** Those of all walks: one that lasts the day is heeded in each walk of that person. @type {OpenStop[]} */
    this.stops = [];
    /** @type {ReturnType<typeof drawInitials> | null} */
    this.pad = null;
    /** What is typed on the screen that is shown. @type {Typed | null} */
    this.typed = null;
    /** The point before which the pause is over. */
    this.rested = "";
    /** The group whose points are read back now, one by one. */
    this.group = "";
    this.open = true;
  }

  /** What is stored decides what is shown. */
  async show() {
    await this.read();
    this.draw();
  }

  /** Something has been stored elsewhere: a screen that somebody types on stays unless it is of this walk. */
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
    const events = await untilRead((limit) => eventsOfKinds(WALK_KINDS, limit));
    this.fold = foldWalk(events.filter(({ subject }) => subject === walkSubject(this.id)));
    this.stops = openStops(events, required(), lasting());
  }

  /** The stop for which helper or guide cannot go on today. */
  unfit() {
    const { helper, guide } = this.fold?.begun ?? {};
    return unfit(this.stops, helper ?? "", today()) ?? unfit(this.stops, guide ?? "", today());
  }

  draw() {
    const { fold, stage } = this;
    if (!this.open) return;
    void this.typed?.leave();
    takeEyewashBack();
    hush();
    this.typed = this.pad = null;
    if (!fold) return stage.show("gone");
    const { begun, points, index, stopped, signed, closed } = fold;
    /** @type {Slots} */
    const slots = { helper: begun.helper ?? "", begun: dayOf(begun), progress: `${index + 1} / ${points.length}`, back: index > 0 };
    if (stopped) return this.drawStop(stopped, { ...slots, older: this.older });
    if (closed) return stage.show("closed", slots);
    if (isOver(fold, today())) return stage.show("over", slots);
    if (signed) return this.drawSigned(signed, slots);
    const kept = this.unfit();
    if (kept) return stage.show("unfit", { unfit: kept.helper, href: `#${kept.subject.slice("walk:".length)}` });
    if (index === points.length) return this.drawSign(slots);
    if (this.pauses(fold)) return stage.show("pause", slots);
    this.drawPoint(points[index] ?? "", slots);
  }

  /** Between two groups, by what is stored: a reload is no pause. Who works from memory pauses before each group anyway. @param {WalkFold} fold */
  pauses({ begun, points, index }) {
    const [before, point = ""] = [points[index - 1], points[index]];
    if (before === undefined || begun.way === "do-confirm" || this.rested === point) return false;
    return groupOf(before, begun.own ?? []) !== groupOf(point, begun.own ?? []);
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
    this.stage.show("sign", slots);
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
    const confirms = fold.begun.way === "do-confirm";
    const group = groupOf(point, own);
    const mates = fold.points.filter((each) => groupOf(each, own) === group);
    if (confirms && this.group !== group && mates[0] === point) {
      const named = mates.filter((each) => !each.endsWith("/teach")).map((each) => pointName(each, own));
      return stage.show("together", slots, { points: items(named) });
    }
    this.group = group;
    const mine = ownPoint(point, own);
    const told = { ...slots, "read-back": confirms, again: fold.again.filter((event) => event.point === point).length || "" };
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
    for (const words of this.stage.place.querySelectorAll(`[data-clears="${this.endsCleared() ? "on" : "over"}"]`)) words.remove();
    this.keepTyped(stopped.id);
  }

  /** Whether it is a stop that nobody can put right today. @param {TarewellEvent} stopped */
  lasts(stopped) {
    return templateOf(`${stopped.point}/stop`)?.dataset.otherDay !== undefined && dayOf(stopped) >= today();
  }

  /** Whether clearing its stop can only close it: of another day it asks nothing any more. */
  endsCleared() {
    return this.fold !== null && isOver({ ...this.fold, signed: null }, today());
  }

  /** @param {string} action */
  async act(action) {
    const { fold, stage } = this;
    if (!fold) return;
    this.tellClash(false);
    const point = fold.points[fold.index] ?? "";
    if (action === "on") {
      if (fold.begun.way === "do-confirm") this.group = groupOf(point, fold.begun.own ?? []);
      else this.rested = point;
      return this.draw();
    }
    if (action === "wipe") return this.pad?.wipe();
    if (action === "yes" && !(await eyewashAllows(stage.place))) return;
    if (action === "yes" || action === "no" || action === "again") {
      await this.store("walk_answered", { point, answer: action, language: shownLanguage(stage.root) });
      return this.draw();
    }
    if (action === "take-back") {
      const before = fold.done.get(fold.points[fold.index - 1]);
      if (before) await this.store("walk_taken_back", { takes: before.id });
      this.rested = "";
      return this.draw();
    }
    if (action === "close") {
      await this.store("walk_closed", {});
      return this.draw();
    }
    if (action === "clear" && fold.stopped) {
      const [person, reason] = [stage.typed("person"), this.text("reason")];
      const missing = this.complain("[data-clear-problem]", !person || !reason);
      const alone = this.complain("[data-clear-alone]", nameKey(person) === nameKey(fold.begun.helper ?? ""));
      const kept = this.complain("[data-clear-unfit]", Boolean(unfit(this.stops, person, today())));
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
      return this.finish("walk_signed", { person: fold.begun.helper ?? "", initials, path, language: shownLanguage(stage.root) });
    }
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
    // A "no" builds on nothing: it stops the walk wherever that has got to meanwhile.
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
