"""Tanks on a phone: from what is left to what goes in and comes out, with no network; and what a block at the scale draws."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from conftest import PHONE
from floor import begun
from playwright.sync_api import BrowserContext, Page, expect
from screens import Touch, answered, control, form_of, kept_offline, stored, there
from site_server import SiteServer

NewContext = Callable[..., BrowserContext]
LONG = 40_000


def told(page: Page, kind: str) -> list[dict[str, Any]]:
    return [event for event in stored(page, "events") if event["kind"] == kind]


def draw(page: Page, kilograms: str) -> None:
    """Takes so much out of the lye tank, not for a block."""
    page.goto("tanks/draw/#t-lye")
    form = form_of(page, "tank_draw")
    there(page, 'form[data-task="tank_draw"][data-filled]')
    control(form, "mass_g").fill(kilograms)
    control(form, "mass_g.unit").select_option("kg")
    control(form, "person").fill("J")
    form.get_by_role("button", name="It’s out").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")


def test_a_tank_is_loaded_and_drawn_from_with_the_server_dead(new_context: NewContext, mortal_server: Callable[..., SiteServer]) -> None:
    server = mortal_server()
    context = new_context(server, **PHONE)
    page = context.new_page()
    page.goto("tanks/")
    kept_offline(page)
    server.kill()
    page.reload()
    answered(page, "tanks").get_by_role("link", name="Lye tank").tap()
    tank = answered(page, "tank_standing")
    # The demo's 80 kg less the 12 that were used elsewhere, and the strength that was measured today.
    expect(tank.locator("h2").first).to_have_text("68 kg left", timeout=LONG)
    expect(tank).to_contain_text("33.1 % (32.9 % to 33.3 %), measured")
    tank.get_by_role("link", name="Load for blocks").tap()
    plan = answered(page, "tank_plan")
    expect(plan.locator("li").first).to_contain_text("Water", timeout=LONG)
    plan.get_by_role("link", name="It’s in: log it").tap()
    # What the plan found stands in the form; nobody types it twice.
    form = form_of(page, "tank_load")
    there(page, 'form[data-task="tank_load"][data-filled]')
    expect(answered(page, "tank_load")).to_contain_text("Strength figured from what went in: 33 %", timeout=LONG)
    control(form, "person").fill("J")
    # The app dies before anything is kept: what was typed is back.
    page.close()
    page = context.new_page()
    page.goto("tanks/load/#t-lye")
    form = form_of(page, "tank_load")
    expect(control(form, "person")).to_have_value("J", timeout=LONG)
    expect(control(form, "water_g")).not_to_have_value("")
    expect(answered(page, "tank_load")).to_contain_text("Strength figured from what went in: 33 %", timeout=LONG)
    form.get_by_role("button", name="It’s in").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")
    (loaded,) = told(page, "tank_loaded")
    caustic, water = loaded["parts"]
    assert (loaded["subject"], loaded["person"], caustic["lot"], water["name"]) == ("contents:t-lye", "J", "NAO-0287", "Water")
    draw(page, "8")
    left = 68 + (caustic["grams"] + water["grams"]) / 1000 - 8
    page.goto("tanks/tank/#t-lye")
    standing = answered(page, "tank_standing")
    expect(standing.locator("h2").first).to_have_text(f"{left:.1f} kg left", timeout=LONG)
    # By hand: 200 L of 33 % at 25 °C are 271 kg (row E6), and 84 kg 31 % of that. Said in words beside the picture.
    expect(standing.locator(".tank-drawn")).to_have_attribute("aria-label", re.compile(r"^Lye tank, 31 % full: 83\.9 kg of 271\.\d kg\.$"))
    # An entry that was wrong is taken back, and stays in the records.
    standing.locator('[data-fold="tank-told"] > summary').tap()
    button = standing.locator("[data-take-back]").first
    button.tap()
    expect(button).to_have_text("Press again to confirm")
    page.wait_for_timeout(400)
    button.tap()
    expect(answered(page, "tank_standing").locator("h2").first).to_have_text(f"{left + 8:.1f} kg left", timeout=LONG)
    assert len(told(page, "tank_taken_back")) == len(told(page, "tank_drawn")) == 1


def test_what_a_block_weighs_is_drawn_and_today_says_for_which_block_the_tank_is_short(page: Page, record: dict[str, Any]) -> None:
    begun(Touch(page), record, "mix")
    lye = next(pour for pour in record["pours"] if pour["kind"] == "alkali")["target_g"] / 1000
    page.goto("tanks/tank/#t-lye")
    standing = answered(page, "tank_standing")
    # Its first block is weighed; the second is still to come, and there is enough for it.
    expect(standing.locator("h2").first).to_have_text(f"{68 - lye:.1f} kg left, enough for 1 of 1 block", timeout=LONG)
    draw(page, "40")
    page.goto("")
    short = page.locator("[data-tanks-today] a")
    expect(short).to_contain_text("Lye tank short by", timeout=LONG)
    expect(short).to_contain_text(f"{record['formula']['name']}, block 2")
    short.tap()
    expect(answered(page, "tank_standing")).to_contain_text("0 of 1 block", timeout=LONG)
