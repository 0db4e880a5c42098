"""The batch log: found by any word, a page for each batch with all that was told of it, on paper too, and without calculation."""

from __future__ import annotations

import re
from datetime import UTC, datetime

from at_home import stamp
from floor import done, issue, put, record_of, step_of
from playwright.sync_api import Page, expect
from screens import answered

ROWS = "[data-log-list] > li"
FOLDS = '[data-answer="batch_record"] details'


def closed(code: str, block: int, **fields: object) -> dict[str, object]:
    return {"id": f"seed-closed-{block}", **stamp(datetime.now(UTC)), "kind": "closed", "person": "J", "outcome": "poured",
            "reason": "", "record": None, "subject": f"block:{code}/{block}", **fields}  # fmt: skip


def test_a_batch_is_found_by_any_of_its_words_and_its_page_tells_all_of_it(page: Page) -> None:
    code = issue(page)
    record = record_of(page, code)
    put(page, [*done(record, oil_0=step_of(record, "oil:0")["target"] + 100), closed(code, 1)])
    page.goto("records/")
    # Put there past the app: the log is made of it, once, and then it stands there.
    expect(page.locator(ROWS)).to_have_count(1)
    # Of its two blocks nobody has begun the second.
    expect(page.locator(ROWS)).to_contain_text("1 of 2 blocks poured")
    box = page.get_by_role("searchbox", name="Find a batch")
    expect(page.locator("[data-log-list][data-log-all]")).to_have_count(1)
    olive = next(pour["lot"] for pour in record["pours"] if pour["key"] == "oil:0")
    typed_day = page.evaluate("new Date().toLocaleDateString(navigator.languages[0], { day: '2-digit', month: '2-digit', year: 'numeric' })")
    for words in (code.lower(), "marsh POURED", olive, "q j", datetime.now().strftime("%Y"), datetime.now().strftime("%B"), typed_day):
        box.fill(words)
        expect(page.locator(ROWS), words).to_have_count(1)
    box.fill(f"{olive} rejected")
    expect(page.locator(ROWS)).to_have_count(0)
    expect(page.get_by_text("No batch has all of these words")).to_be_visible()
    box.fill(olive)
    page.locator(f"{ROWS} a").tap()
    expect(page.locator("[data-batch-code]")).to_have_text(code)
    on = page.locator("[data-batch-on]")
    # Poured and not cut: there is nothing to release yet, a label and a trace there are.
    expect(on.locator("a:visible")).to_have_text(["Label", "Where its bars are"])
    label, trace = on.locator("[data-batch-label]"), on.locator("[data-batch-trace]")
    expect(label).to_have_attribute("href", re.compile(rf"/label/#f-marsh-plain\?batch={code}$"))
    expect(trace).to_have_attribute("href", re.compile(rf"/trace/#{code}\?kind=batch$"))
    assert min(each["height"] for each in (label.bounding_box(), trace.bounding_box()) if each) >= 48
    answer = answered(page, "batch_record")
    # The reading, and that nobody's training covered the lye: once in the log's fold, once in Python's.
    expect(page.locator("[data-batch-blocks] > li")).to_contain_text("Deviations: 2")
    expect(answer.locator(".verdict")).to_contain_text("Deviations: 2")
    expect(page.locator(f"{FOLDS}[open]")).to_have_count(0)
    answer.get_by_role("heading", name="What was weighed").tap()
    expect(answer).to_contain_text(olive)
    # The way back leads to what was found.
    page.go_back()
    expect(box).to_have_value(olive)
    expect(page.locator(ROWS)).to_have_count(1)


def test_on_paper_all_of_it_is_open_with_lines_to_sign_and_without_calculation_the_frozen_record_stands(page: Page) -> None:
    code = issue(page)
    record = record_of(page, code)
    put(page, [*done(record), closed(code, 1, html="<p>Frozen at the pour</p>")])
    page.goto(f"records/batch/#{code}")
    answered(page, "batch_record")
    expect(page.get_by_text("Frozen at the pour")).to_be_hidden()
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    page.emulate_media(media="print")
    expect(page.locator(f"{FOLDS}:not([open])")).to_have_count(0)
    expect(page.locator(".signatures p")).to_have_count(3)
    expect(page.locator(".signatures")).to_be_visible()
    expect(page.locator("[data-batch-deeds]")).to_be_hidden()
    expect(page.locator("[data-batch-code]")).to_be_visible()
    assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(format="A4"))) >= 2
    page.emulate_media(media="screen")
    page.add_init_script("sessionStorage.setItem('tarewell-runtime', 'broken')")
    page.goto("records/")
    page.locator(f"{ROWS} a").tap()
    expect(page.get_by_text("Frozen at the pour")).to_be_visible(timeout=30_000)
    expect(page.locator("[data-batch-state]")).to_contain_text("poured")
