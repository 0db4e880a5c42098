"""What a maker meets on small screens and at odd moments: it fits, names what is new or gone, and offers what can be had."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from conftest import NARROW
from floor import begun, put
from playwright.sync_api import BrowserContext, Locator, Page, expect
from screens import Touch, answered, control, draft_kept, form_of, issued_code, stored, there, to_sheet, unfold

NewContext = Callable[..., BrowserContext]


def boxes(parts: Locator) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = parts.evaluate_all("(all) => all.map((each) => each.getBoundingClientRect().toJSON())")
    return found


def options(form: Locator, name: str) -> list[str]:
    return [" ".join(text.split()) for text in control(form, name).locator("option").all_text_contents()]


def issue(page: Page) -> str:
    page.goto("batch/")
    form = form_of(page, "batch_sheet")
    answered(page, "batch_sheet")
    control(form, "issued_by").fill("M")
    to_sheet(form).tap()
    return issued_code(page)


def test_five_places_stand_in_one_row_at_the_edge_of_the_narrowest_phone(page: Page) -> None:
    page.set_viewport_size(NARROW["viewport"])
    for path in ("sources/", "es/"):
        page.goto(path)
        row = boxes(page.locator(".places a"))
        assert len(row) == 5 and len({box["top"] for box in row}) == 1, "the places stand in more than one row"
        # A floor button for a thumb is 64 px: the keys at the scale.
        assert all(box["height"] >= 63 and box["width"] >= 60 and box["left"] >= 0 and box["right"] <= 320 for box in row)
        assert {round(box["bottom"]) for box in row} == {NARROW["viewport"]["height"]}
        words = boxes(page.locator(".places .place-name"))
        assert all(box["left"] >= 0 and box["right"] <= 320 for box in words)


@pytest.mark.parametrize(
    ("width", "height", "beside"), [(390, 844, False), (667, 375, True), (844, 390, True), (1280, 800, True)]
)
def test_places_stand_below_the_page_on_a_phone_and_beside_it_where_it_is_wide_or_low(
    page: Page, width: int, height: int, beside: bool
) -> None:
    page.set_viewport_size({"width": width, "height": height})
    page.goto("sources/")
    bar, main = boxes(page.locator(".places"))[0], boxes(page.locator("main"))[0]
    assert bar["left"] == 0 and round(bar["bottom"]) == height
    assert (bar["right"] <= main["left"]) == beside and (round(bar["right"]) == width) != beside
    # All five are in view, signs too, and none is smaller than 44 px: WCAG 2.2 SC 2.5.5.
    for box in boxes(page.locator(".places a")):
        assert box["height"] >= 44 and box["width"] >= 44 and box["bottom"] <= height + 0.5
    assert page.locator(".places svg:visible").count() == 5


def test_the_end_of_a_page_can_be_scrolled_out_from_under_the_places(page: Page) -> None:
    for size in ("", "200%"):
        page.goto("sources/")
        page.evaluate("(size) => (document.documentElement.style.fontSize = size)", size)
        page.evaluate("scrollTo(0, document.body.scrollHeight)")
        assert boxes(page.locator(".foot p:visible").last)[0]["bottom"] <= boxes(page.locator(".places"))[0]["top"]


def test_in_mid_block_and_on_paper_there_are_no_places(page: Page, record: dict[str, Any]) -> None:
    places = page.locator(".places")
    begun(Touch(page), record).at()
    expect(places).to_be_hidden()
    page.goto("sources/")
    expect(places).to_be_visible()
    page.emulate_media(media="print")
    expect(places).to_be_hidden()


def test_the_amounts_of_an_issued_sheet_stay_inside_its_card_at_320_px(page: Page) -> None:
    page.set_viewport_size(NARROW["viewport"])
    issue(page)
    (head,) = boxes(page.locator("[data-sheet] .issued-head"))  # as wide as the card inside its padding
    for box in boxes(page.locator("[data-sheet] tbody td.figure, [data-sheet] tbody td.figure *")):
        assert box["right"] <= head["right"] + 0.5, f"{box} reaches out of {head}"


def test_an_issued_sheet_says_its_code_and_leaves_what_is_for_paper_to_paper(page: Page) -> None:
    code = issue(page)
    expect(page.locator("[data-notice]")).to_contain_text(f"Issued as {code}.")
    paper = page.locator("[data-sheet] caption .on-paper")
    expect(paper).to_be_hidden()
    page.emulate_media(media="print")
    expect(paper).to_be_visible()


def test_an_issued_sheet_leads_to_the_records_of_its_blocks_and_each_record_back_to_it(
    page: Page, record: dict[str, Any]
) -> None:
    code = record["code"]
    begun(Touch(page), record, "oil:1").at()
    apart = {"id": "seed-apart", "at": "2026-01-03T08:00:00.000Z", "local": "2026-01-03T08:00:00+00:00", "kind": "closed",
             "subject": f"block:{code}/2", "person": "Q", "outcome": "quarantined", "reason": "spilled"}  # fmt: skip
    put(page, [apart])
    page.goto(f"batch/sheet/#{code}")
    links = page.locator("[data-sheet-blocks] a")
    expect(links).to_have_count(2)
    steps = [step["key"] for step in record["steps"]]
    expect(links.first).to_have_text(f"Block 1: step {steps.index('oil:1') + 1} of {len(steps)}")
    expect(links.last).to_have_text("Block 2: ■ set apart")
    # One is still to be weighed. Once none is, the way to the scale gives way to the record.
    weigh, its_record = page.locator("[data-weigh-url]"), page.locator("[data-record-url]")
    expect(weigh).to_be_visible()
    expect(its_record).to_be_hidden()
    links.last.tap()
    expect(page.locator("[data-stage]")).to_contain_text("Do not use, cut or sell.")
    page.get_by_role("link", name="The issued sheet").tap()
    assert issued_code(page) == code
    page.emulate_media(media="print")
    expect(page.locator("[data-sheet-blocks]")).to_be_hidden()
    page.emulate_media(media="screen")
    put(page, [{**apart, "id": "seed-apart-1", "subject": f"block:{code}/1"}])
    page.reload()
    expect(its_record).to_be_visible()
    expect(weigh).to_be_hidden()
    # In the batch log too each block tells how far it is, and leads to its record.
    page.goto("records/")
    page.locator("[data-log-list] a").tap()
    blocks = page.locator("[data-batch-blocks] > li")
    expect(blocks).to_contain_text(["Block 1 set apart", "Block 2 set apart"], use_inner_text=False)
    blocks.last.get_by_role("link", name="Record of the weighing").tap()
    expect(page.locator("[data-stage]")).to_contain_text("Do not use, cut or sell.")


def test_an_order_that_was_issued_today_and_waits_is_said_at_the_button_and_takes_a_second_press(page: Page) -> None:
    code = issue(page)
    page.goto("batch/")
    answered(page, "batch_sheet")
    form = form_of(page, "batch_sheet")
    said = page.locator("[data-issued-today]")
    control(form, "issued_by").fill("Q")
    expect(said).to_have_text(f"Already issued today as {code}: go on with it")
    button = form.locator('[data-issue="weigh"]')
    button.tap()
    expect(button).to_have_text("Press again to confirm")
    assert [each["code"] for each in stored(page, "events") if each["kind"] == "issued"] == [code]
    said.get_by_role("link").tap()
    expect(page.locator("[data-stage]")).to_contain_text(code)


def test_a_sheet_that_is_not_here_has_no_print_button_and_no_heading_of_its_own(page: Page) -> None:
    page.goto("batch/sheet/#QM-990101-9")
    expect(page.locator("[data-sheet-missing]")).to_be_visible()
    expect(page.locator("[data-print]")).to_be_hidden()
    expect(page.locator("h1")).to_have_text("Batch sheet not found")
    code = issue(page)
    expect(page.locator("[data-print]")).to_be_visible()
    expect(page.locator("h1")).to_have_text(f"Batch {code}")


def test_lists_of_caustic_offer_the_same_before_and_after_the_scripts(page: Page) -> None:
    page.goto("batch/")
    answered(page, "batch_sheet")
    form = form_of(page, "batch_sheet")
    assert options(form, "naoh_lot") == ["None", "LYE-1121, premixed 33 %", "NAO-0287, solid 98.5 %"]
    assert options(form, "koh_lot") == ["None", "KOH-0031, solid 90 %"]


def test_a_draft_that_names_what_is_gone_asks_again_without_raw_ids(page: Page) -> None:
    page.goto("batch/")
    form = form_of(page, "batch_sheet")
    answered(page, "batch_sheet")
    control(form, "mould").select_option("m-half")
    control(form, "blocks").fill("7")
    draft_kept(page, "7")
    gone = ("mould:m-half", "vessel:v-tilting", "formula:f-marsh-plain", "alkali_lot:a-tank", "cutter:c-frames")
    at = "2026-01-01T08:00:00"
    put(page, [{"id": f"seed-{n}", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": "removed", "subject": subject}
               for n, subject in enumerate(gone)])  # fmt: skip
    page.goto("batch/")
    expect(control(form, "blocks")).to_have_value("7")
    for name in ("mould", "vessel", "formula", "naoh_lot", "cutter"):
        expect(control(form, name)).to_have_value("")
        expect(form.locator(f'[data-field="{name}"] [data-gone]')).to_be_visible()
        assert not any("m-half" in text or "-tank" in text for text in options(form, name))
    expect(form.locator('[data-field="koh_lot"] [data-gone]')).to_be_hidden()


def test_the_note_that_something_is_gone_leaves_once_something_is_chosen(page: Page) -> None:
    page.goto("batch/#f-nowhere")
    form = form_of(page, "batch_sheet")
    note = form.locator('[data-field="formula"] [data-gone]')
    expect(note).to_be_visible()
    control(form, "formula").select_option("f-saltgrass")
    expect(note).to_be_hidden()


def test_what_is_new_is_called_new_and_cannot_be_removed(page: Page) -> None:
    for path, task, new, kept in (
        ("formula/edit/#new", "formula", "New formula", "formula/edit/#f-saltgrass"),
        ("formula/edit/#copy/f-saltgrass", "formula", "New formula", "formula/edit/#f-saltgrass"),
        ("workshop/edit/#mould/new", "mould", "New mold", "workshop/edit/#mould/m-half"),
    ):
        page.goto(path)
        heading = page.locator("h1" if task == "formula" else "#mould-heading")
        remove = form_of(page, task).locator("[data-remove]")
        expect(heading).to_have_text(new)
        expect(remove).to_be_hidden()
        page.goto(kept)
        expect(heading).not_to_have_text(new)
        expect(remove).to_be_visible()


def test_help_for_the_fields_of_a_row_waits_for_a_row(page: Page) -> None:
    page.goto("formula/edit/#new")
    there(page, 'form[data-task="formula"][data-filled]')  # until then the demo's rows stand there, and going they move the button
    unfold(page)
    additives = form_of(page, "formula").locator('[data-rows="additives"]')
    expect(additives.locator("[data-row]")).to_have_count(0)
    assert additives.locator(".row-help").count() > 0
    assert additives.locator(".row-help:visible").count() == 0
    additives.locator("[data-add-row]").tap()
    expect(additives.locator(".row-help").first).to_be_visible()


def test_amounts_from_before_a_fault_step_back(page: Page) -> None:
    page.goto("batch/")
    form = form_of(page, "batch_sheet")
    answered(page, "batch_sheet")
    target = page.locator('[data-answer="batch_sheet"] .pour-lines strong').first
    look = "(element) => [getComputedStyle(element).fontWeight, getComputedStyle(element).color]"
    weight, ink = target.evaluate(look)
    control(form, "blocks").fill("-3")
    expect(page.locator('[data-answer="batch_sheet"][data-stale]')).to_be_visible()
    assert int(target.evaluate(look)[0]) < int(weight)
    assert target.evaluate(look)[1] != ink
