"""The safety walk from its beginning to the training record and to the scale; no answer and no stop is lost."""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from conftest import AT_HOME, PHONE, LameSite, visitor
from floor import Floor, as_person, block_events, done, put
from killing import kill, main_process
from playwright.sync_api import BrowserContext, Error, Page, Playwright, expect
from screens import Keys, Touch, draft_kept, own_workshop, stored, there
from site_server import SiteServer
from test_accessibility import axe, wide_parts
from walking import (
    PHASE,
    SETTLED,
    STAGE,
    answer_all,
    audit_part,
    begin,
    daily_check,
    draw,
    press,
    press_in,
    put_walk,
    set_place,
    shown,
    sign,
    skip_to,
    walk_events,
    walk_page,
)

NewContext = Callable[..., BrowserContext]

__all__ = ["axe"]


@pytest.fixture
def page(bare_page: Page) -> Page:
    """No walk needs Python, so none is started beside it."""
    return bare_page


def bare(event: dict[str, Any]) -> dict[str, Any]:
    """An event but for what differs each time."""
    return {name: value for name, value in event.items() if name not in ("id", "at", "local", "subject")}


def test_a_walk_is_made_by_touch_from_its_beginning_to_the_training_record_and_needs_no_python(
    new_context: NewContext, lame_site: LameSite
) -> None:
    lame_site.take_python_away()
    page = visitor(new_context, lame_site)
    hands = Touch(page)
    walk_page(page)
    expected = [bare(event) for event in walk_events(page, (PHASE,))]
    begin(hands)
    assert shown(page).startswith(f"{PHASE}-")
    answer_all(hands)
    draw(page)
    press(hands, "sign")
    expect(page.locator(STAGE)).to_contain_text("signed and kept")
    events = sorted(stored(page, "events"), key=lambda event: event["at"])
    signed = events[-1]
    assert signed["path"].startswith("M") and "L" in signed["path"]
    # What other tests store without a tap is just what a walk leaves.
    expected[-1] |= {"initials": "", "path": signed["path"]}
    assert [bare(event) for event in events] == expected
    page.goto("safety/")
    expect(page.locator("[data-trainings] > li")).to_contain_text("R")
    expect(page.locator("[data-walks-in-hand]")).to_be_hidden()


def test_a_walk_is_begun_answered_and_signed_with_initials_by_keyboard_alone(page: Page) -> None:
    hands = Keys(page)
    walk_page(page)
    begin(hands)
    press(hands, "yes")
    assert shown(page).endswith("/teach")
    press(hands, "yes")
    skip_to(hands)
    sign(hands, "R.")
    expect(page.locator(STAGE)).to_contain_text("signed and kept")
    kinds = [event["kind"] for event in stored(page, "events")]
    assert kinds.count("walk_begun") == kinds.count("walk_signed") == 1


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
    there(page, SETTLED)
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
                begin(Touch(page), phases=("protection",))
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


def test_each_screen_of_a_walk_is_accessible_and_fits(page: Page, axe: str) -> None:
    hands = Touch(page)
    walk_page(page)
    begin(hands)
    wrong = audit_part(page, axe, "point", ":root")

    def large(kind: str) -> list[str]:
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        found = [f"{kind} at 200 %: {each}" for each in wide_parts(page)]
        page.evaluate("document.documentElement.style.fontSize = ''")
        return found

    wrong += large("point")
    for button in page.locator(f"{STAGE} .answer").all():
        box = button.bounding_box()
        assert box and box["height"] >= 126, "20 mm at 160 px to the inch"
    press(hands, "no")
    wrong += audit_part(page, axe, "stop")
    page.locator("#clear-person").fill("Q")
    page.locator("#clear-reason").fill("done")
    press(hands, "clear")
    press(hands, "yes")
    assert shown(page).endswith("/teach")
    wrong += audit_part(page, axe, "teach") + large("teach")
    skip_to(hands)
    wrong += audit_part(page, axe, "sign") + large("sign")
    page.locator("#initials").fill("R")
    press(hands, "sign")
    wrong += audit_part(page, axe, "signed")
    page.goto("safety/")
    expect(page.locator("[data-trainings] > li")).to_have_count(1)
    assert wrong + audit_part(page, axe, "training record", "[data-trainings]") == []


# What a block of premixed lye takes, and what one of solid caustic takes besides.
PREMIXED = ("before", "protection", "tank", "mix")


def at_the_question(page: Page, record: dict[str, Any], block: int = 1) -> Floor:
    """A block that nobody has begun, at "Ready today?"."""
    page.goto("scale/")
    put(page, [record])
    floor = Floor(Touch(page), record["code"], block)
    floor.open()
    floor.comes("ready")
    return floor


def names(page: Page) -> list[str]:
    return page.locator(f'{STAGE} [data-do="trained"]').all_inner_texts()


def test_ready_today_is_asked_before_the_first_step_and_never_at_the_lye_and_the_next_block_of_the_day_asks_nothing(
    page: Page, record: dict[str, Any]
) -> None:
    own_workshop(page)
    walk_page(page)
    set_place(page)
    floor = at_the_question(page, record)
    expect(page.locator("[data-floor-head]")).to_contain_text("1 of")
    for words in ("Not done today", "No eyewash check on record", "No signed safety walk covers it"):
        expect(page.locator(STAGE)).to_contain_text(words)
    floor.hands.press(floor.button("ready"))
    expect(page.locator('[data-slot="problem"]')).not_to_be_empty()
    reason = "I run this shop and work alone"
    floor.why(reason)
    draft_kept(page, reason)
    page.reload()
    assert floor.at() == "ready"
    expect(page.locator('[name="why"]:checked')).to_have_value(reason)
    floor.do("ready")
    [event] = [each for each in stored(page, "events") if each["kind"] == "trained"]
    said = (event["helper"], event["reason"], event["person"], event["daily"], event["eyewash"])
    assert said == (None, reason, "Q", "missing", {"weekly": "never", "yearly": "never"})
    # Across the lye, from the step before it to the one after, and from there to the end of the block.
    keys = [step["key"] for step in record["steps"]]
    lye = [number for number, key in enumerate(keys) if key in ("temp:lye", "reserve:lye") or key.startswith("lye:")]
    for first, last in ((lye[0] - 1, lye[-1] + 1), (len(keys) - 1, len(keys) - 1)):
        weighed = {event["step"] for event in block_events(page, record["code"]) if "step" in event}
        put(page, [event for event in done(record, keys[first])[1:] if event["step"] not in weighed])
        page.reload()
        for _ in keys[first : last + 1]:
            assert floor.at() not in ("ready", "barred"), "asked once a day"
            floor.step()
    floor.comes("closing")
    for words in (reason, "No daily check that day."):
        expect(page.locator(f"{STAGE} ul.training")).to_contain_text(words)
    floor.do("close")
    floor.comes("closed")
    expect(page.locator(f"{STAGE} ul.training")).to_contain_text("No daily check that day.")
    second = Floor(Touch(page), record["code"], 2)
    second.open()
    assert second.at() == "checks"
    assert block_events(page, record["code"], 2) == [], "to look at a block begins none"
    second.step()
    kinds = [each["kind"] for each in block_events(page, record["code"], 2)]
    assert kinds[0] == "trained" and set(kinds[1:]) == {"checked"}
    assert block_events(page, record["code"], 2)[0]["reason"] == reason


def test_what_a_yes_opens_moves_nothing_under_the_finger_and_hears_no_stray_tap_and_the_scale_says_what_is_left(
    page: Page, record: dict[str, Any]
) -> None:
    own_workshop(page)
    floor = at_the_question(page, record)
    page.locator('[data-do="daily-check"]').tap()
    page.wait_for_url("**/safety/**")
    there(page, SETTLED)
    row = page.locator('li[data-point="daily-eyewash"]')
    yes, here = row.locator('[data-do="yes"]'), row.locator("[data-eyewash-here]")
    yes.scroll_into_view_if_needed()
    before = yes.bounding_box()
    # As it opens, taps go through it to nothing.
    opened_shut = """(row) => new Promise((done) => {
      const here = row.querySelector("[data-eyewash-here]");
      new MutationObserver(() => done(here.inert)).observe(here, { attributeFilter: ["hidden"] });
      row.querySelector('[data-do="yes"]').click();
    })"""
    assert row.evaluate(opened_shut)
    expect(row.locator("[data-eyewash-first]")).to_be_visible()
    expect(here).not_to_have_attribute("inert", "")
    assert yes.bounding_box() == before
    press_in(page.locator('li[data-point="daily-floor"]'), "yes")
    page.locator("[data-way-back]").tap()
    floor.comes("ready")
    expect(page.locator(STAGE)).to_contain_text(re.compile("Not finished today. Still to answer: .*Eyewash"))
    expect(page.locator(STAGE)).not_to_contain_text("Floor and way out")


def test_who_works_alone_walks_and_signs_and_is_ready_by_the_daily_check_with_no_question_at_the_scale(
    page: Page, record: dict[str, Any]
) -> None:
    own_workshop(page)
    hands = Touch(page)
    walk_page(page)
    set_place(page)
    floor = at_the_question(page, record)
    walk_page(page)
    begin(hands, PREMIXED, helper="Q", guide=" q ")
    skip_to(hands)
    sign(hands)
    walk_page(page)
    expect(page.locator("[data-trainings] > li")).to_contain_text("Guided and signed by the same person.")
    page.goto(f"scale/#{record['code']}/1")
    floor.comes("ready")
    expect(page.locator(STAGE)).to_contain_text("Yours. It’s good until")
    there(page, SETTLED)
    page.locator('[data-do="daily-check"]').tap()
    page.wait_for_url("**/safety/**")
    daily_check(hands, no="daily-floor")
    assert shown(page) == "daily-floor/stop"
    page.locator("[data-way-back]").tap()
    floor.comes("ready")
    expect(page.locator(f"{STAGE} .stop")).to_contain_text("Floor and way out: answered No. No lye for anyone")
    # On up to the lye, and no further.
    floor.step()
    keys = [step["key"] for step in record["steps"]]
    lye = next(key for key in keys if key in ("temp:lye", "reserve:lye") or key.startswith("lye:"))
    put(page, done(record, keys[keys.index(lye) - 1])[1:])
    page.reload()
    assert floor.at() not in ("ready", "barred")
    floor.step()
    floor.comes("barred")
    assert {event["step"] for event in block_events(page, record["code"]) if "step" in event} == {*keys[: keys.index(lye)]}
    page.reload()
    floor.comes("barred")
    # The floor is wet for whoever comes.
    as_person(floor, "J")
    floor.comes("barred")
    expect(page.locator(f"{STAGE} .stop")).to_contain_text("Floor and way out: answered No.")
    as_person(floor, "Q")
    floor.comes("barred")
    page.locator(f"{STAGE} a.main-button").tap()
    page.wait_for_url("**/safety/**")
    assert shown(page) == "daily-floor/stop"
    # Nobody else is here: who guides may say what was done.
    page.locator("#clear-person").fill("Q")
    page.locator("#clear-reason").fill("Wiped dry")
    press(hands, "clear")
    for point in ("daily-floor", "daily-air", "daily-vessel", "daily-phone"):
        press_in(page.locator(f'li[data-point="{point}"]'), "yes")
    assert shown(page) == "daily-done"
    page.locator("[data-way-back]").tap()
    floor.comes("keypad" if lye.startswith("temp") else "confirm")
    # Another block asks nothing: all of it is in the records.
    second = Floor(hands, record["code"], 2)
    second.open()
    assert second.at() == "checks"
    second.step()
    said = block_events(page, record["code"], 2)[0]
    assert (said["kind"], said["helper"], said["reason"], said["daily"], "eyewash" in said) == ("trained", "Q", None, "held", False)


def test_only_a_training_of_all_that_the_lye_takes_is_offered_and_looked_up_anew(page: Page, record: dict[str, Any]) -> None:
    own_workshop(page)
    walk_page(page)
    set_place(page)
    # The work with lye alone: neither the start of the day nor protection.
    put_walk(page, ("tank",), "ana", helper="Ana")
    floor = at_the_question(page, record)
    assert names(page) == []
    other = page.context.new_page()
    walk_page(other)
    put_walk(other, PREMIXED, "bea", helper="Bea")
    page.bring_to_front()
    expect(page.locator(f'{STAGE} [data-do="trained"]')).to_have_text("Bea")
    # A stop takes the cover away at once.
    other.bring_to_front()
    begin(Touch(other), phases=("tank",), helper="bea")
    press(Touch(other), "no")
    page.bring_to_front()
    expect(page.locator(STAGE)).to_contain_text("No signed safety walk covers it")
    other.bring_to_front()
    other.locator("#clear-person").fill("Q")
    other.locator("#clear-reason").fill("Hose changed")
    press(Touch(other), "clear")
    # Cleared it is; only the point answered anew makes the training count again.
    page.bring_to_front()
    expect(page.locator(STAGE)).to_contain_text("No signed safety walk covers it")
    other.bring_to_front()
    press(Touch(other), "yes")
    page.bring_to_front()
    expect(page.locator(f'{STAGE} [data-do="trained"]')).to_have_text("Bea")
    floor.why("A trained person stands by")
    floor.do("trained")
    [event] = [each for each in stored(page, "events") if each["kind"] == "trained"]
    assert (event["helper"], event["reason"]) == ("Bea", "A trained person stands by")


def test_another_day_asks_anew_while_lye_is_to_come(page: Page, record: dict[str, Any]) -> None:
    page.goto("scale/")
    lye = next(step["key"] for step in record["steps"] if step["key"] in ("temp:lye", "reserve:lye"))
    events = done(record, until=lye)
    # Weighed today it would be the middle of a block, in which nobody is asked.
    for event in events:
        event["at"] = "2026-01-02" + event["at"][10:]
    put(page, [record, *events])
    floor = Floor(Touch(page), record["code"])
    floor.open()
    assert floor.at() == "ready"
