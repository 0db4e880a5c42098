import { ChangedElsewhere, eventsOf, newEvent } from "../../store/events.mjs";
import { monthsAfter } from "../../store/training.mjs";
import { foldWalk, walkSubject } from "../../store/walk.mjs";
import { insist, keep } from "../saved.mjs";
import { drawInitials, showInitials } from "./initials.mjs";
import { groupOf, phaseName, templateOf } from "./points.mjs";
import { trainingMonths } from "./months.mjs";

/** @import { TarewellEvent, WalkFold } from "../../store/types.mjs" */
/** @import { Stage } from "../scale/stage.mjs" */

/** One walk on the page. What the screen says has been stored before. */
export class Walk {
  /** @param {Stage} stage @param {string} id */
  constructor(stage, id) {
    this.stage = stage;
    this.id = id;
    /** @type {WalkFold | null} */
    this.fold = null;
    /** @type {ReturnType<typeof drawInitials> | null} */
    this.pad = null;
    this.paused = false;
    this.open = true;
  }

  /** What is stored decides what is shown. */
  async show() {
    this.fold = foldWalk(await insist(() => eventsOf(walkSubject(this.id))));
    if (this.open) this.draw();
  }

  draw() {
    const { fold, stage } = this;
    if (!fold) return stage.show("gone");
    const { begun, points, index, stopped, signed } = fold;
    if (stopped) return this.drawStop(stopped);
    const slots = { helper: begun.helper ?? "", progress: `${index + 1} / ${points.length}` };
    if (signed && index === points.length) {
      const day = signed.local.slice(0, 10);
      const months = trainingMonths();
      stage.show("signed", { ...slots, day, initials: signed.initials ?? "", until: months === null ? "" : monthsAfter(day, months) });
      return showInitials(stage.place, signed.path ?? "");
    }
    if (index === points.length) {
      stage.show("sign", slots);
      this.pad = drawInitials(stage.place);
      return;
    }
    if (this.paused) return stage.show("pause", slots);
    this.drawPoint(points[index] ?? "", slots);
  }

  /** @param {string} point @param {Record<string, string>} slots */
  drawPoint(point, slots) {
    const { stage, fold } = this;
    const own = fold?.begun.own?.find(({ key }) => key === point);
    if (templateOf(point)) stage.show(point, slots);
    // A point of another build is still asked, by what is known of it.
    else stage.show("own", { ...slots, what: own?.what ?? point, question: own?.question, stop: own?.stop });
    stage.find("[data-own-phase]")?.replaceChildren(phaseName(own?.phase ?? ""));
    const look = stage.find("details.look");
    if (look instanceof HTMLDetailsElement && !point.endsWith("/teach")) look.open = fold?.begun.way !== "do-confirm";
  }

  /** @param {TarewellEvent} stopped */
  drawStop(stopped) {
    const point = (stopped.point ?? "").replace(/\/teach$/, "");
    const own = this.fold?.begun.own?.find(({ key }) => key === point);
    if (templateOf(`${point}/stop`)) this.stage.show(`${point}/stop`);
    else this.stage.show("own/stop", { what: own?.what ?? point });
    const template = document.querySelector('template[data-part="clear"]');
    if (template instanceof HTMLTemplateElement) this.stage.place.append(document.importNode(template.content, true));
  }

  /** @param {string} action */
  async act(action) {
    const { fold, stage } = this;
    if (!fold) return;
    const point = fold.points[fold.index] ?? "";
    if (action === "on") {
      this.paused = false;
      return this.draw();
    }
    if (action === "wipe") return this.pad?.wipe();
    if (action === "yes" || action === "no" || action === "again") {
      const before = groupOf(point, fold.begun.own ?? []);
      await this.store("walk_answered", { point, answer: action });
      const next = this.fold?.points[this.fold.index];
      this.paused = action === "yes" && next !== undefined && groupOf(next, fold.begun.own ?? []) !== before;
      return this.draw();
    }
    if (action === "clear" && fold.stopped) {
      const [person, reason] = [stage.typed("person"), this.text("reason")];
      if (!person || !reason) return this.complain("[data-clear-problem]");
      await this.store("walk_cleared", { clears: fold.stopped.id, person, reason });
      return this.draw();
    }
    if (action === "sign" && this.pad) {
      const [initials, path] = [stage.typed("initials"), this.pad.path()];
      if (!initials && !path) return this.complain("[data-sign-problem]");
      await this.store("walk_signed", { person: fold.begun.helper ?? "", initials, path });
      return this.draw();
    }
  }

  /** @param {string} name */
  text(name) {
    const field = this.stage.place.querySelector(`textarea[name="${name}"]`);
    return field instanceof HTMLTextAreaElement ? field.value.trim() : "";
  }

  /** @param {string} selector */
  complain(selector) {
    const place = this.stage.find(selector);
    if (place) place.hidden = false;
  }

  /** @param {TarewellEvent["kind"]} kind @param {Partial<TarewellEvent>} fields */
  async store(kind, fields) {
    try {
      await keep(newEvent(kind, walkSubject(this.id), fields), this.fold?.last);
    } catch (error) {
      // Another tab was quicker: what it stored is shown, and nothing is stored twice.
      if (!(error instanceof ChangedElsewhere)) throw error;
    }
    this.fold = foldWalk(await insist(() => eventsOf(walkSubject(this.id))));
  }
}

