"""In the page: a short pour goes on on the same display, and a correction that moves the superfat is asked about."""

from __future__ import annotations

from typing import Any

from floor import PATIENCE, SETTLED, STAGE, Floor, begun, block_events, reading, step_of
from playwright.sync_api import Page, expect
from screens import Touch

Record = dict[str, Any]
VALVE = "The valve was closed too late"


def decided(floor: Floor, choice: str | None) -> str:
    """A way taken once the screen with the ways stands: a tap on one just drawn is meant for the screen before."""
    expect(floor.page.locator(f"{SETTLED} [data-decide]").first).to_be_enabled(timeout=2 * PATIENCE)
    return floor.decide(choice, VALVE)


def test_a_short_pour_goes_on_on_the_same_display_and_counts_once(page: Page, record: Record) -> None:
    oil = step_of(record, "oil:0")
    floor = begun(Touch(page), record, oil["key"])
    floor.read(reading(oil, oil["target"] - 60))
    assert decided(floor, None) == "pour-on"
    assert floor.title().startswith("Pour on")
    expect(page.locator(f"{STAGE} .target-digits")).to_have_text(oil["target_text"])
    floor.read(oil["target_text"])
    floor.titled(step_of(record, "oil:1")["title"])
    # One amount of it, not two.
    assert f"{oil['target'] / 100:.2f} kg" in floor.live()


def test_a_correction_into_the_band_that_moves_the_superfat_is_asked_about(page: Page, record: Record) -> None:
    oil, short = step_of(record, "oil:0"), step_of(record, "lye:naoh:short")
    floor = begun(Touch(page), record, oil["key"])
    # 0.60 kg too much oil is left: 15.66 kg.
    floor.read(reading(oil, oil["target"] + 60))
    decided(floor, "leave")
    floor.go_to(short["title"])
    floor.step()
    page.goto(f"scale/#{record['code']}/1/{oil['key'].replace(':', '%3A')}")
    page.reload()
    floor.comes("done")
    # 15.06 kg in fact, in the band: yet lye was poured since the decision, which was told of another superfat.
    floor.correct(oil["target_text"], "The display was misread")
    floor.comes("recovery")
    place = page.locator(f"{STAGE} [data-region='scale_recovery']")
    expect(place).to_contain_text("superfat now", timeout=2 * PATIENCE)
    expect(page.locator(f"{STAGE} .kind-stop")).to_have_text("Corrected: does what was decided still hold?")
    decided(floor, "leave")
    (*_, last) = block_events(page, record["code"])
    assert (last["kind"], last["step"], last["choice"]) == ("decided", oil["key"], "leave")
    expect(page.locator(STAGE)).not_to_have_attribute("data-shown", "recovery")
