"""What a maker meets on small screens and at odd moments: it fits, names what is new or gone, and offers what can be had."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from conftest import NARROW
from floor import put
from playwright.sync_api import BrowserContext, Locator, Page, expect
from screens import answered, control, draft_kept, form_of, issued_code, to_sheet, unfold

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


def test_five_pages_stand_in_one_row_of_the_narrowest_head(page: Page) -> None:
    page.set_viewport_size(NARROW["viewport"])
    page.goto("sources/")
    entries = page.get_by_role("navigation", name="Pages").locator("a")
    if entries.filter(has_text="Scale").count() == 0:
        page.evaluate("""() => { const entry = document.querySelector(".nav li:nth-child(2)").cloneNode(true);
                         entry.firstChild.textContent = "Scale"; document.querySelector(".nav").append(entry); }""")
    assert entries.count() == 5
    row = boxes(entries)
    assert len({box["top"] for box in row}) == 1, "the entries stand in more than one row"
    # 44 px: WCAG 2.2 SC 2.5.5.
    assert all(box["height"] >= 44 and box["right"] <= 320 for box in row)


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
    for path, task, new, stored in (
        ("formula/edit/#new", "formula", "New formula", "formula/edit/#f-saltgrass"),
        ("formula/edit/#copy/f-saltgrass", "formula", "New formula", "formula/edit/#f-saltgrass"),
        ("workshop/edit/#mould/new", "mould", "New mould", "workshop/edit/#mould/m-half"),
    ):
        page.goto(path)
        heading = page.locator("h1" if task == "formula" else "#mould-heading")
        remove = form_of(page, task).locator("[data-remove]")
        expect(heading).to_have_text(new)
        expect(remove).to_be_hidden()
        page.goto(stored)
        expect(heading).not_to_have_text(new)
        expect(remove).to_be_visible()


def test_help_for_the_fields_of_a_row_waits_for_a_row(page: Page) -> None:
    page.goto("formula/edit/#new")
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
