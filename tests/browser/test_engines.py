"""A short walk in the other two engines: the same answers as anywhere, and the whole app with the server dead."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from engines import Engine, firefox, text_of, webkit
from native import TODAY, evened, sheet_words
from playwright.sync_api import Playwright
from screens import PAGES
from site_server import SiteServer

SHEET = '[data-answer="batch_sheet"][data-live]:not([aria-busy]):not([data-stale]):not([hidden])'
ISSUED = "[data-sheet] article"
FORM = 'form[data-task="batch_sheet"]'
ASKED = f"{FORM} .asks"
STATE = "[data-python-state]"
WAY = "performance.getEntriesByName('tarewell-python-ready').map((mark) => mark.detail)"
# What stands there instead of what was waited for.
STANDS = """[location.href, document.readyState, document.documentElement.dataset.mode, localStorage["tarewell-mode"],
  document.querySelector("main")?.innerText.slice(0, 400)].join(" | ")"""
# Read by the browser as plain text: a place of this origin where none of our scripts runs.
NO_PAGE = "service-worker.js"


@pytest.fixture
def server(mortal_server: Callable[..., SiteServer]) -> SiteServer:
    return mortal_server()


@pytest.fixture(params=[firefox, webkit], ids=["firefox", "webkit"])
def engine(
    request: pytest.FixtureRequest, playwright: Playwright, server: SiteServer, tmp_path: Path
) -> Iterator[Engine]:
    with request.param(playwright, server.origin, tmp_path) as running:
        yield running


def becomes(get: Callable[[], Any], wanted: Any, seconds: float = 120) -> None:
    """Compiling the fallback takes WebKit most of a minute on a machine that does other things beside it."""
    end = time.monotonic() + seconds
    while (got := get()) != wanted and time.monotonic() < end:
        time.sleep(0.05)
    assert got == wanted


def shows(engine: Engine, css: str, words: str) -> None:
    try:
        becomes(lambda: evened(text_of(engine, css)), words)
    except AssertionError as error:
        error.add_note(f"the page: {engine.evaluate(STANDS)}, {engine.complaints()}")
        raise


def shows_sheet(engine: Engine, **changes: str) -> None:
    """The page shows just what Python outside the browser answers."""
    shows(engine, SHEET, sheet_words(engine.evaluate(TODAY), **changes))


def heading(page: Path) -> str:
    """A built page's heading, up to what a script fills in."""
    found = re.search(r"<h1[^>]*>\s*(?:<[^>]+>\s*)*([^<]+)", page.read_text(encoding="utf-8"))
    assert found
    return found[1].strip()


def opens_every_page(engine: Engine, address: str, folder: Path) -> None:
    for path in PAGES:
        engine.open(address + path)
        assert evened(text_of(engine, "h1")).startswith(heading(folder / path / ("" if "." in path else "index.html")))
        state = "Calcula en este dispositivo. No hace falta red." if path.startswith("es/") else "Calculating on this device. No network needed."
        shows(engine, STATE, state)


def issue(engine: Engine) -> str:
    """The words of the sheet under a batch code of the demo workshop's."""
    engine.type(f'{FORM} [name="issued_by"]', "M")
    engine.evaluate("document.querySelector('[data-issue=print]').closest('details').open = true")
    engine.press(f"{FORM} [data-issue=print]")
    becomes(lambda: engine.evaluate(f"document.querySelectorAll({ISSUED!r}).length"), 1)
    assert re.fullmatch(r"QM-\d{6}-1", text_of(engine, "[data-sheet-code]"))
    return evened(text_of(engine, ISSUED))


@pytest.mark.parametrize("way", ["snapshot", "fallback"])
def test_after_one_visit_the_job_goes_on_with_the_server_dead(
    engine: Engine, server: SiteServer, site_folder: Path, way: str
) -> None:
    engine.open(server.url + NO_PAGE)
    # Whatever region this system is set to.
    engine.evaluate("localStorage.setItem('tarewell-units', 'metric')")
    engine.evaluate(f"sessionStorage.setItem('tarewell-runtime', {way!r})")
    engine.open(server.url + "batch/")
    shows_sheet(engine)
    assert engine.evaluate(WAY) == [way]
    becomes(lambda: engine.evaluate("document.documentElement.dataset.offline"), "ready")

    server.kill()
    engine.reload()
    shows_sheet(engine)
    if way == "snapshot":  # how Python starts is no matter of a page
        opens_every_page(engine, server.url, site_folder)
        # One of them was the set-up, which is of one's own workshop: back to practice, as a tap on its link on Today chooses it.
        engine.evaluate("localStorage.setItem('tarewell-mode', 'practice')")
        engine.open(server.url + "batch/")
        shows_sheet(engine)
    if not engine.evaluate(f"document.querySelector({ASKED!r}).open"):  # where there is room it stands open
        engine.press(f"{ASKED} > summary")
    engine.choose(f'{FORM} [name="mould"]', "m-half")
    engine.type(f'{FORM} [name="blocks"]', "3")
    shows_sheet(engine, mould="m-half", blocks="3")
    assert engine.evaluate(WAY) == [way]

    sheet = issue(engine)
    engine.reload()
    shows(engine, ISSUED, sheet)
    assert engine.complaints() == []
