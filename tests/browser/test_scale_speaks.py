"""A scale whose display the shop server reads, as a phone at the scale sees it. The server is the stand-in of the phones' tests."""

from __future__ import annotations

from typing import Any

from floor import Floor, block_events, done, put, step_of
from playwright.sync_api import Page, expect
from screens import Touch, there
from test_accessibility import axe
from test_shop_phones import OURS, NewContext, is_right, pair, phone, shop_page

__all__ = ["axe"]


def speak(page: Page, scale: str, count: str | None, unit: str | None = "kg", status: str = "stable") -> dict[str, Any]:
    """The scale shows something for a while: the server tells it twice."""
    reading = {
        "name": scale, "at": "2026-12-01T10:41:00.000Z", "raw": f" 1N  {count}{unit}", "status": status,
        "zero": count is not None and float(count) == 0, "net": True, "count": count, "unit": unit,
    }  # fmt: skip
    page.evaluate("(detail) => { for (let n = 0; n < 2; n += 1) dispatchEvent(new CustomEvent('stub-scale', { detail })); }", reading)
    return reading


def test_a_scale_that_speaks_fills_the_keypad_and_one_tap_confirms_it(new_context: NewContext, record: dict[str, Any], axe: str) -> None:
    page = shop_page(new_context, phones=[phone(OURS, "floor phone", connected=True)])
    page.goto("")
    put(page, [record, *done(record, "check:tare-oils")])
    pair(page)
    floor = Floor(Touch(page), record["code"])
    floor.open()
    step, after = step_of(record, "oil:0"), step_of(record, "oil:1")
    scale = step["scale"].upper()  # However its name is typed.
    aim, past = (f"{count / 10 ** step['decimals']:.{step['decimals']}f}" for count in (step["target"], step["high"] + step["division"]))
    digits, line, problem = (page.locator(f"[data-stage] [{name}]") for name in ("data-typed", "data-heard-line", "data-typed-problem"))
    # At the tare it's seen whether it was pressed. Where no scale speaks the screens are as ever.
    floor.comes("checks")
    expect(line).to_be_hidden()
    there(page, "[data-scales-heard]")
    speak(page, scale, "11.40")
    expect(line).to_have_text("The scale shows 11.40 kg, not zero. Press tare.")
    is_right(page, axe)
    speak(page, scale, "0.00")
    expect(line).to_have_text("The scale shows 0.00 kg: at zero.")
    # Silent for three seconds, it's gone.
    expect(line).to_contain_text("isn’t heard any more", timeout=10_000)
    floor.do("checks-done")
    # A thermometer is no scale.
    floor.titled(step_of(record, "temp:oils")["title"])
    expect(line).to_be_hidden()
    floor.step()
    floor.comes("weigh")
    speak(page, scale, "0.00")
    floor.comes("keypad")
    expect(digits).to_have_text("0.00")
    expect(line).to_have_text("From the scale: at zero.")
    is_right(page, axe)
    # Nothing is taken of a display that runs, that is set to another unit or overloaded.
    speak(page, scale, "8.20", status="moving")
    expect(line).to_have_text("From the scale: still moving.")
    floor.button("reading").tap()
    expect(problem).to_contain_text("still moving")
    speak(page, scale, "8.20", unit="lb")
    expect(digits).to_have_text("")
    expect(problem).to_have_text("")
    expect(line).to_contain_text("The scale is set to lb, this step is in kg.")
    speak(page, scale, None, unit=None, status="over")
    expect(line).to_contain_text("overloaded")
    floor.button("reading").tap()
    expect(problem).to_have_text("Type what the display shows.")
    is_right(page, axe)
    # Slips show as they happen.
    speak(page, scale, "8.20")
    speak(page, scale, "0.00")
    expect(line).to_have_text("Back to zero from 8.20 kg. If that was tare, 8.20 kg is in already.")
    page.reload()
    there(page, "[data-scales-heard]")
    speak(page, scale, "0.00")
    speak(page, scale, past, status="moving")
    expect(line).to_contain_text("stop pouring")
    # Another scale's reading is not this step's.
    speak(page, "another scale", "3.00")
    expect(digits).to_have_text(past)
    reading = speak(page, scale, aim)
    expect(digits).to_have_text(aim)
    expect(line).to_have_text("From the scale: steady.")
    floor.do("reading")
    floor.titled(after["title"])
    weighed = block_events(page, record["code"])[-1]
    assert (weighed["kind"], weighed["step"], weighed["reading"], weighed["question"]) == ("weighed", "oil:0", aim, None)
    assert weighed["heard"] == {"scale": scale, **{name: reading[name] for name in ("at", "raw", "status", "count", "unit")}}

    # Who types takes over, is asked where the scale says something else, and both are kept.
    wanted = f"{after['target'] / 10 ** after['decimals']:.{after['decimals']}f}"
    shows = f"{(after['target'] - after['division']) / 10 ** after['decimals']:.{after['decimals']}f}"
    speak(page, scale, shows)
    expect(digits).to_have_text(shows)
    floor.keys(wanted)
    speak(page, scale, shows)
    expect(digits).to_have_text(wanted)
    floor.do("reading")
    floor.comes("question")
    expect(page.locator("[data-stage] h2")).to_contain_text(f"The scale itself says {shows} kg.")
    floor.do("yes")
    event = block_events(page, record["code"])[-1]
    assert (event["reading"], event["question"], event["heard"]["count"]) == (wanted, "scale-differs", shows)
    page.goto(f"scale/#{record['code']}/1/oil%3A1")
    floor.comes("done")
    expect(page.locator("[data-stage]")).to_contain_text(f"The scale itself sent {shows} kg.")
