"""Mistakes are caught before they are stored, and the way goes on: without calculation, with two blocks, to the next."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from conftest import PHONE
from floor import STAGE, Floor, begun, block_events, done, own_events, put, reading, step_of
from playwright.sync_api import BrowserContext, Page, expect
from screens import ALL, Touch, draft_kept, until

NewContext = Callable[..., BrowserContext]
Record = dict[str, Any]

WITHOUT_PYTHON = "if (location.protocol !== 'about:') sessionStorage.setItem('tarewell-runtime', 'broken')"


def test_the_address_of_a_later_step_skips_nothing_and_safety_is_confirmed_by_name(page: Page, record: Record) -> None:
    page.goto("scale/")
    put(page, [record], person=None)
    for key in ("oil:0", "pour", "check:vessel", "no such step"):
        page.goto("scale/")
        page.goto(f"scale/#{record['code']}/1/{key.replace(':', '%3A')}")
        floor = Floor(Touch(page), record["code"])
        floor.comes("person")
        # Without a name nothing goes on.
        floor.do("person-typed")
        expect(page.locator(f"{STAGE} .problem")).to_have_text("Choose a name or type one.")
    floor.begin("R")
    safety = [step["title"] for step in record["steps"] if step["safety"]]
    assert len(safety) >= 3
    lines = page.locator(f'{STAGE} [data-do="tick"]')
    for index, title in enumerate(safety):
        page.goto(f"scale/#{record['code']}/1/pour")
        page.reload()
        floor.comes("checks")
        expect(page.locator(f"{STAGE} .kind-safety")).to_be_visible()
        assert lines.all_inner_texts() == safety
        # The rest is not confirmed before each safety line is.
        floor.hands.press(floor.button("checks-done"))
        expect(page.locator(f"{STAGE} .problem")).to_have_text("First tap each safety line, once it’s done.")
        expect(lines.filter(has_text=title)).to_be_focused()
        assert len(block_events(page, record["code"])) == index + 1
        floor.tick(lines.filter(has_text=title))
        assert len(block_events(page, record["code"])) == index + 2
    floor.do("checks-done")
    kept = [event["step"] for event in block_events(page, record["code"])[1:]]
    assert kept == [step["key"] for step in record["steps"][: len(kept)]] and record["steps"][len(kept)]["kind"] != "confirm"
    assert {event["person"] for event in block_events(page, record["code"])} == {"R"}


def test_lye_is_typed_twice_and_asked_again_when_the_two_differ(page: Page, record: Record) -> None:
    lye = step_of(record, "lye:naoh:short")
    floor = begun(Touch(page), record, lye["key"])
    right, wrong = reading(lye, lye["target"]), reading(lye, lye["target"] + 2)
    floor.read(right)
    expect(page.locator(f"{STAGE} .again")).to_contain_text("a double check")
    # Between the two a reload keeps the first, once it is stored that it is the first.
    until(page, f"""({ALL})('drafts').then((all) => all.some(({{values}}) =>
        Object.values(JSON.parse(values.readings ?? '{{}}')).some(({{first}}) => first === {right!r})))""", "the first reading")  # fmt: skip
    page.reload()
    floor.comes("keypad")
    expect(page.locator(f"{STAGE} .again")).to_contain_text("a double check")
    floor.type(wrong)
    expect(page.locator(f"{STAGE} .again")).to_contain_text("No match: read twice more")
    assert own_events(page, record) == []
    floor.type(right)
    expect(page.locator(f"{STAGE} .again")).to_contain_text("a double check")
    floor.type(right)
    floor.titled(step_of(record, "lye:naoh:top-up")["title"])
    assert own_events(page, record) == [("weighed", lye["key"])]


def test_what_looks_like_a_slip_is_asked_back_before_it_is_stored(page: Page, record: Record) -> None:
    floor = begun(Touch(page), record, "oil:0")
    target_kg = record["pours"][0]["target_g"] / 1000
    # By hand: 1 kg is 2.204623 lb (international pound, 0.45359237 kg); the empty vessel is part of the record.
    slips = {
        "pounds-for-kilograms": target_kg / 0.45359237,
        "kilograms-for-pounds": target_kg * 0.45359237,
        "not-tared": target_kg + record["vessel"]["tare_g"] / 1000,
        "digits-swapped": float(re.sub(r"(\d)(\d)$", r"\2\1", f"{target_kg:.2f}")),
    }
    floor.do("read")
    for code, slip_kg in slips.items():
        even = f"{round(slip_kg / 0.02) * 0.02:.2f}"
        floor.type(even)
        assert floor.at() == "question", f"{code}: {even} kg is not asked back"
        expect(page.locator(f"{STAGE} .target-digits")).to_have_text(even)
        floor.do("again")
        floor.comes("keypad")
        expect(page.locator("[data-typed]")).to_have_text("")
    assert own_events(page, record) == []
    # It may be so after all: then it is stored with what was asked.
    floor.type(f"{slips['digits-swapped']:.2f}")
    floor.do("yes")
    floor.comes("recovery")
    last = block_events(page, record["code"])[-1]
    assert (last["reading"], last["question"]) == (f"{slips['digits-swapped']:.2f}", "digits-swapped")


def test_the_whole_of_the_lye_typed_at_the_first_pour_is_asked_back(page: Page, record: Record) -> None:
    floor = begun(Touch(page), record, "lye:naoh:short")
    (lye,) = [pour for pour in record["pours"] if pour["key"] == "lye:naoh"]
    floor.read(f"{lye['target_g'] / 1000:.2f}", twice=True)
    floor.comes("question")
    floor.do("again")
    floor.comes("keypad")
    expect(page.locator(f"{STAGE} .again")).to_have_count(0)
    assert own_events(page, record) == []


def test_a_block_that_is_set_apart_says_so_everywhere_and_goes_no_further(page: Page, record: Record) -> None:
    floor = begun(Touch(page), record, "lye:naoh:short")
    page.locator(f"{STAGE} .more summary").tap()
    floor.do("apart")
    floor.comes("reason")
    page.locator(f'{STAGE} [data-do="reason-given"]').tap()
    expect(page.locator(f"{STAGE} .problem")).to_have_text("Choose or write down why.")
    assert own_events(page, record) == []
    floor.why("The wrong container was used")
    floor.do("reason-given")
    floor.comes("closed")
    expect(page.locator(STAGE)).to_contain_text("Do not use, cut or sell")
    expect(page.locator(STAGE)).to_contain_text("The wrong container was used")
    page.reload()
    floor.comes("closed")
    expect(page.locator('[data-stage] [data-do="read"], [data-stage] [data-do="done"]')).to_have_count(0)
    last = block_events(page, record["code"])[-1]
    assert (last["kind"], last["outcome"], last["person"]) == ("closed", "quarantined", "Q")
    page.goto(f"scale/#{record['code']}")
    expect(page.locator(".row-state").first).to_have_text("■ set apart")


def test_a_block_goes_from_first_to_last_tap_with_calculation_off(new_context: NewContext, record: Record) -> None:
    context = new_context(**PHONE)
    context.add_init_script(WITHOUT_PYTHON)
    page = context.new_page()
    page.goto("scale/")
    put(page, [record], person=None)
    floor = Floor(Touch(page), record["code"])
    floor.open()
    floor.begin("Q")
    oil = step_of(record, "oil:1")
    floor.go_to(oil["title"])
    floor.read(reading(oil, oil["high"] + 2))
    floor.comes("recovery")
    expect(page.locator(STAGE)).to_contain_text("Calculation is off: no way back can be worked out here")
    floor.do("asked")
    floor.comes("reason")
    floor.why("The scale was read too late")
    floor.do("reason-given")
    floor.go_to("Pour into the mold")
    floor.do("done")
    floor.comes("closing")
    expect(page.locator(STAGE)).to_contain_text("Calculation is off")
    floor.do("close")
    floor.comes("closed")
    expect(page.locator(STAGE)).to_contain_text("Its superfat was not worked out at closing")
    expect(page.locator('[data-list="readings"]')).to_contain_text(reading(oil, oil["high"] + 2))
    events = block_events(page, record["code"])
    # Every step once, each in its turn; the last is begun and waits in the mould.
    steps = [event["step"] for event in events if event["kind"] in ("checked", "weighed", "timed")]
    assert list(dict.fromkeys(steps)) == [step["key"] for step in record["steps"]]
    assert [event["choice"] for event in events if event["kind"] == "decided"] == ["asked"]
    assert (events[-1]["kind"], events[-1]["outcome"]) == ("closed", "poured")


def test_two_blocks_in_hand_at_once_keep_their_own_steps_digits_and_signs(page: Page, record: Record) -> None:
    one = begun(Touch(page), record, "oil:0")
    two = begun(Touch(page.context.new_page()), record, "oil:1", block=2)
    for floor, number, typed in ((one, "1", "15.0"), (two, "2", "10.0")):
        expect(floor.page.locator(".block-sign strong")).to_have_text(number)
        expect(floor.page.locator(".block-mould [data-slot=mould]")).to_have_text(record["mould"]["name"])
        expect(floor.page.locator("[data-floor-elsewhere]")).to_be_hidden()
        floor.do("read")
        floor.keys(typed)
        draft_kept(floor.page, typed)
    home = page.context.new_page()
    home.goto("")
    expect(home.locator("[data-in-hand] li")).to_have_count(2)
    # From one to the other and back in one tab.
    two.page.close()
    one.block = 2
    one.open()
    expect(page.locator("[data-typed]")).to_have_text("10.0")
    one.keys("4", "10.0")
    one.do("reading")
    assert one.title() == step_of(record, "oil:2")["title"]
    one.block = 1
    one.open()
    expect(page.locator("[data-typed]")).to_have_text("15.0")
    one.keys("6", "15.0")
    one.do("reading")
    assert one.title() == step_of(record, "oil:1")["title"]
    assert (own_events(page, record, 1), own_events(page, record, 2)) == ([("weighed", "oil:0")], [("weighed", "oil:1")])


def test_the_next_block_starts_with_the_same_lots_and_person(page: Page, record: Record) -> None:
    floor = begun(Touch(page), record, "oil:0")
    floor.do("lot")
    floor.comes("lot")
    page.locator('[name="lot"]').fill("OLV-0500")
    floor.do("lot-typed")
    expect(page.locator(f"{STAGE} .on")).to_contain_text("OLV-0500")
    floor.read("15.06")
    floor.at()
    page.goto("scale/")
    put(page, [event for event in done(record) if event.get("step") not in
               {each.get("step") for each in block_events(page, record["code"])}])  # fmt: skip
    floor.open()
    floor.comes("closing")
    floor.do("close")
    floor.comes("closed")
    page.get_by_role("link", name="Next block").tap()
    second = Floor(Touch(page), record["code"], 2)
    expect(page.locator(".block-sign strong")).to_have_text("2")
    # The first block was begun before the daily check was asked for: its answer says nothing of it.
    second.comes("ready")
    second.step()
    second.comes("checks")
    assert second.stands(record["steps"][0]["title"])
    second.go_to(step_of(record, "oil:0")["title"])
    expect(page.locator(f"{STAGE} .on")).to_contain_text("OLV-0500")
    second.read("15.06")
    second.at()
    events = block_events(page, record["code"], 2)
    assert {event["person"] for event in events} == {"Q"}
    assert [event["lot"] for event in events if event["kind"] == "weighed"] == ["OLV-0500"]
