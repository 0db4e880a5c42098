"""Start-up as a user meets it: the second visit, offline, in a fresh browser process. Prints `figure: value unit` lines.

Three sites are visited in turn, so that the machine's moods fall on all alike: ours with the memory snapshot, ours with
the fallback, and as the yardstick a bare `loadPyodide` of the unmodified npm package, kept by the same service worker.
`--beside FOLDER` visits another build too, so that a change is measured against what was there before.

Medians; the first two offline visits of each only fill the browser's caches of compiled code, and last a few seconds, as
a person's would, so that the app's own exercise of that code takes place as it does in use.

Every part has a limit; one that fails or does not end is named, and ends the program with 1.
"""

from __future__ import annotations

import argparse
import gzip
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from measuring import PATIENCE_S, ROOT, Quota, Site, browser_with, figure, part, renderers_pss, wait_until
from playwright.sync_api import sync_playwright

from offline.assemble import service_worker
from offline.browsers import chromium
from runtime.fetch import SHIPPED

sys.path.append(str(ROOT / "tests" / "browser"))
from devtools import Tab, chromium_at

RUNS = 7
WARM_UPS = 2
WARM_UP_STAY_MS = 7_000
KEYS = 60
# The first keys fill caches of compiled code.
KEYS_NOT_COUNTED = 10
# How long a finger rests on the glass: common practice, no source.
FINGER_MS = 90
# What starting has used only for a moment is given back by then.
MEMORY_AFTER_MS = 1_500
# What hosts compress as a matter of course, beside WebAssembly.
TEXT = (".html", ".js", ".mjs", ".css", ".json", ".svg", ".webmanifest", ".txt", ".wasm")
# One visit may take so long, whatever the machine does beside it.
VISIT_S = 60
BUILD_S = 900
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
# The next page is reached by a tap on this link. A page that was prepared unseen began its time before the tap.
LINK = '.place-pages a[href$="fragrance/"], .places a[href$="fragrance/"]'
TAPPED = "addEventListener('click', () => sessionStorage.setItem('bench-tapped', performance.timeOrigin + performance.now()), true)"
NEXT_PAGE = """(() => {
  const answer = performance.getEntriesByName('tarewell-first-answer')[0];
  if (!answer || !location.pathname.endsWith('/fragrance/')) return null;
  const shown = performance.getEntriesByType('navigation')[0].activationStart ?? 0;
  const since = performance.timeOrigin + Math.max(answer.startTime, shown) - Number(sessionStorage.getItem('bench-tapped'));
  return { since, prerendered: shown > 0 };
})()"""
PREPARES = "HTMLScriptElement.supports?.('speculationrules') && document.querySelector('script[type=speculationrules]') !== null"
NO_RULES = "document.querySelectorAll('script[type=speculationrules]').forEach((each) => each.remove())"
# Types a changed number into the order form and waits until an answer has changed, many times over. Never what stands there
# already: an answer that stays is not drawn anew.
KEYSTROKES = """async ([count, patience]) => {
  const form = [...document.querySelectorAll("form[data-task]")].find((each) => each.offsetParent);
  const field = form.querySelector('[name="blocks"]');
  const regions = document.querySelectorAll(`[data-answer="${form.dataset.task}"]`);
  const values = ["3", "4", "5", "6"].filter((each) => each !== field.value);
  const taken = [];
  for (let turn = 0; turn < count; turn++) {
    field.value = values[turn % values.length];
    const changed = new Promise((resolve, reject) => {
      const observer = new MutationObserver(() => { observer.disconnect(); resolve(); });
      for (const region of regions) observer.observe(region, { childList: true, subtree: true, characterData: true });
      setTimeout(() => reject(new Error(`no new answer to ${field.value} blocks, key ${turn + 1} of ${count}`)), patience);
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
    parser.add_argument("--runs", type=int, default=RUNS, help=f"visits that count, of each site; default: {RUNS}")
    parser.add_argument("--short", action="store_true", help="each visit once, at full speed, and no build: to see that all of it runs")
    parser.add_argument("--beside", type=Path, help="another build's site, visited in turn with ours")
    parser.add_argument("--site", type=Path, default=ROOT / ".build" / "site")
    options = parser.parse_args()
    runs = 1 if options.short else options.runs
    warm_ups = 0 if options.short else WARM_UPS
    figure("processor cores", os.cpu_count() or 1, "")
    with tempfile.TemporaryDirectory() as held:
        work = Path(held)
        sites = {
            "snapshot": Site(options.site, work / "a", "batch/", "snapshot"),
            "fallback": Site(options.site, work / "b", "batch/", "fallback"),
            "bare": Site(bare_site(work / "bare"), work / "c", "", ""),
        }
        if options.beside:
            sites["beside"] = Site(options.beside, work / "d", "batch/", "snapshot")
        for name, site in sites.items():
            with part(f"first visit, {name}", 2 * PATIENCE_S):
                figure(f"first visit, first answer, {name}", first_visit(site), "ms")
        for site in sites.values():
            site.stop()
        with part("offline second visit", VISIT_S * len(sites) * (runs + warm_ups)):
            offline(sites, runs, "offline second visit", Quota(None), warm_ups)
        with part("next page", VISIT_S * 2 * runs):
            for name in [each for each in ("snapshot", "beside") if each in sites]:
                next_page(sites[name], runs, name)
        with part("typing", 2 * PATIENCE_S):
            typing(sites["snapshot"], KEYS_NOT_COUNTED + 2 if options.short else KEYS)
        if not options.short:
            with part("a quarter of the processor", 4 * VISIT_S * len(sites) * runs):
                at_a_quarter(sites, runs)
    sizes(options.site)
    if not options.short:
        with part("build", 2 * BUILD_S):
            build_time()


def first_visit(site: Site) -> float:
    with browser_with(site) as page:
        page.goto(site.url)
        took: float = wait_until(page, FIRST_ANSWER)
        wait_until(page, "document.documentElement.dataset.offline === 'ready'")
        return took


def offline(sites: dict[str, Site], runs: int, words: str, quota: Quota, warm_ups: int) -> None:
    first: dict[str, list[float]] = {name: [] for name in sites}
    memory: dict[str, list[float]] = {name: [] for name in sites}
    paint: dict[str, list[float]] = {name: [] for name in sites if name in ("snapshot", "beside")}
    for turn in range(runs + warm_ups):
        for name, site in sites.items():
            with browser_with(site, quota) as page:
                page.goto(site.url, wait_until="commit")
                first[name].append(wait_until(page, FIRST_ANSWER))
                page.wait_for_timeout(WARM_UP_STAY_MS if turn < warm_ups else MEMORY_AFTER_MS)
                memory[name].append(renderers_pss(site.profile))
                if site.way and (way := page.evaluate(READY_WAY)) != site.way:
                    raise RuntimeError(f"{name} was to be measured, and Python started by {way!r}")
                if name in paint:
                    paint[name].append(wait_until(page, FIRST_PAINT))
        print(f"# {words}, turn {turn + 1} of {runs + warm_ups}: " + ", ".join(
            f"{name} {taken[-1]:.0f} ms" for name, taken in first.items()), flush=True)  # fmt: skip
    medians = {name: statistics.median(taken[warm_ups:]) for name, taken in first.items()}
    for name, median in medians.items():
        figure(f"{words}, first answer, {name}", median, "ms")
    for name in sites:
        if name != "bare":
            figure(f"{words}, first answer, {name} to bare", medians[name] / medians["bare"], "ratio")
    for name, taken in paint.items():
        figure(f"{words}, first paint, {name}", statistics.median(taken[warm_ups:]), "ms")
    taken_up = {name: statistics.median(each[warm_ups:]) for name, each in memory.items()}
    figure(f"{words}, memory of the renderers, snapshot over bare", taken_up["snapshot"] - taken_up["bare"], "MB")


def at_a_quarter(sites: dict[str, Site], runs: int) -> None:
    quota = Quota(0.25)
    if not quota.possible:
        print(f"# a quarter of the processor: not measured, {quota.why_not}", flush=True)
        return
    both = {name: site for name, site in sites.items() if name != "fallback"}
    offline(both, runs, "offline second visit at a quarter of the processor", quota, warm_ups=0)


def next_page(site: Site, runs: int, name: str) -> None:
    """From the tap on a link to the live answer of the page it leads to, Python awake: a plain navigation; and where page and
    browser can prepare the page while the finger rests on the link, one that was prepared."""
    plain, prepared, possible = [], [], False
    with sync_playwright() as playwright:
        program = chromium() or playwright.chromium.executable_path
    for _ in range(runs):
        # The library that drives the browser elsewhere lets it make no page ready.
        with chromium_at(program, [], site.profile) as browser:
            for made_ready in (False, True):
                tab = browser.tab()
                tab.goto(site.url)
                _waited(tab, FIRST_ANSWER)
                possible = bool(tab.evaluate(PREPARES))
                if made_ready and not possible:
                    continue
                if not made_ready:
                    tab.evaluate(NO_RULES)
                found = _tap(tab)
                if found["prerendered"] is made_ready:
                    (prepared if made_ready else plain).append(found["since"])
                tab.close()
    figure(f"next page, tap to live answer, {name}", statistics.median(plain), "ms")
    if prepared:
        figure(f"next page prerendered, tap to live answer, {name}", statistics.median(prepared), "ms")
        figure(f"next page prerendered, of those tapped, {name}", len(prepared) / runs, "ratio")
    else:
        print(f"# next page prerendered: not measured, {'no tap found it ready' if possible else 'not prepared here'}", flush=True)


def _tap(tab: Tab) -> dict[str, Any]:
    tab.evaluate(TAPPED)
    tab.press(LINK)
    time.sleep(FINGER_MS / 1000)
    tab.let_go()
    found: dict[str, Any] = _waited(tab, NEXT_PAGE)
    return found


def _waited(tab: Tab, expression: str) -> Any:
    """The expression's first truthy value, asked seldom, as `wait_until` does."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        if value := tab.evaluate(expression):
            return value
        time.sleep(0.1)
    raise RuntimeError(f"waited {PATIENCE_S} s in vain for {expression}")


def typing(site: Site, keys: int) -> None:
    with browser_with(site) as page:
        page.goto(site.url)
        wait_until(page, FIRST_ANSWER)
        taken = sorted(page.evaluate(KEYSTROKES, [keys, 1000 * PATIENCE_S])[KEYS_NOT_COUNTED:])
    figure("keystroke to new answer, p50", statistics.median(taken), "ms")
    figure("keystroke to new answer, p95", taken[int(len(taken) * 0.95)], "ms")


def sizes(folder: Path) -> None:
    files = [path for path in folder.rglob("*") if path.is_file() and not path.name.startswith(("service-worker", "_"))]
    raw = {path: path.stat().st_size for path in files}
    packed = {path: len(gzip.compress(path.read_bytes(), 9)) for path in files}
    figure("files cached", len(files), "")
    figure("bytes on the wire, a host that compresses nothing", sum(raw.values()) / 1e6, "MB")
    on_the_wire = sum(packed[path] if path.suffix in TEXT else raw[path] for path in files)
    figure("bytes on the wire, a host that compresses only text and wasm", on_the_wire / 1e6, "MB")
    figure("bytes on the wire, all gzipped", sum(packed.values()) / 1e6, "MB")


def build_time() -> None:
    with tempfile.TemporaryDirectory() as held:
        for words in ("build, everything prepared anew", "build, nothing changed"):
            if "anew" in words:
                shutil.rmtree(ROOT / ".build" / "runtime", ignore_errors=True)
            started = time.monotonic()
            command = [sys.executable, str(ROOT / "build.py"), "build", "--out", str(Path(held) / "site")]
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
            figure(words, time.monotonic() - started, "s")


def bare_site(folder: Path) -> Path:
    """The unmodified package with a page around it, and our service worker so that it is kept the same way."""
    package = ROOT / ".tools" / "npm" / "node_modules" / "pyodide"
    (folder / "pyodide").mkdir(parents=True)
    for name in (*SHIPPED, "python_stdlib.zip", "pyodide-lock.json"):
        shutil.copyfile(package / name, folder / "pyodide" / name)
    for name, text in (("index.html", BARE_PAGE), ("page.mjs", BARE_SCRIPT), ("worker.mjs", BARE_WORKER)):
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "service-worker.js").write_text(service_worker("bare", folder), encoding="utf-8")
    return folder


if __name__ == "__main__":
    if chromium() is None:
        print("# measured in Playwright's own Chromium", flush=True)
    main()
