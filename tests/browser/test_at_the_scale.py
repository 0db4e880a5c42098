"""A whole block at the scale, offline, from the issued sheet to its record; and what must not happen there."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from conftest import NARROW, PHONE
from floor import PATIENCE, STAGE, Floor, block_events, done, issue, put, reading, record_of, step_of
from playwright.sync_api import BrowserContext, Page, expect
from screens import Hands, Keys, Touch, kept_offline
from site_server import SiteServer

NewContext = Callable[..., BrowserContext]
MakeServer = Callable[..., SiteServer]

SERVER_GONE = "ERR_CONNECTION_REFUSED"


def walk(floor: Floor) -> None:
    """One block with one over-pour of oil and one of lye, each put right, up to its record."""
    page = floor.page
    record = record_of(page, floor.code)
    oil, short = step_of(record, "oil:0"), step_of(record, "lye:naoh:short")
    floor.open()
    floor.sign("Q")
    over_pour_of_oil(floor, oil)

    floor.go_to(short["title"])
    # Far more lye than the first pour's band: it can't be taken back.
    floor.read(reading(short, short["target"] + 160), twice=True)
    if floor.at() == "question":
        floor.do("yes")
    floor.decide(None, "It was spilled or splashed")
    floor.go_to("Pour into the mold")
    # Covered too, and the time until unmoulding runs.
    floor.do("done")
    floor.comes("closing")


def over_pour_of_oil(floor: Floor, oil: dict[str, Any]) -> None:
    floor.go_to(oil["title"])
    # 0.60 kg too much oil: outside the band, not refused, and the way on is offered.
    over = reading(oil, oil["target"] + 60)
    floor.read(over)
    floor.comes("recovery")
    assert [event["reading"] for event in block_events(floor.page, floor.code) if event["kind"] == "weighed"] == [over]
    floor.decide("lye", "The valve was closed too late")


def close(floor: Floor) -> None:
    record = floor.page.locator(f'{STAGE} [data-region="scale_record"]')
    expect(record).to_contain_text("Superfat", timeout=2 * PATIENCE)
    floor.do("close")
    floor.comes("closed")


def issued_without_server(server: SiteServer, page: Page, hands: Hands, watch: Any) -> Floor:
    """A batch that was issued while there was a server; there is none any more."""
    watch.allow(SERVER_GONE)
    page.goto("")
    kept_offline(page)
    code = issue(page)
    server.kill()
    return Floor(hands, code)


def whole_block(floor: Floor) -> None:
    page = floor.page
    walk(floor)
    close(floor)
    events = block_events(page, floor.code)
    closed = events[-1]
    assert closed["kind"] == "closed" and closed["outcome"] == "poured"
    assert all(event["person"] == "Q" for event in events)
    page.reload()
    floor.comes("closed")
    assert block_events(page, floor.code) == events


def test_a_block_with_an_over_pour_of_oil_and_one_of_lye_goes_by_touch_with_the_server_dead(
    new_context: NewContext, mortal_server: MakeServer
) -> None:
    server = mortal_server("/")
    context = new_context(server, **PHONE)
    page = context.new_page()
    whole_block(issued_without_server(server, page, Touch(page), context.watch))


def test_the_same_block_goes_by_keyboard_alone_under_a_sub_path_with_the_server_dead(
    new_context: NewContext, mortal_server: MakeServer
) -> None:
    server = mortal_server("/tools/soap/")
    context = new_context(server, viewport=PHONE["viewport"])
    page = context.new_page()
    whole_block(issued_without_server(server, page, Keys(page), context.watch))


def test_an_over_pour_is_put_right_by_touch_on_the_smallest_phone_with_the_server_dead(
    new_context: NewContext, mortal_server: MakeServer
) -> None:
    server = mortal_server("/")
    context = new_context(server, **NARROW)
    page = context.new_page()
    floor = issued_without_server(server, page, Touch(page), context.watch)
    record = record_of(page, floor.code)
    page.goto("scale/")
    put(page, done(record, "temp:oils"), person=None)
    floor.open()
    floor.sign("Q")
    over_pour_of_oil(floor, step_of(record, "oil:0"))
    assert floor.at() == "weigh"
    (decision,) = [event for event in block_events(page, floor.code) if event["kind"] == "decided"]
    assert (decision["choice"], decision["reason"]) == ("lye", "The valve was closed too late")


def test_every_block_in_progress_can_be_reached_from_the_list_however_many_there_are(page: Page) -> None:
    record = record_of(page, issue(page))
    put(page, [event for block in range(1, 23) for event in done(record, record["steps"][1]["key"], block)])
    page.goto("scale/")
    rows = page.locator(f"{STAGE} [data-list='in-hand'] .floor-row")
    # Twenty fill more than a phone's screen; the rest is one tap behind.
    expect(rows).to_have_count(20)
    Floor(Touch(page), record["code"]).do("more")
    expect(rows).to_have_count(22)
    expect(page.locator(f"{STAGE} [data-do='more']")).to_have_count(0)
