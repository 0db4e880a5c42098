"""The cut plan: three taps from Today, offline; its answer over its deed; a tapped cut; paper; and the way to the batch sheet."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO

import pytest
from conftest import PHONE
from floor import put
from playwright.sync_api import Page, expect
from pypdf import PdfReader
from screens import Touch, answered, control, form_of, gone, own_workshop, until
from test_accessibility import audit, axe
from test_answers_first import LONGEST, box, screens_long

__all__ = ["axe"]


def test_three_taps_from_home_to_the_plan_with_the_server_dead(offline_phone: Callable[[str], Page]) -> None:
    page = offline_phone("")
    # One: the place. Two: the page, with the plan of the demo's mould. Three: the sheet for it.
    page.locator(".places").get_by_role("link", name="Plan").tap()
    page.locator(".place-pages").get_by_role("link", name="Cut plan").tap()
    plan = answered(page, "cut_plan")
    # By hand (tests/answers/test_cut_answer.py): 23 along, 5 across, 3 up of 25 x 75 x 60 mm.
    expect(plan.locator("h2").first).to_contain_text("345 bars of 117\u00a0g")
    plan.get_by_role("link", name="Batch sheet for this").tap()
    expect(answered(page, "batch_sheet").locator(".lead-facts")).to_contain_text("345", timeout=40_000)


@pytest.mark.parametrize("path", ["cut/", "es/cut/"])
def test_the_first_screen_tells_bars_weights_and_trim_over_the_deed_and_shows_the_block(page: Page, path: str) -> None:
    page.set_viewport_size(PHONE["viewport"])
    page.goto(path)
    plan = answered(page, "cut_plan")
    deed = page.locator(".deed-bar a")
    edge = box(page.locator(".deed-bar"))["top"]
    assert box(deed)["bottom"] <= PHONE["viewport"]["height"]
    for told in (plan.locator("h2").first, plan.locator(".lead-facts"), plan.locator(".d-block-cut")):
        assert 0 < box(told)["top"] and box(told)["bottom"] <= edge, told.inner_text()
    assert screens_long(page) <= LONGEST


def test_bars_wanted_become_the_batch_sheet_and_what_is_typed_over_it_stays(page: Page) -> None:
    page.goto("cut/")
    form = form_of(page, "cut_plan")
    answered(page, "cut_plan")
    control(form, "loaf_frame").select_option("l-tall")
    control(form, "bars_wanted").fill("150")
    plan = answered(page, "cut_plan")
    # By hand (tests/answers/test_cut_answer.py): two layers of 92, so 130 mm set, 137 filled.
    expect(plan).to_contain_text("1 block filled to 137\u00a0mm")
    expect(plan).to_contain_text("184 bars for 150 wanted")
    plan.get_by_role("link", name="Batch sheet for this").tap()
    sheet = form_of(page, "batch_sheet")
    expect(answered(page, "batch_sheet")).to_contain_text("filled to 137\u00a0mm")
    for name, value in {"formula": "f-marsh-plain", "mould": "m-block", "scale_to": "fill_height", "blocks": "1", "fill_height_mm": "137",
                        "loaf_frame": "l-tall", "bar_frame": "b-25", "cutter": ""}.items():  # fmt: skip
        expect(control(sheet, name)).to_have_value(value)
    # What is handed over comes once: typed over, it stays so, also at a reload.
    assert "?" not in page.evaluate("location.hash")
    control(sheet, "fill_height_mm").fill("140")
    expect(answered(page, "batch_sheet")).to_contain_text("filled to 140\u00a0mm")
    page.wait_for_timeout(1_000)
    page.reload()
    expect(answered(page, "batch_sheet")).to_contain_text("filled to 140\u00a0mm")


def test_a_better_way_is_one_tap(page: Page) -> None:
    page.goto("cut/")
    form, hands = form_of(page, "cut_plan"), Touch(page)
    answered(page, "cut_plan")
    control(form, "fill_height_mm").fill("210")
    plan = answered(page, "cut_plan")
    # By hand: three layers with trim need 190 mm set; 200 of this batter set to 192.8: 190/0.9638 and 2 is 199.1.
    expect(plan.locator(".cut-advice")).to_contain_text("Fill to 200\u00a0mm: the same bars")
    hands.press(plan.locator(".cut-advice").get_by_role("button", name="Use it").first)
    expect(control(form, "fill_height_mm")).to_have_value("200")
    expect(answered(page, "cut_plan").locator("figcaption").first).to_contain_text("filled to 200\u00a0mm")
    plan = answered(page, "cut_plan")
    hands.press(plan.locator('[data-fold="ways"] > summary'))
    hands.press(plan.locator(".cut-ways").get_by_role("button", name="Use it").first)
    expect(answered(page, "cut_plan").locator("h2").first).to_contain_text("276 bars")


def test_a_tapped_cut_tells_its_measure_from_the_edge(page: Page) -> None:
    page.goto("cut/")
    plan = answered(page, "cut_plan")
    hands = Touch(page)
    hands.press(plan.locator('[data-fold="faces"] > summary'))
    cut = plan.locator(".d-face").nth(1).locator("[data-measure]", has=page.locator("line")).nth(1)
    expect(cut).to_have_attribute("data-measure", "80 mm across the width, from the stop")
    where = box(cut.locator(".d-cut"))
    # Seven pixels beside the line, as a finger hits it, and between two level cuts.
    page.touchscreen.tap(where["left"] + 7, where["top"] + where["height"] * 0.45)
    expect(plan.locator("[data-measured]")).to_have_text("80 mm across the width, from the stop")
    expect(plan.locator("[data-tapped]")).to_have_count(1)


def test_the_plan_on_paper_has_pictures_and_every_cut_on_two_pages_at_most(page: Page) -> None:
    page.goto("cut/")
    answered(page, "cut_plan")
    for paper in ("A4", "Letter"):
        printed = PdfReader(BytesIO(page.pdf(format=paper, print_background=False))).pages
        assert len(printed) <= 2, f"{len(printed)} pages of {paper}"
        text = "".join("".join(each.extract_text().split()) for each in printed)
        assert "345barsof117g" in text and "5,80,155,230,305,380mm" in text and "Front" in text


def test_the_plan_is_accessible_unfolded_and_with_problems(page: Page, axe: str) -> None:
    page.goto("cut/")
    form = form_of(page, "cut_plan")
    answered(page, "cut_plan")
    control(form, "sold_bar_g").fill("113")
    answered(page, "cut_plan")
    page.evaluate("for (const fold of document.querySelectorAll('main details')) fold.open = true")
    assert audit(page, axe, "cut plan unfolded") == []
    control(form, "fill_height_mm").fill("2000")
    control(form, "fill_height_mm").blur()
    until(page, "document.querySelector('[data-problem=fill_height_mm]').textContent !== ''", "the problem")
    assert audit(page, axe, "cut plan with a problem") == []


def test_trim_differs_from_bars_without_colour(page: Page) -> None:
    """Hatched strokes lie over what comes off and over nothing else; cuts are lines."""
    page.emulate_media(forced_colors="active")
    page.goto("cut/")
    plan = answered(page, "cut_plan")
    drawn = plan.locator(".d-block-cut path.d-trim").first.evaluate("(path) => getComputedStyle(path).stroke")
    assert drawn not in ("none", "rgba(0, 0, 0, 0)")


def test_one_s_own_workshop_without_frames_is_told_what_to_add(bare_page: Page) -> None:
    page = bare_page
    own_workshop(page)
    page.goto("cut/")
    gone(page, "[data-answer][aria-busy=true]")
    form = form_of(page, "cut_plan")
    until(page, "document.querySelector('form[data-filled]') !== null", "the form")
    expect(page.locator("[data-answer=cut_plan]")).to_be_hidden()
    expect(control(form, "mould")).to_have_value("")


def test_blocks_racked_before_tell_the_plan_how_dense_their_soap_is(page: Page) -> None:
    page.goto("cut/")
    answered(page, "cut_plan")
    then = "2026-11-20T08:00:00"
    put(page, [
        {"id": f"seed-racked-{n}", "at": f"{then}.00{n}Z", "local": f"{then}+00:00", "kind": "racked", "subject": f"block:OLD-{n}/1",
         "person": "Q", "step": "after:rack", "trays": 4, "bars": 276, "of_formula": "Marsh Plain", "density_g_per_ml": density}
        for n, density in enumerate((1.01, 1.02, 1.02, 1.03))
    ])  # fmt: skip
    page.reload()
    plan = answered(page, "cut_plan")
    # By hand: 25 x 75 x 60 mm at 1.02 g/ml is 114.75 g, not the 117 g of the workshop's 1.04.
    expect(plan.locator("h2").first).to_contain_text("345 bars of 115\u00a0g", timeout=40_000)
    expect(plan).to_contain_text("from 4 blocks of yours")
