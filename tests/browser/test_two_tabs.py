"""Two tabs of one browser: one text is changed in one place, both see what is saved, and a code is issued once."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from conftest import PHONE
from playwright.sync_api import BrowserContext, Page, expect
from screens import answered, control, draft_kept, form_of, issued_code, problem, stored, until

NewContext = Callable[..., BrowserContext]


def open_block(page: Page) -> None:
    page.goto("workshop/edit/#mould/m-block")
    answered(page, "mould")


def elsewhere(page: Page) -> object:
    return page.locator('[data-kind="mould"] [data-elsewhere]')


def test_the_second_tab_is_locked_until_it_takes_over_and_then_has_the_text_of_the_first(page: Page) -> None:
    open_block(page)
    second = page.context.new_page()
    open_block(second)
    expect(elsewhere(page)).to_be_hidden()
    expect(elsewhere(second)).to_be_visible()
    expect(control(form_of(second, "mould"), "name")).to_be_disabled()
    expect(form_of(second, "mould").get_by_role("button", name="Save ")).to_be_disabled()
    control(form_of(page, "mould"), "name").fill("Half way")
    second.locator('[data-kind="mould"] [data-take-over]').tap()
    expect(control(form_of(second, "mould"), "name")).to_be_enabled()
    expect(control(form_of(second, "mould"), "name")).to_have_value("Half way")
    expect(elsewhere(page)).to_be_visible()
    expect(control(form_of(page, "mould"), "name")).to_be_disabled()


def test_the_lock_goes_with_the_tab_that_held_it(page: Page) -> None:
    open_block(page)
    second = page.context.new_page()
    open_block(second)
    expect(elsewhere(second)).to_be_visible()
    control(form_of(page, "mould"), "name").fill("Half way")
    draft_kept(page, "Half way")
    page.close()
    # By itself when that is soon, as for a page that a slow phone is still leaving; else at the next opening.
    expect(control(form_of(second, "mould"), "name")).to_be_enabled()
    expect(control(form_of(second, "mould"), "name")).to_have_value("Half way")
    second.reload()
    answered(second, "mould")
    expect(elsewhere(second)).to_be_hidden()
    expect(control(form_of(second, "mould"), "name")).to_be_enabled()


def test_different_items_are_open_side_by_side(page: Page) -> None:
    open_block(page)
    second = page.context.new_page()
    second.goto("workshop/edit/#mould/m-half")
    answered(second, "mould")
    expect(control(form_of(second, "mould"), "name")).to_be_enabled()
    expect(elsewhere(second)).to_be_hidden()


def test_what_one_tab_saves_the_other_shows_in_lists_choices_and_answers(page: Page) -> None:
    page.goto("workshop/")
    answered(page, "workshop")
    sheet = page.context.new_page()
    sheet.goto("batch/")
    answered(sheet, "batch_sheet")
    third = page.context.new_page()
    open_block(third)
    form = form_of(third, "mould")
    control(form, "name").fill("Renamed mould")
    control(form, "fill_height_mm").fill("100")
    form.get_by_role("button", name="Save ").tap()
    expect(answered(page, "workshop")).to_contain_text("Renamed mould")
    expect(control(form_of(sheet, "batch_sheet"), "mould").locator("option:checked")).to_have_text("Renamed mould")
    # Half the fill height of 200 mm that the demo's mould has.
    expect(answered(sheet, "batch_sheet").locator("figcaption").first).to_contain_text("filled to 100")


def issue(page: Page, code: str) -> None:
    form = form_of(page, "batch_sheet")
    control(form, "code").fill(code)
    control(form, "issued_by").fill("M")


@pytest.fixture
def two_sheets(new_context: NewContext) -> tuple[Page, Page]:
    """Two tabs on the batch sheet in a browser without locks, as older ones are: both can issue."""
    context = new_context(**PHONE)
    context.add_init_script("delete Navigator.prototype.locks")
    pages = context.new_page(), context.new_page()
    for each in pages:
        each.goto("batch/")
        answered(each, "batch_sheet")
        expect(control(form_of(each, "batch_sheet"), "issued_by")).to_be_enabled()
    return pages


def press_both(pages: tuple[Page, Page]) -> None:
    for each in pages:
        each.evaluate("setTimeout(() => document.querySelector('[data-issue=print]').click(), 0)")


def issued_codes(page: Page) -> list[str]:
    return sorted(each["code"] for each in stored(page, "events") if each["kind"] == "issued")


def test_one_code_typed_in_two_tabs_is_issued_once(two_sheets: tuple[Page, Page]) -> None:
    for each in two_sheets:
        issue(each, "QM-ONE")
    press_both(two_sheets)
    # One goes on to its sheet; the other is told beside the code that it is taken.
    for each in two_sheets:
        until(
            each,
            "document.querySelector('[data-sheet] article, [data-problem=code]:not([hidden])') !== null",
            "an outcome",
        )
    assert issued_codes(two_sheets[0]) == ["QM-ONE"]
    told = [each for each in two_sheets if "/sheet/" not in each.url]
    assert len(told) == 1
    expect(problem(form_of(told[0], "batch_sheet"), "code")).to_contain_text("QM-ONE has already been issued")
    expect(control(form_of(told[0], "batch_sheet"), "issued_by")).to_have_value("M")


def test_two_tabs_that_issue_at_once_without_a_code_get_two_codes(two_sheets: tuple[Page, Page]) -> None:
    for each in two_sheets:
        issue(each, "")
    press_both(two_sheets)
    for each in two_sheets:
        issued_code(each)
    codes = issued_codes(two_sheets[0])
    assert len(codes) == len(set(codes)) == 2
    assert [code.rsplit("-", 1)[1] for code in codes] == ["1", "2"]


def test_a_double_tap_on_issue_issues_one_sheet(page: Page) -> None:
    page.goto("batch/")
    answered(page, "batch_sheet")
    issue(page, "")
    page.evaluate("for (let n = 0; n < 3; n += 1) document.querySelector('[data-issue=print]').click()")
    issued_code(page)
    assert len(issued_codes(page)) == 1


def test_a_save_on_top_of_another_tabs_change_is_not_made_unseen(new_context: NewContext) -> None:
    context = new_context(**PHONE)
    context.add_init_script("delete Navigator.prototype.locks; delete globalThis.BroadcastChannel")
    first, second = context.new_page(), context.new_page()
    open_block(first)
    open_block(second)
    for each, name in ((first, "From the first"), (second, "From the second")):
        control(form_of(each, "mould"), "name").fill(name)
    form_of(first, "mould").get_by_role("button", name="Save ").tap()
    expect(answered(first, "workshop")).to_contain_text("From the first")
    save = form_of(second, "mould").get_by_role("button", name="Save ")
    save.tap()
    expect(second.locator("[data-notice]")).to_contain_text("changed in another tab in the meantime")
    expect(control(form_of(second, "mould"), "name")).to_have_value("From the second")
    assert len(stored(second, "events")) == 1
    save.tap()
    expect(answered(second, "workshop")).to_contain_text("From the second")
