"""What is loud at the scale and on Today: an eyewash that nobody checked, and whose training covers the lye."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from conftest import PHONE, LameSite, visitor
from floor import STAGE, Floor, as_person, begun, block_events, done, put
from playwright.sync_api import BrowserContext, Page, expect
from screens import Touch, draft_kept, own_workshop, stored, until
from test_safety import PREMIXED, at_the_question, names
from test_spanish_scale import ENGLISH
from walking import CHANGED, PHASE, PLACE, begin, press, put_walk, set_place, shown, sign, skip_to, walk_page

NewContext = Callable[..., BrowserContext]
Record = dict[str, Any]

TOLD = "[data-eyewash-told]:visible"
DAY = 24 * 3600 * 1000



def today(page: Page) -> date:
    return date.fromisoformat(
        page.evaluate("() => { const now = new Date(); now.setMinutes(now.getMinutes() - now.getTimezoneOffset());"
                      " return now.toISOString().slice(0, 10); }")
    )  # fmt: skip


def check(page: Page, which: str, days_ago: int, **found: str) -> None:
    """An eyewash check as its form stores it."""
    day = (today(page) - timedelta(days=days_ago)).isoformat()
    at = "2026-01-02T08:00:00" if days_ago else "2026-01-03T08:00:00"
    put(page, [{"id": f"seed-{which}-{days_ago}", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": "eyewash_checked",
                "subject": f"eyewash:{which}", "person": "Q", "day": day, "order": "yes", "way_free": "yes", "tepid": "yes",
                **found}])  # fmt: skip


def place_event(**values: str) -> dict[str, Any]:
    at = "2026-01-01T08:00:00"
    return {"id": "seed-place", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": "saved", "subject": "safety:safety",
            "values": {**PLACE, **values}}  # fmt: skip


@pytest.mark.parametrize("language", ["en", "es"])
def test_home_says_which_check_of_the_eyewash_is_overdue_or_was_never_done_with_python_dead(
    new_context: NewContext, lame_site: LameSite, record: Record, language: str
) -> None:
    lame_site.take_python_away()
    page = visitor(new_context, lame_site)
    own_workshop(page)
    home = "es/" if language == "es" else "./"
    due = page.locator("[data-due] li:has([data-eyewash-state])")
    page.goto(home)
    until(page, "localStorage.getItem('tarewell-eyewash') !== null", "the card's copy of the eyewash")
    expect(page.locator("[data-due]")).to_have_count(1)
    expect(due).to_have_count(0)  # nobody has to check the invented workshop's
    put(page, [record])
    page.reload()
    # Words of shared/safety/page_words.csv.
    weekly, yearly, never, over = {
        "en": ("Weekly run", "Yearly inspection", "No eyewash check on record (weekly and yearly).", "The eyewash check is overdue"),
        "es": ("Prueba semanal", "Inspección anual", "No hay revisiones del lavaojos anotadas (semanal y anual).",
               "La revisión del lavaojos está vencida"),
    }[language]  # fmt: skip
    expect(due).to_have_count(1)
    expect(due).to_contain_text(never)
    expect(due).to_have_attribute("data-alarm", "")
    check(page, "weekly", 10)
    check(page, "yearly", 10)
    page.evaluate(CHANGED)
    page.reload()
    expect(due).to_contain_text(over)
    expect(due).to_contain_text(weekly)
    expect(due).not_to_contain_text(yearly)
    if language == "es":
        assert not ENGLISH.search(due.inner_text())
    due.locator("a").tap()
    expect(page.locator("[data-safety][data-ready]")).to_have_count(1)
    expect(page.locator("#eyewash h2")).to_be_in_viewport()
    page.goto(home)
    expect(due).to_be_visible()
    # Noted in another tab, it is quiet at once.
    other = page.context.new_page()
    other.goto("sources/")
    check(other, "weekly", 0)
    other.evaluate(CHANGED)
    page.bring_to_front()
    expect(due).to_have_count(0)


@pytest.mark.parametrize("language", ["en", "es"])
def test_at_the_scale_it_is_said_until_a_reason_was_given_to_go_on_and_never_beside_digits(
    bare_page: Page, record: Record, language: str
) -> None:
    page = bare_page
    own_workshop(page)
    page.goto(f"{'es/' if language == 'es' else ''}scale/")
    floor = Floor(Touch(page), record["code"])
    floor.comes("lists")
    put(page, [record], None)
    page.reload()
    words = {
        "en": "No eyewash check on record (weekly and yearly).",
        "es": "No hay revisiones del lavaojos anotadas (semanal y anual).",
    }[language]
    loud: dict[str, bool] = {}
    floor.comes("lists")
    expect(page.locator(TOLD)).to_contain_text(words)
    page.locator(f"{STAGE} .floor-row").first.tap()
    floor.comes("blocks")
    expect(page.locator(TOLD)).to_contain_text(words)
    page.locator(f"{STAGE} .floor-row").first.tap()
    floor.comes("person")
    expect(page.locator(TOLD)).to_contain_text(words)
    floor.sign("Q")
    floor.comes("ready")
    expect(page.locator(TOLD)).to_contain_text(words)
    if language == "es":
        assert not ENGLISH.search(page.locator(TOLD).inner_text())
    floor.step()
    lye = next(step["key"] for step in record["steps"] if step["key"] in ("temp:lye", "reserve:lye"))
    # The place of the words doesn't depend on the language, and one oil is weighed like another.
    last = "timer" if language == "en" else "weigh"
    while (screen := floor.at()) != last:
        key = page.locator(f"{STAGE} h2").first.inner_text()
        loud[key] = page.locator(TOLD).count() > 0
        if screen in ("weigh", "keypad"):
            floor.keypad()
            expect(page.locator(TOLD)).to_have_count(0)
            if screen == "weigh":
                floor.do("leave-keypad")
        floor.step()
        if screen == "weigh" and (ahead := [event for event in done(record, lye)[1:] if event["step"] not in own_steps(page, record)]):
            put(page, ahead)
            page.reload()
    told = [key for key, said in loud.items() if said]
    # The reason was given at the question: that day it is not told again.
    assert told == []
    [event] = [each for each in stored(page, "events") if each["kind"] == "trained"]
    assert event["eyewash"] == {"weekly": "never", "yearly": "never"}


def test_before_the_first_step_it_is_said_where_no_reason_was_given_for_it_and_a_fault_in_any_case(
    bare_page: Page, record: Record
) -> None:
    page = bare_page
    own_workshop(page)
    # The answer stored here says nothing of the eyewash.
    floor = begun(Touch(page), record, record["steps"][0]["key"])
    page.reload()
    floor.comes("checks")
    expect(page.locator(TOLD)).to_contain_text("No eyewash check on record (weekly and yearly).")
    said = {"id": "seed-said", "at": "2026-01-03T08:00:00.000Z", "kind": "trained", "subject": f"block:{record['code']}/2", "person": "Q",
            "local": f"{today(page).isoformat()}T08:00:00+00:00", "helper": None, "reason": "alone", "daily": "missing",
            "eyewash": {"weekly": "never", "yearly": "never"}}  # fmt: skip
    at = page.evaluate("new Date().toISOString()")
    put(page, [{**said, "at": at}])
    page.reload()
    floor.comes("checks")
    expect(page.locator(TOLD)).to_have_count(0)
    check(page, "weekly", 0, order="no")
    page.reload()
    floor.comes("checks")
    expect(page.locator(TOLD)).to_contain_text("did NOT pass")


def own_steps(page: Page, record: Record) -> set[str]:
    return {event["step"] for event in block_events(page, record["code"]) if "step" in event}


def mirrored(page: Page) -> str:
    return str(page.evaluate("JSON.parse(localStorage.getItem('tarewell-eyewash') ?? '{}').state"))


def comes_to(page: Page, state: str) -> None:
    # Not by `wait_for_function`: from its second look on it evaluates a string, which the page's own policy forbids.
    for _ in range(100):
        if mirrored(page) == state:
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"the card's copy is {mirrored(page)}, not {state}")


def test_the_card_s_copy_follows_the_day_and_the_workshop_s_days_though_nobody_opens_the_safety_pages(
    bare_page: Page, record: Record
) -> None:
    page = bare_page
    own_workshop(page)
    page.clock.install()
    alarm = page.locator("[data-due] li[data-alarm]:has([data-eyewash-state])")
    page.goto("./")
    put(page, [record])
    check(page, "yearly", 7)
    check(page, "weekly", 7)
    page.reload()
    comes_to(page, "held")
    expect(alarm).to_have_count(0)
    page.clock.fast_forward(DAY)
    # ANSI/ISEA Z358.1, as an eyewash maker's manual gives it: weekly. The eighth day is one too many.
    expect(alarm).to_have_count(1)
    assert mirrored(page) == "over"
    check(page, "weekly", 0)
    page.reload()
    comes_to(page, "held")
    put(page, [place_event(eyewash_days="1")])
    page.clock.fast_forward(2 * DAY)
    page.goto("workshop/")
    comes_to(page, "over")


def test_a_card_that_stays_open_over_midnight_says_it_without_any_module(bare_page: Page) -> None:
    page = bare_page
    page.context.watch.allow("ERR_FAILED")  # type: ignore[attr-defined]
    page.route("**/*.mjs", lambda route: route.abort())
    page.clock.install()
    page.goto("emergency/")
    tomorrow = (today(page) + timedelta(days=1)).isoformat()
    page.evaluate("(from) => localStorage.setItem('tarewell-eyewash', JSON.stringify({state: 'held', overdue_from: from}))", tomorrow)
    page.reload()
    loud = page.locator("[data-eyewash-loud]:visible")
    expect(loud).to_have_count(0)
    page.clock.fast_forward(DAY)
    expect(loud).to_contain_text("overdue")


@pytest.mark.parametrize("language", ["en", "es"])
def test_who_takes_a_block_over_before_the_vessel_is_filled_is_asked_and_between_oil_and_lye_only_kept(
    bare_page: Page, record: Record, language: str
) -> None:
    page = bare_page
    own_workshop(page)
    first = next(step["key"] for step in record["steps"] if step["kind"] == "weigh")
    begun(Touch(page), record, first)
    page.goto(f"{'es/' if language == 'es' else ''}scale/#{record['code']}/1")
    floor = Floor(Touch(page), record["code"])
    assert floor.at() == "weigh"
    as_person(floor, "Bea")
    floor.comes("ready")
    floor.titled({"en": "Ready today?", "es": "¿Todo listo para hoy?"}[language])
    if language == "es":
        text = page.locator(STAGE).inner_text().replace("(in English)", "")
        assert not ENGLISH.search(text), text
    page.locator('[name="reason"]').fill("Q has gone home")
    floor.do("ready")
    lye = next(step for step in record["steps"] if step["key"] in ("temp:lye", "reserve:lye"))
    put(page, done(record, lye["key"])[1:], "Bea")
    page.reload()
    for name in (" bea ", "Q", "Bea"):
        as_person(floor, name)
        assert floor.at() not in ("ready", "barred"), name
    as_person(floor, "Cleo")
    assert floor.at() not in ("ready", "barred")
    kept = [event for event in block_events(page, record["code"]) if event["kind"] == "trained"]
    assert [event["person"] for event in kept] == ["Q", "Bea"], "to look at a block begins none"
    floor.step()
    [cleo] = [event for event in block_events(page, record["code"]) if event["kind"] == "trained"][2:]
    said = (cleo["person"], cleo["helper"], cleo["daily"], cleo["eyewash"], cleo["took_over"])
    assert said == ("Cleo", None, "missing", {"weekly": "never", "yearly": "never"}, True)
    assert cleo["reason"] == {"en": "took over mid-block", "es": "siguió con el bloque ya empezado"}[language]


def test_who_takes_over_once_no_lye_is_left_is_not_asked(bare_page: Page, record: Record) -> None:
    page = bare_page
    floor = begun(Touch(page), record, "mix")
    as_person(floor, "Bea")
    assert floor.at() != "ready"


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_stop_of_who_weighs_shuts_the_lye_until_it_is_cleared_or_another_takes_over_and_costs_no_digits(
    bare_page: Page, record: Record, language: str
) -> None:
    page = bare_page
    lye = next(step for step in record["steps"] if step["key"] in ("temp:lye", "reserve:lye"))
    begun(Touch(page), record, lye["key"], person="Quill")
    page.goto(f"{'es/' if language == 'es' else ''}scale/#{record['code']}/1")
    floor = Floor(Touch(page), record["code"])
    floor.keypad()
    floor.keys("3")
    draft_kept(page, "3")
    other = page.context.new_page()
    walk_page(other)
    begin(Touch(other), phases=("tank",), helper="Quill")
    press(Touch(other), "no")
    page.bring_to_front()
    floor.comes("barred")
    words = {"en": "Quill has an open stop", "es": "Quill tiene un PARE sin resolver"}[language]
    expect(page.locator(f"{STAGE} .stop")).to_contain_text(words)
    if language == "es":
        text = page.locator(STAGE).inner_text().replace("(in English)", "")
        assert not ENGLISH.search(text), text
    page.reload()
    floor.comes("barred")
    assert page.locator(f'{STAGE} [data-do="ready"], {STAGE} [data-do="read"]').count() == 0, "no reason opens it"
    as_person(floor, "Bea")
    floor.comes("keypad")
    as_person(floor, "Quill")
    floor.comes("barred")
    other.bring_to_front()
    other.locator("#clear-person").fill("Bea")
    other.locator("#clear-reason").fill("Hose changed")
    press(Touch(other), "clear")
    page.bring_to_front()
    floor.comes("keypad")
    expect(page.locator("[data-typed]")).to_have_text("3")


def test_the_months_set_in_another_tab_count_at_once(bare_page: Page, record: Record) -> None:
    page = bare_page
    own_workshop(page)
    walk_page(page)
    put_walk(page, PREMIXED, helper="Bea")
    floor = at_the_question(page, record)
    expect(page.locator(STAGE)).to_contain_text("Set how long training lasts here first")
    assert names(page) == []
    other = page.context.new_page()
    other.goto("sources/")
    put(other, [place_event(training_months="6")])
    other.evaluate(CHANGED)
    page.bring_to_front()
    expect(page.locator(f'{STAGE} [data-do="trained"]')).to_have_text("Bea")
    floor.why("A trained person stands by")
    floor.do("trained")
    [event] = [each for each in block_events(page, record["code"]) if each["kind"] == "trained"]
    [signed] = [each for each in stored(page, "events") if each["kind"] == "walk_signed"]
    day = date.fromisoformat(signed["local"][:10])
    # Six months later, the last of a shorter month at the most.
    assert event["until"][:7] == f"{day.year + (day.month + 5) // 12}-{(day.month + 5) % 12 + 1:02}"
    assert names(page) == []


def test_a_guide_without_training_says_why_and_the_training_record_shows_it(bare_page: Page) -> None:
    page = bare_page
    walk_page(page)
    set_place(page)
    for field, text in (("#walk-helper", "Ana"), ("#walk-guide", "Quill")):
        page.locator(field).fill(text)
    page.locator(f'input[name="phase"][value="{PHASE}"]').check()
    begin = page.locator('[data-do="begin"]')
    page.wait_for_timeout(350)
    begin.tap()
    asked = page.locator("[data-guide-problem]")
    expect(asked).to_contain_text("There's no valid training on record for the guide")
    expect(page.locator("#guide-reason")).to_be_focused()
    begin.tap()
    expect(asked).to_be_visible()
    page.locator("#guide-reason").fill("Nobody before me")
    # Another guide is asked for another reason.
    page.locator("#walk-guide").fill("Rush")
    begin.tap()
    expect(page.locator("[data-overview]")).to_be_visible()
    assert not [event for event in stored(page, "events") if event["kind"] == "walk_begun"]
    begin.tap()
    hands = Touch(page)
    assert shown(page).startswith(PHASE)
    skip_to(hands)
    sign(hands)
    walk_page(page)
    entry = page.locator("[data-trainings] > li").first
    expect(entry).to_contain_text("Nobody before me")
    expect(entry).to_contain_text("No training of the guide")
    [event] = [each for each in stored(page, "events") if each["kind"] == "walk_begun"]
    assert (event["guide"], event["reason"]) == ("Rush", "Nobody before me")
    # Ana has been walked through it now: she guides without a word.
    page.locator("#walk-helper").fill("Bea")
    page.locator("#walk-guide").fill("ana")
    expect(page.locator("#guide-reason")).to_have_value("")
    page.locator(f'input[name="phase"][value="{PHASE}"]').check()
    page.wait_for_timeout(350)
    begin.tap()
    assert shown(page).startswith(PHASE)
    begun_events = [each for each in stored(page, "events") if each["kind"] == "walk_begun"]
    assert ["reason" in each for each in sorted(begun_events, key=lambda each: each["at"])] == [True, False]
    press(hands, "no")


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_record_that_is_frozen_tells_the_training_and_an_overdue_eyewash_once(page: Page, record: Record, language: str) -> None:
    begun(Touch(page), record, "unmould")
    put(page, [{**done(record)[0], "id": "seed-bea", "person": "Bea", "helper": "Ana", "until": "2999-03-02", "reason": None,
                "eyewash": {"weekly": "over"}}])  # fmt: skip
    page.goto(f"{'es/' if language == 'es' else ''}scale/#{record['code']}/1")
    page.reload()
    floor = Floor(Touch(page), record["code"])
    floor.comes("timer")
    floor.do("start-timer")
    floor.do("to-closing")
    floor.comes("closing")
    training = page.locator(f"{STAGE} ul.training")
    wanted = {
        "en": ("Training that covers the lye: Ana. It’s good until 2999-03-02.", "Eyewash that day, weekly run: overdue."),
        "es": ("Capacitación para la solución de sosa: Ana. Vale hasta el 2999-03-02.", "Lavaojos ese día, prueba semanal: vencida."),
    }[language]
    for words in (*wanted, "The maker alone, as in every test"):
        expect(training).to_contain_text(words)
    floor.do("close")
    floor.comes("closed")
    expect(training).to_have_count(1)
    for words in wanted:
        expect(training).to_contain_text(words)
    [closed] = [event for event in block_events(page, record["code"]) if event["kind"] == "closed"]
    assert wanted[1] in closed["html"]
    page.emulate_media(media="print")
    expect(training).to_be_visible()
    # The way it was written, whatever the page speaks later.
    page.emulate_media(media="screen")
    page.goto(f"{'' if language == 'es' else 'es/'}scale/#{record['code']}/1")
    expect(page.locator(f"{STAGE} ul.training")).to_contain_text(wanted[1])


def test_without_python_the_closed_screen_tells_the_same_itself(new_context: NewContext, lame_site: LameSite, record: Record) -> None:
    lame_site.take_python_away()
    context = new_context(lame_site.server, **PHONE, service_workers="block")
    context.watch.allow("404", "Service Worker registration blocked by Playwright")  # type: ignore[attr-defined]
    page = context.new_page()
    floor = begun(Touch(page), record, "unmould")
    put(page, [{**done(record)[0], "id": "seed-bea", "person": "Bea", "helper": "Ana", "until": "2999-03-02", "reason": None,
                "eyewash": {"yearly": "faulty"}}])  # fmt: skip
    page.reload()
    floor.comes("timer")
    floor.do("start-timer")
    floor.do("to-closing")
    floor.do("close")
    floor.comes("closed")
    training = page.locator(f"{STAGE} ul.training")
    expect(training).to_contain_text("Training that covers the lye: Ana. It’s good until 2999-03-02.")
    expect(training).to_contain_text("Eyewash that day, yearly inspection: problem found.")
