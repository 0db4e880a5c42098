"""The issued sheet on paper: one page, A4 or Letter, with everything needed at the pot."""

from __future__ import annotations

import re
import zlib

import pytest
from playwright.sync_api import Page, expect
from screens import answered, control, form_of, issued_code

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


class Paper:
    """A PDF as Chromium writes it: its pages and the words on them."""

    def __init__(self, document: bytes) -> None:
        self.objects = {int(number): body for number, body in re.findall(rb"\n(\d+) 0 obj\n?(.*?)endobj", document, re.DOTALL)}
        self.pages = [body for body in self.objects.values() if re.search(rb"/Type\s*/Page\b", body)]

    def size(self) -> tuple[int, int]:
        box = re.search(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", self.pages[0])
        assert box
        return round(float(box[1])), round(float(box[2]))

    def text(self) -> str:
        """All words without any white space: how glyphs are spaced is the printer's matter."""
        letters = {name: self._letters(int(number)) for name, number in self._fonts()}
        words, font = [], b""
        content = re.search(rb"/Contents (\d+) 0 R", self.pages[0])
        assert content
        for name, shown in re.findall(rb"/(F\d+) [\d.]+ Tf|(<[0-9A-Fa-f]+>|\[[^\]]*\])\s*T[jJ]",
                                      self._stream(int(content[1]))):  # fmt: skip
            font = name or font
            for run in re.findall(rb"<([0-9A-Fa-f]+)>", shown):
                codes = (int(run[at : at + 4], 16) for at in range(0, len(run), 4))
                words += [letters[font].get(code, "") for code in codes]
        return re.sub(r"\s", "", "".join(words))

    def _fonts(self) -> list[tuple[bytes, bytes]]:
        listed = [body for body in [*self.pages, *self.objects.values()] if b"/Font" in body]
        return [each for body in listed for each in re.findall(rb"/(F\d+) (\d+) 0 R", body)]

    def _stream(self, number: int) -> bytes:
        found = re.search(rb"stream\r?\n(.*?)\r?\nendstream", self.objects[number], re.DOTALL)
        assert found
        return zlib.decompress(found[1]) if b"FlateDecode" in self.objects[number] else found[1]

    def _letters(self, font: int) -> dict[int, str]:
        """Glyph number to text, from the font's ToUnicode table (ISO 32000-1, 9.10.3)."""
        table = re.search(rb"/ToUnicode (\d+) 0 R", self.objects[font])
        if not table:
            return {}
        source, found = self._stream(int(table[1])), {}
        for block in re.findall(rb"beginbfchar(.*?)endbfchar", source, re.DOTALL):
            for code, text in re.findall(rb"<(\w+)>\s*<(\w+)>", block):
                found[int(code, 16)] = bytes.fromhex(text.decode()).decode("utf-16-be")
        for block in re.findall(rb"beginbfrange(.*?)endbfrange", source, re.DOTALL):
            for first, last, text in re.findall(rb"<(\w+)>\s*<(\w+)>\s*<(\w+)>", block):
                for step, code in enumerate(range(int(first, 16), int(last, 16) + 1)):
                    found[code] = chr(int(text, 16) + step)
        return found


def issue(page: Page, values: dict[str, str]) -> str:
    form = form_of(page, "batch_sheet")
    answered(page, "batch_sheet")
    for name, text in {**values, "issued_by": "M"}.items():
        target = control(form, name)
        if target.evaluate("(element) => element.matches('select')"):
            target.select_option(text)
        else:
            target.fill(text)
    form.locator("[data-issue]").tap()
    return issued_code(page)


def check_papers(page: Page, code: str, *wanted: str) -> None:
    for paper in PAPERS:
        printed = Paper(page.pdf(format=paper, print_background=False))
        assert len(printed.pages) == 1, f"{len(printed.pages)} pages of {paper}"
        assert printed.size() == pytest.approx(SIZES[paper], abs=1)
        text = printed.text()
        for each in (code, *wanted):
            assert "".join(each.split()) in text, f"{each} is not on the {paper} page: {text}"


def amounts(page: Page) -> list[str]:
    """Each line's name and amount, as the sheet on the screen has them."""
    lines: list[str] = page.locator("[data-sheet] tbody tr:has(td)").evaluate_all(
        "(rows) => rows.flatMap((row) => [row.querySelector('th strong').textContent, row.querySelector('td strong').textContent])"
    )
    return lines


def test_the_demo_sheet_prints_on_one_page_with_code_amounts_and_safety_lines(page: Page) -> None:
    page.goto("batch/")
    code = issue(page, {})
    lines = amounts(page)
    assert len(lines) == 10, lines
    check_papers(page, code, *lines, "Marsh Plain", "revision 3", "LYE-1121", "OLV-0412", "Block 1", "Block 2",
                 "Goggles and gloves", "Caustic into water, never water onto caustic", "Weighed by")  # fmt: skip


def test_a_crowded_sheet_with_a_reason_still_prints_on_one_page(page: Page) -> None:
    page.goto("formula/edit/#new")
    form = form_of(page, "formula")
    expect(control(form, "name")).to_have_value("")
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
    form.get_by_role("button", name="Save ").tap()
    answered(page, "formula_list").get_by_role("link", name="Batch sheet of Everything at once").tap()
    reason = "Laundry soap, asked for by the kitchen; it is cured for six weeks and tested before it leaves. " * 2
    code = issue(page, {"blocks": "7", "mould": "m-half", "reason": reason})
    lines = amounts(page)
    assert len(lines) >= 20, lines
    check_papers(page, code, *lines, "Free lye is possible", "Issued all the same, because:", "Everything at once",
                 "tested before it leaves", "Weighed by")  # fmt: skip


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
