import { app } from "../frame/app.mjs";
import { notice } from "../frame/notice.mjs";
import { personToday } from "../frame/people.mjs";
import { keep } from "../frame/saved.mjs";
import { held, untilRead } from "../frame/unread.mjs";
import { instantWords } from "../frame/when.mjs";
import { foldAfter, foldBlock } from "../rules/block.mjs";
import { inHandElsewhere } from "../rules/in_hand_elsewhere.mjs";
import { lotsOf } from "../rules/readings.mjs";
import { thisDevice } from "../shop/elsewhere.mjs";
import { dayOn } from "../store/clock.mjs";
import { Refusal } from "../store/database.mjs";
import { blockEvents, eventsOfBatch, newEvent, Unfit } from "../store/events.mjs";
import { goesOnAfter, nextBlock } from "./after.mjs";
import { AfterDay } from "./after_day.mjs";
import { Answers } from "./answers.mjs";
import { ChecksOfToday } from "./checks.mjs";
import { signal } from "./comforts.mjs";
import { endOfStep } from "./countdown.mjs";
import { Draft } from "./draft.mjs";
import { Hold } from "./hold.mjs";
import { readinessChanged, renewStop, takeCarried } from "./ready.mjs";
import { render } from "./screens.mjs";
import { inWords } from "./step_words.mjs";
import { onDisplay, pendingKey, startOf } from "./view.mjs";

/** @import { BlockKind, Step, TarewellEvent } from "../rules/types.mjs" */
/** @import { Stage } from "../frame/stage.mjs" */

/** What stands over the step in hand: a question of the page's own, until it is answered or left. @typedef {{name: string} & Record<string, any>} Aside */

/** How the address of the work after the pour ends, and how the keys of its steps begin. */
const AFTER = "after";

/** One block of one batch on this page. */
export class BlockAtScale {
  /**
   * @param {Stage} stage @param {TarewellEvent} issued @param {number} number
   * @param {string} [subject] What it is stored under; and its address.
   * @param {string} [root]
   */
  constructor(stage, issued, number, subject = `block:${issued.code ?? ""}/${number}`, root = `#${encodeURIComponent(issued.code ?? "")}/${number}`) {
    this.stage = stage;
    this.issued = issued;
    this.code = issued.code ?? "";
    this.number = number;
    this.subject = subject;
    this.root = root;
    /** How people call it. */
    this.called = `${this.code} / ${number}`;
    /** What its screens say that those of a fill don't. @type {import("../frame/stage.mjs").Slots} */
    this.name = { "of-block": true };
    /** The way to all of its batch. */
    this.all = `#${encodeURIComponent(this.code)}`;
    /** Screens of its end, where they are its own. @type {Record<string, (block: any) => void>} */
    this.ends = {};
    /** Whether the page is at the work after the pour. */
    this.after = false;
    /** The step that is done before its time, by somebody's word. */
    this.early = "";
    this.day = new AfterDay();
    /** @type {TarewellEvent[]} */
    this.events = [];
    this.fold = this.folded();
    this.person = "";
    /** This phone's id in the shop, "" where it isn't paired. */
    this.device = "";
    /** The done step that is looked at. @type {string | null} */
    this.looking = null;
    /** @type {Aside | null} */
    this.aside = null;
    /** What is asked back about the digits typed. screen: of its own, where it has one. heard: what the scale said then. @type {{code: string, text: string, count: number, screen?: string, heard?: import("../rules/types.mjs").Heard | null} | null} */
    this.asking = null;
    /** Whether the target is looked at again while digits are typed already. */
    this.peeking = false;
    /** Whether the two readings just typed differ. */
    this.differ = false;
    /** The lots that go with this block unless others are named, until its first event is stored. @type {Record<string, string>} */
    this.inherited = {};
    this.today = new ChecksOfToday();
    this.open = true;
    this.draft = new Draft(`scale:${subject}`, () => this.head);
    this.hold = new Hold(subject, () => this.heldChanged());
    this.answers = new Answers(this);
    this.holding = () => [this.issued, ...this.events];
  }

  /** The address of where the block stands, in the part of the work that the page is at. */
  get base() {
    return this.after ? `${this.root}/${AFTER}` : this.root;
  }

  /** What Python is asked about it. @returns {{task: string, values: Record<string, string>}} */
  get question() {
    return { task: "at_the_scale", values: { batch: this.code, block: String(this.number), units: app.state.units ?? "metric" } };
  }

  /** What that is asked of. */
  get asked() {
    const { html: _sheet, ...record } = this.issued;
    return { ...app.state, record, events: this.events };
  }

  /** The event the next one builds on. */
  get head() {
    return this.events.at(-1)?.id ?? null;
  }

  /** The key of the step in hand, null at the end. */
  get current() {
    return this.fold.steps[this.fold.index]?.key ?? null;
  }

  /** The step in hand as it is to be poured: with the target that follows from what was weighed, where there is one. @returns {Step | null} */
  get step() {
    const step = this.fold.steps[this.fold.index];
    return step ? onDisplay(this.fold, this.events, this.answers.replaced(step.key) ?? step) : null;
  }

  /** A step by its key, done or in hand. @param {string} key @returns {Step | null} */
  stepOf(key) {
    if (key === this.current) return this.step;
    return this.fold.steps.find((step) => step.key === key) ?? null;
  }

  /** The done step that waits for a decision: its reading lies outside its band, or Python says that a correction moved too much. */
  get pending() {
    return this.after ? null : pendingKey(this.fold, this.events) ?? this.answers.pending;
  }

  /** The other phone of the shop that the work is in hand on, null where it is this one's, or nobody can know. */
  get elsewhere() {
    return inHandElsewhere(this.events, this.device);
  }

  /**
   * A question that comes before every other about what was typed; a block has none.
   *
   * @param {Step} _step @param {number} _count @returns {BlockAtScale["asking"]}
   */
  questionFirst(_step, _count) {
    return null;
  }

  /** Whether the temperature in hand may not be passed without a reading; that of a block may. */
  get mustRead() {
    return false;
  }

  /** What stands open about a done step and comes before all else; of a block nothing. @returns {Step | null} */
  get openGate() {
    return null;
  }

  /** The way to the done step before this one. @param {number} index */
  linkBefore(index) {
    const key = this.fold.steps.slice(0, Math.max(index, 0)).findLast((step) => this.fold.done.has(step.key))?.key;
    return key === undefined ? null : this.linkTo(key);
  }

  /** @param {string} key */
  linkTo(key) {
    return `${this.root}/${encodeURIComponent(key)}`;
  }

  /** @param {string | null} looking */
  async start(looking) {
    held.add(this.holding);
    this.stage.always = this.name;
    await this.read();
    this.turnTo(looking);
    if (goesOnAfter(this)) await this.day.read();
    this.inherited = await this.lotsOfToday();
    this.person = await personToday();
    this.device = await thisDevice();
    await this.draft.load();
    await this.hold.take();
    await this.today.read(this.code);
    // Known before the first screen: lye in hand is not shown first and taken away then.
    await renewStop(this);
    this.show();
    void this.answers.ask();
  }

  async stop() {
    this.open = false;
    held.delete(this.holding);
    await this.draft.flush();
    this.hold.leave();
  }

  /** Which part of the work, and which done step of it, an address names. @param {string | null} key */
  turnTo(key) {
    this.after = key !== null && key.split(":")[0] === AFTER && goesOnAfter(this);
    this.looking = key === AFTER ? null : key;
    this.fold = this.folded();
  }

  async read() {
    this.events = await this.told();
    if (this.events.length > 0) this.inherited = {};
    this.fold = this.folded();
  }

  /** What is stored of it. @returns {Promise<TarewellEvent[]>} */
  told() {
    return untilRead(() => blockEvents(this.code, this.number));
  }

  /** What has been done, as it is stored. @param {BlockKind} kind @param {Partial<TarewellEvent>} fields @returns {TarewellEvent} */
  event(kind, fields) {
    return newEvent(kind, this.subject, { ...fields, person: this.person });
  }

  /** What is stored stays as it is; on the page its steps speak the page's language. @returns {import("../rules/types.mjs").BlockFold} */
  folded() {
    const fold = this.after ? foldAfter(this.issued.after ?? [], this.events) : foldBlock(this.issued.steps ?? [], this.events);
    return { ...fold, steps: fold.steps.map(inWords) };
  }

  /** The lots that the blocks before this one used today. */
  async lotsOfToday() {
    const events = await untilRead(() => eventsOfBatch(this.code));
    return this.events.length > 0 ? {} : lotsOf(events.filter(({ kind, local }) => kind === "lots" && local.slice(0, 10) === dayOn()));
  }

  /** @param {Step} step @returns {string | null} */
  lotFor(step) {
    const chosen = { ...this.inherited, ...lotsOf(this.events) };
    return (step.pour !== null && chosen[step.pour]) || step.lot;
  }

  /**
   * Stores what has been done; the screen moves on only after that.
   *
   * @param {BlockKind} kind
   * @param {Partial<TarewellEvent>} fields
   * @param {TarewellEvent[]} [also] Of other subjects, stored with it or not at all.
   * @returns {Promise<boolean>} false where somebody else wrote this block meanwhile
   */
  async store(kind, fields, also) {
    try {
      if (Object.keys(this.inherited).length > 0) {
        await keep(this.event("lots", { lots: this.inherited }), this.head);
        await this.read();
      }
      // Before the phone has the block, nothing that leads it is stored here.
      const ready = this.elsewhere ? null : takeCarried(this);
      if (ready) {
        await keep(this.event("trained", ready), this.head);
        await this.read();
      }
      await keep(this.event(kind, fields), this.head, also);
    } catch (error) {
      if (!(error instanceof Refusal) || error instanceof Unfit) throw error;
      await this.read();
      this.show();
      notice("block-changed-elsewhere");
      return false;
    }
    await this.read();
    void this.answers.ask();
    void renewStop(this);
    return true;
  }

  /**
   * Shows what comes after a stored step; the one done stays in the browser's history, to be looked at.
   *
   * @param {string} key
   * @param {() => void} [prepare] Says that something else than the next step comes first.
   */
  async advance(key, prepare = () => {}) {
    await this.draft.finish(key);
    if (!this.open) return;
    this.aside = this.asking = null;
    this.peeking = false;
    prepare();
    if (this.looking === null) {
      history.replaceState(null, "", this.linkTo(key));
      history.pushState(null, "", this.base);
    } else {
      this.looking = null;
      history.pushState(null, "", this.base);
    }
    signal(this.pending ? "look" : "stored");
    const next = this.after ? await nextBlock(this, key) : "";
    if (next === "") return this.show();
    // Its own next step is not shown first: a tap meant for the step just done must not do it.
    this.open = false;
    this.stage.lock(true);
    location.hash = next;
  }

  /** @param {string | null} key */
  look(key) {
    this.turnTo(key);
    this.aside = this.asking = null;
    this.show();
  }

  /** Puts a question of the page's own, or with null takes it away. @param {Aside | null} aside */
  ask(aside) {
    this.aside = aside;
    this.asking = null;
    this.show();
  }

  pythonChanged() {
    if (this.answers.now === null) void this.answers.ask();
    if (this.stage.find("[data-waits]")) this.show();
  }

  /** The workshop's people are known now. */
  peopleKnown() {
    if (this.stage.find('input[name="person"]') && this.stage.typed("person") === "") this.show();
  }

  /** The last step, while it is a time that runs in the mould. @returns {Step | null} */
  unmould() {
    const last = this.fold.steps.at(-1);
    return last?.kind === "timer" && !this.fold.done.has(last.key) && startOf(this.events, last.key) ? last : null;
  }

  unmouldFrom() {
    const last = this.unmould();
    const started = last && startOf(this.events, last.key);
    return started ? instantWords(endOfStep(started, last)) : "";
  }

  /** Others have stored something: it may be of this block. */
  async others() {
    const head = this.head;
    await this.read();
    await this.today.read(this.code);
    this.device = await thisDevice();
    if (goesOnAfter(this)) await this.day.read();
    if (!this.open) return;
    if (head === this.head) return readinessChanged(this);
    this.changedElsewhere();
    this.show();
    void renewStop(this);
    void this.answers.ask();
  }

  /** What was asked here was asked about a block that has gone on since. */
  changedElsewhere() {
    this.aside = this.asking = null;
  }

  /** Another tab has taken the block, or given it free. */
  async heldChanged() {
    if (!this.open) return;
    if (this.hold.held) {
      const head = this.head;
      await this.draft.load();
      await this.read();
      if (head !== this.head) this.changedElsewhere();
    } else {
      await this.draft.flush();
    }
    if (!this.open) return;
    this.show();
    void renewStop(this);
    void this.answers.ask();
  }

  show() {
    if (!this.open) return;
    render(this);
    this.stage.lock(!this.hold.held);
    // A new version of the app waits until nobody is in the middle of a block.
    document.documentElement.toggleAttribute("data-busy", this.hold.held && this.events.length > 0 && !this.fold.closed && !this.elsewhere);
  }

  /** @returns {string[]} */
  get people() {
    return (app.state.person ?? []).flatMap((/** @type {any} */ item) => item.values.name ?? []);
  }
}
