"""The set-up: from the first screen to a workshop that can make a batch, counted; by hand and in Spanish; what it spares afterwards."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from conftest import NARROW, PHONE
from floor import put
from playwright.sync_api import BrowserContext, Locator, Page, expect
from screens import (
    Keys,
    Touch,
    answered,
    control,
    draft_kept,
    form_of,
    kept_offline,
    own_workshop,
    problem,
    stored,
    there,
    until,
)
from test_accessibility import AXE, audit, settled, wide_parts
from test_main_walk import SERVER_GONE

NewContext = Callable[..., BrowserContext]
QUESTIONS = ("mould", "floor", "small", "vessel", "caustic", "crew", "done")
# The goals that the set-up was made for.
MOST_TAPS, MOST_SCREENS = 16, 9


class Counted(Touch):
    """Fingers that are counted, with the letters they type."""

    taps = 0
    letters = 0

    def press(self, target: Locator) -> None:
        super().press(target)
        self.taps += 1

    def enter(self, target: Locator, text: str) -> None:
        super().enter(target, text)
        self.letters += len(text)


def question(page: Page, key: str) -> Locator:
    return there(page, f'[data-question="{key}"]:not([hidden])')


def saved(page: Page) -> dict[str, dict[str, str]]:
    return {event["subject"]: event["values"] for event in stored(page, "events") if event["kind"] == "saved"}


def test_a_workshop_is_set_up_by_a_few_taps_on_the_smallest_phone_with_the_server_dead(
    new_context: NewContext, mortal_server: Callable[..., Any], watches: list[Any]
) -> None:
    server = mortal_server("/")
    page = new_context(server, **NARROW).new_page()
    watches[-1].allow(SERVER_GONE)
    page.goto("")
    kept_offline(page)
    server.kill()
    hands, screens = Counted(page), 1
    hands.press(page.locator("main").get_by_role("link", name="Set up my workshop"))
    hands.press(page.locator('[data-set-units="us"]'))
    expect(page.locator("html")).to_have_attribute("data-units", "us")
    taps = {
        "mould": ["Block 24"], "floor": ["300 lb, steps of 0.1"], "small": ["176 oz, steps"],
        "vessel": ["10 gal", "Not weighed yet"], "caustic": ["Soda flakes"],
    }  # fmt: skip
    for key, words in taps.items():
        part = question(page, key)
        screens += 1
        for each in words:
            hands.press(part.get_by_role("button", name=each))
        if key == "floor":
            expect(part.locator("[data-answer]")).to_contain_text("shows 28.3 lb in steps of 0.1")
        if key == "vessel":
            expect(part.locator("[data-answer]")).to_contain_text("Assumed for now")
            # What would stop the first batch sheet is said here.
            expect(part.locator("[data-answer]")).to_contain_text("12.5 gal at its usual fill")
        assert wide_parts(page) == [], key
        hands.press(part.get_by_role("button", name="OK, next"))
    part = question(page, "crew")
    hands.enter(part.locator('[name="people"]'), "A, J")
    hands.press(part.get_by_role("button", name="OK, done"))
    done = question(page, "done")
    screens += 2
    expect(done.locator("[data-setup-whole]")).to_be_visible()
    print(f"set-up: {hands.taps} taps, {hands.letters} letters, {screens} screens")
    assert hands.taps <= MOST_TAPS and screens <= MOST_SCREENS
    found = saved(page)
    assert {subject.partition(":")[0] for subject in found} == {"mould", "scale", "vessel", "alkali_lot", "shop", "person"}
    assert found["scale:setup-floor"] | {"capacity_g": "300", "capacity_g.unit": "lb", "division_g": "0.1", "reads_in": "lb"} == found["scale:setup-floor"]
    assert found["vessel:setup-vessel"]["figures"] == "assumed"
    assert found["shop:shop"]["tolerance_scheme"] == "HB44"
    # Nothing of the invented workshop is left among one's own, and what is assumed is what comes next.
    page.goto("workshop/")
    standing = answered(page, "workshop")
    expect(standing).not_to_contain_text("Quillmarsh")
    expect(standing.get_by_role("link", name="Enter real figures: Pot")).to_be_visible()


def test_a_mix_of_units_is_asked_back_in_spanish_by_keyboard_and_what_was_typed_outlives_the_page(page: Page) -> None:
    page.goto("es/workshop/setup/#floor")
    hands = Keys(page)
    part = question(page, "floor")
    settled(page)
    hands.enter(control(part, "capacity_g"), "300")
    hands.choose(control(part, "capacity_g.unit"), "lb")
    expect(control(part, "reads_in")).to_have_value("lb")
    hands.enter(control(part, "division_g"), "0.1")
    hands.choose(control(part, "division_g.unit"), "oz")
    draft_kept(page, "oz")
    page.reload()
    part = question(page, "floor")
    expect(control(part, "division_g")).to_have_value("0.1")
    settled(page)
    hands.press(part.get_by_role("button", name="Correcto, sigue"))
    asked = problem(part, "plate_says")
    expect(asked).to_contain_text("La capacidad y el paso no concuerdan")
    expect(asked).to_contain_text("48000 pasos")
    assert saved(page) == {}
    hands.reach(control(part, "plate_says"))
    page.keyboard.press("Space")
    hands.press(part.get_by_role("button", name="Correcto, sigue"))
    question(page, "small")
    assert saved(page)["scale:setup-floor"]["plate_says"] == "yes"


@pytest.mark.parametrize("language", ["", "es/"], ids=["english", "spanish"])
def test_every_question_is_accessible_and_fits_also_with_text_at_twice_its_size(page: Page, language: str) -> None:
    axe, wrong = AXE.read_text(encoding="utf-8"), []
    for key in QUESTIONS:
        page.goto(f"{language}workshop/setup/#{key}")
        part = question(page, key)
        settled(page)
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        wrong += [f"{key} at 200 %: {each}" for each in wide_parts(page)]
        page.evaluate("document.documentElement.style.fontSize = ''")
        keys = part.locator(".key:visible")
        if keys.count():
            keys.last.tap()
            until(page, "!document.querySelector('[aria-busy=true]')", "an answer")
        # What the bar at the bottom half covers would pass for a small target; it covers nothing that can't be scrolled to.
        page.evaluate("document.querySelectorAll('.go-on').forEach((bar) => { bar.style.position = 'static'; })")
        wrong += audit(page, axe, key, ("light", "dark") if key in ("floor", "done") else ("light",))
    assert wrong == []


def item(kind: str, id_: str, **values: str) -> dict[str, Any]:
    at = "2026-01-01T08:00:00"
    return {"id": f"seed-{id_}", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": "saved", "subject": f"{kind}:{id_}", "values": values}


def test_units_begin_as_the_device_s_region_has_them_and_practice_goes_by_the_workshop_s(new_context: NewContext) -> None:
    # Pounds and inches are the customary units of the United States (NIST Handbook 44, appendix B).
    for locale, first, other in (("en-US", "us", "metric"), ("en-GB", "metric", "us")):
        page = new_context(**PHONE, locale=locale).new_page()
        page.goto("formula/")
        expect(page.locator("html")).to_have_attribute("data-units", first)
        # Tapped as soon as its script runs: what is tapped while the records are read must not be lost.
        page.add_init_script(f"""addEventListener("DOMContentLoaded", () => document.querySelector('[data-set-units="{other}"]')?.click())""")
        page.goto("workshop/setup/")
        expect(page.locator("html")).to_have_attribute("data-units", other)
        expect(page.locator(f'[data-set-units="{other}"]')).to_have_attribute("aria-pressed", "true")
        page.evaluate("localStorage.setItem('tarewell-mode', 'practice')")
        page.goto("formula/")
        expect(page.locator("html")).to_have_attribute("data-mode", "practice")
        expect(page.locator("html")).to_have_attribute("data-units", other)


def test_one_of_a_kind_is_chosen_and_a_soda_formula_asks_for_no_potash(new_context: NewContext) -> None:
    page = new_context(**PHONE).new_page()
    own_workshop(page)
    page.goto("workshop/")
    put(page, [
        item("mould", "m1", name="Tray", length_mm="300", width_mm="200", height_mm="120", fill_height_mm="100"),
        item("vessel", "v1", name="Bucket", capacity_ml="12", tare_g="1.5"),
        item("alkali_lot", "a1", code="CS-7", alkali="naoh", form="solid"),
        item("alkali_lot", "a2", code="KP-1", alkali="koh", form="solid"),
        {**item("formula", "f1", name="Plain", alkali="naoh"), "revision": 1},
        {**item("formula", "f2", name="Soft", alkali="both"), "revision": 1},
    ])  # fmt: skip
    page.goto("batch/#f1")
    form = form_of(page, "batch_sheet")
    for name, words in {"mould": "Tray", "vessel": "Bucket", "naoh_lot": "CS-7"}.items():
        expect(control(form, name).locator("option:checked")).to_have_text(words)
    expect(control(form, "blocks")).to_have_value("1")
    expect(control(form, "koh_lot")).to_be_hidden()
    control(form, "formula").select_option("f2")
    expect(control(form, "koh_lot")).to_be_visible()
    expect(control(form, "koh_lot").locator("option:checked")).to_have_text("KP-1")


THINGS = [
    item("shop", "shop", name="Fen", code_prefix="F", tolerance_scheme="R76"),
    item("mould", "m1", name="Tray", length_mm="300", width_mm="200", height_mm="120", fill_height_mm="100"),
    item("mould", "m2", name="Loaf", length_mm="300", width_mm="100", height_mm="100", fill_height_mm="80"),
    item("vessel", "v1", name="Bucket", capacity_ml="30", **{"capacity_ml.unit": "l"}, tare_g="1.5"),
    item("vessel", "v2", name="Pot", capacity_ml="40", **{"capacity_ml.unit": "l"}, tare_g="2"),
    item("scale", "s1", name="Floor", capacity_g="60", division_g="5", reads_in="kg", accuracy_class="unmarked"),
    item("scale", "s2", name="Small", capacity_g="6", division_g="1", reads_in="g", accuracy_class="unmarked"),
    item("alkali_lot", "a1", code="CS-7", alkali="naoh", form="solid", assay_fraction="98", plus_minus_fraction="1"),
    item("alkali_lot", "a2", code="CS-8", alkali="naoh", form="solid", assay_fraction="99", plus_minus_fraction="1"),
    item("person", "p1", name="Ana"),
    {**item("formula", "f1", name="Plain", **{"oils.0.oil": "olive", "oils.0.share_fraction": "100", "oils.0.added": "main"},
            alkali="naoh", superfat_fraction="8", water_as="lye_strength", lye_strength_fraction="30", scent_fraction="0"),
     "revision": 1},
]  # fmt: skip


def test_the_next_order_begins_with_the_last_choices_as_far_as_there_still_are_such_things(new_context: NewContext) -> None:
    page = new_context(**PHONE).new_page()
    own_workshop(page)
    page.goto("workshop/")
    put(page, THINGS, None)
    page.goto("batch/#f1")
    form = form_of(page, "batch_sheet")
    # Nothing is known of several: they are asked for. Of people there is one.
    for name in ("mould", "vessel", "naoh_lot"):
        expect(control(form, name)).to_have_value("")
    expect(control(form, "issued_by")).to_have_value("Ana")
    chosen = {"mould": "m2", "vessel": "v2", "naoh_lot": "a1"}
    for name, value in chosen.items():
        control(form, name).select_option(value)
    control(form, "blocks").fill("3")
    answered(page, "batch_sheet")
    form.locator('[data-issue="weigh"]').tap()
    page.wait_for_url("**/scale/**")
    # Who issued it and works here alone is not asked for again at the scale.
    there(page, '[data-stage][data-shown="ready"]')
    expect(page.locator("[data-stage] .by")).to_contain_text("Ana")
    page.goto("batch/#f1")
    for name, value in {**chosen, "blocks": "3", "issued_by": "Ana"}.items():
        expect(control(form, name)).to_have_value(value)
    gone = {"kind": "removed", "subject": "vessel:v2", "id": "seed-gone", "at": "2026-01-02T08:00:00.000Z", "local": "2026-01-02T08:00:00+00:00"}
    put(page, [gone], None)
    page.goto("workshop/")
    page.goto("batch/#f1")
    expect(control(form, "mould")).to_have_value("m2")
    # One vessel is left, and so it is chosen; nothing says that a choice of this order is gone.
    expect(control(form, "vessel")).to_have_value("v1")
    expect(form.locator("[data-gone]").filter(visible=True)).to_have_count(0)
    # Practice knows nothing of it.
    page.add_init_script("try { localStorage.setItem('tarewell-mode', 'practice'); } catch { /* no page of the site */ }")
    page.goto("workshop/")
    page.goto("batch/")
    answered(page, "batch_sheet")
    expect(control(form, "blocks")).to_have_value("2")
    expect(control(form, "issued_by")).to_have_value("")


def test_a_list_with_nothing_in_it_says_where_one_is_added(new_context: NewContext) -> None:
    page = new_context(**PHONE).new_page()
    own_workshop(page)
    page.goto("workshop/")
    soft = {**item("formula", "f2", name="Soft", alkali="koh"), "revision": 1}
    put(page, [each for each in THINGS if not each["subject"].startswith("vessel")] + [soft], None)
    page.goto("batch/#f2")
    form = form_of(page, "batch_sheet")
    expect(control(form, "koh_lot")).to_be_visible()
    shown = form.locator("[data-add-one]").filter(visible=True)
    expect(shown).to_have_count(2)
    wanted = {"vessel": "Add one (Vessel)", "koh_lot": "Add one (Caustic potash lot)"}
    for name, words in wanted.items():
        expect(form.locator(f'[data-field="{name}"]').get_by_role("link", name=words)).to_be_visible()
    shown.first.get_by_role("link").tap()
    expect(form_of(page, "vessel")).to_be_visible()


def test_a_tick_for_odd_figures_falls_when_they_change(page: Page) -> None:
    page.goto("workshop/setup/#floor")
    part = question(page, "floor")
    settled(page)
    hands = Touch(page)
    hands.enter(control(part, "capacity_g"), "300")
    hands.enter(control(part, "division_g"), "1")
    control(part, "division_g.unit").select_option("g")
    hands.press(part.get_by_role("button", name="OK, next"))
    expect(problem(part, "plate_says")).to_contain_text("300000 steps")
    tick = control(part, "plate_says")
    hands.press(tick)
    expect(tick).to_be_checked()
    # By a letter; and what was asked about the figures before is asked no more.
    control(part, "capacity_g").fill("200")
    expect(tick).not_to_be_checked()
    expect(tick).to_be_hidden()
    hands.press(part.get_by_role("button", name="OK, next"))
    expect(problem(part, "plate_says")).to_contain_text("200000 steps")
    hands.press(tick)
    # By a common answer.
    hands.press(part.get_by_role("button", name="150 kg, steps of"))
    expect(tick).not_to_be_checked()
    hands.press(part.get_by_role("button", name="OK, next"))
    question(page, "small")
    assert "plate_says" not in saved(page)["scale:setup-floor"]


def test_what_a_batch_sheet_lacks_leads_to_the_question_that_asks_for_it(new_context: NewContext) -> None:
    page = new_context(**PHONE).new_page()
    own_workshop(page)
    for words, key in {"Mold": "mould", "Vessel": "vessel", "Scale": "floor", "Alkali lot": "caustic", "Workshop": "crew"}.items():
        page.goto("batch/")
        page.locator("[data-lacks]").get_by_role("link", name=words, exact=True).tap()
        question(page, key)


def test_saving_leads_back_to_the_workshop_as_it_was_unfolded(page: Page) -> None:
    page.goto("workshop/")
    settled(page)
    fold = page.locator('details[data-fold="scale"]')
    fold.locator("summary").tap()
    fold.get_by_role("link", name="Bench scale").tap()
    form = form_of(page, "scale").filter(visible=True)
    expect(control(form, "name")).to_have_value("Bench scale")
    form.get_by_role("button", name="Save ").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")
    expect(fold.get_by_role("link", name="Bench scale")).to_be_visible()
