"""A lot is counted on a phone with no network: the account tells it, and a batch sheet goes by it."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page, expect
from screens import answered, control, form_of, stored, there


def test_a_lot_is_counted_and_its_account_and_a_batch_sheet_go_by_the_count(offline_phone: Callable[[str], Page]) -> None:
    page = offline_phone("records/stock/")
    page.get_by_role("link", name="Count something").tap()
    there(page, 'form[data-task="stock_entry"][data-filled]')
    form = form_of(page, "stock_entry")
    control(form, "lot").select_option("o-cas")
    control(form, "mass_g").fill("1")
    control(form, "mass_g.unit").select_option("kg")
    form.locator("details.asks > summary").tap()
    control(form, "reason").fill("A pail leaked")
    control(form, "person").fill("J")
    form.get_by_role("button", name="Keep it").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.", timeout=40_000)
    (kept,) = [event for event in stored(page, "events") if event["kind"] == "stock_counted"]
    assert (kept["subject"], kept["person"], kept["grams"], kept["reason"]) == ("stock:oil_lot/o-cas", "J", 1000, "A pail leaked")
    page.goto("records/stock/")
    answered(page, "stock").locator("summary", has_text="Lots:").tap()
    lot = answered(page, "stock").get_by_role("link").filter(has_text="CAS-0019")
    expect(lot.first).to_contain_text("1 kg", timeout=40_000)
    # A block of it takes 1.8 kg of castor oil: 5 % of its oils.
    page.goto("batch/#f-reed-lavender?blocks=1")
    expect(answered(page, "batch_sheet")).to_contain_text("Lot CAS-0019 has 1 kg left", timeout=40_000)
