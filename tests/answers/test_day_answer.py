"""The day through the door: blocks by formula and by sheet, what their records tell, and what is kept of the plan."""

import json
from copy import deepcopy
from typing import Any

from answers.demo import BATCH_VALUES, DAY_VALUES, demo_state
from answers.door import answer

# The evening before: nothing of the day is done.
NOW = "2026-11-30T18:00:00-06:00"
DAY = {"on": "2026-12-01", "starts_at": "07:00", "earlier": "yes"}
ONE = {**DAY, "oil_tank_minutes": "120", "blocks.0.what": "formula:f-marsh-plain", "blocks.0.mould": "m-block"}


def ask(values: dict[str, str], now: str = NOW, state: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
    reply: dict[str, Any] = json.loads(answer(json.dumps({"task": "day", "values": values, "state": state or demo_state(), "now": now, **more})))
    assert "fault" not in reply, reply.get("report")
    return reply


def text(reply: dict[str, Any]) -> str:
    return " ".join(reply["html"]["day"].split())


def event(kind: str, at: str, step: str = "", **more: Any) -> dict[str, Any]:
    return {"kind": kind, "step": step, "local": f"2026-12-01T{at}:00-06:00", "person": "J", **more}


def sheet(code: str = "QM-1", blocks: int = 2, **more: Any) -> dict[str, Any]:
    """As site/static/js/rules/day.mjs hands one over."""
    return {
        "code": code, "blocks": blocks, "day": "2026-12-01", "formula": {"id": "f-marsh-plain", "name": "Marsh Plain"}, "mould": {"name": "Block mold"},
        "vessel": {"name": "80 L tilting vessel"}, "planned": {"total": 252, "bar_mm": [25.0, 90.0, 60.0]}, "rests": 86400,
        "pours": [{"kind": "alkali", "phase": "vessel", "target_g": 14000.0}, {"kind": "oil", "phase": "vessel", "target_g": 40000.0}],
        "told": {}, "due": {}, **more,
    }  # fmt: skip


def made(*sheets: dict[str, Any]) -> dict[str, Any]:
    return deepcopy(demo_state()) | {"made": list(sheets)}


def test_one_block_tells_when_to_switch_on_and_when_it_is_poured() -> None:
    reply = ask(ONE)
    told = text(reply)
    # By the form two hours for the oils; common practice rows: one for the lye, 40, 15 and 15 minutes for the block.
    for at in ("05:00", "06:00", "07:00", "07:40", "07:55", "2026-12-02 08:10"):
        assert f">{at}</time>" in told, at
    assert "Ends about" in told and ">08:10</time>" in told


def test_on_the_day_itself_tanks_count_as_cold_until_somebody_says_when_they_were_switched_on() -> None:
    # At 6:32 two hours of warming up begin with the next five minutes; switched on at five, the oils are ready at seven.
    cold = text(ask(ONE, now="2026-12-01T06:32:00-06:00"))
    assert ">06:35</time> switch on" in cold and ">08:35</time> weigh" in cold and "waits until the tanks are warm" in cold
    warm = text(ask({**ONE, "switched_on": "05:00"}, now="2026-12-01T06:32:00-06:00"))
    assert ">05:00</time> switched on" in warm and ">07:00</time> weigh" in warm
    none = text(ask({**ONE, "oil_tank_minutes": "0", "lye_tank_minutes": "0"}, now="2026-12-01T06:32:00-06:00"))
    assert ">07:00</time> weigh" in none and "switch on" not in none


def test_what_is_kept_is_the_form_and_what_today_tells_of_it() -> None:
    reply = ask({**ONE, "oil_tank_minutes": "90", "person": "Q"}, check=True)
    record = reply["record"]
    assert (record["kind"], record["subject"]) == ("day_planned", "day:2026-12-01")
    assert record["fields"]["person"] == "Q" and record["fields"]["values"]["oil_tank_minutes"] == "90"
    assert "person" not in record["fields"]["values"]
    assert [(entry["at"], entry["kind"]) for entry in record["fields"]["entries"]] == [
        ("2026-12-01T05:30", "oil_on"), ("2026-12-01T06:00", "lye_on"), ("2026-12-01T07:00", "make"),
    ]  # fmt: skip


def test_a_plan_of_nothing_is_not_kept_and_says_what_is_missing() -> None:
    assert text(ask(DAY)).count("Nothing is planned for this day yet") == 1
    reply = ask({**DAY, "person": "Q"}, check=True)
    assert [(each["field"], each["code"]) for each in reply["problems"]] == [("blocks", "no-blocks")]


def test_an_open_sheet_brings_its_own_lye_and_no_more_blocks_than_are_left() -> None:
    state = made(sheet())
    reply = ask({**DAY, "blocks.0.what": "sheet:QM-1", "blocks.0.blocks": "2", "lye_on_hand_g": "25", "lye_on_hand_g.unit": "kg"}, state=state)
    # Two blocks take 14 kg each: 28 kg, 3 kg more than there is, and the second one lacks them.
    assert "Short of 3 kg lye, from block 2 on." in text(reply).replace("\u00a0", " ")
    reply = ask({**DAY, "blocks.2.what": "sheet:QM-1", "blocks.2.blocks": "3"}, state=state)
    assert [(each["field"], each["code"]) for each in reply["problems"]] == [("blocks.2.blocks", "too-few-left")]
    reply = ask({**DAY, "blocks.0.what": "sheet:QM-9"}, state=state)
    assert [(each["field"], each["code"]) for each in reply["problems"]] == [("blocks.0.what", "to-make-missing")]


def test_as_the_day_goes_what_is_done_stands_and_moves_the_rest() -> None:
    block = [event("checked", "07:20", "check:protect"), event("timed", "08:10", "mix", action="started"), event("checked", "08:25", "trace"),
             event("checked", "08:45", "pour"), event("closed", "08:46", outcome="poured")]  # fmt: skip
    state = made(sheet(told={"1": block}, due={"1": "2026-12-02T08:45"}))
    told = text(ask({**DAY, "blocks.0.what": "sheet:QM-1", "blocks.0.blocks": "2"}, now="2026-12-01T09:02:00-06:00", state=state))
    assert "QM-1 / 1" in told and ">07:20</time> weigh" in told and "✓" in told
    # The second begins at the next five minutes, and no tank is switched on for it.
    assert ">09:05</time> weigh" in told and "switch on" not in told


def test_a_formulas_block_is_the_one_whose_sheet_was_issued_that_day() -> None:
    state = made(sheet(blocks=1, told={"1": [event("checked", "07:20", "check:protect")]}))
    told = text(ask(ONE, now="2026-12-01T07:30:00-06:00", state=state))
    assert "QM-1 / 1" in told and ">07:20</time> weigh" in told


def test_yesterdays_block_comes_out_when_its_time_is_over_and_is_cut_and_racked() -> None:
    yesterday = [{"kind": "checked", "step": "pour", "local": "2026-11-30T10:00:00-06:00"}, {"kind": "closed", "outcome": "poured", "local": "2026-11-30T10:01:00-06:00"}]
    state = made(sheet("QM-0", 1, day="2026-11-30", told={"1": yesterday}, due={"1": "2026-12-01T10:00"}))
    told = text(ask(DAY, state=state))
    assert ">10:00</time> unmold" in told and "bars" in told and "QM-0 / 1" in told
    assert "Nothing is planned" in text(ask({**DAY, "earlier": "no"}, state=state))
    kept = ask({**DAY, "person": "Q"}, state=state, check=True)["record"]["fields"]["entries"]
    assert [(entry["kind"], entry["subject"]) for entry in kept] == [("unmould", "block:QM-0/1"), ("bars", "block:QM-0/1")]


def test_one_mold_of_each_kind_holds_up_the_block_that_has_none() -> None:
    yesterday = [{"kind": "checked", "step": "check:protect", "local": "2026-11-30T09:00:00-06:00"}, {"kind": "closed", "outcome": "poured", "local": "2026-11-30T10:01:00-06:00"}]
    state = made(sheet("QM-0", 1, day="2026-11-30", told={"1": yesterday}, due={"1": "2026-12-01T10:00"}))
    told = text(ask({**ONE, "moulds": "1", "hands": "3"}, state=state))
    assert "Block 1 pours once block A is out of its mold" in told and "No empty mold" not in told
    told = text(ask({**ONE, "moulds": "1", "earlier": "no"}, state=state))
    assert "No empty mold for 1 block." in told


def test_an_order_fixed_by_hand_is_kept_and_said() -> None:
    values = {**DAY_VALUES, "order": "3, 1 2"}
    told = text(ask(values, now="2026-11-24T06:00:00-06:00"))
    assert "In your order." in told
    assert told.index('class="day-mark">3') < told.index('class="day-mark">1') < told.index('class="day-mark">2')


def test_a_day_that_would_end_too_late_says_by_how_much_and_what_to_leave_out() -> None:
    two = {**ONE, "blocks.0.blocks": "2", "ends_at": "09:00"}
    told = text(ask(two))
    assert "Ends 20 min too late." in told.replace("\u00a0", " ") and "Leave out block 2" in told


def test_the_door_makes_the_demos_batch_known_to_the_plan_by_its_own_lye() -> None:
    # The demo's sheet and its plan agree about the lye of a block: 14.18 kg by its sheet, of two blocks.
    assert BATCH_VALUES["formula"] == "f-marsh-plain"
    told = text(ask({**ONE, "blocks.0.blocks": "2"})).replace("\u00a0", " ")
    assert "The day takes 28.4 kg of lye from the tank." in told


def test_in_spanish_every_stage_has_a_letter_of_its_own() -> None:
    from answers.tasks.day import STAGE_WORDS
    from calc.entry.language import speaking, tr

    for language in ("en", "es"):
        with speaking(language):
            letters = [tr(words)[0] for stage, words in STAGE_WORDS.items() if stage != "change"]
        assert len(set(letters)) == len(letters), letters
