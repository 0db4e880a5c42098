"""Every state of every page: no violation that axe-core knows of, no sideways scrolling, focus always to be seen."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from conftest import PHONE
from floor import done, put, record_of
from playwright.sync_api import BrowserContext, Page, expect
from screens import (
    FULL_STORE,
    PAGES,
    answered,
    control,
    form_of,
    issued_code,
    own_workshop,
    problem,
    to_sheet,
    unfold,
    until,
)

NewContext = Callable[..., BrowserContext]
ROOT = Path(__file__).resolve().parents[2]
AXE = ROOT / ".tools" / "npm" / "node_modules" / "axe-core" / "axe.min.js"
# The scheme changes what can be read and nothing else; the width, where tables become lists, all but the colours.
LOOKS: tuple[tuple[tuple[int, int], str, dict[str, Any]], ...] = (
    ((390, 844), "light", {}),
    ((390, 844), "dark", {"runOnly": ["color-contrast", "link-in-text-block"]}),
    ((320, 640), "light", {"rules": {"color-contrast": {"enabled": False}, "target-size": {"enabled": True}}}),
)
KINDS = ("shop", "mould", "cutter", "vessel", "scale", "alkali_lot", "oil_lot", "own_oil", "person", "loaf_frame", "bar_frame")


@pytest.fixture(scope="module")
def axe() -> str:
    return AXE.read_text(encoding="utf-8")


def violations(page: Page, rules: dict[str, Any] | None = None) -> list[str]:
    """What axe-core finds wrong: by its usual rules, or as its options say.

    What a bar that stays half covers would pass for a small target: it is measured again where nothing covers it.
    """
    found: list[str] = page.evaluate(
        """async (rules) => {
          const {violations} = await axe.run(document, {resultTypes: ["violations"], ...rules});
          const wrong = [];
          for (const {id, help, nodes} of violations) {
            for (const {target, failureSummary} of nodes) {
              if (id === "target-size") {
                const [part] = target.map((each) => document.querySelector(each));
                part.scrollIntoView({block: "center", behavior: "instant"});
                const again = await axe.run(part, {resultTypes: ["violations"], runOnly: {type: "rule", values: [id]}});
                if (again.violations.length === 0) continue;
              }
              wrong.push(`${id}: ${help}: ${target} ${failureSummary}`);
            }
          }
          return wrong;
        }""",
        rules or {},
    )
    return found


def wide_parts(page: Page) -> list[str]:
    """What reaches past the right edge of the window, when the page scrolls sideways."""
    found: list[str] = page.evaluate(
        """() => {
          const {scrollWidth, clientWidth} = document.documentElement;
          if (scrollWidth <= clientWidth) return [];
          return [`${scrollWidth} > ${clientWidth}`, ...[...document.querySelectorAll("main *, header *, footer *")]
            .filter((each) => each.getBoundingClientRect().right > clientWidth + 0.5)
            .map((each) => each.outerHTML.slice(0, 120))].slice(0, 5);
        }"""
    )
    return found


def audit(
    page: Page,
    axe: str,
    state: str,
    schemes: tuple[str, ...] = ("light", "dark"),
    found_by: Callable[[Page, dict[str, Any]], list[str]] = violations,
) -> list[str]:
    """All that is wrong in this state, at both widths, light and dark. `found_by` asks axe-core by its options."""
    page.evaluate(axe)
    wrong = []
    for (width, height), scheme, rules in LOOKS:
        if scheme not in schemes:
            continue
        page.set_viewport_size({"width": width, "height": height})
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        # Where a page is when it opens.
        page.evaluate("scrollTo(0, 0)")
        found = [*(f"sideways: {each}" for each in wide_parts(page)), *found_by(page, rules)]
        wrong += [f"{state}, {width} px, {scheme}: {each}" for each in found]
    return wrong


def text_size(page: Page) -> float:
    """Of the page's text. [px]"""
    return float(page.evaluate("getComputedStyle(document.querySelector('main')).fontSize")[:-2])


def settled(page: Page) -> None:
    # A form that the store has not filled yet has still to ask: until its answer is there, what stands below is faded.
    until(page, "!document.querySelector('[aria-busy=true], form[data-hash-field]:not([data-filled])') && document.querySelector('[data-python-state]')"
          ".textContent.match(/^Calculating|^Calcula en/)", "an answer")  # fmt: skip


@pytest.mark.parametrize("path", PAGES, ids=[path or "home" for path in PAGES])
def test_every_page_is_accessible_and_fits_also_with_text_at_twice_its_size(page: Page, axe: str, path: str) -> None:
    page.goto(path)
    settled(page)
    before = text_size(page)
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert text_size(page) == pytest.approx(2 * before, rel=0.15), "the text does not follow the setting"
    assert wide_parts(page) == []
    page.evaluate("document.documentElement.style.fontSize = ''")
    # The sources' tables are alike: the first rows of two that are opened stand for all.
    page.evaluate("""() => {
      document.querySelectorAll("main table").forEach((table) => [...table.rows].slice(4).forEach((row) => row.remove()));
      [...document.querySelectorAll("main details")].forEach((details, n) => {
        if (n < 2) details.open = true;
        else details.querySelector("table")?.remove();
      });
    }""")
    assert audit(page, axe, path or "home") == []


def test_every_form_of_the_workshop_is_accessible_blank_and_with_all_its_problems(page: Page, axe: str) -> None:
    wrong = []
    for kind in KINDS:
        page.goto(f"workshop/edit/#{kind}/new")
        page.reload()
        settled(page)
        form = form_of(page, kind)
        if kind == "own_oil":
            form.locator("[data-add-row]").tap()
        if kind == "shop":
            control(form, "name").fill("")
        form.get_by_role("button", name="Save ").tap()
        expect(form.locator("[data-problems]")).to_be_focused()
        # Fields and problems have the same colours in every form.
        wrong += audit(page, axe, f"{kind} with problems", ("light", "dark") if kind == KINDS[0] else ("light",))
    assert wrong == []


def test_a_formula_is_accessible_with_problems_with_rows_added_and_with_free_lye_possible(page: Page, axe: str) -> None:
    page.goto("formula/edit/#new")
    form = form_of(page, "formula")
    settled(page)
    unfold(page)
    form.get_by_role("button", name="Add an oil").tap()
    form.get_by_role("button", name="Add an additive").tap()
    control(form, "additives.0.share_fraction").fill("60")
    form.get_by_role("button", name="Save", exact=True).tap()
    expect(problem(form, "additives.0.share_fraction")).to_be_visible()
    wrong = audit(page, axe, "formula with problems and rows")
    page.goto("formula/edit/#f-saltgrass")
    settled(page)
    control(form, "superfat_fraction").fill("0")
    expect(page.locator("[data-free-lye]")).to_be_visible()
    unfold(page)
    wrong += audit(page, axe, "formula with free lye")
    control(form, "oils_text").fill("olive 40, sunflowr 5, palm 30")
    expect(page.locator(".choose").first).to_be_visible()
    control(form, "oils_text").blur()
    expect(problem(form, "oils_text")).to_be_visible()
    wrong += audit(page, axe, "formula with an oil that is asked back")
    # Left half done and come back to: the note above the form.
    expect(page.locator("html")).to_have_attribute("data-busy", "")
    page.wait_for_timeout(300)
    page.reload()
    expect(form.locator("[data-draft-note]")).to_be_visible()
    settled(page)
    assert wrong + audit(page, axe, "formula with a draft") == []


def test_a_batch_sheet_is_accessible_in_each_way_of_making_it_and_with_problems(page: Page, axe: str) -> None:
    page.goto("batch/")
    form = form_of(page, "batch_sheet")
    answered(page, "batch_sheet")
    control(form, "scale_to").select_option("oil_left")
    control(form, "oil_left_g").fill("-3")
    form.locator('[data-issue="weigh"]').tap()
    expect(problem(form, "oil_left_g")).to_be_visible()
    expect(page.locator(".stale-note")).to_have_count(2)
    assert audit(page, axe, "batch sheet with problems and an old answer") == []


def test_an_issued_sheet_is_accessible_and_so_are_the_lists_that_lead_to_it(page: Page, axe: str) -> None:
    page.goto("batch/")
    form = form_of(page, "batch_sheet")
    answered(page, "batch_sheet")
    control(form, "issued_by").fill("M")
    to_sheet(form).tap()
    code = issued_code(page)
    settled(page)
    wrong = audit(page, axe, "issued sheet")
    record = record_of(page, code)
    put(page, done(record, "oil:1"))
    page.goto("")
    expect(page.locator("[data-in-hand] li")).to_be_visible()
    wrong += audit(page, axe, "Today with a practice block in hand")
    page.goto("records/")
    expect(page.locator("[data-log-list] a")).to_have_count(1)
    wrong += audit(page, axe, "the log with a batch")
    page.locator("[data-log-list] a").tap()
    expect(answered(page, "batch_record")).to_contain_text("Formula")
    for fold in page.locator("[data-answer] summary").all():
        fold.tap()
    wrong += audit(page, axe, "a batch with a block in hand")
    page.goto("formula/")
    expect(answered(page, "formula_list")).to_contain_text("Locked: used in")
    wrong += audit(page, axe, "formula list with a used formula")
    # Only in one's own workshop an eyewash and a copy come due.
    own = page.context.new_page()
    own_workshop(own)
    own.goto("sources/")
    # A first copy comes due a week after the first batch.
    put(own, [{**record, "local": "2026-01-02T09:00:00+00:00"}, *done(record, "oil:1")])
    own.goto("")
    expect(own.locator("[data-in-hand] li")).to_be_visible()
    expect(own.locator("[data-due] li")).to_have_count(2)  # the eyewash and a copy
    # These two bars come and go; here they stand while it is looked at.
    for bar in ("[data-making]", "#update-bar"):
        own.locator(bar).evaluate("bar => { bar.hidden = false; }")
    wrong += audit(own, axe, "Today with a block in hand")
    own.evaluate("document.documentElement.style.fontSize = '200%'")
    assert wrong + wide_parts(own) == []


def test_a_page_that_is_open_elsewhere_is_accessible(page: Page, axe: str) -> None:
    page.goto("workshop/edit/#mould/m-block")
    answered(page, "mould")
    other = page.context.new_page()
    other.goto("workshop/edit/#mould/m-block")
    expect(other.locator('[data-kind="mould"] [data-elsewhere]')).to_be_visible()
    assert audit(other, axe, "open elsewhere") == []


def test_not_saved_and_a_button_that_waits_for_the_second_press_are_accessible(
    new_context: NewContext, axe: str
) -> None:
    context = new_context(**PHONE)
    context.add_init_script(FULL_STORE)
    page = context.new_page()
    page.goto("workshop/edit/#person/new")
    form = form_of(page, "person")
    settled(page)
    control(form, "name").fill("R")
    form.get_by_role("button", name="Save ").tap()
    expect(page.locator("#not-saved")).to_be_visible()
    wrong = audit(page, axe, "not saved")
    page.goto("workshop/edit/#mould/m-half")
    settled(page)
    remove = page.locator('[data-remove="mould"]')
    remove.tap()
    expect(remove).to_have_text("Press again to confirm")
    assert wrong + audit(page, axe, "waiting for the second press") == []


def test_pages_without_calculation_are_accessible(without_python: Page, axe: str) -> None:
    page = without_python
    wrong = []
    for path in ("formula/edit/", "batch/", "workshop/"):
        page.goto(path)
        expect(page.locator("[data-python-state]")).to_contain_text("Calculation is off")
        if path != "workshop/":
            page.locator("form input:visible").first.fill("7")
        wrong += audit(page, axe, f"{path} without calculation")
    assert wrong == []


@pytest.mark.parametrize("path", ["", "formula/edit/", "batch/", "workshop/"])
def test_whatever_has_the_focus_shows_it_and_is_not_covered(page: Page, path: str) -> None:
    page.goto(path)
    settled(page)
    seen = 0
    for focus in focused_by_tab(page):
        seen += 1
        assert focus["ring"], f"no ring around {focus['what']}"
        assert focus["inside"], f"out of sight: {focus['what']}"
    assert seen > 5


def focused_by_tab(page: Page) -> Iterator[dict[str, Any]]:
    for _ in range(300):
        page.keyboard.press("Tab")
        focus = page.evaluate(
            """() => {
              const element = document.activeElement;
              if (!element || element === document.body) return null;
              const {outlineStyle, outlineWidth, boxShadow} = getComputedStyle(element);
              const box = element.getBoundingClientRect();
              return {
                what: element.outerHTML.slice(0, 120),
                ring: (outlineStyle !== "none" && parseFloat(outlineWidth) >= 2) || boxShadow !== "none",
                inside: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
              };
            }"""
        )
        if focus is None:
            return
        yield focus
