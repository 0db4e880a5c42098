"""When Python can't start, pages stay readable, issued sheets open, and no old number passes for a present one."""

from __future__ import annotations

from collections.abc import Callable

from conftest import PHONE, LameSite, visitor
from playwright.sync_api import BrowserContext, Page, expect
from screens import answered, control, form_of, issued_code, to_sheet

NewContext = Callable[..., BrowserContext]

OFF = "Calculation is off ("


def test_the_page_says_that_calculation_is_off_and_why_and_the_demo_stays_readable(without_python: Page) -> None:
    page = without_python
    page.goto("batch/")
    state = page.locator("[data-python-state]")
    expect(state).to_contain_text(OFF, timeout=30_000)
    reason = state.inner_text().removeprefix(OFF).split(")")[0]
    assert len(reason) > 5, "no reason is given"
    # Nothing was changed: the sheet that was built for the demo workshop fits the form and may stand.
    expect(page.locator('[data-answer="batch_sheet"]')).to_contain_text("Before the lye")
    expect(page.locator(".stale-note")).to_have_count(0)
    page.goto("sources/")
    expect(page.locator("h1")).to_have_text("Sources")
    expect(page.locator("details")).not_to_have_count(0)


def test_after_a_change_no_number_of_before_is_shown_as_current(without_python: Page) -> None:
    page = without_python
    for path, task, name in (("batch/", "batch_sheet", "blocks"), ("formula/edit/", "formula", "superfat_fraction")):
        page.goto(path)
        expect(page.locator("[data-python-state]")).to_contain_text(OFF, timeout=30_000)
        control(form_of(page, task), name).fill("3")
        expect(page.locator(".stale-note:visible")).to_contain_text(OFF)
        expect(page.locator(f'[data-answer="{task}"]:not([data-stale]):visible')).to_have_count(0)


def test_issuing_and_saving_are_refused_with_the_reason_and_the_text_stays(without_python: Page) -> None:
    page = without_python
    page.goto("batch/")
    expect(page.locator("[data-python-state]")).to_contain_text(OFF, timeout=30_000)
    form = form_of(page, "batch_sheet")
    control(form, "issued_by").fill("M")
    form.locator('[data-issue="weigh"]').tap()
    expect(page.locator("[data-notice]")).to_contain_text(OFF)
    expect(control(form, "issued_by")).to_have_value("M")
    assert page.url.endswith("/batch/")


def test_issued_sheets_open_without_python(new_context: NewContext, lame_site: LameSite) -> None:
    page = visitor(new_context, lame_site)
    page.goto("batch/")
    answered(page, "batch_sheet")
    form = form_of(page, "batch_sheet")
    control(form, "issued_by").fill("M")
    to_sheet(form).tap()
    code = issued_code(page)
    before = page.locator("[data-sheet]").inner_text()
    page.close()
    lame_site.take_python_away()
    again = page.context.new_page()
    # A worker of the page's own, so that none still awake from before helps out.
    again.add_init_script("delete globalThis.SharedWorker")
    again.goto("records/")
    again.locator("[data-log-list] a").tap()
    # What is frozen of a batch is there too, with the way to its sheet.
    expect(again.locator("[data-batch-code]")).to_have_text(code)
    expect(again.locator("[data-batch-state]")).to_contain_text("issued")
    again.locator("[data-batch-sheet]").tap()
    assert issued_code(again) == code
    expect(again.locator("[data-python-state]")).to_contain_text(OFF, timeout=30_000)
    assert again.locator("[data-sheet]").inner_text() == before


def test_with_scripts_off_every_page_shows_the_demo_and_says_what_is_missing(new_context: NewContext) -> None:
    context = new_context(**PHONE, java_script_enabled=False)
    context.watch.allow(".mjs csp")  # how the browser says that it runs no scripts
    page = context.new_page()
    for path, words in (("", "Weigh every block"), ("formula/", "Marsh Plain"), ("batch/", "Before the lye"),
                        ("workshop/", "Quillmarsh"), ("sources/", "How we got it")):  # fmt: skip
        page.goto(path)
        text = page.locator("main").text_content() or ""
        assert words in text and "Scripts are off" in text
