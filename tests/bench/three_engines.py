"""First answer, next page and keystroke in Chromium, Firefox and WebKit, one after the other. Prints `figure: value unit` lines.

Each browser visits once with the server alive, then with no server: a page that Python is started for anew, its worker gone,
and beside it a bare `loadPyodide` under the same rules. WebKit's driver keeps no profile from one process to the next, so
all visits of an engine are of one process here: `startup` tells what a fresh process takes, in Chromium.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from measuring import PATIENCE_S, ROOT, Site, figure, part
from playwright.sync_api import Playwright, sync_playwright

from offline.browsers import chromium

sys.path.append(str(ROOT / "tests" / "browser"))
from conftest import Watch
from engines import Engine, Firefox, firefox, webkit
from startup import FIRST_ANSWER, KEYS_NOT_COUNTED, KEYSTROKES, LINK, NEXT_PAGE, TAPPED, bare_site

RUNS = 7
KEYS = 60
VISIT_S = 60
# A worker that pages share lives on for a while after the last of them is gone (`extendedLifetime`, where there is one).
WORKER_GONE_S = 3.0
OFFLINE = "document.documentElement.dataset.offline === 'ready'"
TYPED = "window.benchTyped"


@contextmanager
def chromium_as_others(playwright: Playwright, origin: str, _: Path) -> Iterator[Engine]:
    """Chromium behind the verbs of the other two."""
    browser = playwright.chromium.launch(executable_path=chromium())
    try:
        yield Firefox(browser.new_page(), Watch(origin))
    finally:
        browser.close()


ENGINES = {"chromium": chromium_as_others, "firefox": firefox, "webkit": webkit}


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=RUNS, help=f"visits of each engine; default: {RUNS}")
    parser.add_argument("--engine", choices=ENGINES, action="append", help="only this one; may be given again")
    parser.add_argument("--site", type=Path, default=ROOT / ".build" / "site")
    options = parser.parse_args()
    with sync_playwright() as playwright:
        for name in options.engine or ENGINES:
            with part(name, 8 * VISIT_S * (options.runs + 2)), tempfile.TemporaryDirectory() as held:
                _measure(playwright, name, options.site, options.runs, Path(held))


def _measure(playwright: Playwright, name: str, folder: Path, runs: int, home: Path) -> None:
    ours = Site(folder, home / "ours", "batch/", "snapshot")
    bare = Site(bare_site(home / "bare"), home / "bare-profile", "", "")
    with ENGINES[name](playwright, ours.address, home) as engine:
        for site in (ours, bare):
            engine.open(site.url)
            _waited(engine, OFFLINE)
            engine.open("about:blank")
            site.stop()
        first: dict[str, list[float]] = {"ours": [], "bare": []}
        for _ in range(runs):
            for kind, site in (("ours", ours), ("bare", bare)):
                time.sleep(WORKER_GONE_S)
                engine.open(site.url)
                first[kind].append(_waited(engine, FIRST_ANSWER))
                engine.open("about:blank")
        next_page = []
        for _ in range(runs):
            engine.open(ours.url)
            _waited(engine, FIRST_ANSWER)
            engine.evaluate(f"void {TAPPED}")
            engine.press(LINK)
            next_page.append(_waited(engine, NEXT_PAGE)["since"])
        engine.open(ours.url)
        _waited(engine, FIRST_ANSWER)
        keys = KEYS if runs > 1 else KEYS_NOT_COUNTED + 2
        # The driver of one engine waits for no promise.
        told = f"({KEYSTROKES})([{keys}, {json.dumps(1000 * PATIENCE_S)}])"
        engine.evaluate(f"void {told}.then((taken) => {{ {TYPED} = {{ taken }}; }}, (error) => {{ {TYPED} = {{ failed: String(error) }}; }})")
        typed = _waited(engine, TYPED)
        if "failed" in typed:
            raise RuntimeError(typed["failed"])
    taken = sorted(typed["taken"][KEYS_NOT_COUNTED:])
    medians = {kind: statistics.median(each) for kind, each in first.items()}
    figure(f"{name}, first answer", medians["ours"], "ms")
    figure(f"{name}, first answer, bare", medians["bare"], "ms")
    figure(f"{name}, first answer to bare", medians["ours"] / medians["bare"], "ratio")
    figure(f"{name}, next page, tap to live answer", statistics.median(next_page), "ms")
    figure(f"{name}, keystroke to new answer, p50", statistics.median(taken), "ms")
    figure(f"{name}, keystroke to new answer, p95", taken[int(len(taken) * 0.95)], "ms")


def _waited(engine: Engine, expression: str) -> Any:
    """The expression's first truthy value, asked seldom, so that asking does not disturb."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        if value := engine.evaluate(expression):
            return value
        time.sleep(0.1)
    raise RuntimeError(f"waited {PATIENCE_S} s in vain for {expression}")


if __name__ == "__main__":
    main()
