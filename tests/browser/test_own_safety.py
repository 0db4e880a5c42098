"""What a workshop adds to the built-in safety: stricter limits, points of its own in one language or in both."""

from __future__ import annotations

import re
from collections.abc import Callable

from conftest import LameSite, visitor
from playwright.sync_api import BrowserContext, Locator, Page, expect
from screens import Touch, answered, form_of, own_workshop, stored, until
from test_accessibility import axe, settled, wide_parts
from test_emergency import pages_of
from walking import STAGE, audit_part, begin, press, set_place, skip_to, walk_page

NewContext = Callable[..., BrowserContext]

__all__ = ["axe"]

BOTH = {"phase": "lift", "what": "Hook", "question": "Is the hook shut?", "stop": "It is open.",
        "what_es": "Gancho", "question_es": "¿Está cerrado el gancho?", "stop_es": "Está abierto."}  # fmt: skip
ENGLISH = {**BOTH, "what": "Rope", "what_es": "", "question_es": "", "stop_es": ""}
SPANISH = {**BOTH, "what_es": "Rampa", "what": "", "question": "", "stop": ""}
OLD = {"phase": "lift", "what": "Lantern", "question": "Does it burn?", "stop": "It is dark."}


def rows(*points: dict[str, str]) -> dict[str, str]:
    return {f"own.{n}.{part}": words for n, point in enumerate(points) for part, words in point.items()}


def limit(page: Page, name: str, within: str = STAGE) -> Locator:
    return page.locator(f'{within} [data-limit="{name}"]').first


def to_language(page: Page, language: str) -> None:
    page.locator(f'label[for="show-{language}"]').tap()


def test_a_stricter_limit_is_shown_as_the_shop_s_beside_the_built_in_one_without_python(
    new_context: NewContext, lame_site: LameSite
) -> None:
    lame_site.take_python_away()
    page = visitor(new_context, lame_site)
    hands = Touch(page)
    walk_page(page)
    set_place(page, **{"hottest_lye_c": "45", "hottest_lye_c.unit": "degC", "lift_g": "40", "lift_g.unit": "lb"})
    begin(hands, phases=("dissolve",))
    skip_to(hands, "dissolve-heat")
    # Resistance charts of plastics, from memory: polyethylene to about 60 °C (140 °F); the page says that it is memory.
    expect(limit(page, "hottest_lye_c")).to_contain_text("Your workshop: 45\u00a0°C", use_inner_text=True)
    expect(limit(page, "hottest_lye_c")).to_contain_text("60\u00a0°C (140\u00a0°F)")
    expect(limit(page, "hottest_lye_c")).to_contain_text("from memory")
    expect(page.locator(f"{STAGE} .stop-line")).to_be_visible()
    to_language(page, "es")
    expect(limit(page, "hottest_lye_c")).to_contain_text("Su taller: 45\u00a0°C", use_inner_text=True)
    expect(limit(page, "hottest_lye_c")).to_contain_text("Límite incorporado, en polietileno: 60\u00a0°C", use_inner_text=True)
    press(hands, "no")
    expect(limit(page, "hottest_lye_c")).to_be_visible()
    page.goto("safety/")
    fact = page.locator("li", has=page.locator('[data-limit="lift_g"]')).last
    # NIOSH lifting equation, load constant 23 kg (51 lb): what is built in stays in the sentence.
    expect(fact).to_contain_text("23\u00a0kg (51\u00a0lb)")
    expect(fact.locator("[data-said]")).to_have_text("40\u00a0lb")


def test_a_looser_limit_that_a_copy_brings_is_not_shown_and_takes_no_stop_away(bare_page: Page) -> None:
    page = bare_page
    hands = Touch(page)
    walk_page(page)
    begin(hands, phases=("mix",), helper="A")
    [before] = [event["points"] for event in stored(page, "events") if event["kind"] == "walk_begun"]
    set_place(page, **{"lift_g": "24", "lift_g.unit": "kg"})
    begin(hands, phases=("mix",), helper="B")
    skip_to(hands, "mix-pour")
    expect(limit(page, "lift_g")).to_be_hidden()
    expect(page.locator(f"{STAGE} .stop-line")).to_contain_text("Stop if")
    expect(page.locator(STAGE)).to_contain_text("23\u00a0kg")
    points = [event["points"] for event in stored(page, "events") if event["kind"] == "walk_begun"]
    assert points == [before, before]


def test_the_form_refuses_a_looser_limit_and_names_the_built_in_one_and_its_source(page: Page) -> None:
    page.goto("workshop/edit/#safety")
    settled(page)
    form = form_of(page, "safety")
    for name, text in (("emergency_number", "0161 496 0000"), ("address", "Mill Lane 3"), ("eyewash", "by the door"),
                       ("training_months", "12"), ("hottest_lye_c", "70"), ("reach_seconds", "12")):  # fmt: skip
        form.locator(f'[name="{name}"]').fill(text)
    form.get_by_role("button", name="Save ").tap()
    problems = form.locator("[data-problem]:visible")
    expect(problems).to_have_count(2)
    # ANSI/ISEA Z358.1: 10 seconds. Polyethylene: see above.
    expect(problems.first).to_contain_text("the built-in limit is 10 seconds (ANSI/ISEA Z358.1", ignore_case=True)
    expect(problems.last).to_contain_text("the built-in limit is 60 °C (140 °F)", ignore_case=True)
    assert stored(page, "events") == []
    form.locator('[name="hottest_lye_c"]').fill("45")
    form.locator('[name="reach_seconds"]').fill("8")
    form.get_by_role("button", name="Save ").tap()
    page.wait_for_url("**/workshop/")
    other = page.context.new_page()
    walk_page(other)
    other.locator("summary", has_text="Before you start").tap()
    point = other.locator("li", has_text="Eyewash and shower")
    expect(point.locator('[data-limit="reach_seconds"] [data-said]')).to_have_text("8")
    # A change in the first tab counts in the second at once.
    page.goto("workshop/edit/#safety")
    answered(page, "safety")
    form_of(page, "safety").locator('[name="reach_seconds"]').fill("6")
    form_of(page, "safety").get_by_role("button", name="Save ").tap()
    page.wait_for_url("**/workshop/")
    expect(point.locator('[data-limit="reach_seconds"] [data-said]')).to_have_text("6")


def rinse(page: Page) -> str:
    page.goto("emergency/")
    page.locator('.tile[href="#eyes"]').click()
    left = page.locator("#eyes [data-flush-left]")
    expect(left).not_to_be_empty()
    return left.inner_text()


def test_the_card_counts_the_longer_rinse_of_the_workshop_and_says_whose_it_is(bare_page: Page) -> None:
    page = bare_page
    own_workshop(page)
    # New Jersey Department of Health, fact sheet on sodium hydroxide: at least 30 minutes.
    walk_page(page)
    line = page.locator('#eyes [data-limit="flush_minutes"]').first
    for own, minutes in (("20", 30), ("", 30), ("500", 30), ("45", 45)):
        set_place(page, flush_minutes=own)
        until(page, f"JSON.parse(localStorage.getItem('tarewell-safety') ?? '{{}}').flush_minutes === '{own}'", "the card's copy")
        assert rinse(page) in (f"{minutes}:00", f"{minutes - 1}:59"), own
        expect(page.locator("#eyes")).to_contain_text("at least 30 minutes")
        # A burn by heat is cooled for 20 minutes (a burns trust's page), whatever is asked for after caustic.
        assert page.locator("#burn [data-flush-still] strong").text_content() == "20"
        expect(line).to_be_visible(visible=minutes == 45)
        page.evaluate("localStorage.removeItem('tarewell-flush')")
    expect(line).to_contain_text("Your workshop: 45", use_inner_text=True)
    to_language(page, "es")
    expect(line).to_contain_text("Su taller: 45", use_inner_text=True)
    page.goto("emergency/")
    assert pages_of(page, "A4") <= 2
    page.emulate_media(media="print")
    for each in (line.locator("strong .en"), line.locator("strong .es")):
        expect(each).to_be_visible()


def screen_of(page: Page, number: int, what: str) -> Locator:
    """Goes on to the point of the workshop's own in this row, which has these words."""
    skip_to(Touch(page), f"own:{number}")
    stage = page.locator(STAGE)
    assert what in (stage.locator("h2").text_content() or "")
    return stage


def test_an_own_point_stands_in_the_language_chosen_and_says_where_it_has_one_only(
    new_context: NewContext, lame_site: LameSite
) -> None:
    lame_site.take_python_away()
    page = visitor(new_context, lame_site)
    walk_page(page)
    set_place(page, **rows(BOTH, ENGLISH, SPANISH, OLD))
    begin(Touch(page), phases=("lift",))
    stage = screen_of(page, 0, "Hook")
    expect(stage.locator("h2 .en")).to_be_visible()
    expect(stage.locator("h2 .es")).to_be_hidden()
    expect(stage.locator("p.mark")).to_have_count(0)
    to_language(page, "es")
    expect(stage.locator("h2 .es")).to_have_text("Gancho")
    expect(stage.locator("h2 .en")).to_be_hidden()
    expect(stage.locator('.walk-question [lang="es"]')).to_have_text("¿Está cerrado el gancho?")
    stage = screen_of(page, 1, "Rope")
    expect(stage.locator('h2 [lang="en"]')).to_be_visible()
    expect(stage.locator("p.mark .es")).to_have_text("Su taller lo escribió solo en inglés.")
    stage = screen_of(page, 2, "Rampa")
    expect(stage.locator('h2 [lang="es"]')).to_be_visible()
    to_language(page, "en")
    expect(stage.locator('h2 [lang="es"]')).to_be_visible()
    expect(stage.locator("p.mark .en")).to_have_text("Your workshop has written this in Spanish only.")
    # From before there were two languages: nobody knows in which it is.
    stage = screen_of(page, 3, "Lantern")
    expect(stage.locator("h2 [lang]")).to_have_count(0)
    expect(stage.locator("h2")).to_be_visible()
    expect(stage.locator(".stop-line")).to_contain_text("It is dark.")
    expect(stage.locator("p.mark")).to_have_count(0)
    press(Touch(page), "no")
    expect(page.locator(f"{STAGE} .stopped")).to_contain_text("Lantern")
    [begun] = [event for event in stored(page, "events") if event["kind"] == "walk_begun"]
    assert [sorted(point) for point in begun["own"]] == [
        ["en", "es", "key", "phase"], ["en", "key", "phase"], ["es", "key", "phase"],
        ["key", "phase", "question", "stop", "what"],
    ]  # fmt: skip


def test_a_point_of_an_older_record_is_read_and_written_on_without_loss(page: Page) -> None:
    page.goto("workshop/")
    set_place(page, **rows(OLD))
    page.goto("workshop/edit/#safety")
    answered(page, "safety")
    form = form_of(page, "safety")
    assert {part: form.locator(f'[name="own.0.{part}"]').input_value() for part in OLD} == OLD
    form.locator('[name="own.0.what_es"]').fill("Farol")
    form.get_by_role("button", name="Save ").tap()
    expect(form.locator("[data-problem]:visible").first).to_contain_text("Question, in Spanish")
    form.locator('[name="own.0.question_es"]').fill("¿Está encendido?")
    form.locator('[name="own.0.stop_es"]').fill("Está apagado.")
    form.get_by_role("button", name="Save ").tap()
    page.wait_for_url("**/workshop/")
    walk_page(page)
    begin(Touch(page), phases=("lift",))
    to_language(page, "es")
    expect(screen_of(page, 0, "Farol").locator("h2 .es")).to_have_text("Farol")


def test_the_screens_with_the_shop_s_own_words_and_limits_are_accessible_and_fit(bare_page: Page, axe: str) -> None:
    page = bare_page
    page.set_viewport_size({"width": 320, "height": 640})
    walk_page(page)
    set_place(page, flush_minutes="45", reach_seconds="8", **rows(BOTH, SPANISH))
    page.locator("summary", has_text="Before you start").tap()
    points = page.locator("details", has=page.locator("summary", has_text="Before you start"))
    points.evaluate("(details) => { details.id = 'opened'; }")
    wrong = audit_part(page, axe, "all points", "#opened")
    begin(Touch(page), phases=("before", "lift"))
    skip_to(Touch(page), "before-eyewash")
    to_language(page, "both")
    wrong += audit_part(page, axe, "limits")
    # In one language only, with the note that says so: all that a point in both has, and more.
    screen_of(page, 1, "Rampa")
    wrong += audit_part(page, axe, "own point")
    page.set_viewport_size({"width": 390, "height": 844})
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert wrong + [f"at 200 %: {each}" for each in wide_parts(page)] == []


VOICES = """
const spoken = (globalThis.spoken = []);
const voices = [{localService: true, lang: "en-GB"}, {localService: true, lang: "es-MX"}];
class Utterance { constructor(text) { this.text = text; } }
Object.defineProperty(globalThis, "SpeechSynthesisUtterance", {value: Utterance});
Object.defineProperty(globalThis, "speechSynthesis", {value: {
  getVoices: () => voices, cancel: () => spoken.splice(0), speak: ({text, lang}) => spoken.push([lang, text]), addEventListener: () => {},
}});
"""


def aloud(page: Page) -> list[tuple[str, str]]:
    page.wait_for_timeout(350)
    page.locator("[data-aloud-button]").tap()
    return [(lang, re.sub(r"\s+", " ", text)) for lang, text in page.evaluate("spoken")]


def test_each_text_is_read_aloud_by_the_voice_of_its_own_language(bare_page: Page) -> None:
    page = bare_page
    page.add_init_script(VOICES)
    walk_page(page)
    set_place(page, **{"lift_g": "18", "lift_g.unit": "kg"}, **rows(BOTH, SPANISH))
    begin(Touch(page), phases=("lift",))
    screen_of(page, 0, "Hook")
    [(lang, text)] = aloud(page)
    assert lang == "en-GB" and "Is the hook shut?" in text and "Gancho" not in text
    screen_of(page, 1, "Rampa")
    said = aloud(page)
    # The page's own "Stop if:" is English, the maker's words are not.
    assert ("en-GB", "Stop if:") in said
    assert all(("cerrado" in text or "Rampa" in text or "abierto" in text) == (lang == "es-MX") for lang, text in said)
    to_language(page, "both")
    said = aloud(page)
    assert "".join(text for _, text in said).count("Rampa") == 1
    page.locator("[data-leave]").tap()
    begin(Touch(page), phases=("mix",), helper="S")
    skip_to(Touch(page), "mix-pour")
    to_language(page, "es")
    [(lang, text)] = aloud(page)
    # NIOSH lifting equation: 23 kg (51 lb).
    assert lang == "es-MX" and "Su taller: 18 kg. Límite incorporado: 23 kg (51 lb)" in text
