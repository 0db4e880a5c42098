"""When a tank is switched on, on a phone with no network: by its temperature, with a reminder, and by what was read of it earlier."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from conftest import NARROW, PHONE
from playwright.sync_api import BrowserContext, Page, expect
from screens import Touch, answered, control, form_of, kept_offline, press_twice, stored, there
from site_server import SiteServer

NewContext = Callable[..., BrowserContext]
EVENING = datetime(2026, 12, 1, 19, 0, tzinfo=UTC)


def typed(page: Page, name: str, text: str, unit: str = "") -> None:
    form = form_of(page, "tank_heat")
    control(form, name).fill(text)
    if unit:
        control(form, f"{name}.unit").select_option(unit)


def test_a_tank_is_switched_on_by_its_temperature_and_the_reminder_names_that_instant(
    new_context: NewContext, mortal_server: Callable[..., SiteServer]
) -> None:
    server = mortal_server()
    page = new_context(server, **PHONE, timezone_id="America/Chicago").new_page()
    page.clock.install(time=EVENING)
    page.goto("tanks/heat/")
    kept_offline(page)
    server.kill()
    page.reload()
    there(page, 'form[data-task="tank_heat"][data-filled]')
    typed(page, "now_c", "68", "degF")
    warm = answered(page, "tank_heat").get_by_role("heading", level=2).first
    expect(warm).to_contain_text(re.compile(r"Switch on at 0?[34]:\d[05]"))
    before = warm.inner_text()
    typed(page, "now_c", "60", "degF")
    # Colder, it is switched on earlier; the reader's own clock tells it.
    expect(answered(page, "tank_heat").get_by_role("heading", level=2).first).not_to_have_text(before)
    with page.expect_download() as download:
        answered(page, "tank_heat").get_by_role("button", name="Remind me").tap()
    text = download.value.path().read_text(encoding="utf-8")
    # RFC 5545: an instant in UTC; Chicago is six hours behind in December.
    shown = answered(page, "tank_heat").locator("h2 time").get_attribute("datetime")
    assert shown is not None
    at = datetime.fromisoformat(shown) + timedelta(hours=6)
    assert f"DTSTART:{at:%Y%m%dT%H%M}00Z" in text
    assert "SUMMARY:Switch on: Oil tank" in text and "ACTION:DISPLAY" in text


def test_two_temperatures_of_a_tank_are_kept_and_measure_its_loss(new_context: NewContext) -> None:
    page = new_context(**PHONE).new_page()
    page.clock.install(time=EVENING)
    page.goto("tanks/temperature/#t-oil")
    form = form_of(page, "tank_temperature")
    there(page, 'form[data-task="tank_temperature"][data-filled]')
    control(form, "person").fill("J")
    control(form, "temperature_c").fill("45")
    control(form, "temperature_c.unit").select_option("degC")
    expect(answered(page, "tank_temperature")).to_contain_text("Oil tank at 45\u00a0°C")
    form.get_by_role("button", name="Keep it").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")
    (kept,) = [event for event in stored(page, "events") if event["kind"] == "tank_temperature"]
    assert (kept["subject"], kept["temperature_c"], kept["instrument"]) == ("contents:t-oil", 45, "probe")

    page.clock.set_system_time(EVENING + timedelta(hours=14))
    page.goto("tanks/heat/#t-oil?now_c=38&now_c.unit=degC")
    there(page, 'form[data-task="tank_heat"][data-filled]')
    typed(page, "amount_g", "140", "kg")
    control(form_of(page, "tank_heat"), "oils_are").select_option("clear")
    heat = answered(page, "tank_heat")
    heat.locator('[data-fold="sure"] > summary').tap()
    expect(heat).to_contain_text("It was 45\u00a0°C")
    heat.get_by_role("button", name="Yes, figure its heat loss from that").tap()
    expect(control(form_of(page, "tank_heat"), "earlier_c")).to_have_value("45")
    expect(answered(page, "tank_heat")).to_contain_text("by its two temperatures")


def test_a_switch_on_put_on_today_stands_there_survives_a_kill_and_goes_with_a_tap(
    new_context: NewContext, mortal_server: Callable[..., SiteServer]
) -> None:
    server = mortal_server()
    context = new_context(server, **PHONE, timezone_id="America/Chicago")
    page = context.new_page()
    page.clock.install(time=EVENING)
    page.goto("tanks/heat/")
    kept_offline(page)
    server.kill()
    page.reload()
    there(page, 'form[data-task="tank_heat"][data-filled]')
    typed(page, "now_c", "60", "degF")
    warm = answered(page, "tank_heat").get_by_role("heading", level=2).first
    expect(warm).to_contain_text("Switch on at")
    shown = warm.locator("time").inner_text()
    control(form_of(page, "tank_heat"), "person").fill("J")
    form_of(page, "tank_heat").get_by_role("button", name="Put it on Today").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")
    # What was typed stands on, so that the next answer is of the same tank.
    expect(control(form_of(page, "tank_heat"), "now_c")).to_have_value("60")
    # The page is gone at once; another one tells it, at its time, without calculation.
    page.close()
    page = context.new_page()
    page.clock.install(time=EVENING)
    page.goto("")
    row = page.locator("[data-due] li.due-switch")
    expect(row).to_contain_text("Switch on: Oil tank")
    expect(row).to_contain_text(shown)
    row.get_by_role("button", name="It’s on").tap()
    expect(row).to_have_count(0)
    (done,) = [event for event in stored(page, "events") if event["kind"] == "tank_switched_on"]
    assert done["person"] == "J" and done["subject"] == "contents:t-oil"
    page.reload()
    # It says since when and by whom, here and on the page of its heat: 19:00 UTC is 13:00 in Chicago.
    on = page.locator("[data-due] li.due-on")
    expect(on).to_contain_text("Oil tank is on")
    expect(on).to_contain_text("Since then, by J.")
    expect(on).to_contain_text("13:00")
    expect(row).to_have_count(0)
    page.goto("tanks/heat/#t-oil")
    told = answered(page, "tank_heat").locator(".heat-answer")
    expect(told).to_contain_text("On since 13:00, J.")
    page.goto("")
    # Tapped by mistake, it is taken back with two taps, and what was kept stands again.
    press_twice(Touch(page), on.locator("[data-take-back]"))
    expect(on).to_have_count(0)
    row.get_by_role("button", name="It’s on").tap()
    on.get_by_role("button", name="It’s off").tap()
    expect(on).to_have_count(0)
    expect(row).to_have_count(0)
    kinds = [event["kind"] for event in stored(page, "events") if event["kind"].startswith("tank_")]
    assert sorted(kinds) == ["tank_switch_kept", "tank_switched_off", "tank_switched_on", "tank_switched_on", "tank_taken_back"]


def test_the_heat_page_says_its_answer_on_the_first_screen_and_is_three_screens_at_most(page: Page) -> None:
    page.set_viewport_size(NARROW["viewport"])
    page.goto("tanks/heat/")
    there(page, 'form[data-task="tank_heat"][data-filled]')
    expect(answered(page, "tank_heat").locator("h2").first).to_be_visible(timeout=40_000)
    length, high, top = page.evaluate(
        "() => [document.documentElement.scrollHeight, innerHeight, document.querySelector('.heat-answer h2').getBoundingClientRect().bottom]"
    )
    assert length <= 3 * high and top <= high
