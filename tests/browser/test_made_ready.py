"""A page that the browser makes ready while its link is pressed does nothing until it is seen, and is whole then."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any

import pytest
from conftest import CHROMIUM_ARGUMENTS, EXERCISED
from devtools import Chromium, Tab, chromium_at
from playwright.sync_api import Playwright
from screens import ALL
from site_server import SiteServer

Opened = Callable[[], AbstractContextManager[Chromium]]

LOADED = 'document.readyState === "complete"'
STORED_COPY = 'document.documentElement?.dataset.offline === "ready"'
# HTML standard, "activation start time": above zero where the page was made ready before it was seen.
WAS_READY = 'performance.getEntriesByType("navigation")[0].activationStart > 0'
AT_BLOCK = 'document.querySelector("[data-stage]")?.dataset.shown !== undefined && /^#.+[/]\\d+$/.test(location.hash)'
TO_FORMULA = '.place-pages a[href$="formula/"], .places a[href$="formula/"]'
TO_PRACTICE = 'a[href$="scale/#/practice"]'
HELD = "navigator.locks.query().then(({ held, pending }) => [...held, ...pending].map(({ name }) => name))"
# Long enough for a page of ours to start several times over.
A_WHILE = "new Promise((resolve) => setTimeout(() => resolve(true), 1500))"


def live(region: str) -> str:
    return f"""document.querySelector('[data-answer="{region}"][data-live]:not([aria-busy], [data-stale], [hidden])') !== null"""


def shown(css: str) -> str:
    return f"[...document.querySelectorAll({css!r})].some((each) => each.checkVisibility())"


def kept(tab: Tab) -> dict[str, Any]:
    """All that this device holds, and which locks are held or waited for, seen from the page that is open."""
    stores = {name: tab.evaluate(f"({ALL})({name!r})") for name in ("events", "batches", "blocks", "drafts", "log", "standing")}
    local = tab.evaluate("Object.fromEntries(Object.entries(localStorage))")
    return {**stores, "local": local, "session": tab.evaluate("Object.fromEntries(Object.entries(sessionStorage))"), "locks": tab.evaluate(HELD)}


@pytest.fixture
def opened(playwright: Playwright, chromium_options: dict[str, Any], tmp_path: Path) -> Opened:
    """Starts the browser with one profile, again and again."""
    program = chromium_options["executable_path"] or playwright.chromium.executable_path
    return lambda: chromium_at(program, CHROMIUM_ARGUMENTS, tmp_path / "profile")


@contextmanager
def visited(opened: Opened, server: SiteServer, path: str, ready: str) -> Iterator[tuple[Chromium, Tab]]:
    """A phone that has stored the app; its server dead, at this page."""
    with opened() as browser:
        tab = browser.tab()
        tab.goto(server.url)
        tab.until(STORED_COPY, "the stored copy")
        server.kill()
        tab.goto(server.url + path)
        tab.until(ready, path)
        # Stored once, when the first answer has come from the stored copy: the last that a page stores by itself.
        tab.until(f"localStorage.getItem({EXERCISED!r})", "the stored copy to be exercised")
        yield browser, tab


def made_ready(tab: Tab, css: str) -> None:
    """Presses a link until its page is ready behind this one, and leaves it time to do whatever it would."""
    tab.press(css)
    tab.until(LOADED, f"the page behind {css}", ahead=True)
    assert tab.evaluate("document.prerendering", ahead=True) is True
    assert tab.evaluate(A_WHILE)


def test_a_page_that_is_made_ready_at_the_scale_stores_nothing_and_takes_no_block(
    opened: Opened, mortal_server: Callable[..., SiteServer]
) -> None:
    with visited(opened, mortal_server("/shop/"), "", shown(TO_PRACTICE)) as (_, tab):
        before = kept(tab)
        assert before["events"] == []
        made_ready(tab, TO_PRACTICE)
        assert kept(tab) == before
        assert tab.evaluate("document.querySelector('[data-stage]').dataset.shown === undefined", ahead=True)
        tab.let_go()
        # Seen, it is the page at the scale as ever: a block to practice on is issued, and this page holds it.
        tab.until(AT_BLOCK, "the block")
        assert tab.evaluate(WAS_READY)
        after = kept(tab)
        assert [event["kind"] for event in after["events"]] == ["issued"]
        assert [name for name in after["locks"] if "block:" in name] == [f"tarewell-practice-edit:block:{after['events'][0]['code']}/1"]


def test_the_tap_finds_the_page_ready_and_its_answer_comes_offline(
    opened: Opened, mortal_server: Callable[..., SiteServer]
) -> None:
    with visited(opened, mortal_server("/shop/"), "batch/", live("batch_sheet")) as (_, tab):
        before = kept(tab)
        made_ready(tab, TO_FORMULA)
        assert kept(tab) == before
        tab.let_go()
        tab.until(live("formula_list"), "the formulas")
        assert tab.evaluate(WAS_READY)
        assert tab.evaluate("document.title").startswith("Formula")
        assert tab.evaluate("location.pathname") == "/shop/formula/"
        # A page like any other: Back leads where one came from.
        tab.evaluate("history.back()")
        tab.until(live("batch_sheet"), "the way back")


def test_what_is_stored_between_press_and_tap_is_there_when_the_page_is_seen(
    opened: Opened, mortal_server: Callable[..., SiteServer]
) -> None:
    with visited(opened, mortal_server("/shop/"), "workshop/", live("workshop")) as (_, tab):
        made_ready(tab, TO_FORMULA)
        tab.let_go(beside=True)
        # A phone of the US begins in pounds: its other units are the metric ones.
        other = "metric" if tab.evaluate("document.documentElement.dataset.units") == "us" else "us"
        tab.tap(f'[data-set-units="{other}"]')
        tab.until(f"""document.querySelector('[data-set-units="{other}"]')?.ariaPressed === "true" """, "the other units")
        tab.until(live("workshop"), "the answer in them")
        tab.tap(TO_FORMULA)
        tab.until(live("formula_list"), "the formulas")
        assert tab.evaluate(WAS_READY)
        assert tab.evaluate("document.documentElement.dataset.units") == other
        assert [event["kind"] for event in kept(tab)["events"]] == ["settings"]


def test_of_two_tabs_one_edits_however_the_other_was_made_ready(
    opened: Opened, mortal_server: Callable[..., SiteServer]
) -> None:
    locked = """document.querySelector('[data-kind="mould"] [name="name"]')?.disabled"""
    with visited(opened, mortal_server("/shop/"), "workshop/", live("workshop")) as (browser, tab):
        first = browser.tab()
        first.goto(tab.evaluate("location.origin") + "/shop/workshop/edit/#mould/m-block")
        first.until(live("mould"), "the mould")
        held = first.evaluate(HELD)
        tab.evaluate("for (const fold of document.querySelectorAll('main details')) fold.open = true")
        made_ready(tab, 'main a[href$="edit/#mould/m-block"]')
        assert first.evaluate(HELD) == held
        assert first.evaluate(locked) is False
        tab.let_go()
        tab.until(f"{live('mould')} && {locked}", "the mould, which the first tab holds")
        assert tab.evaluate(WAS_READY)
        assert first.evaluate(locked) is False


def test_a_browser_killed_while_a_page_is_made_ready_has_lost_and_doubled_nothing(
    opened: Opened, mortal_server: Callable[..., SiteServer]
) -> None:
    server = mortal_server("/shop/")
    with visited(opened, server, "scale/#/practice", AT_BLOCK) as (browser, tab):
        block = tab.evaluate("location.hash")
        tab.goto(server.url)
        tab.until(shown(TO_PRACTICE), "Today")
        assert tab.evaluate(A_WHILE)
        before = kept(tab)
        assert [event["kind"] for event in before["events"]] == ["issued"]
        made_ready(tab, TO_PRACTICE)
        browser.kill()
    with opened() as browser:
        tab = browser.tab()
        tab.goto(server.url)
        tab.until(shown(TO_PRACTICE), "Today")
        assert tab.evaluate(A_WHILE)
        after = kept(tab)
        assert json.dumps(after["events"]) == json.dumps(before["events"])
        assert (after["blocks"], after["locks"]) == (before["blocks"], before["locks"])
        tab.tap(TO_PRACTICE)
        tab.until(AT_BLOCK, "the block")
        assert tab.evaluate("location.hash") == block
        assert len(kept(tab)["events"]) == 1
