"""The emergency card and the safety walk: the card without network, scripts and Python; no answer and no stop is lost."""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from conftest import AT_HOME, NARROW, PHONE, LameSite, visitor
from killing import kill, main_process
from playwright.sync_api import BrowserContext, Error, Locator, Page, Playwright, Route, expect
from screens import PAGES, Hands, Keys, Touch, kept_offline, stored
from site_server import SiteServer
from test_accessibility import audit, axe, settled, wide_parts

NewContext = Callable[..., BrowserContext]

__all__ = ["axe"]

PHASE = "weigh"
STAGE = "[data-stage]"
SETTLED = "[data-stage][data-settled]"


def card_of(page: Page) -> Locator:
    expect(page.locator(".first-move .en")).to_have_text("Water first, phone second.")
    return page.locator("#emergency")


def walk_page(page: Page) -> None:
    page.goto("safety/")
    expect(page.locator("[data-safety][data-ready]")).to_have_count(1)


def begin(hands: Hands, way: str = "read-do", phase: str = PHASE) -> None:
    page = hands.page
    hands.enter(page.locator("#walk-helper"), "R")
    hands.enter(page.locator("#walk-guide"), "Q")
    for box in (f'input[name="way"][value="{way}"]', f'input[name="phase"][value="{phase}"]'):
        if isinstance(hands, Keys):
            # A group of radio buttons is one stop; the arrows go from one to the next.
            hands.reach(page.locator(box if "phase" in box else 'input[name="way"]').first)
            page.keyboard.press("Space")
        else:
            page.locator(box).check()
    hands.press(page.locator('[data-do="begin"]'))
    expect(page.locator(SETTLED)).to_be_visible()


def shown(page: Page) -> str:
    expect(page.locator(SETTLED)).to_have_count(1)
    return page.locator(STAGE).get_attribute("data-shown") or ""


def press(hands: Hands, action: str) -> None:
    """Presses a button of the walk and waits until the screen after it takes taps."""
    page = hands.page
    expect(page.locator(SETTLED)).to_have_count(1)
    page.locator(STAGE).evaluate("(stage) => stage.firstElementChild.setAttribute('data-left', '')")
    hands.press(page.locator(f'{STAGE} [data-do="{action}"]'))
    expect(page.locator("[data-left]")).to_have_count(0)
    expect(page.locator(SETTLED)).to_have_count(1)


def answer_all(hands: Hands) -> int:
    """Says yes to every point until the signature is asked for; gives how many screens that were."""
    for number in range(60):
        screen = shown(hands.page)
        if screen == "sign":
            return number
        press(hands, "on" if screen == "pause" else "yes")
    raise AssertionError("the walk has no end")


@pytest.mark.parametrize("look", [PHONE, NARROW], ids=["390", "320"])
def test_the_card_is_one_tap_away_from_every_page_always_at_the_same_place(new_context: NewContext, look: Any) -> None:
    page = new_context(**look).new_page()
    places = set()
    for path in PAGES:
        page.goto(path)
        button = page.locator(".masthead .emergency-button")
        box = button.bounding_box()
        assert box and box["width"] >= 44 and box["height"] >= 44, path  # WCAG 2.2 SC 2.5.5
        assert "Emergency" in button.inner_text()
        places.add((round(box["x"]), round(box["y"])))
        button.tap()
        card_of(page)
    assert len(places) == 1, places


def test_the_card_is_one_tap_away_in_the_middle_of_a_block(page: Page, record: dict[str, Any]) -> None:
    from floor import begun

    floor = begun(Touch(page), record)
    floor.at()
    button = page.locator(".floor-head .emergency-button")
    box = button.bounding_box()
    assert box and box["width"] >= 44 and box["height"] >= 44
    button.tap()
    card_of(page)


def test_the_card_needs_no_network(page: Page, mortal_server: Callable[..., SiteServer], new_context: NewContext) -> None:
    server = mortal_server()
    context = new_context(server, **PHONE)
    page = context.new_page()
    page.goto("")
    kept_offline(page)
    server.kill()
    page.locator(".emergency-button").tap()
    card_of(page)
    page.locator('.tile[href="#skin"]').tap()
    expect(page.locator("#skin [data-flush-left]")).to_have_text("30:00")


def test_the_card_needs_no_script(new_context: NewContext) -> None:
    context = new_context(**PHONE, service_workers="block")
    context.watch.allow("ERR_FAILED", "Failed to load")

    def blocked(route: Route) -> None:
        if route.request.resource_type == "script":
            route.abort()
        else:
            route.continue_()

    context.route("**/*", blocked)
    page = context.new_page()
    page.goto("emergency/")
    for card in page.locator(".tile").all():
        target = page.locator(card.get_attribute("href") or "")
        card.tap()
        expect(target).to_be_in_viewport()
        page.go_back()
    expect(page.locator("#eyes [data-flush-still]")).to_be_visible()
    page.locator('label[for="show-es"]').tap()
    expect(page.locator(".first-move .es")).to_be_visible()
    expect(page.locator(".first-move .en")).to_be_hidden()


def test_the_card_needs_no_python(new_context: NewContext, lame_site: LameSite) -> None:
    lame_site.take_python_away()
    page = visitor(new_context, lame_site)
    page.goto("safety/")
    page.locator(".emergency-button").tap()
    page.locator('.tile[href="#eyes"]').tap()
    expect(page.locator("#eyes [data-flush-left]")).to_be_visible()


def left_seconds(page: Page) -> int:
    minutes, seconds = page.locator("#eyes [data-flush-left]").inner_text().split(":")
    return 60 * int(minutes) + int(seconds)


def test_the_rinsing_is_timed_by_the_clock_on_the_wall_through_sleep_and_reload(page: Page) -> None:
    page.clock.install()
    page.goto("emergency/")
    expect(page.locator("#eyes [data-flush-running]")).to_be_hidden()
    page.locator('.tile[href="#eyes"]').click()
    expect(page.locator("#eyes [data-flush-left]")).to_be_visible()
    assert left_seconds(page) >= 1795
    # As a phone that sleeps: the clock goes on, timers don't.
    page.clock.fast_forward("20:00")
    page.clock.run_for(600)
    assert 585 <= left_seconds(page) <= 600
    page.reload()
    assert 580 <= left_seconds(page) <= 600
    page.clock.fast_forward("10:01")
    page.clock.run_for(600)
    assert left_seconds(page) == 0
    expect(page.locator("#eyes [data-flush-over]")).to_be_visible()
    # Long after, it is another accident: the time begins anew by itself.
    page.clock.fast_forward("45:00")
    page.reload()
    assert left_seconds(page) >= 1795
    page.clock.fast_forward("05:00")
    page.locator("#eyes [data-flush-again]").click()
    assert left_seconds(page) >= 1795


def test_the_workshop_s_own_number_and_place_stand_on_the_card_once_they_are_saved(page: Page) -> None:
    page.goto("emergency/")
    # An invented workshop's address must never be read out to an ambulance.
    expect(page.locator('[data-filled="address"]')).to_be_hidden()
    page.goto("workshop/edit/#safety/safety")
    form = page.locator('form[data-task="safety"]')
    for name, text in (("emergency_number", "999 1"), ("address", "Mill Lane 3, Reedham"), ("eyewash", "by the door")):
        form.locator(f'[name="{name}"]').fill(text)
    form.get_by_role("button", name="Save ").tap()
    expect(page).to_have_url(re.compile(r"/workshop/$"))
    page.locator(".emergency-button").tap()
    expect(page.locator('[data-fill="address"]')).to_have_text("Mill Lane 3, Reedham")
    expect(page.locator("a.call-button")).to_have_attribute("href", "tel:9991")
    expect(page.locator('[data-unfilled="emergency_number"]').first).to_be_hidden()


@pytest.mark.parametrize("path", ["emergency/", "safety/"])
def test_each_language_is_one_tap_away_and_both_stand_side_by_side_on_a_wide_screen(page: Page, path: str) -> None:
    page.goto(path)
    settled(page)
    english, spanish = page.locator("#main .en:visible"), page.locator("#main .es:visible")
    expect(english).not_to_have_count(0)
    expect(page.locator(".two-languages > :not(fieldset) .es:visible")).to_have_count(0)
    page.locator('label[for="show-es"]').tap()
    expect(page.locator(".two-languages > :not(fieldset) .en:visible")).to_have_count(0)
    page.locator('label[for="show-both"]').tap()
    both = english.count()
    expect(spanish).to_have_count(both)
    page.set_viewport_size({"width": 1100, "height": 800})
    expect(spanish).to_have_count(english.count())


def test_the_wall_card_prints_in_both_languages(page: Page) -> None:
    page.goto("emergency/")
    page.emulate_media(media="print")
    for card in page.locator("section.card").all():
        assert card.locator("li .en").first.is_visible() and card.locator("li .es").first.is_visible()
    expect(page.locator(".tiles")).to_be_hidden()


def test_the_order_for_a_screen_reader_is_first_move_accidents_call_cards(page: Page) -> None:
    page.goto("emergency/")
    settled(page)
    tree = page.locator("#main").aria_snapshot()
    order = ["Emergency card", "Water first", 'link "In the eyes"', 'link "Spill"', 'heading "Call"', 'heading "In the eyes"', 'heading "Spill"']
    places = [tree.find(each) for each in order]
    assert -1 not in places and places == sorted(places), list(zip(order, places, strict=True))


@pytest.mark.parametrize("kind", [Touch, Keys], ids=["touch", "keyboard"])
def test_a_walk_from_its_beginning_to_the_training_record(page: Page, kind: type) -> None:
    hands = kind(page)
    walk_page(page)
    begin(hands)
    assert shown(page).startswith(f"{PHASE}-")
    answer_all(hands)
    hands.enter(page.locator("#initials"), "R.")
    press(hands, "sign")
    expect(page.locator(STAGE)).to_contain_text("signed and kept")
    kinds = [event["kind"] for event in stored(page, "events")]
    assert kinds.count("walk_begun") == kinds.count("walk_signed") == 1
    page.goto("safety/")
    expect(page.locator("[data-trainings] > li")).to_contain_text("R")
    expect(page.locator("[data-walks-in-hand]")).to_be_hidden()


def test_a_walk_needs_no_python_from_first_to_last_tap(new_context: NewContext, lame_site: LameSite) -> None:
    lame_site.take_python_away()
    page = visitor(new_context, lame_site)
    hands = Touch(page)
    walk_page(page)
    begin(hands, way="do-confirm", phase="protection")
    expect(page.locator("details.look")).not_to_have_attribute("open", "")
    answer_all(hands)
    pad = page.locator("[data-pad]").bounding_box()
    assert pad
    page.mouse.move(pad["x"] + 30, pad["y"] + 30)
    page.mouse.down()
    page.mouse.move(pad["x"] + 90, pad["y"] + 60, steps=4)
    page.mouse.up()
    press(hands, "sign")
    [signed] = [event for event in stored(page, "events") if event["kind"] == "walk_signed"]
    assert signed["path"].startswith("M") and "L" in signed["path"]


def test_a_no_stops_the_walk_until_somebody_clears_it_by_name_with_what_was_done(page: Page) -> None:
    hands = Touch(page)
    walk_page(page)
    begin(hands)
    point = shown(page)
    press(hands, "no")
    assert shown(page) == f"{point}/stop"
    for again in range(2):
        expect(page.locator(".stopped")).to_be_visible()
        expect(page.locator(f'{STAGE} [data-do="yes"]')).to_have_count(0)
        if again == 0:
            page.reload()
    assert shown(page) == f"{point}/stop"
    page.locator('[data-do="clear"]').tap()
    expect(page.locator("[data-clear-problem]")).to_be_visible()
    page.goto("safety/")
    expect(page.locator("[data-walks-in-hand]")).to_contain_text("STOPPED")
    page.locator("[data-walks-in-hand] a").tap()
    expect(page.locator(".stopped")).to_be_visible()
    page.locator("#clear-person").fill("Q")
    page.locator("#clear-reason").fill("Right tin fetched")
    press(hands, "clear")
    assert shown(page) == point, "a cleared point is asked again"
    [cleared] = [event for event in stored(page, "events") if event["kind"] == "walk_cleared"]
    assert (cleared["person"], cleared["reason"]) == ("Q", "Right tin fetched")


def test_no_answer_and_no_stop_is_lost_when_the_browser_is_killed(
    playwright: Playwright, chromium_options: dict[str, Any], server: SiteServer, tmp_path: Path
) -> None:
    profile = tmp_path / "profile"
    options = {**chromium_options, **PHONE, **AT_HOME, "base_url": server.url}
    address, told = "", ""
    for turn, action in enumerate(("yes", "no", "")):
        context = playwright.chromium.launch_persistent_context(str(profile), **options)
        try:
            page = context.pages[0]
            if turn == 0:
                walk_page(page)
                begin(Touch(page), phase="protection")
                address = page.url
            else:
                page.goto(address)
                assert shown(page) == told, "not the point at which the browser was killed"
            if action:
                press(Touch(page), action)
                told = shown(page)
                kill(main_process(profile))
        finally:
            with suppress(Error):  # gone already
                context.close()
    assert told.endswith("/stop")


def test_eyewash_checks_are_dated_and_an_overdue_one_is_loud_also_on_the_card(page: Page) -> None:
    page.clock.install()
    walk_page(page)
    weekly = page.locator('[data-eyewash-check="weekly"]')
    expect(weekly.locator('[data-state="never"]')).to_be_visible()
    weekly.locator('[data-do="eyewash"]').click()
    expect(weekly.locator("[data-eyewash-problem]")).to_be_visible()
    weekly.locator("input").fill("Q")
    page.clock.run_for(400)
    weekly.locator('[data-do="eyewash"]').click()
    expect(weekly.locator('[data-state="last"]')).to_be_visible()
    expect(weekly.locator('[data-state="over"]')).to_be_hidden()
    # ANSI/ISEA Z358.1, 4.6.2: weekly.
    for hours, overdue in ((7 * 24, False), (24, True)):
        page.clock.fast_forward(hours * 3_600_000)
        page.reload()
        expect(page.locator("[data-safety][data-ready]")).to_have_count(1)
        expect(weekly.locator('[data-state="over"]')).to_be_visible(visible=overdue)
    page.goto("emergency/")
    expect(page.locator("[data-eyewash-overdue]")).to_be_visible()


def test_each_screen_of_a_walk_is_accessible_and_fits(page: Page, axe: str) -> None:
    hands = Touch(page)
    walk_page(page)
    settled(page)
    begin(hands)
    wrong = audit(page, axe, "point")
    for button in page.locator(f"{STAGE} .answer").all():
        box = button.bounding_box()
        assert box and box["height"] >= 126, "20 mm at 160 px to the inch"
    press(hands, "no")
    wrong += audit(page, axe, "stop")
    page.locator("#clear-person").fill("Q")
    page.locator("#clear-reason").fill("done")
    press(hands, "clear")
    seen: set[str] = set()
    for _ in range(60):
        screen = shown(page)
        kind = "teach" if screen.endswith("/teach") else screen if screen in ("pause", "sign") else "point"
        if kind not in seen:
            seen.add(kind)
            wrong += audit(page, axe, kind)
            page.evaluate("document.documentElement.style.fontSize = '200%'")
            wrong += [f"{kind} at 200 %: {each}" for each in wide_parts(page)]
            page.evaluate("document.documentElement.style.fontSize = ''")
        if screen == "sign":
            break
        press(hands, "on" if screen == "pause" else "yes")
    assert {"teach", "point", "sign"} <= seen
    page.locator("#initials").fill("R")
    press(hands, "sign")
    wrong += audit(page, axe, "signed")
    page.goto("safety/")
    expect(page.locator("[data-trainings] > li")).to_have_count(1)
    assert wrong + audit(page, axe, "training record") == []


def test_before_lye_is_weighed_the_page_asks_whose_training_covers_it(page: Page, record: dict[str, Any]) -> None:
    from floor import Floor, put

    hands = Touch(page)
    page.goto("scale/")
    put(page, [record])
    floor = Floor(hands, record["code"])
    floor.open()
    for _ in range(40):
        if floor.at() == "trained":
            break
        floor.step()
    expect(page.locator(f"{STAGE} .stop")).to_contain_text("Nobody")
    floor.hands.press(floor.button("untrained"))
    expect(page.locator('[data-slot="problem"]')).not_to_be_empty()
    page.locator('[name="reason"]').fill("The maker alone today")
    floor.do("untrained")
    assert floor.at() == "weigh"
    [event] = [each for each in stored(page, "events") if each["kind"] == "trained"]
    assert (event["helper"], event["reason"], event["person"]) == (None, "The maker alone today", "Q")
    floor.step()
    assert floor.at() != "trained", "asked once a block"


def test_a_signed_walk_of_the_right_phases_is_offered_before_lye_is_weighed(page: Page, record: dict[str, Any]) -> None:
    from floor import Floor, put

    hands = Touch(page)
    walk_page(page)
    for phase in ("weigh", "dissolve", "tank"):
        page.locator(f'input[name="phase"][value="{phase}"]').check()
    begin(hands)
    answer_all(hands)
    page.locator("#initials").fill("R")
    press(hands, "sign")
    page.goto("scale/")
    put(page, [record])
    floor = Floor(hands, record["code"])
    floor.open()
    for _ in range(40):
        if floor.at() == "trained":
            break
        floor.step()
    page.locator(f'{STAGE} [data-do="trained"]', has_text="R").tap()
    expect(page.locator(f'{STAGE}[data-shown="weigh"]')).to_have_count(1)
    [event] = [each for each in stored(page, "events") if each["kind"] == "trained"]
    assert event["helper"] == "R"
