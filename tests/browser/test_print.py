"""The issued sheet on paper, A4 or Letter: one page with everything needed at the pot, one for the work after the pour."""

from __future__ import annotations

from io import BytesIO

import pytest
from floor import begun, record_of
from playwright.sync_api import Page, expect
from pypdf import PageObject, PdfReader
from screens import Touch, answered, control, form_of, issued_code, to_sheet, unfold

PAPERS = ("A4", "Letter")
# ISO 216 A4 and ANSI Letter in PostScript points (1/72 in).
SIZES = {"A4": (595, 842), "Letter": (612, 792)}

CROWDED = {
    "name": "Everything at once",
    **{f"oils.{row}.oil": key for row, key in enumerate(("olive", "palm", "coconut", "castor", "rapeseed_low_erucic", "sunflower"))},
    **{f"oils.{row}.share_fraction": share for row, share in enumerate(("30", "20", "20", "10", "10", "10"))},
    "superfat_fraction": "0",
    "lye_strength_fraction": "30",
    "scent_fraction": "3",
    "additives.0.kind": "honey",
    "additives.0.share_fraction": "1",
    "additives.1.kind": "sugar",
    "additives.1.share_fraction": "1",
    "oil_temperature_c": "40",
    "lye_temperature_c": "30",
}


def pages_of(document: bytes) -> list[PageObject]:
    return list(PdfReader(BytesIO(document)).pages)


def words_of(page: PageObject) -> str:
    """All words without any white space: how glyphs are spaced is the printer's matter."""
    return "".join(page.extract_text().split())


def issue(page: Page, values: dict[str, str]) -> str:
    form = form_of(page, "batch_sheet")
    answered(page, "batch_sheet")
    for name, text in {**values, "issued_by": "M"}.items():
        target = control(form, name)
        if target.evaluate("(element) => element.matches('select')"):
            target.select_option(text)
        else:
            target.fill(text)
    to_sheet(form).tap()
    return issued_code(page)


def check_papers(page: Page, code: str, *wanted: str) -> None:
    """All that is wanted stands on the first page; on the second one, the last, are the steps from the cover to the rack."""
    after = [step["title"] for step in record_of(page, code)["after"]]
    for paper in PAPERS:
        printed = pages_of(page.pdf(format=paper, print_background=False))
        assert len(printed) == 2, f"{len(printed)} pages of {paper}"
        for each, said in zip(printed, (wanted, (*after, "Racked by")), strict=True):
            assert (each.mediabox.width, each.mediabox.height) == pytest.approx(SIZES[paper], abs=1)
            text = words_of(each)
            for words in (code, *said):
                assert "".join(words.split()) in text, f"{words} is not on its {paper} page: {text}"


def amounts(page: Page) -> list[str]:
    """Each line's name and amount, as the sheet on the screen has them."""
    lines: list[str] = page.locator("[data-sheet] tbody tr:has(td strong)").evaluate_all(
        "(rows) => rows.flatMap((row) => [row.querySelector('th strong').textContent, row.querySelector('td strong').textContent])"
    )
    return lines


def test_the_demo_sheet_prints_the_pot_on_one_page_with_code_amounts_and_safety_lines_and_the_cutter_on_the_next(page: Page) -> None:
    page.goto("batch/")
    code = issue(page, {})
    lines = amounts(page)
    steps = record_of(page, code)["steps"]
    # Three oils, water, and the lye in two pours; each with its amount.
    assert len(lines) == 2 * 6 == 2 * len([step for step in steps if step["kind"] == "weigh"]), lines
    check_papers(page, code, *lines, *(step["title"] for step in steps), "Marsh Plain", "revision 3", "LYE-1121", "OLV-0412", "Block 1", "Block 2",
                 "Goggles and gloves", "Caustic into water, never water onto caustic", "Weighed by")  # fmt: skip


def test_a_crowded_sheet_with_a_reason_still_has_the_pot_on_one_page(page: Page) -> None:
    page.goto("formula/edit/#new")
    form = form_of(page, "formula")
    expect(control(form, "name")).to_have_value("")
    unfold(page)
    for _ in range(5):
        form.get_by_role("button", name="Add an oil").tap()
    for _ in range(2):
        form.get_by_role("button", name="Add an additive").tap()
    for name, text in CROWDED.items():
        target = control(form, name)
        if name.endswith((".oil", ".kind")):
            target.select_option(text)
        else:
            target.fill(text)
    answered(page, "formula")
    form.get_by_role("button", name="Save", exact=True).tap()
    answered(page, "formula_list").get_by_role("link", name="Batch sheet of Everything at once").tap()
    reason = "Laundry soap, asked for by the kitchen; it is cured for six weeks and tested before it leaves. " * 2
    code = issue(page, {"blocks": "7", "mould": "m-half", "reason": reason})
    lines = amounts(page)
    assert len(lines) >= 20, lines
    check_papers(page, code, *lines, "Free lye is possible", "Issued anyway, because:", "Everything at once",
                 "tested before it leaves", "Weighed by")  # fmt: skip


def test_the_live_sheet_prints_unfolded_and_without_its_form(page: Page) -> None:
    page.goto("batch/")
    answered(page, "batch_sheet")
    folded = page.locator("[data-answer] details:not([open])")
    many = folded.count()
    assert many > 0
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    expect(folded).to_have_count(0)
    page.emulate_media(media="print")
    # Both buttons, and fields of every part of the form: the order, who issues it, and why.
    form = form_of(page, "batch_sheet")
    for asked in ("[name='blocks']", "[name='issued_by']", "[name='reason']", "[data-issue='weigh']", "[data-issue='print']"):
        expect(form.locator(asked)).to_have_count(1)
        expect(form.locator(asked)).to_be_hidden()
    expect(page.locator("[data-answer] details > p").first).to_be_visible()
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    expect(folded).to_have_count(many)


def test_a_blocks_record_prints_alone(page: Page) -> None:
    page.goto("batch/")
    code = issue(page, {})
    record = record_of(page, code)
    floor = begun(Touch(page), record, "unmould")
    floor.do("start-timer")
    floor.do("to-closing")
    expect(page.locator("[data-stage] .scale-record")).to_be_visible(timeout=40_000)
    floor.do("close")
    expect(page.locator("[data-frozen] .log")).to_be_visible()
    page.emulate_media(media="print")
    for part in ("header.masthead", "footer.foot", "[data-floor-head]", "[data-floor-tools]", "[data-print]", ".back"):
        expect(page.locator(part).first).to_be_hidden()
    text = "".join(words_of(each) for each in pages_of(page.pdf(format="Letter", print_background=False)))
    for step in record["steps"][:-1]:
        assert "".join(step["title"].split()) in text, step["title"]


def test_nothing_of_the_page_around_the_sheet_is_printed(page: Page) -> None:
    page.goto("batch/")
    issue(page, {})
    page.emulate_media(media="print")
    for part in ("header.masthead", "footer.foot", "main [data-print]", "[data-notice]", ".back"):
        expect(page.locator(part).first).to_be_hidden()
    expect(page.locator(".batch-code")).to_be_visible()


def test_a_sheet_chosen_dark_is_still_printed_dark_on_white(page: Page) -> None:
    page.goto("batch/")
    issue(page, {})
    page.emulate_media(media="print", color_scheme="dark")
    ink: list[int] = page.evaluate(
        """() => { const {color} = getComputedStyle(document.querySelector('.issued td strong'));
                   return color.match(/\\d+/g).map(Number); }"""
    )
    assert max(ink[:3]) < 90, f"printed in {ink}: pale ink on white paper can't be read"


def test_a_day_of_twelve_blocks_prints_on_one_page_with_its_timeline(page: Page) -> None:
    page.goto("day/#2027-03-01")
    form = form_of(page, "day")
    answered(page, "day")
    for name in ("blocks.0.blocks", "blocks.1.blocks"):
        control(form, name).evaluate("(field) => { field.value = '6'; field.dispatchEvent(new Event('input', {bubbles: true})); }")
    plan = answered(page, "day")
    expect(plan.locator(".day-mark")).to_have_count(12, timeout=40_000)
    for paper in PAPERS:
        printed = pages_of(page.pdf(format=paper, print_background=False))
        assert len(printed) == 1, f"{len(printed)} pages of {paper}"
        text = words_of(printed[0])
        for each in ("12 Reed Lavender", "Oil tank", "weigh", "Ends about"):
            assert "".join(each.split()) in text, each
