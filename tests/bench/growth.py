"""How pages grow with the records: 10 finished batches against 10,000, and what is asked of them at 10, 1,000, 3,000 and 10,000.

Prints `figure: value unit` lines.

Each batch is an issued sheet with its steps, a block weighed to the end, closed, cut and racked, and weighings of its bars up
to 60 events, all in the form that the app stores; the bars of the newest hundred are still on a rack. One block more is in
hand. The log's entries, and what stands, are made by the app itself, as from a copy that was taken in. They lie in one's own
workshop, since no copy of practice is ever due on Today. For the ratios both profiles are visited in turn, in a fresh browser
process each time; medians.
"""

from __future__ import annotations

import argparse
import math
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from measuring import ROOT, Site, browser_with, figure, renderers_pss, wait_until

sys.path.append(str(ROOT / "tests" / "browser"))
from floor import issue, record_of
from screens import RECORDS, kept_offline, own_workshop

LIMIT = 1.5
SIZES = (10, 10_000)
# Where the large store is measured as it grows.
LEVELS = (10, 1_000, 3_000)
# Python starts beside the page and reads no records; without it there is less noise.
NO_PYTHON = "broken"
# The first of these to be there is what was waited for: a screen of the floor, what is due on Today, the list of sheets, or
# an answer of Python.
MARK_SHOWN = """
const shown = () => document.querySelector("[data-stage][data-shown], [data-due] li, [data-log-list] li, [data-answer][data-live]:not([aria-busy], [data-stale], [hidden])");
const watch = new MutationObserver(() => {
  if (!shown()) return;
  performance.mark("bench-shown");
  watch.disconnect();
});
watch.observe(document, { childList: true, subtree: true, attributes: true });
"""
SHOWN = "performance.getEntriesByName('bench-shown')[0]?.startTime ?? 0"
FILL = """async ([issued, from, to, all]) => {
  const database = await new Promise((resolve, reject) => {
    const opening = indexedDB.open(RECORDS);
    opening.onsuccess = () => resolve(opening.result);
    opening.onerror = () => reject(opening.error);
  });
  const writing = database.transaction(["events", "batches", "blocks", "log", "standing"], "readwrite");
  // As after a copy was taken in: some entries are to be made.
  for (const made of ["log", "standing"]) writing.objectStore(made).delete("");
  const [events, batches, blocks] = ["events", "batches", "blocks"].map((name) => writing.objectStore(name));
  const issue = (sheet) => {
    events.add(sheet);
    batches.add({ id: sheet.id, code: sheet.code, at: sheet.at, local: sheet.local, formulaEvent: sheet.formula?.event ?? "",
                  formulaName: sheet.formula?.name ?? "" });
  };
  const COMPLETED = {
    confirm: "checked", temperature: "checked", weigh: "weighed", timer: "timed", cover: "covered", gel: "gelled", lift: "lifted", measure: "measured", rack: "racked",
  };
  const day = (ms) => new Date(ms).toISOString().slice(0, 10);
  const done = (step) => {
    const { key, kind, target, low, high, decimals, unit, division } = step;
    const reading = ((target ?? low ?? 0) / 10 ** (decimals ?? 0)).toFixed(decimals ?? 0);
    const asked = { target, low, high, decimals, unit, division };
    return { kind: COMPLETED[kind], step: key, person: "Q", ...{
      confirm: {}, temperature: { reading, unit }, timer: { action: "ended", seconds: step.seconds },
      weigh: { reading, unit, lot: step.lot, asked, question: null, mode: "net" }, cover: { cover: "blanket" }, gel: { gel: "full" },
      lift: { seconds: 64_800, cover: "blanket", of_formula: issued.formula.name, in_mould: issued.mould?.name ?? "" },
      measure: { reading: key === "after:good" ? "96" : "0", unit: "" }, rack: { trays: 4, bars: 96, of_formula: issued.formula.name, density_g_per_ml: 1.02 },
    }[kind] };
  };
  for (let n = from; n < to; n++) {
    const code = `BENCH-${n}`;
    // One batch an hour, the last one an hour ago.
    let instant = Date.now() - (all - n) * 3_600_000;
    const event = (subject, fields) => {
      const at = new Date((instant += 1000)).toISOString();
      return { ...fields, id: crypto.randomUUID(), at, local: `${at.slice(0, 19)}+00:00`, subject };
    };
    // Each lot lasts a hundred batches.
    const pours = issued.pours.map((pour) => ({ ...pour, lot: pour.lot && `${pour.lot}-${Math.floor(n / 100)}` }));
    issue(event(`batch:${code}`, { ...issued, code, pours }));
    const block = `block:${code}/1`;
    for (const step of issued.steps) events.add(event(block, done(step)));
    const amounts = pours.map(({ key, lot, target_g }) => ({ pour: key, lot, actual_g: target_g }));
    const end = { kind: "closed", outcome: "poured", person: "Q", reason: "", record: { amounts }, html: issued.html.slice(0, 4000) };
    events.add(event(block, end));
    for (const step of issued.after) events.add(event(block, done(step)));
    // Weighed again next week, ready in a month: nothing of them is due today.
    const [next_on, ready_on] = [day(Date.now() + 7 * 86_400_000), day(Date.now() + 30 * 86_400_000)];
    const rack = { kind: "cure_weighed", person: "R", next_on, ready_on, values: { batch: `${code}:1`, total_g: "1400", "total_g.unit": "g", bars: "10" } };
    for (let kept = issued.steps.length + issued.after.length + 3; kept < 60; kept++) events.add(event(`cure:${code}/1`, rack));
  }
  // The newest hundred are on a rack: by these, as many others come off, and are packed.
  for (let n = Math.max(from - 100, 0); n < to - 100; n++) {
    const at = new Date().toISOString();
    const off = { kind: "cure_ready", person: "R", values: { batch: `BENCH-${n}:1`, to: "ready" } };
    events.add({ ...off, id: crypto.randomUUID(), at, local: `${at.slice(0, 19)}+00:00`, subject: `cure:BENCH-${n}/1` });
    writing.objectStore("standing").delete(`block:BENCH-${n}/1`);
    const packed = { kind: "packed", person: "R", code: `P-${n}`, parts: [{ code: `BENCH-${n}`, block: 1, bars: 96 }] };
    events.add({ ...packed, id: crypto.randomUUID(), at, local: `${at.slice(0, 19)}+00:00`, subject: `packed:p-${n}` });
  }
  if (from === 0) {
    issue(issued);
    const subject = `block:${issued.code}/1`;
    const at = new Date().toISOString();
    const step = issued.steps[0].key;
    events.add({ id: crypto.randomUUID(), at, local: `${at.slice(0, 19)}+00:00`, subject, kind: "checked", step, person: "Q" });
    blocks.put({ subject, code: issued.code, block: 1, at });
  }
  await new Promise((resolve, reject) => {
    writing.oncomplete = resolve;
    writing.onabort = () => reject(writing.error);
  });
  database.close();
}""".replace("RECORDS", RECORDS)
BATCHES_A_TRANSACTION = 250
# From a key of the search box to the list that it leaves; the lot is that of the newest batch, as somebody traces it.
SEARCH = """(typed) => new Promise((resolve) => {
  const box = document.querySelector("[data-log-search]");
  const started = performance.now();
  box.value = typed;
  box.dispatchEvent(new Event("input", { bubbles: true }));
  requestAnimationFrame(() => setTimeout(() => resolve([performance.now() - started, document.querySelector("[data-log-count]").textContent])));
})"""
# From a code that is asked for to what is picked for it, and to its trace as Python tells it.
TRACE = """async ([code, n]) => {
  const mark = (name) => performance.getEntriesByName(name)[0];
  performance.clearMarks();
  const started = performance.now();
  // Asked anew each time, whatever was asked before.
  location.hash = `${encodeURIComponent(code)}?n=${n}`;
  while (!mark("tarewell-traced")) await new Promise((resolve) => setTimeout(resolve, 5));
  return ["tarewell-trace-asked", "tarewell-traced"].map((name) => mark(name).startTime - started);
}"""
ALL_READ = "document.querySelector('[data-log-all]') !== null"
# Words that find some, none, and nearly all.
SEARCHES = ("bench-1", "poured", "marsh", "nowhere", "{lot}", "{lot} q", "curing r", "b")
LOG_LIMIT_MS = 300.0
# Longer than ten thousand entries take to be made where the machine has other work.
MAKING_S = 400.0


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=7)
    parser.add_argument("--batches", type=int, default=SIZES[1], help="in the large store")
    parser.add_argument("--site", type=Path, default=ROOT / ".build" / "site")
    given = parser.parse_args()
    few, many = SIZES[0], given.batches
    with tempfile.TemporaryDirectory() as held:
        sites = {size: Site(given.site, Path(held) / str(size), "", "snapshot") for size in (few, many)}
        codes, slow = {}, []
        for size, site in sites.items():
            record = begun(site)
            codes[size] = record["code"]
            site.way = NO_PYTHON
            # Of the large store the log is measured as it grows.
            before = 0
            for step in sorted({level for level in LEVELS if level < size} | {size}) if size == many else (size,):
                fill(site, record, before, step)
                slow += log_figures(site, record, step, given.runs) if size == many else []
                slow += page_figures(site, record, step, given.runs) if size == many else []
                before = step
        taken: dict[tuple[str, int], list[float]] = {}
        # The first round only fills the browser's caches.
        for turn in range(given.runs + 1):
            for size, site in sites.items():
                places = {"at the scale": "scale/", "a block in hand": f"scale/#{codes[size]}/1", "Today": "", "records": "records/"}
                for name, took in opened(site, places).items():
                    if turn > 0:
                        taken.setdefault((name, size), []).append(took)
    worst = 0.0
    for name in ("at the scale", "a block in hand", "Today", "records"):
        least, most = (statistics.median(taken[name, size]) for size in (few, many))
        figure(f"opening {name}, {few} batches", least, "ms")
        figure(f"opening {name}, {many} batches", most, "ms")
        figure(f"opening {name}, {many} to {few} batches", most / least, "ratio")
        worst = max(worst, most / least)
    return 0 if worst < LIMIT and not slow else 1


def begun(site: Site) -> dict[str, Any]:
    """A store of one's own, made by the app; the sheet that all batches are made of."""
    with browser_with(site) as page:
        page.goto(site.url)
        kept_offline(page)
        record = record_of(page, issue(page))
        own_workshop(page)
        page.goto(site.url)
        # By then the app has made the store: it has read there what is due.
        wait_until(page, "document.querySelector('[data-nothing-due]:not([hidden])') !== null")
    return record


def fill(site: Site, record: dict[str, Any], before: int, size: int) -> None:
    """Stores batches up to so many."""
    started = time.monotonic()
    with browser_with(site) as page:
        own_workshop(page)
        page.goto(site.url)
        for start in range(before, size, BATCHES_A_TRANSACTION):
            page.evaluate(FILL, [record, start, min(start + BATCHES_A_TRANSACTION, size), size])
    figure(f"filling, {before} to {size} batches", time.monotonic() - started, "s")


def log_figures(site: Site, record: dict[str, Any], size: int, runs: int) -> list[str]:
    """How fast the log opens and searches; the names of those that are too slow."""
    times: dict[str, list[float]] = {"open": [], "read whole": [], "search": []}
    lot = newest_lot(record, size)
    started = time.monotonic()
    with browser_with(site) as page:
        own_workshop(page)
        page.add_init_script(MARK_SHOWN)
        page.goto(site.address + "records/")
        wait_until(page, ALL_READ, MAKING_S)
        figure(f"log, {size} batches, making its entries", time.monotonic() - started, "s")
        for _ in range(3 * runs):
            page.goto("about:blank")
            page.goto(site.address + "records/", wait_until="commit")
            loaded = wait_until(page, SHOWN)
            wait_until(page, ALL_READ)
            begins = page.evaluate("performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd")
            times["open"].append(max(loaded - begins, 0.0))
            times["read whole"].append(page.evaluate("performance.getEntriesByName('tarewell-log')[0].startTime") - begins)
        for _ in range(runs):
            for words in SEARCHES:
                took, said = page.evaluate(SEARCH, words.format(lot=lot))
                times["search"].append(took)
                assert said, "the log has not answered"
        figure(f"log, {size} batches, memory of its page", renderers_pss(site.profile), "MB")
    # What is read behind the first page of the list keeps nobody waiting who doesn't search at once.
    return told_of(times, f"log, {size} batches", ("open", "search"))


def newest_lot(record: dict[str, Any], size: int) -> str:
    return f"{next(pour['lot'] for pour in record['pours'] if pour['lot'])}-{(size - 1) // 100}"


def page_figures(site: Site, record: dict[str, Any], size: int, runs: int) -> list[str]:
    """How fast pages open that Python answers, and how fast a lot is looked up and traced on a page that is open; what is too slow."""
    times: dict[str, list[float]] = {"Today": [], "cure rack": [], "stock": [], "lot looked up": [], "lot traced": [], "batch traced": []}
    site.way = "snapshot"
    with browser_with(site) as page:
        own_workshop(page)
        page.add_init_script(MARK_SHOWN)
        page.goto(site.url)
        started = time.monotonic()
        wait_until(page, SHOWN, MAKING_S)
        figure(f"{size} batches, making what stands", time.monotonic() - started, "s")
        for _ in range(runs):
            for name, place in (("Today", ""), ("cure rack", "cure/"), ("stock", "records/stock/")):
                page.goto("about:blank")
                page.goto(site.address + place, wait_until="commit")
                times[name].append(wait_until(page, SHOWN, MAKING_S))
        page.goto("about:blank")
        page.goto(site.address + "records/trace/", wait_until="commit")
        wait_until(page, SHOWN, MAKING_S)
        for n in range(runs):
            picked, traced = page.evaluate(TRACE, [newest_lot(record, max(size - 100 * n, 1)), n])
            times["lot looked up"].append(picked)
            times["lot traced"].append(traced)
            times["batch traced"].append(page.evaluate(TRACE, [f"BENCH-{n % size}", n])[1])
        figure(f"{size} batches, memory of the page of traces", renderers_pss(site.profile), "MB")
    site.way = NO_PYTHON
    return told_of(times, f"{size} batches", ("lot looked up", "lot traced", "batch traced"))


def told_of(times: dict[str, list[float]], about: str, limited: tuple[str, ...]) -> list[str]:
    """Prints them; the names of those under the limit's care that are beyond it."""
    for name, took in times.items():
        figure(f"{about}, {name}, p50", statistics.median(took), "ms")
        figure(f"{about}, {name}, p95", p95(took), "ms")
    return [name for name in limited if p95(times[name]) > LOG_LIMIT_MS]


def p95(values: list[float]) -> float:
    """By nearest rank."""
    return sorted(values)[math.ceil(0.95 * len(values)) - 1]


def opened(site: Site, places: dict[str, str]) -> dict[str, float]:
    with browser_with(site) as page:
        own_workshop(page)
        page.add_init_script(MARK_SHOWN)
        took = {}
        for name, place in places.items():
            # A changed #part alone is no opening.
            page.goto("about:blank")
            page.goto(site.address + place, wait_until="commit")
            took[name] = wait_until(page, SHOWN)
        return took


if __name__ == "__main__":
    sys.exit(main())
