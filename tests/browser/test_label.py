"""The label on a phone and on paper: a name confirmed once, what is kept, and the size that is printed."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader
from screens import Touch, answered, control, form_of, press_twice, stored

INCH_POINTS, INCH_MM = 72.0, 25.4


def test_a_name_is_confirmed_and_a_label_kept_with_the_server_dead(offline_phone: Callable[[str], Page]) -> None:
    page = offline_phone("records/label/#f-marsh-plain")
    form = form_of(page, "soap_label")
    expect(control(form, "formula")).to_have_value("f-marsh-plain")
    found = answered(page, "soap_label")
    expect(found).to_contain_text("Ingredient names to look up: 3", timeout=40_000)
    # What is open, the whole of the label and the next deed on the first screen.
    expect(found.get_by_role("heading", level=2).first).to_be_in_viewport()
    expect(page.get_by_role("button", name="Print")).to_be_in_viewport()
    label, bar = found.locator(".soap-label").bounding_box(), page.locator(".deed-bar").bounding_box()
    assert label and bar and label["y"] + label["height"] <= bar["y"]
    # Nobody is asked who it is until names are looked up, where what is open leads.
    expect(control(form, "person")).to_be_hidden()
    found.get_by_role("button", name="Ingredient names to look up: 3").tap()
    control(form, "person").fill("Q")
    found.locator('[data-inci="olive.raw.us"]').tap()
    expect(found).to_contain_text("Ingredient names to look up: 2", timeout=40_000)
    (event,) = [each for each in stored(page, "events") if each["kind"] == "inci_confirmed"]
    assert (event["subject"], event["name"]) == ("inci:olive.raw.us", "Olea Europaea (Olive) Fruit Oil")
    # A name that was wrong is taken back, and asked for again.
    found.get_by_text("The list by weight").tap()
    press_twice(Touch(page), found.locator('[data-kind="inci_taken_back"]'))
    expect(found).to_contain_text("Ingredient names to look up: 3", timeout=40_000)
    (gone,) = [each for each in stored(page, "events") if each["kind"] == "inci_taken_back"]
    assert (gone["subject"], gone["takes"], gone["person"]) == ("inci:olive.raw.us", event["id"], "Q")
    page.get_by_role("button", name="Keep this label").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")
    (kept,) = [each for each in stored(page, "events") if each["subject"] == "label:f-marsh-plain"]
    assert kept["values"]["identity"] == "Bar soap" and "formula" not in kept["values"]


# ISO 216 A4 and ANSI Letter in millimeters; how many labels of 76 x 64 mm go on them, worked by hand.
@pytest.mark.parametrize(("paper", "size", "count"), [("letter", (215.9, 279.4), 6), ("a4", (210.0, 297.0), 8)])
def test_a_label_prints_at_its_true_size(page: Page, paper: str, size: tuple[float, float], count: int) -> None:
    page.goto("records/label/")
    form = form_of(page, "soap_label")
    answered(page, "soap_label")
    form.locator(".asks > summary").first.click()
    control(form, "paper").select_option(paper)
    control(form, "width_mm").fill("76")
    control(form, "height_mm").fill("64")
    expect(answered(page, "soap_label").locator('.soap-label[width="76mm"]')).to_be_visible(timeout=40_000)
    (sheet,) = PdfReader(BytesIO(page.pdf(prefer_css_page_size=True, print_background=True))).pages
    box = [float(end) / INCH_POINTS * INCH_MM for end in (sheet.mediabox.width, sheet.mediabox.height)]
    assert box == pytest.approx(size, abs=0.3)
    found = drawn(sheet)
    assert len([rect for rect in found["re"] if rect == pytest.approx((76.0, 64.0), abs=0.05)]) == count, found["re"][:12]
    # The line that checks the printer.
    assert any(abs(length - 100.0) < 0.1 for length in found["h"])
    assert "REEDLAVENDER" in "".join(sheet.extract_text().split()).upper()


def drawn(sheet: Any) -> dict[str, list[Any]]:
    """The rectangles and level lines of a page, in millimeters on the paper, whatever it scales by."""
    found: dict[str, list[Any]] = {"re": [], "h": []}
    path: list[tuple[float, float]] = []

    def point(x: Any, y: Any, cm: list[float]) -> tuple[float, float]:
        x, y = float(x), float(y)
        return tuple(v / INCH_POINTS * INCH_MM for v in (x * cm[0] + y * cm[2] + cm[4], x * cm[1] + y * cm[3] + cm[5]))  # type: ignore[return-value]

    def look(operator: bytes, operands: list[Any], cm: list[float], _tm: list[float]) -> None:
        if operator == b"re":
            x, y, w, h = (float(each) for each in operands)
            a, b = point(x, y, cm), point(x + w, y + h, cm)
            found["re"].append((abs(b[0] - a[0]), abs(b[1] - a[1])))
        elif operator == b"m":
            path[:] = [point(*operands, cm)]
        elif operator == b"l":
            path.append(point(*operands, cm))
            a, b = path[-2:]
            if abs(a[1] - b[1]) < 0.01:
                found["h"].append(abs(a[0] - b[0]))
            if len(path) >= 4:
                xs, ys = [p[0] for p in path], [p[1] for p in path]
                found["re"].append((max(xs) - min(xs), max(ys) - min(ys)))

    sheet.extract_text(visitor_operand_before=look)
    return found
