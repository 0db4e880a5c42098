"""In the page: a short pour goes on on the same display, and a correction that moves the superfat is asked about."""

from __future__ import annotations

import json
from typing import Any

import pytest
from floor import PATIENCE, SETTLED, STAGE, Floor, begun, block_events, reading, step_of
from playwright.sync_api import Page, expect
from screens import Touch

from answers.demo import BATCH_VALUES, DEMO_NOW, demo_state
from answers.door import answer

Record = dict[str, Any]
VALVE = "The valve was closed too late"
SPILT = "It was spilled or splashed"


def decided(floor: Floor, choice: str | None) -> str:
    """A way taken once the screen with the ways stands: a tap on one just drawn is meant for the screen before."""
    ways_known(floor)
    return floor.decide(choice, VALVE)


def ways_known(floor: Floor) -> None:
    expect(floor.page.locator(f"{SETTLED} [data-decide]").first).to_be_enabled(timeout=2 * PATIENCE)


def outside_the_band(page: Page, record: Record) -> Floor:
    oil = step_of(record, "oil:0")
    floor = begun(Touch(page), record, oil["key"])
    floor.read(reading(oil, oil["target"] + 60))
    floor.comes("recovery")
    ways_known(floor)
    return floor


def asks_why(floor: Floor, choice: str) -> None:
    """A way is tapped; its screen asks why."""
    ways_known(floor)
    floor.hands.press(floor.page.locator(f'{STAGE} [data-decide="{choice}"]'))
    floor.comes("reason")


def test_a_short_pour_goes_on_on_the_same_display_and_counts_once(page: Page, record: Record) -> None:
    oil = step_of(record, "oil:0")
    floor = begun(Touch(page), record, oil["key"])
    floor.read(reading(oil, oil["target"] - 60))
    assert decided(floor, None) == "pour-on"
    assert floor.title().startswith("Keep pouring")
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


def issued(formula: str) -> Record:
    """A batch of one of the demo's formulas, as its page stores it."""
    values = BATCH_VALUES | {"formula": formula, "issued_by": "Q"}
    reply = json.loads(answer(json.dumps({"task": "issue_batch", "values": values, "state": demo_state(), "now": DEMO_NOW})))
    stamp = {"at": "2026-11-25T09:00:00.000Z", "local": "2026-11-25T09:00:00+00:00", "person": "Q"}
    return {**reply["record"], **stamp, "id": "i", "kind": "issued", "subject": f"batch:{reply['record']['code']}"}


@pytest.mark.parametrize("choice", ["with-oils", "as-planned"])
def test_scent_goes_with_oils_that_ended_beside_their_plan_only_by_a_tap(page: Page, choice: str) -> None:
    # 2.5 % of its oils are scent.
    record = issued("f-reed-lavender")
    scent = step_of(record, "scent")
    floor = begun(Touch(page), record, "scent", oil_0=step_of(record, "oil:0")["target"] + 80)
    floor.comes("recovery")
    decided(floor, "leave")
    floor.comes("asked")
    expect(page.locator(f"{STAGE} h2")).to_contain_text(f"800 g more oil: scent Reed lavender from {scent['target_text']} to ")
    after = page.locator(f'{STAGE} [data-do="with-oils"]').inner_text().removeprefix("Yes, ").split()[0]
    assert float(after) > float(scent["target_text"])
    floor.do(choice)
    floor.comes("keypad")
    target = after if choice == "with-oils" else scent["target_text"]
    expect(page.locator(f"{STAGE} .target-digits").first).to_have_text(target)
    (*_, last) = block_events(page, record["code"])
    assert (last["kind"], last["step"], last["choice"], last["reason"]) == ("decided", "scent", choice, "")


def test_to_stop_is_one_event_so_no_kill_leaves_the_block_going_on(page: Page, record: Record) -> None:
    floor = outside_the_band(page, record)
    assert floor.decide("stop", SPILT) == "stop"
    floor.comes("closed")
    expect(page.locator(STAGE)).to_contain_text("Do not use, cut or sell")
    stored = [event for event in block_events(page, record["code"]) if not event["id"].startswith("seed-")]
    assert [event["kind"] for event in stored] == ["weighed", "closed"]
    assert (stored[-1]["outcome"], stored[-1]["reason"]) == ("quarantined", SPILT)


def test_a_reason_begun_for_one_way_waits_there_and_stands_under_no_other(page: Page, record: Record) -> None:
    floor = outside_the_band(page, record)
    floor.do("apart")
    floor.comes("reason")
    floor.why(SPILT)
    page.locator(f'{STAGE} input[name="reason"]').fill("on the floor")
    floor.do("leave")
    floor.comes("recovery")
    asks_why(floor, "leave")
    expect(page.locator(f'{STAGE} input[name="why"]:checked')).to_have_count(0)
    expect(page.locator(f'{STAGE} input[name="reason"]')).to_have_value("")
    floor.do("leave")
    floor.comes("recovery")
    floor.do("apart")
    floor.comes("reason")
    expect(page.locator(f'{STAGE} input[name="why"]:checked')).to_have_value(SPILT)
    expect(page.locator(f'{STAGE} input[name="reason"]')).to_have_value("on the floor")


def test_a_way_on_keeps_its_figures_and_is_asked_no_more_once_another_tab_has_decided(page: Page, record: Record) -> None:
    floor = outside_the_band(page, record)
    asks_why(floor, "leave")
    figures = page.locator(f"{STAGE} .figures")
    told = figures.inner_text()
    assert "%" in told
    other = Floor(Touch(page.context.new_page()), record["code"])
    other.open()
    expect(other.page.locator("[data-floor-elsewhere]")).to_be_visible(timeout=PATIENCE)
    other.take_over()
    expect(page.locator("[data-floor-elsewhere]")).to_be_visible(timeout=PATIENCE)
    # Drawn again, with nothing decided: the same figures.
    floor.comes("reason")
    assert figures.inner_text() == told
    other.here()
    decided(other, "leave")
    other.titled(step_of(record, "oil:1")["title"])
    floor.here()
    floor.titled(step_of(record, "oil:1")["title"])
    assert [event["kind"] for event in block_events(page, record["code"])][-2:] == ["weighed", "decided"]


def test_a_block_unmoulded_early_names_no_time_to_unmould_from_and_is_closed_again_once_a_reading_is_put_right(page: Page, record: Record) -> None:
    floor = begun(Touch(page), record, "unmould")
    floor.do("start-timer")
    floor.end_time()
    floor.comes("closing")
    floor.do("close")
    floor.comes("closed")
    expect(page.locator(STAGE)).not_to_contain_text("Unmold from")
    expect(page.locator(f'{STAGE} [data-do="calendar"]')).to_have_count(0)
    # A reading put right after that makes the record anew: stock and release go by it. 0.60 kg more is far outside the band, and nothing is decided any more.
    oil = step_of(record, "oil:0")
    page.goto(f"scale/#{record['code']}/1/{oil['key'].replace(':', '%3A')}")
    page.reload()
    floor.comes("done")
    floor.correct(reading(oil, oil["target"] + 60), "The display was misread")
    floor.comes("closing")
    expect(page.locator(f"{STAGE} h2").first).to_contain_text("Close block again")
    expect(page.locator(f'{STAGE} [data-do="apart"]:visible')).to_have_count(0)
    expect(page.locator(f'{STAGE} [data-region="scale_record"]')).to_contain_text("Superfat", timeout=2 * PATIENCE)
    floor.do("close")
    floor.comes("closed")
    first, last = [event for event in block_events(page, record["code"]) if event["kind"] == "closed"]
    assert last["renews"] == first["id"]
    grams = [next(row["actual_g"] for row in event["record"]["amounts"] if row["pour"] == "oil:0") for event in (first, last)]
    assert abs(grams[1] - grams[0] - 600.0) < 0.5
