"""The formula page: oils as text, the answer and the next deed on the first screen, and water of an older formula."""

from __future__ import annotations

import re
from typing import Any

from playwright.sync_api import Page, expect
from screens import Touch, answered, control, draft_kept, fill, form_of, problem, stored, unfold

NEW = {"name": "Fen", "superfat_fraction": "6", "lye_strength_fraction": "33", "scent_fraction": "0"}


def saved(page: Page, name: str) -> dict[str, Any]:
    """The values of the formula of this name in its newest revision."""
    events = [each for each in stored(page, "events") if each["kind"] == "saved" and each["values"].get("name") == name]
    values: dict[str, Any] = max(events, key=lambda each: each["revision"])["values"]
    return values


def save(page: Page) -> None:
    form_of(page, "formula").get_by_role("button", name="Save", exact=True).tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")


def new_formula(page: Page, oils: str) -> None:
    page.goto("formula/edit/#new")
    form = form_of(page, "formula")
    expect(control(form, "name")).to_have_value("")
    fill(Touch(page), form, {**NEW, "oils_text": oils})


def test_the_answer_and_the_next_deed_are_on_the_first_screen_and_the_page_is_at_most_three(page: Page) -> None:
    page.goto("formula/edit/#f-marsh-plain")
    answer = answered(page, "formula")
    expect(answer).to_contain_text("Really between")
    deed = form_of(page, "formula").locator(".deed-bar")
    edge = deed.bounding_box()["y"]
    for part in (".really", ".drawing", ".question"):
        box = answer.locator(part).bounding_box()
        assert box["y"] + box["height"] <= edge + 1, f"{part} ends at {box['y'] + box['height']}, the deed begins at {edge}"
    assert edge + deed.bounding_box()["height"] <= page.viewport_size["height"]
    assert page.evaluate("document.documentElement.scrollHeight / innerHeight") <= 3


def test_oils_typed_as_text_are_saved_as_rows_and_come_back_as_text(page: Page) -> None:
    new_formula(page, "olive 62,5, palm 30\ncastor 7.5 late")
    answered(page, "formula")
    expect(answered(page, "oils_total")).to_contain_text("100 %")
    save(page)
    values = saved(page, "Fen")
    rows = [tuple(values[f"oils.{n}.{part}"] for part in ("oil", "share_fraction", "added")) for n in range(3)]
    assert rows == [("olive", "62,5", "main"), ("palm", "30", "main"), ("castor", "7.5", "late")]
    assert "oils_text" not in values and "oils.3.oil" not in values
    answered(page, "formula_list").get_by_role("link", name="Open Fen").tap()
    answered(page, "formula")
    expect(control(form_of(page, "formula"), "oils_text")).to_have_value("olive 62,5, palm 30, castor 7.5 late")


def test_an_oil_that_is_not_known_is_asked_back_and_chosen_in_a_tap_and_so_is_the_rest(page: Page) -> None:
    new_formula(page, "olive 40, sunflowr 5, palm 35")
    form, total = form_of(page, "formula"), page.locator('[data-answer="oils_total"]')
    expect(total).to_contain_text("“sunflowr”: which oil?")
    control(form, "oils_text").blur()
    expect(problem(form, "oils_text")).to_contain_text("No oil here is called “sunflowr”")
    form.get_by_role("button", name="Save", exact=True).tap()
    assert not [each for each in stored(page, "events") if each["kind"] == "saved"]
    total.get_by_role("button", name="Sunflower seed oil (linoleic)", exact=True).tap()
    expect(control(form, "oils_text")).to_have_value("olive 40, sunflower 5, palm 35")
    expect(total).to_contain_text("20 % to go")
    answered(page, "oils_total")
    total.get_by_role("button", name="Palm oil", exact=True).tap()
    expect(control(form, "oils_text")).to_have_value("olive 40, sunflower 5, palm 55")
    answered(page, "formula")
    expect(problem(form, "oils_text")).to_be_hidden()


def test_oils_are_tapped_with_only_their_shares_typed_and_an_unnamed_formula_is_called_by_them(page: Page) -> None:
    page.goto("formula/edit/#new")
    form, hands = form_of(page, "formula"), Touch(page)
    chips = answered(page, "oils_total").get_by_role("group", name=re.compile("First oil|Another oil")).get_by_role("button")
    before = [(chip.inner_text(), chip.bounding_box()) for chip in chips.all()]
    hands.press(chips.filter(has_text="palm"))
    expect(control(form, "oils_text")).to_have_value("palm ")
    expect(chips.filter(has_text="palm")).to_have_attribute("aria-pressed", "true")
    # Nothing is wrong yet, and what stands under the finger stays there.
    expect(problem(form, "oils_text")).to_be_hidden()
    assert [(chip.inner_text(), chip.bounding_box()) for chip in chips.all()] == before
    control(form, "oils_text").blur()
    expect(problem(form, "oils_text")).to_contain_text("has no share yet")
    control(form, "oils_text").fill("")
    for oil, share in {"olive": "70", "coconut": "25", "castor": "5"}.items():
        hands.press(answered(page, "oils_total").get_by_role("button", name=oil, exact=True))
        expect(control(form, "oils_text")).to_be_focused()
        page.keyboard.insert_text(share)
    expect(control(form, "oils_text")).to_have_value("olive 70, coconut 25, castor 5")
    expect(answered(page, "oils_total").get_by_role("button")).to_have_count(0)
    expect(control(form, "name")).to_have_value("Olive, coconut, castor")
    # It follows the oils until somebody types over it, which the first letter does.
    control(form, "oils_text").fill("coconut 60, olive 40")
    expect(control(form, "name")).to_have_value("Coconut, olive")
    fill(hands, form, {name: text for name, text in NEW.items() if name != "name"})
    answered(page, "formula")
    save(page)
    assert saved(page, "Coconut, olive")["oils.0.oil"] == "coconut"
    page.goto("formula/edit/#new")
    hands.press(answered(page, "oils_total").get_by_role("button", name="olive", exact=True))
    page.keyboard.insert_text("80")
    expect(control(form, "name")).to_have_value("Olive")
    hands.enter(control(form, "name"), "Fen")
    control(form, "oils_text").fill("olive 80, coconut 20")
    expect(answered(page, "oils_total")).to_contain_text("= 100 %")
    expect(control(form, "name")).to_have_value("Fen")


def test_rows_and_text_follow_each_other(page: Page) -> None:
    page.goto("formula/edit/#f-marsh-plain")
    form = form_of(page, "formula")
    answered(page, "formula")
    text = control(form, "oils_text")
    expect(text).to_have_value("olive 45, palm 30, coconut 25")
    unfold(page)
    control(form, "oils.1.share_fraction").fill("20")
    control(form, "oils.2.share_fraction").fill("35")
    expect(text).to_have_value("olive 45, palm 20, coconut 35")
    text.fill("olive 80, coconut 20")
    expect(control(form, "oils.1.oil")).to_have_value("coconut")
    expect(form.locator('[data-rows="oils"] [data-row]')).to_have_count(2)
    # Left half done, it comes back as it was typed.
    text.fill("olive 80, coco")
    draft_kept(page, "olive 80, coco")
    page.reload()
    expect(text).to_have_value("olive 80, coco")


def test_the_batch_sheet_is_one_tap_away_and_saves_only_what_was_changed(page: Page) -> None:
    page.goto("formula/edit/#f-marsh-plain")
    form = form_of(page, "formula")
    answered(page, "formula")
    form.get_by_role("button", name="Batch sheet").tap()
    page.wait_for_url("**/batch/#f-marsh-plain")
    assert not [each for each in stored(page, "events") if each["kind"] == "saved"]
    page.goto("formula/edit/#f-marsh-plain")
    answered(page, "formula")
    control(form, "superfat_fraction").fill("7")
    form.get_by_role("button", name="Batch sheet").tap()
    page.wait_for_url("**/batch/#f-marsh-plain")
    expect(page.locator("[data-notice]")).to_have_text("Saved.")
    assert saved(page, "Marsh Plain")["superfat_fraction"] == "7"


def test_what_stands_in_for_an_oil_that_is_out_is_a_new_formula_in_two_taps_and_the_old_one_stays(page: Page) -> None:
    page.goto("formula/edit/#f-marsh-plain")
    answered(page, "formula_more").get_by_role("link", name="An oil is out").tap()
    asked = answered(page, "stand_in")
    asked.get_by_role("button", name="palm", exact=True).tap()
    expect(asked).to_contain_text("Palm is out")
    first = answered(page, "stand_in").locator(".stand-in").first
    expect(first).to_contain_text("Edible tallow is from beef or sheep")
    first.get_by_role("link", name="Use it").tap()
    page.wait_for_url("**/formula/edit/#copy/f-marsh-plain/*")
    form = form_of(page, "formula")
    expect(page.locator("h1")).to_have_text("New formula")
    expect(control(form, "name")).to_have_value("Marsh Plain without palm")
    expect(control(form, "oils_text")).to_have_value(re.compile(r"olive \d+, edible tallow \d+, coconut 25"))
    expect(control(form, "superfat_fraction")).to_have_value("6")
    oils = control(form, "oils_text").input_value()
    # Left and come back to, it is still there.
    draft_kept(page, oils)
    page.reload()
    expect(control(form, "oils_text")).to_have_value(oils)
    answered(page, "formula")
    save(page)
    values = saved(page, "Marsh Plain without palm")
    assert "tallow" in [values[f"oils.{n}.oil"] for n in range(3)] and values["lye_strength_fraction"] == "32"
    assert not [each for each in stored(page, "events") if each["subject"] == "formula:f-marsh-plain"]


def test_an_older_formula_keeps_its_ratio_until_its_maker_takes_the_lye_strength_over(page: Page) -> None:
    new_formula(page, "olive 100")
    form = form_of(page, "formula")
    # As earlier builds stored it: nobody is asked for it any more.
    older = "(form) => { form.elements.water_as.value = 'water_to_lye'; form.elements.water_to_lye_ratio.value = '1.8'; }"
    form.evaluate(older)
    control(form, "lye_strength_fraction").fill("")
    answered(page, "formula")
    save(page)
    assert saved(page, "Fen")["water_to_lye_ratio"] == "1.8"
    answered(page, "formula_list").get_by_role("link", name="Open Fen").tap()
    expect(control(form, "water_to_lye_ratio")).to_have_value("1.8")
    expect(control(form, "lye_strength_fraction")).to_be_hidden()
    before = answered(page, "formula_more").locator("summary").first.inner_text()
    # 1 part of hydroxide in 1 + 1.8 parts of lye: 100/2.8 = 35 5/7 %.
    answered(page, "formula").get_by_role("button", name="Change it to 35 5/7").tap()
    expect(control(form, "lye_strength_fraction")).to_have_value("35 5/7")
    expect(control(form, "water_to_lye_ratio")).to_be_hidden()
    assert answered(page, "formula_more").locator("summary").first.inner_text() == before
    save(page)
    values = saved(page, "Fen")
    assert (values["water_as"], values["lye_strength_fraction"]) == ("lye_strength", "35 5/7")
