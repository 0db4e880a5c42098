"""Reasons that are often given are tapped, and typed on from; a scent's lot is asked at the bottle."""

from __future__ import annotations

from floor import STAGE, begun, block_events, issue, record_of
from playwright.sync_api import Page, expect
from screens import Touch, answered, control, form_of


def test_a_reason_for_issuing_is_tapped_once_and_typed_on_from(page: Page) -> None:
    page.goto("batch/")
    answered(page, "batch_sheet")
    reason = control(form_of(page, "batch_sheet"), "reason")
    tapped = page.locator('[data-field="reason"] [data-say]')
    first, second = tapped.nth(0).inner_text(), tapped.nth(1).inner_text()
    tapped.nth(0).tap()
    expect(reason).to_have_value(first)
    tapped.nth(0).tap()
    expect(reason).to_have_value(first)
    tapped.nth(1).tap()
    expect(reason).to_have_value(f"{first}. {second}")


def test_what_the_guide_says_is_tapped_in_the_language_that_is_shown(page: Page) -> None:
    page.goto("safety/")
    page.evaluate("document.querySelector('[data-guide-problem]').hidden = false")
    button = page.locator("[data-guide-problem] [data-say]").first
    english = button.locator(".en").text_content()
    button.tap()
    expect(page.locator("#guide-reason")).to_have_value(english or "none")


def test_another_lot_of_the_scent_is_named_at_its_bottle(page: Page) -> None:
    code = issue(page, formula="f-reed-lavender")
    floor = begun(Touch(page), record_of(page, code), "scent")
    floor.titled("Weigh scent Reed lavender")
    expect(page.locator(f"{STAGE} .how")).to_contain_text("Read the name and lot on the bottle.")
    floor.do("lot")
    floor.comes("lot")
    # The demo's lots of scent, as shared/demo/workshop.json has them.
    expect(page.locator(f"{STAGE} [data-list='lots'] button")).to_have_text(["LAV-0611", "CLV-0604", "ORG-0617"])
    page.locator(f"{STAGE} [data-list='lots'] button", has_text="CLV-0604").tap()
    floor.titled("Weigh scent Reed lavender")
    named = page.locator(f"{STAGE} .on strong").filter(visible=True)
    expect(named).to_have_text("CLV-0604")
    floor.step()
    chosen, weighed = [event for event in block_events(page, code) if not event["id"].startswith("seed-")][-2:]
    assert (chosen["kind"], chosen["lots"]) == ("lots", {"scent": "CLV-0604"})
    assert (weighed["kind"], weighed["step"], weighed["lot"]) == ("weighed", "scent", "CLV-0604")
