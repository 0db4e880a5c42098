"""How the opening of pages grows with the records: 10 finished batches against 10,000. Prints `figure: value unit` lines.

Each batch is an issued sheet with its steps, a block weighed to the end and its closing, all in the form that the app
stores; one block more is in hand. They lie in one's own workshop, since no copy of practice is ever due on Today. Both
profiles are visited in turn, in a fresh browser process each time; medians.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from pathlib import Path

from measuring import ROOT, Site, browser_with, figure, wait_until

sys.path.append(str(ROOT / "tests" / "browser"))
from floor import issue, record_of
from screens import RECORDS, kept_offline, own_workshop

LIMIT = 1.5
SIZES = (10, 10_000)
# Python starts beside the page and reads no records; without it there is less noise.
NO_PYTHON = "broken"
# The first of these to be there is what was waited for: a screen of the floor, what is due on Today, or the list of sheets.
MARK_SHOWN = """
const shown = () => document.querySelector("[data-stage][data-shown], [data-due] li, [data-batch-list] li");
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
  const writing = database.transaction(["events", "batches", "blocks"], "readwrite");
  const [events, batches, blocks] = ["events", "batches", "blocks"].map((name) => writing.objectStore(name));
  const issue = (sheet) => {
    events.add(sheet);
    batches.add({ id: sheet.id, code: sheet.code, at: sheet.at, local: sheet.local, formulaEvent: sheet.formula?.event ?? "",
                  formulaName: sheet.formula?.name ?? "" });
  };
  const COMPLETED = { confirm: "checked", temperature: "checked", weigh: "weighed", timer: "timed" };
  const done = (step) => {
    const { key, kind, target, low, high, decimals, unit, division } = step;
    const reading = ((target ?? low ?? 0) / 10 ** (decimals ?? 0)).toFixed(decimals ?? 0);
    const asked = { target, low, high, decimals, unit, division };
    return { kind: COMPLETED[kind], step: key, person: "Q", ...{
      confirm: {}, temperature: { reading, unit }, timer: { action: "ended", seconds: step.seconds },
      weigh: { reading, unit, lot: step.lot, asked, question: null, mode: "net" },
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
    issue(event(`batch:${code}`, { ...issued, code }));
    const block = `block:${code}/1`;
    for (const step of issued.steps) events.add(event(block, done(step)));
    const end = { kind: "closed", outcome: "poured", person: "Q", reason: "", record: null, html: issued.html.slice(0, 4000) };
    events.add(event(block, end));
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


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=7)
    parser.add_argument("--batches", type=int, default=SIZES[1], help="in the large store")
    parser.add_argument("--site", type=Path, default=ROOT / ".build" / "site")
    given = parser.parse_args()
    sizes = (SIZES[0], given.batches)
    with tempfile.TemporaryDirectory() as held:
        sites = {size: Site(given.site, Path(held) / str(size), "", "snapshot") for size in sizes}
        codes = {size: filled(site, size) for size, site in sites.items()}
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
        few, many = (statistics.median(taken[name, size]) for size in sizes)
        figure(f"opening {name}, {sizes[0]} batches", few, "ms")
        figure(f"opening {name}, {sizes[1]} batches", many, "ms")
        figure(f"opening {name}, {sizes[1]} to {sizes[0]} batches", many / few, "ratio")
        worst = max(worst, many / few)
    return 0 if worst < LIMIT else 1


def filled(site: Site, size: int) -> str:
    """Stores the batches; the code of the sheet whose first block is in hand."""
    started = time.monotonic()
    with browser_with(site) as page:
        page.goto(site.url)
        kept_offline(page)
        code = issue(page)
        issued = record_of(page, code)
        own_workshop(page)
        page.goto(site.url)
        # By then the app has made the store: it has read there what is due.
        wait_until(page, "document.querySelector('[data-nothing-due]:not([hidden])') !== null")
        for start in range(0, size, BATCHES_A_TRANSACTION):
            page.evaluate(FILL, [issued, start, min(start + BATCHES_A_TRANSACTION, size), size])
    site.way = NO_PYTHON
    figure(f"filling, {size} batches", time.monotonic() - started, "s")
    return code


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
