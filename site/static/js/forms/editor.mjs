import { app, findItem, question } from "../frame/app.mjs";
import { markOwn, unmarkOwn } from "../frame/flags.mjs";
import { fault, hush, notice, sentence, speak } from "../frame/notice.mjs";
import { Regions } from "../frame/regions.mjs";
import { word } from "../frame/words.mjs";
import { mode } from "../store/mode.mjs";
import { askAnew } from "./asked_back.mjs";
import { applyWhen, builtIn, collect, fill, followUnits, leadUnits, rowsEarly, startOf, typedEarly } from "./forms.mjs";
import { released } from "./press.mjs";
import { lastChoices } from "./last_choices.mjs";
import { clearProblems, showProblems } from "./problems.mjs";
import { propose, watchProposed } from "./proposed.mjs";
import { watchPuts } from "./puts.mjs";
import { addRow, limitRows, rowSets, watchRows } from "./rows.mjs";
import { choose, fillSelects, forgetGone } from "./selects.mjs";
import { forgetUnderstood, showUnderstood } from "./understood.mjs";
import { Unsaved } from "./unsaved.mjs";
import { follow, leadBy, rowsAlone } from "./written_rows.mjs";

/** @import { Draft } from "../store/database.mjs" */
/** @import { Values } from "../rules/types.mjs" */
/** @import { Place } from "./place.mjs" */
/** @import { Problem, Reply } from "../frame/app.mjs" */
/** @import { Control } from "./forms.mjs" */

/** How often a question is put again when typing overtakes it. */
const MOST_TRIES = 20;

/** One form: what it holds, its draft, its questions to Python and their answers. */
export class Editor {
  /** @param {HTMLFormElement} form */
  constructor(form) {
    this.form = form;
    this.section = /** @type {HTMLElement | null} */ (form.closest("[data-kind]"));
    this.kind = form.dataset.save ?? "";
    this.task = form.dataset.task ?? "";
    const root = this.section ?? document;
    const places = root.querySelectorAll(/** @type {"div"} */ ("[data-answer]:not([data-ask])"));
    this.regions = new Regions([...places]);
    /** The item's id; "" for a new one. */
    this.id = "";
    /** @type {Set<string>} */
    this.touched = new Set();
    this.submitted = this.submitting = false;
    this.isOpen = false;
    this.turn = 0;
    this.wanted = false;
    this.asking = false;
    /** @type {Reply | null} */
    this.reply = null;
    /** @type {{problem: Problem, typed: string}[]} The problems that the last press found, each with what stood in its control then. */
    this.refused = [];
    this.units = "metric";
    /** What was chosen last time. @type {Values} */
    this.last = {};
    /** @type {HTMLElement | null} */
    const elsewhere = root.querySelector("[data-elsewhere]");
    this.unsaved = new Unsaved(form, elsewhere, (draft) => {
      if (this.place) this.put(this.place, draft);
      this.update();
    });
    /** Whether nothing but typing has changed the form since the page was built. */
    this.asBuilt = true;
    /** Whether an event was kept and nothing typed since: the answer that was kept is still true, though the form is blank. */
    this.resting = false;
    /** Whether what is shown answers just what stands in the form. A save that is refused makes it no less true. */
    this.current = false;

    watchRows(form, (added, set) => {
      this.resting = false;
      if (added) this.madeRows(added);
      leadBy(form, set);
      this.input();
    });
    watchPuts(form);
    watchProposed(form);
    form.addEventListener("input", ({ target }) => {
      this.resting = false;
      if (target instanceof HTMLElement) {
        forgetUnderstood(target);
        leadBy(form, target);
        leadUnits(form, target);
      }
      this.input();
    });
    form.addEventListener("change", (event) => this.left(/** @type {Control} */ (event.target)));
    // What a button put in makes no "change" when it is left.
    form.addEventListener("focusout", ({ target }) => {
      if (target instanceof HTMLTextAreaElement && target.matches("[data-leads]")) this.left(target);
    });
    elsewhere?.querySelector("[data-take-over]")?.addEventListener("click", () => void this.takeOver());
  }

  /** Rows have come that nobody has filled yet. @param {HTMLElement} rows */
  madeRows(rows) {
    fillSelects(rows, app.state, false);
    followUnits(this.form, this.units, {}, rows);
  }

  /** The subject of the event that saving stores; "" for a new item. */
  get subject() {
    return this.id ? `${this.kind}:${this.id}` : "";
  }

  /** Shows what the address names: its draft if there is one, else the stored item. @param {Place} place */
  async open(place) {
    const turn = ++this.turn;
    await this.close();
    this.place = place;
    this.isOpen = true;
    const { dataset } = this.form;
    const key = `${dataset.draft ?? this.task}#${dataset.hashField && (dataset.event === undefined || dataset.stands !== undefined) ? "" : place.key || this.named(place)}`;
    const draft = await this.unsaved.load(key);
    this.last = await lastChoices(this.form);
    if (turn !== this.turn) return;
    this.put(place, draft);
    this.update();
    await this.unsaved.take(() => turn === this.turn);
  }

  /** The id of the item that is meant; "" for a new one. @param {Place} place */
  named(place) {
    const { saveId, item } = this.form.dataset;
    return place.id || saveId || (place.blank ? "" : item) || "";
  }

  /** @param {Place} place @param {Draft | undefined} draft */
  put(place, draft) {
    const { form, unsaved } = this;
    const id = this.named(place);
    this.units = app.state.units ?? "metric";
    const focused = document.activeElement;
    const allChosen = focused instanceof HTMLInputElement && focused.selectionStart === 0 && focused.selectionEnd === focused.value.length;
    const hashField = form.dataset.hashField;
    const { reads } = form.dataset;
    const item = hashField && !reads ? undefined : findItem(reads ?? this.kind, id);
    // What was built into the form is the demo's, and nobody's own, unless the form says that anybody starts from it.
    // What an event comes of starts blank each time: what was typed of one batch is never of another. Where it stands on, the event is aside.
    const ofEvent = form.dataset.event !== undefined && reads === undefined && form.dataset.stands === undefined;
    const fresh = (place.blank || ofEvent || (mode === "own" && form.dataset.starts === undefined)) && !item;
    const early = this.asBuilt ? typedEarly(form) : {};
    const rows = this.asBuilt ? rowsEarly(form) : {};
    const built = this.asBuilt ? builtIn(form, this.units) : undefined;
    this.asBuilt = false;
    forgetGone(form);
    fillSelects(form, app.state, false);
    /** @type {Values} */
    const start = startOf(form, this.units);
    const values = draft?.values ?? item?.values ?? (fresh ? { ...start, ...this.last } : built);
    // What was typed meanwhile is put in with the rest: a field that is set twice would lose its cursor.
    if (values) {
      fill(form, { ...rows, ...values, ...early }, this.units, () => fillSelects(form, app.state, true));
      // What the values leave blank is chosen where there is one of its kind.
      fillSelects(form, app.state, false);
    } else followUnits(form, this.units);
    if (hashField && place.id) {
      const control = form.elements.namedItem(hashField);
      if (control instanceof HTMLSelectElement) choose(control, place.id);
      else if (control instanceof HTMLInputElement && reads) control.value = place.id;
    }
    const handed = this.takeHanded(place);
    applyWhen(form);
    limitRows(form);
    form.dataset.filled = "";
    // Filling makes the rows anew; whoever was already typing in one goes on typing.
    if (focused && !focused.isConnected && focused.id) {
      const again = document.getElementById(focused.id);
      again?.focus();
      if (allChosen && again instanceof HTMLInputElement) again.select();
    }
    if (!hashField && !ofEvent && place.id && !item && !draft) notice("item-missing");
    this.id = place.copy || (!item && !form.dataset.saveId) ? "" : id;
    this.entitle();
    // A draft may be older than somebody else's change. Then it must not pass for one that knew of it.
    unsaved.base = draft ? draft.base : (app.heads.get(this.subject) ?? null);
    unsaved.early = handed || Object.keys(early).length > 0;
    unsaved.setEdited(draft !== undefined || unsaved.early);
    unsaved.note(draft !== undefined && !handed);
    if (unsaved.edited) markOwn();
    else if (!app.filled && id === form.dataset.item) unmarkOwn();
  }

  /**
   * Puts in what another page hands over, once: from then on it is like typed, and what is typed over it stays at a reload.
   *
   * @param {Place} place
   */
  takeHanded(place) {
    const handed = Object.entries(this.form.dataset.hashField || place.copy ? place.puts : {});
    if (handed.length === 0) return false;
    this.takeHandedRows(handed.map(([name]) => name));
    const row = new Map();
    for (const [name, value] of handed) {
      const control = this.form.elements.namedItem(this.inRow(name, value, row));
      if (control instanceof HTMLSelectElement) choose(control, value);
      else if (control instanceof HTMLInputElement || control instanceof HTMLTextAreaElement) control.value = value;
      if (control instanceof Element) leadBy(this.form, control);
    }
    place.puts = {};
    history.replaceState(history.state, "", `#${place.key}`);
    return true;
  }

  /**
   * The control that is meant by a handed one: of a row, that of the row that names the same thing already, else of a new one.
   *
   * @param {string} name "soaps.0.lot" @param {string} value @param {Map<string, number>} made By handed row, the number of its own.
   */
  inRow(name, value, made) {
    const [key = "", n = "", ...part] = name.split(".");
    const set = rowSets(this.form).find(({ dataset }) => dataset.rows === key);
    if (!set || !("adds" in set.dataset)) return name;
    const handed = `${key}.${n}`;
    if (!made.has(handed)) {
      const lists = [...set.querySelectorAll(/** @type {"select"} */ (`select[name^="${key}."][name$=".${part.join(".")}"]`))];
      const row = lists.find((list) => list.value === value)?.closest("[data-row]") ?? addRow(set);
      if (!row) return name;
      if (row instanceof HTMLElement) this.madeRows(row);
      made.set(handed, Number(row.querySelector("[name]")?.getAttribute("name")?.split(".")[1]));
    }
    return [key, made.get(handed), ...part].join(".");
  }

  /**
   * Makes the rows that are handed over: they stand for all rows of their table. What else stands in the form stays.
   *
   * @param {string[]} names
   */
  takeHandedRows(names) {
    const tables = rowSets(this.form).filter(({ dataset }) => !("adds" in dataset)).map(({ dataset }) => `${dataset.rows}.`).filter((table) => names.some((name) => name.startsWith(table)));
    if (tables.length === 0) return;
    const inTable = (/** @type {string} */ name) => tables.some((table) => name.startsWith(table));
    const standing = Object.entries(collect(this.form, { all: true })).filter(([name]) => !inTable(name));
    const blank = names.filter(inTable).map((name) => [name, ""]);
    fill(this.form, Object.fromEntries([...standing, ...blank]), this.units, () => fillSelects(this.form, app.state, false));
  }

  /** Headings and buttons tell a new item from a stored one. */
  entitle() {
    const isNew = this.id === "";
    const root = this.section ?? document;
    for (const heading of root.querySelectorAll(/** @type {"h1"} */ ("[data-title-new]"))) {
      heading.textContent = (isNew ? heading.dataset.titleNew : heading.dataset.titleStored) ?? "";
    }
    for (const button of this.form.querySelectorAll(/** @type {"button"} */ ("[data-remove]"))) button.hidden = isNew;
  }

  /** Lets go of its item. What was typed goes into the draft. */
  async close() {
    this.isOpen = false;
    this.resting = false;
    await this.unsaved.leave();
    this.touched.clear();
    this.submitted = false;
    this.refused = [];
    this.reply = null;
    clearProblems(this.form);
  }

  async takeOver() {
    const turn = ++this.turn;
    await this.unsaved.takeOver(() => turn === this.turn);
  }

  /** Something was typed, chosen, added or removed. */
  input() {
    if (!this.isOpen) return;
    const gone = askAnew(this.form);
    // What is wrong with no one control may be mended by any.
    this.refused = this.refused.filter(({ problem: { field } }) => !gone.includes(field) && this.form.elements.namedItem(field) !== null);
    this.unsaved.touch();
    applyWhen(this.form);
    this.update();
  }

  /** A field was left after a change: from now on its problems are shown. @param {Control} control */
  left(control) {
    if (!control.name) return;
    forgetGone(control.closest("[data-field]"));
    this.touched.add(control.name.replace(/\.unit$/, ""));
    // One often leaves a field by pressing a button. Until that press is over the button must not move.
    void released().then(() => {
      if (this.isOpen && this.reply?.problems && !this.asking) this.mark(this.reply.problems, false);
    });
  }

  /** The workshop has changed: lists and answer follow. */
  refresh() {
    if (!this.isOpen) return;
    fillSelects(this.form, app.state, true);
    const { units = "metric" } = app.state;
    if (units !== this.units) followUnits(this.form, units);
    this.units = units;
    this.update();
  }

  /** Asks for the answer to what stands in the form. While one question is out the next one waits, and then takes the newest. */
  update() {
    this.wanted = true;
    this.current = false;
    if (!this.asking) void this.run();
  }

  async run() {
    this.asking = true;
    while (this.wanted && this.isOpen) {
      this.wanted = false;
      this.regions.busy();
      const reply = await question(this.task, collect(this.form), { id: this.id });
      await released();
      if (!this.isOpen) continue;
      // Overtaken by a press: that one's end tells what is shown.
      if (!reply) {
        if (!this.submitting) this.regions.idle();
      } else if (!this.wanted) this.show(reply);
    }
    this.asking = false;
  }

  /** @param {Reply} reply @param {boolean} [focus] Take the user to the summary of problems. */
  show(reply, focus = false) {
    this.reply = reply;
    const understood = showUnderstood(this.form, reply.understood ?? {});
    if (reply.off) {
      if (focus) sentence(reply.off);
      rowsAlone(this.form);
      return this.regions.off(reply.off, this.unsaved.edited);
    }
    if (reply.fault !== undefined) {
      fault(reply.fault, reply.report ?? "");
      return this.regions.show({}, false);
    }
    const problems = reply.problems ?? [];
    follow(this.form, reply.puts ?? {}, (rows) => this.madeRows(rows));
    propose(this.form, reply.puts ?? {});
    try {
      if (problems.length > 0 && (this.resting || this.current)) this.regions.idle();
      else this.regions.show(reply.html ?? {}, problems.length === 0, understood);
    } catch (error) {
      fault(String(error), JSON.stringify(reply.html));
      return this.regions.show({}, false);
    }
    this.current ||= problems.length === 0;
    this.mark(problems, focus);
    if (problems.length > 0 && (this.submitted || this.touched.size > 0)) {
      speak(`${understood} ${word("problems-spoken", { n: problems.length })}`.trim());
    }
  }

  /** @param {Problem[]} problems @param {boolean} focus */
  mark(problems, focus) {
    // A problem found at a press stays shown until its own control changes. Live answers don't look for it.
    const now = collect(this.form);
    const kept = this.refused.filter(({ problem, typed }) => typed === (now[problem.field] ?? ""));
    const told = new Set(problems.map(({ field }) => field));
    // A text of several parts is unfinished nearly all the while it is typed: nothing is wrong with it until it is left.
    const typedOn = document.activeElement?.matches("[data-leads]") && !this.submitted ? document.activeElement.getAttribute("name") : null;
    const all = [...problems, ...kept.map(({ problem }) => problem).filter(({ field }) => !told.has(field))];
    showProblems(this.form, all.filter(({ field }) => field !== typedOn), { submitted: this.submitted, touched: this.touched, focus });
  }

  /**
   * Asks about the form as it stood at the tap, and waits for the answer to just that.
   *
   * @param {string} task
   * @param {Values} values
   * @param {{check?: boolean, state?: import("../rules/types.mjs").State}} [more]
   * @returns {Promise<Reply | null>} null when there are problems or no calculation; they are shown.
   */
  async submit(task, values, more) {
    this.submitted = this.submitting = true;
    this.resting = false;
    try {
      for (let tries = 0; tries < MOST_TRIES; tries += 1) {
        const reply = await question(task, values, { ...more, id: this.id });
        if (!reply) continue;
        this.refused = (reply.problems ?? []).map((problem) => ({ problem, typed: values[problem.field] ?? "" }));
        if (reply.ok) return reply;
        hush();
        this.show(reply, true);
        return null;
      }
      return null;
    } finally {
      this.submitting = false;
      // Where somebody has gone on meanwhile, what is shown is older: none of its buttons is to put anything in.
      if (this.isOpen && JSON.stringify(collect(this.form)) !== JSON.stringify(values)) {
        this.regions.busy();
        this.update();
      } else this.regions.idle();
    }
  }
}
