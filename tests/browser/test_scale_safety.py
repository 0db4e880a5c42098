"""What must not happen at the scale: a step stored twice, digits lost, a total of what was planned, a wrong time."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from conftest import PHONE
from floor import PATIENCE, STAGE, Floor, begun, block_events, own_events, step_of
from playwright.sync_api import BrowserContext, Page, expect
from screens import FULL_STORE, Touch, draft_kept

NewContext = Callable[..., BrowserContext]
Record = dict[str, Any]

# Older browsers: nothing tells one tab of another.
ALONE = "delete Navigator.prototype.locks; delete globalThis.BroadcastChannel"
SHIFTED_CLOCK = """
const rightly = Date.now;
Date.now = () => rightly() + Number(sessionStorage.getItem("shift") ?? 0);
"""
# A finger that comes down again on whatever stands there while the next screen is younger than 200 ms.
HASTY = """(action) => {
  const stage = document.querySelector("[data-stage]");
  globalThis.hasty = 0;
  new MutationObserver((_, watching) => {
    const shown = performance.now();
    watching.disconnect();
    const again = () => {
      if (performance.now() - shown > 200) return;
      stage.querySelector("[data-do]:not([data-do=key])")?.click();
      globalThis.hasty += 1;
      requestAnimationFrame(again);
    };
    again();
  }).observe(stage, {childList: true});
  for (let n = 0; n < 3; n += 1) stage.querySelector(`[data-do="${action}"]`).click();
}"""


def test_a_double_tap_and_a_tap_that_was_meant_for_the_screen_before_store_one_event(
    page: Page, record: Record
) -> None:
    floor = begun(Touch(page), record, "reserve:lye")
    stored_now = [("checked", "reserve:lye"), ("weighed", "water")]
    for number, (action, then) in enumerate((("done", "water"), ("shown", "check:tare-lye"))):
        floor.at()
        page.evaluate(HASTY, action)
        floor.titled(step_of(record, then)["title"])
        floor.at()
        assert page.evaluate("globalThis.hasty") > 0
        assert own_events(page, record) == stored_now[: number + 1]
    floor = begun(floor.hands, record, "oil:0", block=2)
    floor.do("read")
    floor.keys(step_of(record, "oil:0")["target_text"])
    page.evaluate(HASTY, "reading")
    floor.titled(step_of(record, "oil:1")["title"])
    assert floor.at() == "weigh"
    assert own_events(page, record, 2) == [("weighed", "oil:0")]
    # A safety line stays on the screen; however often it is tapped, it is confirmed once.
    floor = begun(floor.hands, {**record, "id": "again", "code": "AGAIN", "subject": "batch:AGAIN"}, "check:protect")
    floor.at()
    line = page.locator(f'{STAGE} [data-do="tick"]').first
    line.evaluate("(button) => { for (let n = 0; n < 3; n += 1) button.click(); }")
    expect(line).to_have_attribute("aria-pressed", "true")
    line.tap()
    assert [event.get("step") for event in block_events(page, "AGAIN") if event["kind"] == "checked"] == ["check:protect"]


def stays(floor: Floor, shown: str, title: str | None = None) -> None:
    """A reload, and going back and forward, lead to the same screen."""
    page = floor.page
    title = title or floor.title()
    page.reload()
    floor.comes(shown)
    assert floor.title() == title
    page.go_back()
    floor.comes("done")
    page.go_forward()
    floor.comes(shown)
    assert floor.title() == title


def test_back_forward_and_reload_lead_to_the_same_step_at_every_kind_of_screen(page: Page, record: Record) -> None:
    floor = begun(Touch(page), record, "check:tare-oils")
    stored_before = len(block_events(page, record["code"]))
    floor.do("checks-done")
    stays(floor, "keypad")
    floor.keys("38.")
    draft_kept(page, "38.")
    stays(floor, "keypad")
    # Turned on its side and back.
    for size in ({"width": 844, "height": 390}, PHONE["viewport"]):
        page.set_viewport_size(size)
        floor.comes("keypad")
        expect(page.locator("[data-typed]")).to_have_text("38.")
    floor.keys("5", "38.")
    floor.do("reading")
    stays(floor, "weigh")
    oil = step_of(record, "oil:0")
    floor.do("read")
    # 15.06 kg with two digits swapped: asked back, and back at the digits after a reload.
    swapped = "15.60"
    floor.type(swapped)
    floor.comes("question")
    page.reload()
    floor.comes("keypad")
    expect(page.locator("[data-typed]")).to_have_text(swapped)
    floor.do("reading")
    floor.comes("question")
    floor.do("yes")
    stays(floor, "recovery", oil["title"])
    expect(page.locator("[data-decide]").first).to_be_enabled(timeout=2 * PATIENCE)
    floor.hands.press(page.locator("[data-decide]").first)
    floor.comes("reason")
    page.reload()
    floor.comes("recovery")
    assert len(block_events(page, record["code"])) == stored_before + 3


def test_back_forward_and_reload_at_the_end_of_a_block(page: Page, record: Record) -> None:
    floor = begun(Touch(page), record, "cover")
    # Covered, and the time until unmoulding runs: the block can be closed while it waits.
    floor.do("done")
    floor.comes("closing")
    page.reload()
    until_text = page.locator(f"{STAGE} .band").inner_text()
    stays(floor, "timer")
    assert page.locator(f"{STAGE} .band").inner_text() == until_text
    floor.end_time()
    stays(floor, "closing")
    floor.do("close")
    stays(floor, "closed")
    ended = ["timed", "timed", "closed"]
    assert [kind for kind, _ in own_events(page, record)][1:] == ended


def test_a_second_tab_can_look_only_until_it_takes_over_with_the_digits_typed(page: Page, record: Record) -> None:
    floor = begun(Touch(page), record, "oil:0")
    floor.do("read")
    floor.keys("15.0")
    draft_kept(page, "15.0")
    second = Floor(Touch(page.context.new_page()), record["code"])
    second.open()
    expect(second.page.locator("[data-floor-elsewhere]")).to_be_visible()
    expect(second.page.locator("[data-writes]:visible:enabled")).to_have_count(0)
    second.page.keyboard.type("7")
    second.take_over()
    expect(page.locator("[data-floor-elsewhere]")).to_be_visible(timeout=PATIENCE)
    expect(page.locator("[data-writes]:visible:enabled")).to_have_count(0)
    expect(second.page.locator("[data-floor-elsewhere]")).to_be_hidden(timeout=PATIENCE)
    expect(second.page.locator("[data-typed]")).to_have_text("15.0")
    second.keys("6", "15.0")
    second.do("reading")
    # The first tab, which only looks, follows.
    floor.titled(step_of(record, "oil:1")["title"])
    assert own_events(page, record) == [("weighed", "oil:0")]


def test_a_tab_that_knows_nothing_of_the_other_stores_no_step_twice_and_says_so(
    new_context: NewContext, record: Record
) -> None:
    context = new_context(**PHONE)
    context.add_init_script(ALONE)
    first = begun(Touch(context.new_page()), record, "oil:0")
    second = Floor(Touch(context.new_page()), record["code"])
    second.open()
    for floor, text in ((first, "15.06"), (second, "15.08")):
        floor.do("read")
        floor.keys(text)
    first.do("reading")
    second.do("reading")
    expect(second.page.locator("[data-notice]")).to_contain_text("Someone else recorded on this block in the meantime")
    for floor in (first, second):
        assert floor.title() == step_of(record, "oil:1")["title"]
    assert own_events(first.page, record) == [("weighed", "oil:0")]
    assert [event["reading"] for event in block_events(first.page, record["code"]) if event["kind"] == "weighed"] == [
        "15.06"
    ]


def test_a_tab_that_waits_does_not_take_the_block_from_one_that_is_reloaded(page: Page, record: Record) -> None:
    floor = begun(Touch(page), record, "oil:1")
    other = Floor(Touch(page.context.new_page()), record["code"])
    other.open()
    expect(other.page.locator("[data-floor-elsewhere]")).to_be_visible()
    floor.here()
    page.reload()
    floor.comes("weigh")
    expect(page.locator("[data-floor-elsewhere]")).to_be_hidden()
    floor.read(step_of(record, "oil:1")["target_text"])
    floor.titled(step_of(record, "oil:2")["title"])
    expect(other.page.locator("[data-floor-elsewhere]")).to_be_visible()
    # Closed for good, it is the other's.
    page.close()
    other.here()
    expect(other.page.locator("[data-floor-elsewhere]")).to_be_hidden(timeout=PATIENCE)
    other.titled(step_of(record, "oil:2")["title"])


def test_a_time_ended_early_is_asked_back_and_its_true_length_is_stored(page: Page, record: Record) -> None:
    floor = begun(Touch(page), record, "mix")
    floor.do("start-timer")
    floor.do("end-timer")
    floor.comes("early")
    expect(page.locator(STAGE)).to_contain_text(re.compile(r"it has run 0:0\d of 12:00"))
    floor.do("leave")
    floor.comes("timer")
    assert [event["action"] for event in block_events(page, record["code"]) if event.get("step") == "mix"] == ["started"]
    floor.end_time()
    # Who ends the mixing has seen trace: both are kept.
    floor.titled(step_of(record, "pour")["title"])
    assert own_events(page, record)[-1] == ("checked", "trace")
    _, ended = [event for event in block_events(page, record["code"]) if event.get("step") == "mix"]
    assert ended["action"] == "ended"
    assert 0 <= ended["seconds"] < 60


def in_the_vessel(floor: Floor) -> str:
    """The mass that Python says is in the vessel."""
    found = re.search(r"In the vessel now\s*([\d.]+ kg)", floor.live())
    assert found, floor.live()
    return found[1]


def test_a_correction_keeps_what_it_corrects_and_the_total_follows_it(page: Page, record: Record) -> None:
    floor = begun(Touch(page), record, "oil:1")
    oil = step_of(record, "oil:0")
    assert in_the_vessel(floor) == "15.06 kg"
    before = block_events(page, record["code"])
    page.locator(f"{STAGE} .back a").tap()
    floor.comes("done")
    floor.do("correct")
    floor.comes("keypad")
    floor.type("15.08")
    floor.comes("why-corrected")
    page.locator(f'{STAGE} [data-do="corrected-because"]').tap()
    expect(page.locator(f"{STAGE} .problem")).to_have_text("Choose or write down why.")
    floor.why("The display was misread")
    page.locator(f'{STAGE} input[name="reason"]').fill("Read from the wrong side")
    # Digits and reason both wait for a reload.
    draft_kept(page, "Read from the wrong side")
    page.reload()
    floor.comes("done")
    floor.do("correct")
    expect(page.locator("[data-typed]")).to_have_text("15.08")
    floor.do("reading")
    floor.comes("why-corrected")
    expect(page.locator(f'{STAGE} input[name="why"]:checked')).to_have_value("The display was misread")
    expect(page.locator(f'{STAGE} input[name="reason"]')).to_have_value("Read from the wrong side")
    floor.do("corrected-because")
    assert floor.title() == step_of(record, "oil:1")["title"]
    assert in_the_vessel(floor) == "15.08 kg"
    events = block_events(page, record["code"])
    assert events[:-1] == before
    weighed = next(event for event in before if event.get("step") == oil["key"])
    assert (events[-1]["kind"], events[-1]["corrects"], events[-1]["reading"]) == ("corrected", weighed["id"], "15.08")
    page.locator(f"{STAGE} .back a").tap()
    floor.comes("done")
    expect(page.locator(f"{STAGE} .target-digits")).to_have_text("15.08")
    expect(page.locator('[data-list="earlier"] li')).to_contain_text("15.06 kg")
    expect(page.locator('[data-list="earlier"] li')).to_contain_text("Read from the wrong side")


def test_totals_are_of_what_was_weighed_and_never_of_what_was_planned(page: Page, record: Record) -> None:
    floor = begun(Touch(page), record, "oil:0")
    floor.read("15.66")
    floor.decide("lye", "The valve was closed too late")
    # 15.66; with 10.04 of the next oil 25.70 kg.
    assert in_the_vessel(floor) == "15.66 kg"
    floor.read("10.04")
    assert floor.at() == "weigh"
    assert in_the_vessel(floor) == "25.70 kg"
    # More oil than planned needs more lye: the way that was taken says so, and no target of an oil has moved.
    (decision,) = [event for event in block_events(page, record["code"]) if event["kind"] == "decided"]
    changed = decision["replaced"]
    assert changed and all(key.startswith("lye:") for key in changed)
    assert changed["lye:naoh:top-up"]["target"] > step_of(record, "lye:naoh:top-up")["target"]


def test_without_room_the_screen_stays_says_not_saved_and_trying_again_stores_once(
    new_context: NewContext, record: Record
) -> None:
    context = new_context(**PHONE)
    context.add_init_script(FULL_STORE.replace("!globalThis.roomAgain", "globalThis.noRoom"))
    page = context.new_page()
    floor = begun(Touch(page), record, "oil:0")
    floor.do("read")
    floor.keys("15.06")
    page.evaluate("globalThis.noRoom = true")
    page.locator(f'{STAGE} [data-do="reading"]').tap()
    bar = page.locator("#not-saved")
    expect(bar).to_contain_text("NOT SAVED", timeout=PATIENCE)
    expect(bar).to_be_in_viewport()
    expect(page.locator("[data-typed]")).to_have_text("15.06")
    # Tapping on does nothing: not even a second copy for later.
    page.locator(f'{STAGE} [data-do="reading"]').evaluate("(button) => button.click()")
    bar.locator("[data-retry]").tap()
    expect(bar).to_be_visible()
    expect(page.locator(STAGE)).to_have_attribute("data-shown", "keypad")
    assert own_events(page, record) == []
    page.evaluate("globalThis.noRoom = false")
    bar.locator("[data-retry]").tap()
    floor.titled(step_of(record, "oil:1")["title"])
    expect(bar).to_be_hidden()
    assert own_events(page, record) == [("weighed", "oil:0")]


def test_a_time_is_right_after_seven_hours_and_a_clock_set_back_is_said(
    new_context: NewContext, record: Record
) -> None:
    context = new_context(**PHONE)
    context.add_init_script(SHIFTED_CLOCK)
    page = context.new_page()
    floor = begun(Touch(page), record, "unmould")
    floor.do("start-timer")
    hours = step_of(record, "unmould")["seconds"] // 3600
    shown = page.locator("[data-countdown]")
    expect(shown).to_have_text(re.compile(rf"^{hours - 1}:59:|^{hours}:00:00"))
    expect(page.locator(STAGE)).not_to_contain_text("was set back")
    # Asleep for seven hours: the page is the same, the clock is not.
    page.evaluate("sessionStorage.setItem('shift', String(7 * 3600 * 1000))")
    expect(shown).to_have_text(re.compile(rf"^{hours - 8}:5\d:"), timeout=PATIENCE)
    page.reload()
    floor.comes("timer")
    expect(shown).to_have_text(re.compile(rf"^{hours - 8}:5\d:"))
    page.evaluate("sessionStorage.setItem('shift', String(-3600 * 1000))")
    page.reload()
    floor.comes("timer")
    expect(page.locator(STAGE)).to_contain_text("This device’s clock was set back")
    # What is stored with that clock still comes after what it builds on, and tells the clock's own hour.
    floor.end_time()
    floor.comes("closing")
    started, ended = [event for event in block_events(page, record["code"]) if event.get("step") == "unmould"]
    assert (started["action"], ended["action"]) == ("started", "ended")
    assert started["at"] < ended["at"]
    assert ended["local"] < started["local"]
