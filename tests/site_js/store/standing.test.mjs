/** What stands, read from small entries, against the same asked of every event there is. */
import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import * as fake from "fake-indexeddb";
import { compare, inOrder } from "../../../site/static/js/rules/fold.mjs";
import { everRacked } from "../../../site/static/js/rules/racks.mjs";
import { asideOf } from "../../../site/static/js/rules/set_aside.mjs";
import { checkThatHolds } from "../../../site/static/js/rules/scale_checks.mjs";
import { setSoap } from "../../../site/static/js/rules/set_soap.mjs";
import { standingOf, standsFor } from "../../../site/static/js/rules/standing.mjs";
import { onTanks, openSwitches, withoutSwitched } from "../../../site/static/js/rules/switches.mjs";
import { drawnFrom } from "../../../site/static/js/rules/tanks.mjs";
import { covered, daysAfter, openStops, trainings } from "../../../site/static/js/rules/training.mjs";
import { upkeepOf } from "../../../site/static/js/rules/upkeep.mjs";
import { disconnect, transact } from "../../../site/static/js/store/database.mjs";
import { append, batchesTaking, merge, newEvent, replacementOf } from "../../../site/static/js/store/events.mjs";
import { makeLog } from "../../../site/static/js/store/log.mjs";
import { named } from "../../../site/static/js/store/mode.mjs";
import {
  answersSince, asideNow, closedSince, lastTold, liftedLike, makeStanding, rackedOf, racksTold, scaleChecksTold, setSoapTold, STANDING, standingToday,
  switchesTold, upkeepTold, walksSince, weighingsFor,
} from "../../../site/static/js/store/standing.mjs";
import { allEvents, FAILURES, failAt, freshDatabase, watch } from "../database_for_tests.mjs";

beforeEach(freshDatabase);

const CODES = ["QM-1", "QM-2", "NO-SHEET"];
const DAY = "2026-12-01";
const ASKED = { target: 1634, low: 1632, high: 1636, decimals: 2, unit: "kg", division: 2 };
const CURE = ["cure_racked", "cure_weighed", "cure_bars", "cure_tested", "cure_moved", "cure_ready", "cure_taken_back"];

/** Numbers from 0 to 1, the same ones for the same seed (mulberry32). */
function chance(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t = (t + Math.imul(t ^ (t >>> 7), t | 61)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** Deeds by chance about few things, so that they meet; in the order of time. Some take an earlier one back. */
function deeds(any, many) {
  const one = (list) => list[Math.floor(any() * list.length)];
  let now = Date.parse("2026-11-20T08:00:00Z");
  const all = [];
  const ofKind = (...kinds) => one(all.filter(({ kind }) => kinds.includes(kind)));
  const subjectOf = (room) => `${room}:${one(CODES)}/${one([1, 2])}`;
  const at = (kind, subject, fields) => all.push({ ...newEvent(kind, subject, fields), at: new Date(now).toISOString(), local: `${new Date(now).toISOString().slice(0, 19)}+00:00` });
  const sorts = [
    () => at("issued", "batch:QM-1", { code: "QM-1", html: "" }),
    () => at("weighed", subjectOf("block"), { person: "Q", step: one(["oil:0", "v:oil:blend"]), reading: "16.34", unit: "kg", asked: ASKED, lot: one(["OLV-1", "olv-1", "LYE-1", null]), mode: one(["net", "net", "net", "gross"]) }),
    () => at("closed", subjectOf("block"), { person: "Q", outcome: one(["poured", "quarantined"]), record: null, html: "" }),
    () => at("lifted", subjectOf("block"), { person: "Q", step: "after:lift", of_formula: one(["Plain", "Reed"]), in_mould: one(["A", "B"]), cover: one(["none", "blanket"]), seconds: Math.floor(any() * 9e4) }),
    () => at("racked", subjectOf("block"), { person: "Q", step: "after:rack", trays: 4, of_formula: one(["Plain", "Reed", ""]), density_g_per_ml: one([1.02, 1.04, null]) }),
    () => at("measured", subjectOf("block"), { person: "Q", step: one(["after:trim", "after:set-aside", "after:first-bar"]), reading: one(["0", "2.4"]) }),
    () => at("aside_gone", subjectOf("aside"), { person: "Q" }),
    () => { const weighed = ofKind("weighed", "measured"); if (weighed) at("corrected", weighed.subject, { person: "Q", corrects: weighed.id, reading: one(["0", "2.4"]), unit: "kg", reason: "slip" }); },
    () => at("cure_racked", subjectOf("cure"), { person: "Q", soap: "Plain", values: {} }),
    () => at("cure_weighed", subjectOf("cure"), { person: "Q", values: {}, next_on: DAY, ...(any() < 0.5 ? { ready_on: "2026-12-20" } : {}) }),
    () => at(one(["cure_ready", "cure_moved"]), subjectOf("cure"), { person: "Q", values: {} }),
    () => { const cure = ofKind(...CURE.slice(0, -1)); if (cure) at("cure_taken_back", cure.subject, { person: "Q", takes: cure.id }); },
    () => at(one(["released", "rejected", "reworked"]), subjectOf("release"), { person: "Q", values: {}, checks: [], reason: "as it is" }),
    () => { const decided = ofKind("released", "rejected", "reworked"); if (decided) at("release_taken_back", decided.subject, { person: "Q", takes: decided.id, reason: "slip" }); },
    () => at("walk_begun", `walk:w-${one([1, 2, 3])}`, { helper: one(["Q", "J"]), guide: "Q", language: "en", way: "read-do", phases: ["mix"], points: ["a", "b"] }),
    () => at("walk_signed", `walk:w-${one([1, 2, 3])}`, { person: "Q", initials: "Q", path: "" }),
    () => at("trained", subjectOf("block"), { person: one(["Q", "J"]), helper: null, reason: "alone" }),
    () => at("fill_trained", "fill:oil.20261201080000", { person: "Q", helper: null, reason: "alone" }),
    () => at("covered", subjectOf("block"), { person: "Q", step: "after:cover", cover: "blanket" }),
    () => { const scale = one(["floor", "bench"]); at("scale_checked", `scale_check:${scale}`, { person: "Q", scale, said: "zero" }); },
    () => { const scale = one(["floor", "bench"]); at("scale_moved", `scale_check:${scale}`, { person: "Q", scale }); },
    () => at("walk_answered", `walk:w-${one([1, 2, 3])}`, { point: one(["a", "b"]), answer: one(["yes", "yes", "no"]) }),
    () => { const no = all.findLast(({ answer }) => answer === "no"); if (no) at("walk_cleared", no.subject, { person: "J", clears: no.id, reason: "put right" }); },
    () => at("tank_loaded", "contents:oil", { person: "Q", parts: [{ name: "Olive", grams: 1000 }] }),
    () => at("tank_switch_kept", `contents:${one(["oil", "lye"])}`, { person: "Q", name: "Tank", switch_at: `${DAY}T05:10` }),
    () => { const kept = ofKind("tank_switch_kept"); if (kept) at(one(["tank_switched_on", "tank_switch_dropped"]), kept.subject, { person: "Q", takes: kept.id }); },
    () => { const on = ofKind("tank_switched_on"); if (on) at(one(["tank_switched_off", "tank_taken_back"]), on.subject, { person: "Q", takes: on.id }); },
    () => at("upkeep_done", `upkeep_log:${one(["wires", "oil"])}`, { person: "Q", ...(any() < 0.3 ? { found: "loose" } : {}) }),
    () => { const found = ofKind("upkeep_done"); if (found) at(...one([["upkeep_mended", found.subject, { person: "Q", mends: found.id }], ["upkeep_taken_back", found.subject, { person: "Q", takes: found.id }]])); },
  ];
  while (all.length < many) {
    now += Math.floor(any() * 9_000_000);
    one(sorts)();
  }
  // Of one batch there is one sheet: under a code that is taken no other is issued.
  return all.filter((event, n) => event.kind !== "issued" || all.findIndex(({ kind }) => kind === "issued") === n);
}

const byKey = (a, b) => compare(a.key, b.key);
const entries = () => STANDING.whole((transaction) => transaction.objectStore("standing").getAll(IDBKeyRange.lowerBound("", true)));

/** The entries as the fold has them, of every event there is. */
const folded = (events) => {
  const keys = new Set(events.flatMap(({ subject }) => standsFor(subject) ?? []));
  return [...keys].flatMap((key) => standingOf(key, events.filter(({ subject }) => standsFor(subject) === key)) ?? []).sort(byKey);
};

/** All that pages ask of what stands, each asked of every event as it once was, against the entries. */
async function agrees(any) {
  const events = await allEvents();
  assert.deepEqual((await entries()).sort(byKey), folded(events));
  const of = (...kinds) => events.filter(({ kind }) => kinds.includes(kind));

  const today = await standingToday();
  const ever = everRacked(of(...CURE, "racked"));
  const taken = new Set(of("release_taken_back").map(({ takes }) => takes));
  const decided = (code, block) => of("released", "rejected", "reworked").filter(({ id, subject }) => subject === `release:${code}/${block}` && !taken.has(id)).at(-1)?.kind ?? "released";
  assert.deepEqual(today.racks, ever.filter(({ off, code, block }) => !off && decided(code, block) === "released"));
  const walks = events.filter(({ subject }) => subject.startsWith("walk:"));
  assert.deepEqual(openStops(today.walks, {}), openStops(walks, {}));
  const switches = of("tank_switch_kept", "tank_switched_on", "tank_switch_dropped", "tank_switched_off", "tank_taken_back");
  for (const day of [DAY, events.at(-1).local.slice(0, 10)]) assert.deepEqual(onTanks(today.switches, day).map(({ id }) => id).sort(), onTanks(switches, day).map(({ id }) => id).sort());
  assert.deepEqual(await switchesTold(), today.switches);
  const byId = (a, b) => compare(a.id, b.id);
  assert.deepEqual(openSwitches(today.switches).sort(byId), openSwitches(switches).sort(byId));
  const last = switches.at(-1)?.local.slice(0, 10) ?? DAY;
  const plan = ["oil", "lye", ""].map((tank) => ({ tank }));
  assert.deepEqual(withoutSwitched(plan, today.switches, last), withoutSwitched(plan, switches, last));

  const moment = events[Math.floor(any() * events.length)];
  const lateWalks = await walksSince(moment.at);
  assert.deepEqual(openStops(lateWalks, {}), openStops(walks, {}));
  const late = new Set(walks.filter(({ at }) => at >= moment.at).map(({ subject }) => subject));
  assert.deepEqual(lateWalks.filter(({ subject }) => late.has(subject)), walks.filter(({ subject }) => late.has(subject)));
  const answers = of("trained", "fill_trained");
  const until = Date.parse(answers.at(-1)?.at ?? moment.at);
  const lately = ({ at }) => Date.parse(at) > until - 86_400_000;
  assert.deepEqual((await answersSince(new Date(until - 2 * 86_400_000).toISOString())).filter(lately), answers.filter(lately));
  const checks = of("scale_checked", "scale_moved");
  const holds = (list) => checkThatHolds(list, "floor", "zero", "Q", ({ at }) => at.startsWith(checks.at(-1)?.at.slice(0, 10)));
  assert.deepEqual(holds(await scaleChecksTold()), holds(checks));
  assert.deepEqual((await lastTold("covered")).last, of("covered").at(-1));
  assert.deepEqual((await lastTold("shelved")).last, of("racked").at(-1));

  const off = ever.filter((batch) => batch.off).reverse();
  const told = await racksTold({ off: 2, codes: [] });
  assert.deepEqual(everRacked(told).filter((batch) => !batch.off), ever.filter((batch) => !batch.off));
  assert.deepEqual(everRacked(told).filter((batch) => batch.off).reverse(), off.slice(0, 2));
  assert.deepEqual(everRacked(await racksTold({ off: 0, codes: ["QM-1"] })).filter(({ code }) => code === "QM-1"), ever.filter(({ code }) => code === "QM-1"));

  const subjects = [...new Set(events.map(({ subject }) => subject.replace(/^aside:/, "block:")))].filter((subject) => subject.startsWith("block:"));
  const aside = subjects.flatMap((subject) => asideOf(events.filter((event) => [subject, subject.replace("block:", "aside:")].includes(event.subject))) ?? []);
  const lots = inOrder(aside).reverse().map(({ subject }) => subject.slice("block:".length).replace("/", ":"));
  assert.deepEqual((await asideNow(99)).map(({ id }) => id), lots);
  assert.deepEqual((await asideNow(1)).map(({ id }) => id), lots.slice(0, 1));
  assert.deepEqual(await rackedOf([{ code: "QM-2", block: 1 }]), events.filter(({ kind, subject }) => subject === "cure:QM-2/1" || (kind === "racked" && subject === "block:QM-2/1")));

  const densities = (list) => list.map(({ of_formula, density_g_per_ml }) => `${of_formula} ${density_g_per_ml}`).sort();
  assert.deepEqual(densities(await setSoapTold()), densities(setSoap(of("racked", "corrected"))));
  const kinds = ["Plain", "Reed"].flatMap((formula) => ["A", "B"].map((mould) => ({ formula, mould, cover: "blanket" })));
  const firsts = subjects.flatMap((subject) => events.find((event) => event.kind === "lifted" && event.subject === subject) ?? []);
  assert.deepEqual((await liftedLike(kinds)).map(({ id }) => id).sort(), firsts.filter(({ cover }) => cover === "blanket").map(({ id }) => id).sort());

  // A block counts once, when it was closed first.
  const closed = subjects.flatMap((subject) => events.find((event) => event.kind === "closed" && event.subject === subject)?.local ?? []);
  const items = ["wires", "oil"].map((id) => ({ id, values: { name: id, every_blocks: "2", every_days: "3" } }));
  const log = await upkeepTold();
  const since = ["", events[Math.floor(any() * events.length)].local, "2026-11-22"];
  const counted = await closedSince(since);
  const isAfter = (local, each) => local.slice(0, each.length === 10 ? 10 : 19) > each.slice(0, 19);
  for (const each of since) assert.equal(counted.get(each), closed.filter((local) => isAfter(local, each)).length);
  const kept = (list) => upkeepOf(items, list, () => 1, DAY).map((task) => ({ ...task, log: task.log.slice(0, 5) }));
  assert.deepEqual(kept(log), kept(events.filter(({ subject }) => subject.startsWith("upkeep_log:"))));

  for (const tanks of [[["lye", { since: events[3].at, lots: ["LYE-1"], lot: "LYE-1" }]], [["oil", { since: "", lots: [], lot: null }], ["lye", { since: events[9].at, lots: ["LYE-1", "OLV-1"], lot: null }]]]) {
    const filled = new Map(tanks);
    assert.deepEqual(drawnFrom(filled, await weighingsFor(filled)), drawnFrom(filled, of("weighed", "corrected")));
  }
}

for (let seed = 1; seed <= 12; seed += 1) {
  test(`entries say what all events say, stored one by one, merged in any order, late or twice; seed ${seed}`, async () => {
    const any = chance(seed);
    const all = deeds(any, 220);
    await makeStanding();
    const mine = all.filter(() => any() < 0.5);
    // What this phone stores itself comes in the order of time; what others recorded comes late, in pieces and in any order.
    const others = all.filter((event) => !mine.includes(event)).sort(() => any() - 0.5);
    for (const [n, event] of mine.entries()) {
      await append(event);
      if (n % 20 !== 19) continue;
      await merge(others.splice(0, 12).concat(mine.slice(0, 3)));
      if (any() < 0.5) {
        await makeStanding();
        await agrees(any);
      }
    }
    await merge(others);
    assert.equal(await standingToday(), null, "none passes for all while some are to be made");
    await makeStanding();
    await agrees(any);
  });
}

test("who is trained today is told by the walks of the time a training holds as by all there ever were", async () => {
  const points = ["a", "b"];
  const required = { mix: points };
  for (let seed = 1; seed <= 40; seed += 1) {
    const any = chance(seed);
    await freshDatabase();
    const one = (list) => list[Math.floor(any() * list.length)];
    const all = [];
    // Walks and daily checks over three years; a training holds for twelve months.
    for (let walk = 0; walk < 30; walk += 1) {
      const daily = any() < 0.6;
      let now = Date.parse("2023-12-01T08:00:00Z") + Math.floor(any() * 1095) * 86_400_000;
      const at = (kind, fields) => all.push({ ...newEvent(kind, `walk:${seed}-${walk}`, fields), at: new Date((now += 60_000)).toISOString(), local: `${new Date(now).toISOString().slice(0, 19)}+00:00` });
      at("walk_begun", { helper: one(["Q", "J"]), guide: "Q", language: "en", way: daily ? "daily" : "read-do", phases: ["mix"], points, by_phase: { mix: points } });
      for (const point of points) at("walk_answered", { point, answer: any() < 0.8 ? "yes" : "no" });
      const no = all.findLast(({ answer }) => answer === "no");
      if (no && any() < 0.8) all.push({ ...newEvent("walk_cleared", no.subject, { person: "J", clears: no.id, reason: "mended" }), at: new Date(Date.parse(no.at) + 1000).toISOString(), local: no.local });
      if (!daily) at("walk_signed", { person: "Q", initials: "Q", path: "" });
    }
    await merge(all);
    await makeStanding();
    const today = "2026-12-01";
    const walks = inOrder(all);
    const told = await walksSince(daysAfter(today, -32 * 13));
    assert.ok(told.length < walks.length, "bounded");
    const record = (events) => ({ all: trainings(events, 12), stops: openStops(events, required), required });
    assert.deepEqual(covered(record(told), ["mix"], today).sort((a, b) => compare(a.helper, b.helper)), covered(record(walks), ["mix"], today).sort((a, b) => compare(a.helper, b.helper)), `seed ${seed}`);
    assert.deepEqual(record(told).stops, record(walks).stops);
  }
});

test("of a copy only what it tells of is made anew, and all of it where an older fold made it", async () => {
  const racked = (code) => newEvent("cure_racked", `cure:${code}/1`, { person: "Q", soap: "Plain", values: {} });
  await merge([racked("QM-1"), racked("QM-2")]);
  await makeStanding();
  await merge([newEvent("cure_ready", "cure:QM-2/1", { person: "Q", values: {} }), newEvent("saved", "mould:m", { values: { name: "M" } })]);
  const put = [];
  const real = fake.IDBObjectStore.prototype.put;
  fake.IDBObjectStore.prototype.put = function (value) {
    put.push(value.key);
    return real.call(this, value);
  };
  await makeStanding();
  assert.deepEqual(put.splice(0), ["block:QM-2/1", ""]);
  assert.deepEqual((await standingToday()).racks.map(({ id }) => id), ["QM-1:1"]);
  fake.IDBObjectStore.prototype.put = real;
  // As an older build would have left it: fewer entries, and one that says otherwise.
  await transact("readwrite", async (transaction) => {
    const store = transaction.objectStore("standing");
    await store.delete("block:QM-1/1");
    await store.put({ ...(await store.get("block:QM-2/1")), fold: 0, rack: ["on", "", ""] });
    await store.put({ key: "", fold: 0, of: "older" });
  });
  assert.equal(await standingToday(), null);
  await makeStanding();
  assert.deepEqual((await standingToday()).racks.map(({ id }) => id), ["QM-1:1"]);
});

test("a sheet that was replaced says so however many were issued since", async () => {
  const sheet = (n, more = {}) => ({ ...newEvent("issued", `batch:QM-${n}`, { code: `QM-${n}`, html: "", ...more }), at: new Date(Date.UTC(2026, 10, 1, 0, n)).toISOString() });
  await merge([sheet(1), sheet(2, { replaces: "QM-1" }), ...Array.from({ length: 150 }, (_, n) => sheet(n + 3))]);
  assert.equal(await replacementOf("QM-1"), "QM-2");
  assert.equal(await replacementOf("QM-2"), null);
  // Two phones can both have replaced it: the newest counts.
  await merge([sheet(200, { replaces: "QM-1" })]);
  assert.equal(await replacementOf("QM-1"), "QM-200");
});

test("the sheets that take of a lot of set-aside soap are found by it, each once", async () => {
  const sheet = (code, ...ids) => newEvent("issued", `batch:${code}`, { code, html: "", ...(ids.length > 0 ? { set_aside: { lots: ids.map((id) => ({ id, taken_g: 5 })) } } : {}) });
  await merge([sheet("QM-1"), sheet("QM-2", "QM-1:1", "QM-1:2"), sheet("QM-3", "QM-0:1")]);
  assert.deepEqual((await batchesTaking(["QM-1:1", "QM-1:2"])).map(({ code }) => code), ["QM-2"]);
  assert.deepEqual(await batchesTaking([]), []);
});

/** The database as version 3 of the app made it, with these records in it. */
function versionThree(records) {
  return new Promise((resolve, reject) => {
    const opening = indexedDB.open(named(), 3);
    opening.onerror = () => reject(opening.error);
    opening.onupgradeneeded = () => {
      const events = opening.result.createObjectStore("events", { keyPath: "id" });
      events.createIndex("kind", "kind");
      events.createIndex("subject", "subject");
      const batches = opening.result.createObjectStore("batches", { keyPath: "id" });
      batches.createIndex("code", "code");
      batches.createIndex("at", "at");
      batches.createIndex("formula", "formulaEvent");
      opening.result.createObjectStore("drafts", { keyPath: "key" });
      opening.result.createObjectStore("blocks", { keyPath: "subject" });
      const log = opening.result.createObjectStore("log", { keyPath: "code" });
      log.createIndex("at", "at");
      log.createIndex("lots", "lots", { multiEntry: true });
    };
    opening.onsuccess = () => {
      const writing = opening.result.transaction(["events", "batches", "log"], "readwrite");
      for (const [store, record] of records) writing.objectStore(store).add(record);
      writing.oncomplete = () => resolve(opening.result);
    };
  });
}

test("a database of version 3 keeps every record and its log, and what stands is made once, also of bars without a sheet", async () => {
  await disconnect();
  globalThis.indexedDB = new fake.IDBFactory();
  const any = chance(99);
  const all = deeds(any, 150);
  const sheet = { ...newEvent("issued", "batch:QM-9", { code: "QM-9", html: "" }), set_aside: { lots: [{ id: "QM-1:1", taken_g: 5 }] } };
  const entry = { id: sheet.id, code: "QM-9", at: sheet.at, local: sheet.local, formulaEvent: "f", formulaName: "Plain", takes: ["QM-1:1"] };
  const old = await versionThree([...[...all, sheet].map((event) => ["events", event]), ["batches", entry], ["log", { code: "", fold: 1, of: "then" }]]);
  old.onversionchange = () => old.close();
  assert.deepEqual((await allEvents()).map(({ id }) => id).sort(), [...all, sheet].map(({ id }) => id).sort());
  assert.deepEqual((await batchesTaking(["QM-1:1"])).map(({ code }) => code), ["QM-9"]);
  assert.equal(await standingToday(), null);
  // What is stored before it is made loses nothing of the rest.
  await append(newEvent("cure_racked", "cure:NO-SHEET/7", { person: "Q", soap: "Plain", values: {} }));
  const told = [];
  await makeStanding((share) => told.push(share));
  assert.equal(told[0], 0);
  await agrees(any);
  assert.ok((await standingToday()).racks.some(({ id }) => id === "NO-SHEET:7"));
  told.length = 0;
  await makeStanding((share) => told.push(share));
  assert.deepEqual(told, [], "made once");
  await makeLog();
});

for (const [name, failure] of Object.entries(FAILURES)) {
  test(`racking with ${name} at each call in turn: what stands is what is stored, no more and no less`, async () => {
    for (let nth = 1; ; nth += 1) {
      await freshDatabase();
      await makeStanding();
      const event = newEvent("cure_racked", "cure:QM-1/1", { person: "Q", soap: "Plain", values: {} });
      await disconnect();
      failAt(nth, failure);
      const fault = await append(event).then(() => null, (error) => error);
      const { hit } = watch;
      failAt(0, failure);
      await disconnect();
      assert.deepEqual(await entries(), folded(await allEvents()), `call ${nth}`);
      if (fault) await append(event);
      assert.deepEqual((await standingToday()).racks.map(({ id }) => id), ["QM-1:1"], `call ${nth}`);
      if (!hit) break;
    }
  });
}
