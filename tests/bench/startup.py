"""Start-up as a user meets it: the second visit, offline, in a fresh browser process. Prints `figure: value unit` lines.

Three sites are visited in turn, so that the machine's moods fall on all alike: ours with the memory snapshot, ours with
the fallback, and as the yardstick a bare `loadPyodide` of the unmodified npm package, kept by the same service worker.
Medians; the first two offline visits of each only fill the browser's caches of compiled code, and last a few seconds, as
a person's would, so that the app's own exercise of that code takes place as it does in use.
"""

from __future__ import annotations

import argparse
import gzip
import json
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from measuring import ROOT, Quota, Site, browser_with, figure, wait_until

from offline.assemble import file_list
from offline.browsers import chromium
from runtime.fetch import SHIPPED

WARM_UPS = 2
WARM_UP_STAY_MS = 7_000
# At a quarter of the processor each visit takes four times as long, and varies less beside it.
QUARTER_RUNS = 3
BARE_PAGE = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>bare</title>
<link rel="icon" href="data:,"><script type="module" src="page.mjs"></script></head><body>bare</body></html>"""
BARE_SCRIPT = """
const worker = new Worker("worker.mjs", { type: "module" });
worker.onmessage = async () => {
  performance.mark("tarewell-first-answer");
  await navigator.serviceWorker.register("service-worker.js");
  await navigator.serviceWorker.ready;
  document.documentElement.dataset.offline = "ready";
};"""
BARE_WORKER = """
import { loadPyodide } from "./pyodide/pyodide.mjs";
await loadPyodide();
postMessage("ready");"""
FIRST_ANSWER = "performance.getEntriesByName('tarewell-first-answer')[0]?.startTime ?? 0"
READY_WAY = "performance.getEntriesByName('tarewell-python-ready')[0]?.detail ?? ''"
FIRST_PAINT = "performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? 0"
# Types a changed number into the order form and waits until the answer's region has changed, many times over.
KEYSTROKES = """async (count) => {
  const form = [...document.querySelectorAll("form[data-task]")].find((each) => each.offsetParent);
  const field = form.querySelector('[name="blocks"]') ?? form.querySelector('input[inputmode]');
  const region = document.querySelector(`[data-answer="${form.dataset.task}"]`);
  const taken = [];
  for (let turn = 0; turn < count; turn++) {
    field.value = String(3 + (turn % 6)); // the form stands at 2 blocks, and an answer that stays is no change to wait for
    const changed = new Promise((resolve) => {
      const observer = new MutationObserver(() => { observer.disconnect(); resolve(); });
      observer.observe(region, { childList: true, subtree: true, characterData: true });
    });
    const started = performance.now();
    field.dispatchEvent(new InputEvent("input", { bubbles: true }));
    await changed;
    taken.push(performance.now() - started);
    await new Promise((resolve) => setTimeout(resolve, 120));
  }
  return taken;
}"""


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--short", action="store_true", help="each visit once, at full speed, and no build: to see that all of it runs")
    parser.add_argument("--site", type=Path, default=ROOT / ".build" / "site")
    options = parser.parse_args()
    runs = 1 if options.short else options.runs
    figure("processor cores", _cores(), "")
    with tempfile.TemporaryDirectory() as held:
        work = Path(held)
        sites = {
            "snapshot": Site(options.site, work / "a", "batch/", "snapshot"),
            "fallback": Site(options.site, work / "b", "batch/", "fallback"),
            "bare": Site(_bare_site(work / "bare"), work / "c", "", ""),
        }
        for name, site in sites.items():
            figure(f"first visit, first answer, {name}", first_visit(site), "ms")
        for name, site in sites.items():
            site.stop()
        offline(sites, runs, "offline second visit", Quota(None), warm_ups=0 if options.short else WARM_UPS)
        typing(sites["snapshot"], 12 if options.short else 60)
        if not options.short:
            quota = Quota(0.25)
            if quota.possible:
                words = "offline second visit at a quarter of the processor"
                offline(sites, min(runs, QUARTER_RUNS), words, quota, warm_ups=0)
            else:
                print(f"# a quarter of the processor: not measured, {quota.why_not}", flush=True)
    sizes(options.site)
    if not options.short:
        build_time()


def first_visit(site: Site) -> float:
    with browser_with(site) as page:
        page.goto(site.url)
        took = wait_until(page, FIRST_ANSWER)
        wait_until(page, "document.documentElement.dataset.offline === 'ready'")
        return took


def offline(sites: dict[str, Site], runs: int, words: str, quota: Quota, warm_ups: int) -> None:
    first: dict[str, list[float]] = {name: [] for name in sites}
    paint: list[float] = []
    following: list[float] = []
    for turn in range(runs + warm_ups):
        for name, site in sites.items():
            with browser_with(site, quota) as page:
                page.goto(site.url, wait_until="commit")
                first[name].append(wait_until(page, FIRST_ANSWER))
                if turn < warm_ups:
                    page.wait_for_timeout(WARM_UP_STAY_MS)
                if name == "bare":
                    continue
                if (way := page.evaluate(READY_WAY)) != name:
                    raise RuntimeError(f"{name} was to be measured, and Python started by {way!r}")
                if name == "snapshot":
                    paint.append(wait_until(page, FIRST_PAINT))
                    page.goto(site.address + "formula/edit/", wait_until="commit")
                    following.append(wait_until(page, FIRST_ANSWER))
        print(f"# {words}, turn {turn + 1} of {runs + warm_ups}: " + ", ".join(
            f"{name} {taken[-1]:.0f} ms" for name, taken in first.items()), flush=True)  # fmt: skip
    medians = {name: statistics.median(taken[warm_ups:]) for name, taken in first.items()}
    for name, median in medians.items():
        figure(f"{words}, first answer, {name}", median, "ms")
    for name in ("snapshot", "fallback"):
        figure(f"{words}, first answer, {name} to bare", medians[name] / medians["bare"], "ratio")
    figure(f"{words}, first paint", statistics.median(paint[warm_ups:]), "ms")
    figure(f"{words}, next page, first answer", statistics.median(following[warm_ups:]), "ms")


def typing(site: Site, keys: int) -> None:
    with browser_with(site) as page:
        page.goto(site.url)
        wait_until(page, FIRST_ANSWER)
        taken = sorted(page.evaluate(KEYSTROKES, keys)[10:])
    figure("keystroke to new answer, p50", statistics.median(taken), "ms")
    figure("keystroke to new answer, p95", taken[int(len(taken) * 0.95)], "ms")


def sizes(folder: Path) -> None:
    files = [path for path in folder.rglob("*") if path.is_file() and not path.name.startswith(("service-worker", "_"))]
    figure("files cached", len(files), "")
    figure("bytes cached, raw", sum(path.stat().st_size for path in files) / 1e6, "MB")
    figure("bytes cached, gzipped", sum(len(gzip.compress(path.read_bytes(), 9)) for path in files) / 1e6, "MB")


def build_time() -> None:
    with tempfile.TemporaryDirectory() as held:
        for words in ("build, everything prepared anew", "build, nothing changed"):
            if "anew" in words:
                shutil.rmtree(ROOT / ".build" / "runtime", ignore_errors=True)
            started = time.monotonic()
            command = [sys.executable, str(ROOT / "build.py"), "build", "--out", str(Path(held) / "site")]
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
            figure(words, time.monotonic() - started, "s")


def _bare_site(folder: Path) -> Path:
    """The unmodified package with a page around it, and our service worker so that it is kept the same way."""
    package = ROOT / ".tools" / "npm" / "node_modules" / "pyodide"
    (folder / "pyodide").mkdir(parents=True)
    for name in (*SHIPPED, "python_stdlib.zip", "pyodide-lock.json"):
        shutil.copyfile(package / name, folder / "pyodide" / name)
    for name, text in (("index.html", BARE_PAGE), ("page.mjs", BARE_SCRIPT), ("worker.mjs", BARE_WORKER)):
        (folder / name).write_text(text, encoding="utf-8")
    worker = (ROOT / "site" / "offline" / "service-worker.js").read_text("utf-8")
    head = f'const BUILD = "bare";\nconst FILES = {json.dumps(file_list(folder))};\n'
    (folder / "service-worker.js").write_text(head + worker, encoding="utf-8")
    return folder


def _cores() -> int:
    import os

    return os.cpu_count() or 1


if __name__ == "__main__":
    if chromium() is None:
        print("# measured in Playwright's own Chromium", flush=True)
    main()
