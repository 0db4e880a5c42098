"""Today: on a first start what this is and two ways in; afterwards the block in hand one tap away, and what is due and when."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from at_home import stamp
from conftest import PHONE
from floor import Floor, begun, done, put, step_of
from playwright.sync_api import BrowserContext, Page, expect
from screens import RECORDS, Touch, own_workshop

NewContext = Callable[..., BrowserContext]
IN_HAND, DUE = "[data-in-hand] li", "[data-due] li"
# The eyewash is run once a week: ANSI/ISEA Z358.1, 4.6.2.
WEEK = timedelta(days=7)
# The list of blocks in hand holds none that is closed.
NOT_IN_HAND = """(subject) => new Promise((resolve, reject) => {
  const opening = indexedDB.open(RECORDS);
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const writing = opening.result.transaction("blocks", "readwrite");
    writing.objectStore("blocks").delete(subject);
    writing.oncomplete = () => { opening.result.close(); resolve(); };
  };
})""".replace("RECORDS", RECORDS)


def stamped(subject: str, kind: str, at: datetime, **fields: Any) -> dict[str, Any]:
    return {"id": f"seed-{subject}-{kind}-{fields.get('action', '')}", **stamp(at), "kind": kind, "subject": subject, "person": "Q", **fields}  # fmt: skip


def checked_today(now: datetime) -> list[dict[str, Any]]:
    found = {"day": now.date().isoformat(), "order": "yes", "way_free": "yes", "tepid": "yes"}
    return [stamped(f"eyewash:{which}", "eyewash_checked", now, **found) for which in ("weekly", "yearly")]


def in_mould(record: dict[str, Any], now: datetime) -> list[dict[str, Any]]:
    """Block 1, poured and closed; its time in the mould of 24 h, as the demo's steps have it, ends in two hours."""
    subject = f"block:{record['code']}/1"
    began = now - timedelta(hours=22)
    started = stamped(subject, "timed", began, step="unmould", action="started", seconds=24 * 3600)
    return [*done(record, "unmould"), started, stamped(subject, "closed", began, outcome="poured", reason="", record=None)]


@pytest.mark.parametrize("path", ["", "es/"])
def test_a_first_start_says_what_this_is_with_both_ways_in_above_the_fold(bare_page: Page, path: str) -> None:
    page = bare_page
    page.goto(path)
    expect(page.locator("h1 .at-first")).to_contain_text("jabón" if path else "soap")
    expect(page.locator("[data-in-hand], [data-due]").filter(visible=True)).to_have_count(0)
    assert page.locator(".strip li").count() == 5
    edge = page.locator(".places").bounding_box()
    for way in (*page.locator(".first-ways a").all(), *page.locator(".job").all()):
        box = way.bounding_box()
        assert box and edge and box["height"] >= 64
        # A screen of 390 x 844; longer words may take the quick jobs a little further down.
        assert box["y"] + box["height"] <= edge["y"] or path and "job" in (way.get_attribute("class") or "")


def test_from_today_a_block_in_hand_is_one_tap_on_a_whole_card(bare_page: Page, record: dict[str, Any]) -> None:
    page = bare_page
    floor = begun(Touch(page), record, "oil:1")
    floor.at()
    page.goto("")
    card = page.locator(f"{IN_HAND} a")
    expect(card).to_contain_text(record["formula"]["name"])
    expect(card).to_contain_text(step_of(record, "oil:1")["title"])
    box = card.bounding_box()
    # 20 mm at 160 px to the inch: Applied Ergonomics 44(2), 2013.
    assert box and box["height"] >= 126 and box["width"] >= 300
    expect(page.locator(".at-first").filter(visible=True)).to_have_count(0)
    card.tap()
    floor.titled(step_of(record, "oil:1")["title"])


def test_what_is_due_is_told_with_its_time_and_where_nothing_is_one_line_says_what_comes_next(
    new_context: NewContext, record: dict[str, Any]
) -> None:
    context = new_context(**PHONE, service_workers="block", timezone_id="UTC", locale="en-US")
    context.watch.allow("Service Worker registration blocked")  # type: ignore[attr-defined]
    page = context.new_page()
    own_workshop(page)
    page.goto("sources/")
    now = datetime.now(UTC).replace(microsecond=0)
    put(page, [record, *checked_today(now)])
    copied = "(local) => localStorage.setItem('tarewell-copied', JSON.stringify({local, records: 1}))"
    page.evaluate(copied, now.isoformat())
    page.goto("")
    nothing = page.locator("[data-nothing-due]")
    expect(nothing).to_contain_text("Nothing is due. Next: Eyewash, weekly run,")
    expect(nothing).to_contain_text(f"{(now + WEEK).strftime('%b')} {(now + WEEK).day}")
    expect(page.locator(DUE)).to_have_count(0)
    put(page, in_mould(record, now))
    page.evaluate(NOT_IN_HAND, f"block:{record['code']}/1")
    page.goto("sources/")
    page.goto("")
    row = page.locator(DUE)
    expect(row).to_have_count(1)
    expect(row).to_contain_text(f"Unmold {record['formula']['name']}, block 1")
    ends = now + timedelta(hours=2)
    expect(row).to_contain_text(f"{ends.hour % 12 or 12}:{ends.minute:02} {'AM' if ends.hour < 12 else 'PM'}")
    expect(nothing).to_be_hidden()
    row.locator("a").tap()
    Floor(Touch(page), record["code"]).comes("closed")
    # Eight days later neither the eyewash nor the copy holds any more; the mould is forgotten.
    page.clock.install(time=now + WEEK + timedelta(days=1))
    page.goto("")
    expect(row).to_have_count(2)
    expect(row.first).to_contain_text("The eyewash check is overdue")
    expect(page.locator(f"{DUE}[data-alarm]").last).to_contain_text("Make a copy of the records")
