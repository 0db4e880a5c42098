"""How long a stage takes: medians and quartiles by hand, from deeds told a few minutes apart."""

from typing import Any

import pytest

from calc.day.durations import Duration, durations, logged, moments, planned
from calc.tables.reference import constant

# The keys of steps are frozen for ever, and written out here.
BLOCK = (
    ("checked", "check:protect", 0), ("weighed", "oil:0", 10), ("weighed", "lye:naoh", 25), ("timed", "mix", 27, "started"),
    ("timed", "mix", 40, "ended"), ("checked", "trace", 42), ("checked", "scent:in", 45), ("checked", "pour", 55),
)  # fmt: skip
AFTER = (
    ("lifted", "after:lift", 0), ("checked", "after:demould", 15), ("checked", "after:loaves", 30), ("checked", "after:skim", 35),
    ("checked", "after:frame", 50), ("checked", "after:bars", 80), ("racked", "after:rack", 110),
)  # fmt: skip


def told(deeds: Any, day: str = "2026-12-01", hour: int = 8, slower: float = 1.0) -> list[dict[str, Any]]:
    events = []
    for kind, step, minute, *action in deeds:
        at = hour * 60 + round(minute * slower)
        events.append({"kind": kind, "step": step, "local": f"{day}T{at // 60:02}:{at % 60:02}:00-06:00", **({"action": action[0]} if action else {})})
    return events


def test_a_block_tells_of_each_stage_by_the_deeds_that_end_it() -> None:
    assert logged(told(BLOCK)) == {"weigh": 27, "mix": 15, "pour": 13}
    assert logged(told(AFTER)) == {"unmould": 15, "loaves": 20, "change": 15, "bars": 30, "rack": 30}


def test_where_no_clock_was_started_for_the_mixing_it_begins_once_all_is_weighed() -> None:
    plain = [deed for deed in BLOCK if deed[1] != "mix"]
    assert logged(told(plain)) == {"weigh": 25, "mix": 17, "pour": 13}


def test_where_the_frame_was_on_already_the_bars_begin_after_the_loaves() -> None:
    assert logged(told([deed for deed in AFTER if deed[1] != "after:frame"]))["bars"] == 45


def test_what_was_left_lying_over_night_counts_for_nothing() -> None:
    late = [*told(AFTER[:4], hour=17), *told(AFTER[4:], day="2026-12-02")]
    found = logged(late)
    assert "change" not in found and found["bars"] == 30


def test_a_deed_told_again_or_that_says_no_time_changes_nothing() -> None:
    again = [*told(BLOCK), *told((("checked", "pour", 90),)), {"kind": "checked", "step": "trace"}, {"kind": "checked", "step": "x", "local": "soon"}]
    assert moments(again) == moments(told(BLOCK))


def test_from_three_own_blocks_on_their_median_and_middle_half_hold() -> None:
    # 13, 26 and 39 minutes of pouring: the median is 26, in steps of five 25; quartiles of three with both ends in, 19.5 and 32.5.
    blocks = [("Marsh", told(BLOCK, slower=factor)) for factor in (1.0, 2.0, 3.0)]
    assert durations(blocks, "Marsh")["pour"] == Duration(25, 20, 32, 3)
    # Common practice, no source: the row of the reference.
    minutes = round(constant("day_pour_usual").value)
    assert durations(blocks[:2], "Marsh")["pour"] == Duration(minutes, minutes, minutes)


def test_a_formulas_own_blocks_come_before_all_blocks() -> None:
    slow = [("Reed", told(BLOCK, slower=3.0))] * 3
    quick = [("Marsh", told(BLOCK))] * 4
    assert durations([*slow, *quick], "Reed")["pour"].minutes == 40
    # Of a formula that was made twice only, all count: 13 five times out of seven.
    assert durations([*slow[:2], *quick], "Reed")["pour"] == Duration(15, 13, 32, 6)


@pytest.mark.parametrize(("minutes", "steps"), [(0.0, 5), (2.4, 5), (7.4, 5), (7.5, 10), (12.5, 15), (61.0, 60)])
def test_times_are_planned_in_whole_steps_of_five_minutes(minutes: float, steps: int) -> None:
    assert planned(minutes) == steps
