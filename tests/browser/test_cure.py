"""The cure rack on a phone: a batch put on it, weighed, its label and its end, with no network."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

from conftest import PHONE
from cutter import all_racked
from floor import STAGE
from playwright.sync_api import Page, expect
from screens import answered, control, form_of, own_workshop, stored, there
from test_after_pour import at_the_cutter


def events(page: Page, kind: str) -> list[dict]:
    return [event for event in stored(page, "events") if event["kind"] == kind]


def test_a_weighing_is_kept_with_the_server_dead_and_narrows_the_forecast(offline_phone: Callable[[str], Page]) -> None:
    page = offline_phone("cure/")
    # One tap from the list to the batch.
    answered(page, "cure_rack").get_by_role("link", name="Marsh Plain").tap()
    batch = answered(page, "cure_batch")
    expect(batch).to_contain_text("2 weighings make no curve.")
    form = form_of(page, "cure_batch")
    control(form, "person").fill("J")
    control(form, "total_g").fill("1336")
    control(form, "total_g.unit").select_option("g")
    form.get_by_role("button", name="Keep this weighing").tap()
    # The third weighing makes a curve, and the form is blank for the next one.
    expect(answered(page, "cure_batch").locator(".cure-curve")).to_be_visible(timeout=40_000)
    expect(control(form, "total_g")).to_have_value("")
    # What was opened to say who it was has folded again, and the unit stands for the next time.
    expect(form.locator("details.asks")).not_to_have_attribute("open", "")
    expect(control(form, "total_g.unit")).to_have_value("g")
    (kept,) = events(page, "cure_weighed")
    assert (kept["subject"], kept["person"], kept["values"]["total_g"], kept["values"]["bars"]) == ("cure:QM-118/1", "J", "1336", "10")


def test_a_batch_of_ones_own_goes_on_a_rack_and_off_it_again(page: Page) -> None:
    own_workshop(page)
    page.goto("cure/new/")
    form = form_of(page, "cure_racked")
    there(page, 'form[data-task="cure_racked"][data-filled]')
    for name, text in {"code": "OWN-7", "block": "1", "bars": "96", "water_fraction": "20", "label_g": "120", "person": "M"}.items():
        control(form, name).fill(text)
    control(form, "label_g.unit").select_option("g")
    expect(answered(page, "cure_racked")).to_contain_text("OWN-7, 96", timeout=40_000)
    form.get_by_role("button", name="Put it on the rack").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")
    (racked,) = events(page, "cure_racked")
    assert racked["subject"] == "cure:OWN-7/1" and racked["water"] == 0.2
    # On to its first weighing.
    expect(answered(page, "cure_batch")).to_contain_text("Weigh 10 bars together now")
    page.goto("cure/move/#OWN-7:1")
    form = form_of(page, "cure_move")
    expect(answered(page, "cure_move")).to_contain_text("Not ready yet.", timeout=40_000)
    control(form, "person").fill("M")
    form.get_by_role("button", name="Do it").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")
    # Back to the racks, from where it stays within reach: for its label, or if it was a slip.
    rack = answered(page, "cure_rack")
    expect(rack).to_contain_text("Nothing is on the racks.", timeout=40_000)
    rack.locator('[data-fold="cure-off"] > summary').tap()
    rack.get_by_role("link", name="OWN-7").tap()
    expect(answered(page, "cure_batch")).to_contain_text("Off the rack as ready since", timeout=40_000)


def test_a_wrong_weighing_is_taken_back_and_stays_in_the_records(page: Page) -> None:
    page.goto("cure/drying/#QM-114:1")
    batch = answered(page, "cure_batch")
    control(form_of(page, "cure_batch"), "person").fill("Q")
    batch.locator('[data-fold="cure-weighed"] > summary').tap()
    button = batch.locator("[data-take-back]").last
    button.tap()
    expect(button).to_have_text("Press again to confirm")
    page.wait_for_timeout(400)
    button.tap()
    expect(answered(page, "cure_batch").locator("[data-take-back]")).to_have_count(4, timeout=40_000)
    (back,) = events(page, "cure_taken_back")
    assert back["takes"] == "demo-a5" and back["person"] == "Q"


def test_the_label_follows_the_bars_and_what_they_still_lose(page: Page) -> None:
    page.goto("cure/label/#QM-114:1")
    form = form_of(page, "net_quantity")
    there(page, 'form[data-task="net_quantity"][data-filled]')
    # The button is in sight from the first screen on.
    deed = form.get_by_role("button", name="Keep these weights").bounding_box()
    assert deed["y"] + deed["height"] <= PHONE["viewport"]["height"]
    control(form, "weights").fill("127.1 128.0 126.5 127.9 128.3 127.2 126.9 127.7")
    answer = answered(page, "net_quantity")
    # On average 127.45 g; the curve takes about 2 % more until the sale, and both units are rounded down.
    expect(answer.locator("h2").first).to_contain_text("Print at most 4.", timeout=40_000)
    expect(answer).to_contain_text("a bar weighs at least 9")
    # What may be printed stands over the button, beside what was typed.
    most = answer.locator("h2").first.bounding_box()
    assert most["y"] + most["height"] <= page.locator(".deed-bar").bounding_box()["y"]


def test_the_rack_stands_in_spanish(page: Page) -> None:
    page.goto("es/cure/")
    answer = answered(page, "cure_rack")
    expect(answer).to_contain_text("Pese hoy las barras de muestra")
    answer.get_by_role("link", name="Reed Lavender").tap()
    expect(answered(page, "cure_batch")).to_contain_text("A la venta", timeout=40_000)


def test_a_block_racked_at_the_scale_lies_on_the_cure_rack_and_today_asks_for_its_first_weighing(
    new_context: Callable[..., Any], record: dict[str, Any]
) -> None:
    page = new_context(**PHONE).new_page()
    all_racked(at_the_cutter(page, record))
    code, soap = record["code"], record["formula"]["name"]
    page.locator(STAGE).get_by_role("link", name="Cure rack").tap()
    row = answered(page, "cure_rack").get_by_role("link").filter(has_text=code)
    # The cutter did what the sheet had planned.
    expect(row).to_contain_text(f"{code} / 1, day 0, {record['planned']['total']} bars", timeout=40_000)
    expect(row).to_contain_text(soap)
    expect(row).to_contain_text("Weigh the sample bars today")
    page.goto("")
    due = page.locator("[data-due] li").filter(has_text="Weigh the sample bars")
    expect(due).to_contain_text(f"{soap}, block 1")
    expect(due).to_contain_text(code)
    due.locator("a").tap()
    expect(answered(page, "cure_batch")).to_contain_text("Weigh 10 bars together now", timeout=40_000)
    form = form_of(page, "cure_batch")
    control(form, "person").fill("J")
    control(form, "total_g").fill("1400")
    control(form, "total_g.unit").select_option("g")
    form.get_by_role("button", name="Keep this weighing").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")
    page.goto("")
    # The next one is in three days (common practice): nothing of this batch is due now.
    expect(page.locator("[data-due]")).to_be_visible()
    expect(due).to_have_count(0)
    page.clock.install(time=datetime.now(UTC) + timedelta(days=3))
    page.goto("")
    expect(due).to_have_count(1)
    page.clock.set_fixed_time(datetime.now(UTC) + timedelta(days=36))
    page.goto("")
    ready = page.locator("[data-due] li").filter(has_text="Should be ready to sell")
    expect(ready).to_contain_text(code)
    ready.locator("a").tap()
    expect(answered(page, "cure_move")).to_contain_text(f"{soap}, day 36", timeout=40_000)
