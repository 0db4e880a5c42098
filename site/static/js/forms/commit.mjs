import { app, findItem, reload } from "../frame/app.mjs";
import { cameFrom } from "../frame/came_from.mjs";
import { confirmed } from "../frame/confirmed.mjs";
import { notice, noticeNext, showNotice } from "../frame/notice.mjs";
import { rememberPerson } from "../frame/people.mjs";
import { keep } from "../frame/saved.mjs";
import { untilRead } from "../frame/unread.mjs";
import { clock } from "../store/clock.mjs";
import { ChangedElsewhere, CodeTaken, newEvent } from "../store/events.mjs";
import { loadWorkshop } from "../store/workshop.mjs";
import { foldAgain } from "./folds.mjs";
import { collect, fill, startOf } from "./forms.mjs";
import { sayIssuedToday } from "./issued_today.mjs";
import { keepChoices, lastChoices } from "./last_choices.mjs";
import { proposals } from "./proposed.mjs";
import { goesToScale } from "./who.mjs";
import { withRows } from "./written_rows.mjs";

/** @import { Values } from "../rules/types.mjs" */
/** @import { Editor } from "./editor.mjs" */
/** @import { Reply } from "../frame/app.mjs" */

/** Forms whose saving or issuing is under way: a second tap does nothing. @type {WeakSet<HTMLFormElement>} */
const underWay = new WeakSet();

/**
 * Saves or issues what the form holds, once however often the button is tapped.
 *
 * @param {Editor} editor
 * @param {HTMLElement | null} button What was pressed: a button may lead elsewhere than its form does.
 * @returns {Promise<boolean>} Whether it is stored.
 */
export async function commit(editor, button) {
  if (underWay.has(editor.form)) return false;
  // What was built into the page is the demo's: it is never saved or issued.
  if (editor.asBuilt) {
    notice("not-read-yet");
    return false;
  }
  underWay.add(editor.form);
  // What stood there when the button was tapped is meant, whatever is typed while it is being stored.
  const values = collect(editor.form);
  try {
    if (editor.kind) return await save(editor, values, button?.dataset.next);
    if (editor.form.dataset.items !== undefined) return await saveItems(editor, values);
    if (editor.form.dataset.event !== undefined || editor.form.dataset.leads !== undefined) return await saveEvent(editor, values, button?.dataset.next);
    if (editor.form.querySelector("[data-issue]") === null) return false;
    if ((await sayIssuedToday(editor.form, values)) && button && !confirmed(button)) return false;
    return await issue(editor, values, button);
  } finally {
    underWay.delete(editor.form);
  }
}

/** @param {Editor} editor @param {Values} values @param {string} [next] */
async function save(editor, values, next) {
  // A button that only leads on from a stored item makes no revision of it.
  if (next !== undefined && editor.id && !editor.unsaved.edited) {
    goTo(next, { id: editor.id });
    return true;
  }
  const reply = await editor.submit(editor.task, values, { check: true });
  if (!reply) return false;
  const id = editor.id || clock.uuid();
  const revision = (findItem(editor.kind, id)?.revision ?? 0) + 1;
  const puts = reply.puts ?? {};
  const typed = { ...withRows(editor.form, values, puts), ...proposals(editor.form, puts) };
  const fields = editor.kind === "formula" ? { values: typed, revision } : { values: typed };
  try {
    const stored = await keep(newEvent("saved", `${editor.kind}:${id}`, fields), editor.unsaved.base);
    editor.id = id;
    editor.unsaved.base = stored.id;
  } catch (error) {
    await changedElsewhere(error);
    editor.unsaved.base = app.heads.get(editor.subject) ?? null;
    return false;
  }
  await finish(editor, values, "saved", { id, next });
  return true;
}

/** What was changed elsewhere meanwhile is read and said; nothing is stored over it. Throws what is anything else. @param {unknown} error */
async function changedElsewhere(error) {
  if (!(error instanceof ChangedElsewhere)) throw error;
  await reload();
  notice("changed-elsewhere");
}

/** A form that several items come of: its answer names them. @param {Editor} editor @param {Values} values */
async function saveItems(editor, values) {
  // The answer keeps what stood in the items when it was asked.
  const { heads } = app;
  const reply = await editor.submit(editor.task, values, { check: true });
  if (!reply || !(await keepItems(reply, heads))) return false;
  await finish(editor, values, "saved");
  return true;
}

/** The items that an answer names. @param {Reply} reply @param {Map<string, string>} heads As they stood when it was asked. @returns {Promise<boolean>} */
async function keepItems(reply, heads) {
  try {
    for (const { kind, id, values: own } of reply.record?.items ?? []) {
      const subject = `${kind}:${id || clock.uuid()}`;
      await keep(newEvent("saved", subject, { values: own }), heads.get(subject) ?? null);
    }
  } catch (error) {
    await changedElsewhere(error);
    return false;
  }
  return true;
}

/**
 * A form that an event comes of, whatever it is: its answer names it, and the items that change by it. What the form says it
 * keeps stays in it; the rest is blank for the next one. A form that `data-leads` stays as it was asked: its button goes on elsewhere.
 *
 * @param {Editor} editor @param {Values} values @param {string} [next] Where its button leads.
 */
async function saveEvent(editor, values, next) {
  const { heads } = app;
  const reply = await editor.submit(editor.task, values, { check: true });
  if (!reply?.record || !(await keepItems(reply, heads))) return false;
  const { kind, subject, fields, id } = reply.record;
  // What begins a thing of its own gets its name here: Python makes none by chance.
  if (kind) await keep(newEvent(kind, subject.replace("{new}", clock.uuid()), fields));
  if (values.person) await rememberPerson(values.person);
  await keepChoices(editor.form, values);
  if (next !== undefined) {
    await editor.unsaved.clear();
    goTo(next, { id });
    return true;
  }
  const kept = (editor.form.dataset.event ?? "").split(" ");
  // What is kept whole stands on: the next event of it replaces this one. So does a question of which only the answer is kept.
  const standsOn = editor.form.dataset.reads !== undefined || editor.form.dataset.stands !== undefined;
  editor.resting = !standsOn;
  await finish(editor, values, "saved", { id });
  if (standsOn) return true;
  const left = Object.entries(values).filter(([name]) => kept.includes(name));
  const start = { ...startOf(editor.form, editor.units), ...(await lastChoices(editor.form)) };
  fill(editor.form, { ...start, ...Object.fromEntries(left) }, editor.units);
  editor.submitted = false;
  editor.touched.clear();
  editor.input();
  foldAgain(editor.form);
  await editor.unsaved.clear();
  return true;
}

/** @param {Editor} editor @param {Values} values @param {HTMLElement | null} button */
async function issue(editor, values, button) {
  if (app.records === "none") {
    notice("issue-no-store");
    return false;
  }
  // The second try knows of every code, also of one that was issued by another tab a moment ago.
  for (const lastTry of [false, true]) {
    const workshop = await untilRead((limit) => loadWorkshop(app.demo, { allCodes: lastTry, limit }));
    const { set_aside, soap_uses, cure } = app.state;
    const record = (await editor.submit("issue_batch", values, { state: { ...workshop.state, set_aside, soap_uses, cure } }))?.record;
    if (!record) return false;
    try {
      await keep(newEvent("issued", `batch:${record.code}`, record));
      await keepChoices(editor.form, values);
      if (button?.dataset.issue === "weigh") await goesToScale(values.issued_by ?? "");
      await finish(editor, values, "issued", { code: String(record.code), next: button?.dataset.next });
      return true;
    } catch (error) {
      if (!(error instanceof CodeTaken)) throw error;
      if (lastTry) notice("code-taken", { code: String(record.code) });
    }
  }
  return false;
}

/**
 * @param {Editor} editor
 * @param {Values} values What was stored.
 * @param {string} said
 * @param {{code?: string, id?: string, next?: string | undefined}} [stored] What was stored, and where its button leads ("sheet/#{code}").
 */
async function finish(editor, values, said, { code = "", id = "", next } = {}) {
  // What was typed since stays as a draft.
  const all = collect(editor.form);
  const typedSince = Object.keys({ ...values, ...all }).some((name) => values[name] !== all[name]);
  if (typedSince) await editor.unsaved.keeper?.flush();
  else await editor.unsaved.clear();
  const to = next ?? (editor.form.dataset.next && (cameFrom() ?? editor.form.dataset.next));
  if (to === undefined) {
    notice(said);
    showNotice();
    await reload();
    if (!editor.resting) editor.refresh();
    return;
  }
  // At the scale the head says the code, and the screen is the step's.
  if (said !== "issued" || next !== undefined) noticeNext(said, { code });
  goTo(to, { code, id });
}

/** @param {string} next @param {Record<string, string>} named What stands in its braces. */
function goTo(next, named) {
  const address = next.replace(/\{(\w+)\}/g, (whole, name) => encodeURIComponent(named[name] ?? whole));
  location.assign(new URL(address, location.href));
}
