"""Upkeep on a phone: from an empty list to what is due on Today, with no network; what was found stays until it is mended."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

from conftest import PHONE
from floor import put
from playwright.sync_api import BrowserContext, Page, expect
from screens import kept_offline, own_workshop, stored, there
from site_server import SiteServer
from test_today import stamped

NewContext = Callable[..., BrowserContext]
DUE = '[data-due] li:has(a[href*="upkeep"])'


def told(page: Page) -> list[tuple[Any, ...]]:
    events = sorted(stored(page, "events"), key=lambda event: event["at"])
    return [(event["kind"], event["subject"], event.get("person"), event.get("found")) for event in events if "upkeep" in event["subject"]]


def test_who_keeps_nothing_is_asked_for_nothing_and_a_first_done_begins_it_with_the_server_dead(
    new_context: NewContext, mortal_server: Callable[..., SiteServer]
) -> None:
    server = mortal_server()
    page = new_context(server, **PHONE).new_page()
    own_workshop(page)
    page.goto("workshop/upkeep/")
    kept_offline(page)
    server.kill()
    page.reload()
    expect(page.locator("[data-upkeep-none]")).to_be_visible()
    bowl = page.locator('[data-usual="bowl"]')
    bowl.locator("summary").tap()
    # 29 CFR 1910.147(d): what can hurt, in its order, stands above the first step.
    danger, step = bowl.locator(".upkeep-danger"), bowl.locator("ol li").first
    expect(danger).to_contain_text("Lock and tag. Block the frame. Bleed the air. Try to start it. Only then reach in.")
    above, below = danger.bounding_box(), step.bounding_box()
    assert above and below and above["y"] + above["height"] <= below["y"]
    # Nobody has said who: nothing is stored.
    bowl.get_by_role("button", name="Done just now").tap()
    expect(page.locator("[data-notice]")).not_to_be_empty()
    assert told(page) == []
    page.locator('input[name="person"]').fill("Q")
    bowl.get_by_role("button", name="Done just now").tap()
    kept = there(page, "#upkeep-bowl")
    assert told(page) == [("saved", "upkeep:bowl", None, None), ("upkeep_done", "upkeep_log:bowl", "Q", None)]
    # Not due: Today tells nothing of it but its day.
    page.goto("")
    expect(page.locator("[data-due]")).to_be_visible()
    expect(page.locator(DUE)).to_have_count(0)
    # Found something: it stays over a later round, and after a restart, until somebody says that it is mended.
    page.goto("workshop/upkeep/#bowl")
    expect(kept).to_have_attribute("open", "")
    page.locator('input[name="person"]').fill("J")
    kept.locator("textarea").fill("Crack near the thread")
    kept.get_by_role("button", name="Done", exact=True).tap()
    expect(kept.locator(".upkeep-faults")).to_contain_text("Crack near the thread")
    kept.get_by_role("button", name="Done", exact=True).tap()
    expect(kept.locator(".upkeep-log li")).to_have_count(3)
    page.goto("")
    expect(page.locator(DUE)).to_contain_text("Something was found there and isn’t mended.")
    page.locator(DUE).locator("a").tap()
    page.locator('input[name="person"]').fill("J")
    there(page, "#upkeep-bowl[open]").get_by_role("button", name="It’s mended").tap()
    expect(page.locator("#upkeep-bowl .upkeep-faults li")).to_have_count(0)
    page.goto("")
    expect(page.locator("[data-due]")).to_be_visible()
    expect(page.locator(DUE)).to_have_count(0)


def test_what_is_overdue_comes_first_by_days_and_by_blocks_and_an_entry_is_taken_back(new_context: NewContext, server: SiteServer) -> None:
    context = new_context(server, **PHONE, service_workers="block", timezone_id="UTC", locale="en-US")
    context.watch.allow("Service Worker registration blocked")  # type: ignore[attr-defined]
    page = context.new_page()
    own_workshop(page)
    page.goto("workshop/upkeep/")
    there(page, "[data-upkeep-kept]")
    now = datetime.now(UTC).replace(microsecond=0)
    long_ago = (now - timedelta(days=40)).date().isoformat()
    kept = [
        stamped(f"upkeep:{key}", "saved", now - timedelta(days=40), values={"name": name, "counts_from": long_ago, **every})
        for key, name, every in (
            ("weights", "Check weights on each scale", {"every_days": "30"}),
            ("wires", "Look over the cutting wires", {"every_blocks": "2"}),
            ("own-1", "Hoist hook", {"every_days": "365", "danger": "Nobody under the load", "steps": "Look at the latch\nTurn the hook"}),
        )
    ]
    for event in kept:
        del event["person"]
    closed = [
        stamped(f"block:QM-1/{n}", "closed", now - timedelta(days=n), outcome="poured", reason="", record=None) for n in (1, 2)
    ]
    put(page, [*kept, *closed])
    page.reload()
    rows = page.locator("[data-upkeep-kept] > li > details")
    # By hand: 40 days of 30 are over; 2 of 2 blocks are due; of a year 40 days are gone.
    expect(rows.locator("summary strong")).to_have_text(["Check weights on each scale", "Look over the cutting wires", "Hoist hook"])
    expect(rows.nth(0)).to_contain_text("overdue")
    expect(rows.nth(1)).to_contain_text("2 of 2 blocks")
    page.goto("")
    expect(page.locator(DUE)).to_have_count(1)
    expect(page.locator(DUE)).to_contain_text("Check weights on each scale")
    expect(page.locator(DUE)).to_contain_text("More upkeep that’s due: 1.")
    # In Spanish the usual task speaks Spanish; what the workshop wrote stays as it is.
    page.goto("es/workshop/upkeep/")
    expect(rows.locator("summary strong")).to_have_text(["Pesas de control en cada báscula", "Revisar los alambres de corte", "Hoist hook"])
    page.goto("workshop/upkeep/#own-1")
    there(page, "#upkeep-own-1[open]")
    expect(rows.nth(2)).to_contain_text("Nobody under the load")
    expect(rows.nth(2).locator("ol li")).to_have_text(["Look at the latch", "Turn the hook"])
    weights = page.locator("#upkeep-weights")
    weights.locator("summary").tap()
    page.locator('input[name="person"]').fill("J")
    weights.get_by_role("button", name="Done", exact=True).tap()
    expect(rows.locator("summary strong").first).to_have_text("Look over the cutting wires")
    # Done was wrong: taken back by whoever says so, at a second press, and overdue again.
    back = weights.locator("[data-upkeep-back]")
    back.tap()
    page.wait_for_timeout(400)
    back.tap()
    expect(rows.locator("summary strong").first).to_have_text("Check weights on each scale")
    assert told(page)[-1][:3] == ("upkeep_taken_back", "upkeep_log:weights", "J")
