"""Batch sheet and scent check: the answer and the next deed on the first screen; what is behind them one tap away."""

from __future__ import annotations

import re
from typing import Any

import pytest
from conftest import PHONE
from playwright.sync_api import Locator, Page, expect
from screens import answered, control, form_of, until

# A page is at most three screens of a phone long while nothing is open.
LONGEST = 3
WIDE = {"width": 1440, "height": 900}


def box(part: Locator) -> dict[str, Any]:
    found: dict[str, Any] = part.evaluate("(each) => each.getBoundingClientRect().toJSON()")
    return found


def screens_long(page: Page) -> float:
    return float(page.evaluate("document.documentElement.scrollHeight / innerHeight"))


def test_the_first_screen_of_a_batch_sheet_says_every_amount_over_the_button_that_issues_it(page: Page) -> None:
    page.set_viewport_size(PHONE["viewport"])
    page.goto("batch/")
    sheet = answered(page, "batch_sheet")
    button = page.locator('[data-issue="weigh"]')
    assert box(button)["bottom"] <= PHONE["viewport"]["height"]
    edge = box(page.locator(".deed-bar"))["top"]
    amounts = sheet.locator(".pour-lines li")
    # The demo's formula: three oils, water, lye.
    expect(amounts).to_have_count(5)
    for told in (sheet.locator(".lead-facts"), *amounts.all()):
        assert 0 < box(told)["top"] and box(told)["bottom"] <= edge, told.inner_text()
    assert screens_long(page) <= LONGEST
    # Further down the page it is at the same place.
    at = box(button)
    page.mouse.wheel(0, 400)
    until(page, "scrollY > 300", "the page scrolled")
    assert box(button) == at


def test_the_first_screen_of_a_scented_batch_shows_the_interval_against_zero_and_the_scents_verdict(page: Page) -> None:
    page.set_viewport_size(PHONE["viewport"])
    page.goto("batch/#f-reed-lavender")
    sheet = answered(page, "batch_sheet")
    expect(sheet.locator(".sheet-head h2")).to_contain_text("Reed Lavender")
    # Four oils, water, lye, scent, and the verdict about its load: all over the button.
    edge = box(page.locator(".deed-bar"))["top"]
    picture, verdict = sheet.locator(".lead-facts + svg.d-superfat"), sheet.locator(".scent-says")
    expect(picture).to_have_attribute("aria-label", re.compile("on a line that shows zero"))
    expect(verdict).to_have_text(re.compile(r"^2\.5.% of the oils: allowed"))
    for told in (picture, *sheet.locator(".pour-lines li").all(), verdict):
        assert 0 < box(told)["top"] and box(told)["bottom"] <= edge, told.evaluate("(each) => each.outerHTML")


# Whether the zero of an element's face has ink in its middle, where only a slash passes.
SLASHED = """async (each) => {
  const { fontFamily, fontWeight } = getComputedStyle(each);
  const font = `${fontWeight} 100px ${fontFamily}`;
  await document.fonts.load(font, "0");
  const canvas = Object.assign(document.createElement("canvas"), { width: 100, height: 140 });
  const pen = canvas.getContext("2d");
  Object.assign(pen, { font, textAlign: "center", textBaseline: "alphabetic" });
  pen.fillText("0", 50, 110);
  // A capital is 668/1000 em high; its middle stands half of that over the baseline.
  return pen.getImageData(50, 110 - 33, 1, 1).data[3] > 128;
}"""


def test_a_zero_is_slashed_in_codes_and_weights_and_plain_in_words(page: Page) -> None:
    page.goto("batch/")
    sheet = answered(page, "batch_sheet")
    for words in (sheet.locator(".sheet-head p"), sheet.locator(".sheet-head h2"), sheet.locator(".lead-facts dd").first):
        assert not words.evaluate(SLASHED), words.inner_text()
    for exact in (sheet.locator(".pour-name small").first, sheet.locator(".pour-lines strong").first, sheet.locator(".sheet-codes")):
        assert exact.evaluate(SLASHED), exact.inner_text()


def test_the_one_line_of_a_lye_says_how_much_of_it_waits_in_the_pitcher(page: Page) -> None:
    page.goto("batch/")
    sheet = answered(page, "batch_sheet")
    line = sheet.locator(".pour-lines li", has_text="Caustic soda lye").inner_text().replace("\u00a0", " ")
    total_kg, pitcher_g = re.findall(r"([\d.]+) (?:kg|g)\b", line)
    sheet.locator('[data-fold="pours"] > summary').tap()
    first_kg, rest_g = re.findall(r"([\d.]+) (?:kg|g)\b", sheet.locator(".target").last.inner_text().replace("\u00a0", " "))
    assert pitcher_g == rest_g
    assert float(total_kg) == pytest.approx(float(first_kg) + float(rest_g) / 1000, abs=0.0051)


def test_a_tap_on_a_name_and_one_on_issue_lead_to_the_first_block_at_the_scale(page: Page) -> None:
    page.goto("batch/")
    answered(page, "batch_sheet")
    form = form_of(page, "batch_sheet")
    form.locator(".who-keys").get_by_role("button", name="J", exact=True).tap()
    expect(control(form, "issued_by")).to_have_value("J")
    proposed = re.search(r"Batch (QM-\d{6}-\d+)\.", answered(page, "batch_sheet").inner_text())
    assert proposed
    form.locator('[data-issue="weigh"]').tap()
    page.wait_for_url(f"**/scale/#{proposed[1]}/1")
    expect(page.locator('.floor-where [data-slot="code"]')).to_contain_text(proposed[1])


def test_what_was_opened_stays_open_when_the_answer_changes(page: Page) -> None:
    page.goto("batch/")
    sheet = answered(page, "batch_sheet")
    sheet.locator('[data-fold="pours"] > summary').tap()
    control(form_of(page, "batch_sheet"), "blocks").fill("3")
    expect(answered(page, "batch_sheet")).to_contain_text("All 3 blocks")
    expect(sheet.locator(".target").first).to_be_visible()
    expect(sheet.locator('[data-fold="superfat"]')).not_to_have_attribute("open", "")


def test_what_can_be_changed_opens_by_itself_where_something_is_missing(page: Page) -> None:
    page.goto("batch/#f-nowhere")
    expect(page.locator(".asks")).to_have_attribute("open", "")
    expect(page.locator('.asks [name="formula"]')).to_be_visible()


def test_the_first_screen_of_a_scent_check_says_the_verdict_the_most_and_the_label(page: Page) -> None:
    page.set_viewport_size(PHONE["viewport"])
    page.goto("fragrance/")
    answer = answered(page, "fragrance").locator(".scent-answer")
    for name in ("scent", "load_fraction", "oils_g"):
        expect(page.locator(f'[name="{name}"]')).to_be_visible()
    assert box(answer)["bottom"] <= box(page.locator(".places"))["top"]
    assert screens_long(page) <= LONGEST


@pytest.mark.parametrize(("path", "task"), [("batch/", "batch_sheet"), ("fragrance/", "fragrance")])
def test_on_a_wide_screen_the_whole_form_stands_left_of_its_answer(page: Page, path: str, task: str) -> None:
    page.set_viewport_size(WIDE)
    page.goto(path)
    answer, form = box(answered(page, task)), form_of(page, task)
    asked = box(form.locator("[data-field]").first)
    assert asked["right"] < answer["left"]
    assert asked["top"] < WIDE["height"] and answer["top"] < WIDE["height"]
    expect(form.locator("details[data-open-wide]")).to_have_attribute("open", "")
    # The width is used: hardly a margin is left at the right.
    assert answer["right"] > WIDE["width"] * 0.8
