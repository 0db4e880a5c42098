"""Several phones in one workshop, as each of them sees it. The server is a stand-in that answers as its contract has it."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from conftest import PHONE
from floor import _PUT, Floor, block_events, done, put, step_of
from playwright.sync_api import BrowserContext, Page, expect
from screens import Touch, own_workshop, stored, there, until
from test_accessibility import axe, violations, wide_parts

__all__ = ["axe"]

NewContext = Callable[..., BrowserContext]
STUB = Path(__file__).with_name("stub_shop.mjs")
SHOP, OURS, BENCH = "aaaaaaaa", "bbbbbbbbbb", "dddddddddd"
SECRET = "a" * 32
PAIRED = {"seed": "SUSEED", "device": OURS, "shop": SHOP, "name": "tarewell.local", "called": "floor phone"}


def phone(device: str, name: str, **said: Any) -> dict[str, Any]:
    return {"device": device, "name": name, "owner": False, "seen": "2026-11-30T10:41:00.000Z", "connected": False, "revoked": None} | said


def shop_page(new_context: NewContext, **shop: Any) -> Page:
    """A page on a phone that a shop server serves."""
    context = new_context(**PHONE, service_workers="block")
    context.watch.allow("Service Worker registration blocked by Playwright")  # type: ignore[attr-defined]
    context.route(re.compile(r"/js/vendor/nats\.mjs$"), lambda route: route.fulfill(body=STUB.read_text("utf-8"), content_type="text/javascript"))
    context.route("**/shop.json", lambda route: route.fulfill(json={"shop": SHOP, "name": "tarewell.local"}))
    page = context.new_page()
    own_workshop(page)
    # As the database of another origin: none before the page is there.
    page.add_init_script(f"if (location.origin !== 'null') localStorage.getItem('stub-shop') ?? localStorage.setItem('stub-shop', {json.dumps(json.dumps(shop))})")
    return page


def change(page: Page, **shop: Any) -> None:
    """What the server knows from now on, and tells."""
    page.evaluate("(shop) => { localStorage.setItem('stub-shop', JSON.stringify({ ...JSON.parse(localStorage.getItem('stub-shop')), ...shop }));"
                  " dispatchEvent(new Event('stub-told')); }", shop)  # fmt: skip


def known(page: Page) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(page.evaluate("localStorage.getItem('stub-shop')"))
    return found


def pair(page: Page) -> None:
    """This phone is one of the shop's, without a tap."""
    draft = {"key": "shop:phone", "values": {}, "base": None, "at": "", "shop": {"phone": PAIRED}}
    page.evaluate(_PUT, {"events": [], "batches": [], "blocks": [], "drafts": [draft]})


def is_right(page: Page, axe: str) -> None:
    page.evaluate(axe)
    assert violations(page) == []
    assert wide_parts(page) == []


def test_a_phone_asks_by_the_name_a_person_gives_it_and_is_in_once_it_is_let_in(new_context: NewContext, axe: str) -> None:
    page = shop_page(new_context, phones=[phone(BENCH, "bench phone", owner=True, connected=True)])
    # Where it is in no shop nothing is said of one, and its page says how to come in.
    page.goto("workshop/phones/")
    expect(page.locator('[data-phones-part="unpaired"]')).to_be_visible()
    expect(page.locator("[data-shop-line]")).to_be_hidden()
    page.goto(f"workshop/phones/#join={SECRET}")
    asks = page.locator("[data-phones-join]")
    asks.locator("button").tap()
    expect(asks.locator(".problem")).not_to_be_empty()
    asks.locator("input").fill("floor phone")
    asks.locator("button").tap()
    expect(page.locator('[data-phones-part="waiting"]')).to_be_visible()
    expect(page.locator("[data-phones-name]")).to_have_text("floor phone")
    is_right(page, axe)
    until(page, "JSON.parse(localStorage.getItem('stub-shop')).asked", "the question at the server")
    assert known(page)["asked"] == {"key": "UPUBLIC", "name": "floor phone"}
    ours = phone(OURS, "floor phone", connected=True)
    change(page, phones=[phone(BENCH, "bench phone", owner=True, connected=True), ours], reply={"device": OURS, "shop": SHOP, "name": "tarewell.local"})
    rows = page.locator("[data-phones-list] > li")
    expect(rows).to_have_count(2)
    expect(rows.first).to_contain_text("floor phone")
    # The secret is used up, and is nowhere any more.
    assert SECRET not in page.url
    expect(page.locator("[data-phones-how]")).to_contain_text("In step with tarewell.local")
    expect(page.locator("[data-phones-owner]")).to_be_hidden()
    is_right(page, axe)
    page.goto("")
    expect(page.locator("[data-shop-line]")).to_contain_text("In step with tarewell.local")
    page.goto("emergency/")
    assert page.locator("[data-shop-line]").count() == 0


def test_an_owner_lets_a_phone_in_and_takes_one_out_by_name(new_context: NewContext, axe: str) -> None:
    page = shop_page(new_context, phones=[phone(OURS, "floor phone", owner=True, connected=True), phone(BENCH, "bench phone")], joining=[])
    page.goto("workshop/phones/")
    pair(page)
    page.reload()
    rows = page.locator("[data-phones-list] > li")
    expect(rows).to_have_count(2)
    page.get_by_role("button", name="Add a phone").tap()
    expect(page.locator("[data-phones-code] svg.qr")).to_be_visible(timeout=60_000)
    # Nine minutes are left of the ten.
    expect(page.locator("[data-phones-minutes]")).to_have_text("Minutes left: 9.")
    change(page, joining=[{"ask": "q1", "name": "cutter phone", "since": "2026-12-01T10:00:00.000Z"}])
    asking = page.locator("[data-phones-asking] > li")
    expect(asking).to_contain_text("cutter phone")
    expect(page.locator("[data-phones-add]")).to_be_hidden()
    is_right(page, axe)
    asking.get_by_role("button", name="Let it in").tap()
    expect(rows).to_have_count(3)
    bench = rows.filter(has_text="bench phone")
    bench.get_by_role("button", name="Take it out").tap()
    question = page.locator("[data-phones-revoke]")
    question.get_by_role("button", name="Leave it in").tap()
    expect(question).to_be_hidden()
    bench.get_by_role("button", name="Take it out").tap()
    # Nobody has said who: nothing is done.
    question.locator(".danger-button").tap()
    expect(question.locator("[data-phones-revoke-problem]")).not_to_be_empty()
    assert [each["do"] for each in known(page)["deeds"]] == ["pair", "confirm"]
    question.locator('input[name="person"]').fill("Q")
    question.locator('input[name="reason"]').fill("Lost in the yard")
    question.locator(".danger-button").tap()
    expect(bench).to_contain_text("By Q.")
    expect(bench).to_contain_text("Lost in the yard")
    assert known(page)["deeds"][-1] == {"do": "revoke", "device": BENCH}
    [event] = [each for each in stored(page, "events") if each["kind"] == "phone_revoked"]
    assert (event["subject"], event["person"], event["phone"], event["reason"]) == (f"phone:{BENCH}", "Q", "bench phone", "Lost in the yard")
    # Out of the server's reach it says so, and that nothing waits for it; taken out itself, it says that.
    for state, words in (("gone", "can’t be heard"), ("revoked", "This phone was taken out of the shop.")):
        change(page, state=state)
        page.reload()
        expect(page.locator("[data-phones-how]")).to_contain_text(words)
    leave = page.locator("details", has_text="Leave the shop with this phone")
    leave.locator("summary").tap()
    leave.locator("button").tap()
    page.wait_for_timeout(400)
    leave.locator("button").tap()
    expect(page.locator('[data-phones-part="unpaired"]')).to_be_visible()
    assert [each["kind"] for each in stored(page, "events")] == ["phone_revoked"]


def test_a_block_in_hand_on_another_phone_is_told_and_taken_over_by_a_name(new_context: NewContext, record: dict[str, Any], axe: str) -> None:
    page = shop_page(new_context, phones=[phone(OURS, "floor phone", connected=True), phone(BENCH, "bench phone", connected=True)])
    page.goto("")
    here = done(record, "oil:0", block=2)
    # Whoever will go on has said "Ready today?" before.
    put(page, [record, *({**event, "person": "Q" if event["kind"] == "trained" else "J", "device": BENCH} for event in here)], person=None)
    # Not paired: nobody knows of phones, and the block goes on as ever.
    floor = Floor(Touch(page), record["code"], 2)
    page.goto(f"scale/#{record['code']}/2")
    floor.comes("person")
    pair(page)
    page.goto("")
    hand = there(page, ".in-hand")
    expect(hand).to_contain_text("J is weighing on “bench phone”, last heard")
    hand.tap()
    floor.comes("elsewhere")
    is_right(page, axe)
    expect(page.locator("[data-stage] h2")).to_have_text("J is weighing on “bench phone”")
    for control in ("key", "shown", "reading", "read"):
        assert page.locator(f'[data-stage] [data-do="{control}"]').count() == 0
    floor.do("take-from-phone")
    page.locator('[data-stage] input[name="person"]').fill("Q")
    floor.do("person-typed")
    floor.titled(step_of(record, "oil:0")["title"])
    events = block_events(page, record["code"], 2)
    assert len(events) == len(here) + 1
    taken = events[-1]
    assert (taken["kind"], taken["person"], taken["from"], taken["phone"], taken["device"]) == ("taken_over", "Q", BENCH, "bench phone", OURS)
    # It goes out, and the other phone sees the same the other way round.
    until(page, "JSON.parse(localStorage.getItem('stub-shop')).sent?.some((each) => each.kind === 'taken_over')", "the deed at the server")
    # Both went on while out of reach: what the other weighed too is told, and the first reading counts.
    step = step_of(record, "oil:0")
    (weighed,) = [event for event in done(record, block=2) if event.get("step") == "oil:0"]
    floor.do("shown")
    floor.titled(step_of(record, "oil:1")["title"])
    put(page, [{**weighed, "id": "seed-late", "at": "2099-01-01T00:00:00.000Z", "person": "J", "device": BENCH}])
    page.reload()
    twice = page.locator("[data-floor-twice]")
    expect(twice.get_by_role("link")).to_have_text(step["title"])
