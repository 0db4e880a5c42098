"""The day: three taps from Today with the server dead, kept and told by Today; what is done moves it; narrow; a calendar file; Spanish."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from conftest import NARROW, PHONE
from floor import done, put
from playwright.sync_api import BrowserContext, Page, expect
from screens import answered, control, form_of, kept_offline, stored, there, unfold
from site_server import SiteServer
from test_accessibility import wide_parts

NewContext = Callable[..., BrowserContext]


def opened(page: Page, day: str) -> Page:
    page.goto(f"day/#{day}")
    there(page, 'form[data-task="day"][data-filled]')
    return page


def tomorrow() -> str:
    return (date.today() + timedelta(days=1)).isoformat()


def at_hour(page: Page, hour: int) -> date:
    """Whatever hour it is: in the evening the page opens on another day. Gives the day there."""
    year, month, day = page.evaluate("() => { const now = new Date(); return [now.getFullYear(), now.getMonth() + 1, now.getDate()]; }")
    page.clock.set_fixed_time(page.evaluate("(hour) => new Date().setHours(hour, 0, 0, 0) / 1000", hour))
    return date(year, month, day)


def test_three_taps_from_home_to_a_plan_kept_with_the_server_dead(new_context: NewContext, mortal_server: Callable[..., SiteServer]) -> None:
    server = mortal_server()
    page = new_context(server, **PHONE).new_page()
    at_hour(page, 9)
    page.goto("")
    kept_offline(page)
    server.kill()
    page.reload()
    # One: the place. Two: the page, with today's plan as it would be. Three: it is kept.
    page.locator(".places").get_by_role("link", name="Plan").tap()
    page.locator(".place-pages").get_by_role("link", name="Day", exact=True).tap()
    plan = answered(page, "day")
    expect(plan.locator("h2").first).to_contain_text("Ends about", timeout=40_000)
    expect(plan.locator("svg.day-timeline")).to_have_attribute("aria-label", "The day as a timeline; the table below says the same.")
    control(form_of(page, "day"), "person").fill("Q")
    form_of(page, "day").get_by_role("button", name="Keep this plan").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")
    (kept,) = [event for event in stored(page, "events") if event["kind"] == "day_planned"]
    assert kept["subject"] == f"day:{kept['values']['on']}" and {"tank_on", "make"} >= {entry["kind"] for entry in kept["entries"]} >= {"make"}
    # Today tells the next of it, with no calculation; it leads to the day or to the block.
    page.goto("")
    rows = page.locator("[data-due] li").filter(has_text="By the day’s plan.")
    rows.filter(has_text="Start block").first.locator("a").tap()
    expect(answered(page, "day").locator("h2").first).to_contain_text("Ends about", timeout=40_000)


def test_a_tapped_order_is_kept_for_its_day_and_a_dropped_plan_is_gone(page: Page) -> None:
    opened(page, tomorrow())
    plan = answered(page, "day")
    rows = plan.locator(".day-table tbody tr").filter(has=page.locator(".day-mark"))
    expect(plan.locator("h2").first).to_contain_text("Ends about", timeout=40_000)
    plan.locator('[data-fold="day-table"] > summary').tap()
    expect(rows.nth(2)).to_contain_text("3 Reed Lavender", timeout=40_000)
    rows.nth(2).get_by_role("button", name="Earlier").tap()
    expect(rows.nth(1)).to_contain_text("3 Reed Lavender", timeout=40_000)
    expect(plan).to_contain_text("In your order.")
    control(form_of(page, "day"), "person").fill("Q")
    form_of(page, "day").get_by_role("button", name="Keep this plan").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")
    # Opened again, that day stands as it was kept.
    page.reload()
    there(page, 'form[data-task="day"][data-filled]')
    expect(control(form_of(page, "day"), "order")).to_have_value("1 3 2")
    unfold(page)
    drop = page.locator("[data-drop-plan]")
    drop.tap()
    page.wait_for_timeout(400)
    drop.tap()
    expect(page.locator("[data-notice]")).to_contain_text("The plan of this day is dropped")
    page.reload()
    there(page, 'form[data-task="day"][data-filled]')
    expect(control(form_of(page, "day"), "order")).to_have_value("")


def test_a_block_that_is_begun_stands_where_it_was_and_moves_the_rest(page: Page, record: dict[str, Any]) -> None:
    page.goto("day/")
    put(page, [record, *done(record, "trace")])
    page.reload()
    there(page, 'form[data-task="day"][data-filled]')
    form = form_of(page, "day")
    expect(control(form, "blocks.0.what").locator(f'option[value="sheet:{record["code"]}"]')).to_have_count(1)
    unfold(page)
    control(form, "blocks.0.what").select_option(f"sheet:{record['code']}")
    plan = answered(page, "day")
    first = plan.locator(".day-table tbody tr").filter(has_text=f"{record['code']} / 1")
    expect(first).to_contain_text("done", timeout=40_000)
    # With a block begun the tanks are warm.
    expect(plan).not_to_contain_text("switch on")


def test_the_timeline_fits_a_narrow_phone_and_the_calendar_file_holds_every_entry(page: Page, tmp_path: Path) -> None:
    page.set_viewport_size(NARROW["viewport"])
    opened(page, tomorrow())
    plan = answered(page, "day")
    expect(plan.locator("svg.day-timeline")).to_be_visible(timeout=40_000)
    assert wide_parts(page) == []
    assert page.evaluate("document.documentElement.scrollHeight / innerHeight") <= 3
    # Its smallest words are read at arm's length: 10 px and more.
    assert page.evaluate("""() => {
      const svg = document.querySelector("svg.day-timeline");
      const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
      return Math.min(...[...svg.querySelectorAll(".t-text")].map((each) => scale * parseFloat(getComputedStyle(each).fontSize)));
    }""") >= 10
    plan.locator('[data-fold="day-reminders"] > summary').tap()
    page.evaluate("delete Navigator.prototype.canShare")
    with page.expect_download() as handed:
        plan.get_by_role("button", name="Add the day to my calendar").tap()
    text = Path(handed.value.path()).read_text("utf-8")
    assert handed.value.suggested_filename == f"day-{tomorrow()}.ics"
    # Three blocks, and the oil tank, cooled overnight from what it read today; the lye tank has no heater.
    assert text.count("BEGIN:VEVENT") == 4 and "Start block 3: Reed Lavender" in text and "Switch on: Oil tank" in text


def test_nobody_is_asked_about_notifications_before_the_tap_that_wants_them(page: Page) -> None:
    page.add_init_script("""
      globalThis.asked = 0;
      Notification.requestPermission = () => { globalThis.asked += 1; return Promise.resolve("denied"); };
    """)
    opened(page, tomorrow())
    plan = answered(page, "day")
    plan.locator('[data-fold="day-reminders"] > summary').tap()
    assert page.evaluate("globalThis.asked") == 0
    plan.get_by_role("button", name="Notify me on this phone").tap()
    assert page.evaluate("globalThis.asked") == 1
    expect(plan.get_by_role("button", name="Notify me on this phone")).to_have_attribute("aria-pressed", "false")


def test_in_the_evening_the_day_opens_on_tomorrow_says_so_and_is_one_tap_from_today_also_in_spanish(page: Page) -> None:
    today = at_hour(page, 20)
    page.goto("es/day/")
    expect(answered(page, "day")).to_contain_text("Acaba hacia las", timeout=40_000)
    on = control(form_of(page, "day"), "on")
    expect(on).to_have_value((today + timedelta(days=1)).isoformat())
    turned = page.locator("[data-turned]")
    expect(turned).to_contain_text("El trabajo de hoy terminó: este es el día de mañana.")
    turned.get_by_role("link", name="Volver a hoy").tap()
    expect(on).to_have_value(today.isoformat())
    expect(turned).to_be_hidden()
