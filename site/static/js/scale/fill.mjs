import { app } from "../frame/app.mjs";
import { untilRead } from "../frame/unread.mjs";
import { asDeed, fillSubject, foldFill, isTooWarm, leftUnread, ofFill, openGate, tankOf, TOO_WARM } from "../rules/fill.mjs";
import { clock } from "../store/clock.mjs";
import { fillEvents, newEvent } from "../store/events.mjs";
import { BlockAtScale } from "./block.mjs";
import { fillLink } from "./fill_link.mjs";
import { FILL_ENDS } from "./fill_screens.mjs";
import { inWords } from "./step_words.mjs";

/** @import { BlockKind, Step, TarewellEvent } from "../rules/types.mjs" */
/** @import { Stage } from "../frame/stage.mjs" */

/** A tank that is filled, on this page: a block but for its names, its end, and that it comes of no batch. */
export class FillAtScale extends BlockAtScale {
  /** @param {Stage} stage @param {TarewellEvent} issued @param {string} id */
  constructor(stage, issued, id) {
    super(stage, issued, 0, fillSubject(id), fillLink(id));
    this.code = id;
    this.tank = tankOf(id);
    this.called = issued.tank_name ?? "";
    this.name = { "of-fill": true };
    this.ends = FILL_ENDS;
    this.all = "#";
    /** Whatever was stored of it, under the names it is stored by; the next event builds on the last. @type {TarewellEvent[]} */
    this.stored = [];
  }

  /** @override */
  get head() {
    return this.stored.at(-1)?.id ?? this.issued.id;
  }

  /** @override */
  get pending() {
    return this.isClosed ? null : super.pending;
  }

  /** @override @returns {{task: string, values: Record<string, string>}} */
  get question() {
    return { task: "tank_fill", values: { fill: this.code } };
  }

  /** Whether it was closed, also where a correction has opened it again. */
  get isClosed() {
    return this.events.some(({ kind }) => kind === "closed");
  }

  /** The load by which the tank's record has it so far. */
  get load() {
    return this.events.findLast(({ kind }) => kind === "closed")?.load ?? null;
  }

  /** @override */
  async told() {
    this.stored = await untilRead(() => fillEvents(this.code));
    return this.stored.filter(({ kind }) => kind !== "fill_issued").map(asDeed);
  }

  /** @override */
  folded() {
    const fold = foldFill(this.issued.steps ?? [], this.events);
    return { ...fold, steps: fold.steps.map(inWords) };
  }

  /** Caustic into lye that is too warm boils it up. @override @param {Step} step @param {number} count @returns {BlockAtScale["asking"]} */
  questionFirst(step, count) {
    return isTooWarm(step, count) ? { code: TOO_WARM, text: "", count, screen: "fill-too-warm" } : null;
  }

  /** @override */
  get mustRead() {
    const { step } = this;
    return step?.kind === "temperature" && step.high !== null;
  }

  /** A portion goes in neither too warm nor unread without a word, also where that shows only later. @override @returns {Step | null} */
  get openGate() {
    return this.isClosed ? null : openGate(this.fold, this.events);
  }

  /** The temperature that is asked about: one that stands open, else the one in hand. @returns {Step | null} */
  get gate() {
    return this.openGate ?? this.step;
  }

  /** How long its lye still has to stand unread [s]; null where no time holds. */
  get left() {
    return this.gate && leftUnread(this.fold, this.events, this.gate, clock.now());
  }

  /** @override */
  async lotsOfToday() {
    return {};
  }

  /** @override @param {BlockKind} kind @param {Partial<TarewellEvent>} fields @returns {TarewellEvent} */
  event(kind, fields) {
    return newEvent(ofFill(kind), this.subject, { ...fields, person: this.person });
  }

  /** Python reads its events as they are stored. @override */
  get asked() {
    const { html: _record, ...record } = this.issued;
    return { ...app.state, record, events: this.stored.filter(({ kind }) => kind !== "fill_issued") };
  }
}
