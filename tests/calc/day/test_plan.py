"""What of a day is done, runs and waits, and what is short: by hand, minute by minute."""

from dataclasses import replace
from datetime import date
from typing import Any

from calc.day.conflicts import Short, TooLong, short_of, still_takes_g, too_long, trays_short, waits
from calc.day.durations import Duration
from calc.day.plan import Make, Out, floor_of, jobs
from calc.day.schedule import Schedule, schedule
from day.test_durations import AFTER, BLOCK, told

DAY = date(2026, 12, 1)
MINUTES = {"weigh": 30, "mix": 15, "pour": 10, "unmould": 15, "loaves": 20, "change": 15, "bars": 30, "rack": 20}
COUNTED = {stage: Duration(minutes, minutes, minutes) for stage, minutes in MINUTES.items()}
COUNTS = {"mixer": 1, "hoist": 1, "cutter": 1}


def make(mark: str, **more: Any) -> Make:
    return Make(mark, "Marsh", COUNTED, vessel="tilting", **more)


def out(mark: str, due: int, **more: Any) -> Out:
    return Out(mark, "Marsh", COUNTED, due, **more)


def day(makes: list[Make], outs: list[Out], now: int | None = None, people: tuple[str, ...] = ("Q", "J"), **counts: int) -> tuple[Schedule, Any]:
    planned = jobs(makes, outs, DAY, now)
    floor = floor_of(people, ["tilting"], COUNTS | counts, {}, max(420, now or 0), 15)
    found = schedule(planned.waiting, floor, planned.done)
    assert found is not None
    return found, floor


def times(found: Schedule, block: str) -> list[tuple[str, int, int, bool]]:
    return [(part.stage, begin, end, each.done) for each in found.of(block) for part, begin, end in each.stages()]


def test_a_block_goes_from_the_scale_to_its_mold_without_a_pause() -> None:
    found, _ = day([make("1")], [])
    assert times(found, "1") == [("weigh", 420, 450, False), ("mix", 450, 465, False), ("pour", 465, 475, False)]


def test_a_block_out_of_its_mold_is_cut_racked_and_its_frame_changed_in_between() -> None:
    found, _ = day([], [out("A", 480)], people=("Q",))
    assert times(found, "A") == [
        ("unmould", 480, 495, False), ("loaves", 495, 515, False), ("change", 515, 530, False), ("bars", 530, 560, False), ("rack", 560, 580, False),
    ]  # fmt: skip
    # Of two cutters each keeps its frame.
    found, _ = day([], [out("A", 480)], people=("Q",), cutter=2)
    assert found.end == 565


def test_what_is_done_stands_as_it_was_what_runs_ends_no_sooner_than_now_and_the_rest_follows() -> None:
    # Begun at 8:00, mixed from 8:27; now it is 9:00: mixing goes on at least until then, its pour and the next block after it.
    begun = make("1", events=told(BLOCK[:4]))
    found, _ = day([begun, make("2")], [], now=540, people=("Q",))
    assert times(found, "1") == [("weigh", 480, 507, True), ("mix", 507, 540, True), ("pour", 540, 550, True)]
    assert times(found, "2")[0] == ("weigh", 550, 580, False)
    over = make("1", events=told(BLOCK))
    found, _ = day([over, make("2")], [], now=540, people=("Q",))
    assert times(found, "1") == [("weigh", 480, 507, True), ("mix", 507, 522, True), ("pour", 522, 535, True)]
    assert times(found, "2")[0] == ("weigh", 540, 570, False)


def test_done_steps_are_where_they_were_whatever_else_is_planned() -> None:
    done = make("1", events=told(BLOCK))
    alone, _ = day([done], [], now=540)
    for others in ([make("2")], [make("2"), make("3", who="J")]):
        found, _ = day([done, *others], [out("A", 480)], now=540)
        assert times(found, "1") == times(alone, "1")


def test_a_block_lifted_today_goes_on_where_it_stands() -> None:
    found, _ = day([], [out("A", 470, events=told(AFTER[:1]))], now=500)
    # Lifted at 8:00: the mold comes off by 8:20 at the earliest, for that is now.
    assert times(found, "A")[:2] == [("unmould", 480, 500, True), ("loaves", 500, 520, True)]
    racked, _ = day([], [out("A", 470, events=told(AFTER))], now=700)
    assert all(done for *_, done in times(racked, "A")) and racked.end == 590


def test_loaves_that_lay_over_night_need_their_bars_alone() -> None:
    found, _ = day([], [out("A", -500, events=told(AFTER[:4], day="2026-11-30", hour=17))])
    assert [stage for stage, *_ in times(found, "A")] == ["bars", "rack"]


def test_a_plan_for_another_day_knows_nothing_done() -> None:
    found, _ = day([make("1", events=told(BLOCK))], [], now=None)
    assert times(found, "1")[0] == ("weigh", 420, 450, False)


def test_one_vessel_one_hoist_one_cutter_are_named_with_the_minute_that_solves_it() -> None:
    found, floor = day([make("1"), make("2")], [])
    assert [(each.block, each.what, each.holder, each.at) for each in waits(found, floor)] == [("2", "vessel:tilting", "1", 475)]
    found, floor = day([], [out("A", 420), out("B", 420)], people=("Q", "J", "M"))
    told_of = {(each.block, each.what) for each in waits(found, floor)}
    # B's loaves would come while A's are cut.
    assert ("B", "cutter") in told_of


def test_alone_nothing_is_named_for_it_is_the_hand_that_is_missing() -> None:
    found, floor = day([make("1"), make("2")], [], people=("Q",))
    assert waits(found, floor) == ()


def test_what_a_tank_gives_is_short_from_the_first_block_that_gets_too_little_and_by_what_the_day_lacks() -> None:
    makes = [make(mark) for mark in "123"]
    need = {each.mark: still_takes_g(each, 14_000.0, 0.0) for each in makes}
    found, _ = day(makes, [])
    # 42 kg for three blocks, 39 kg there: 3 kg short, and it is the third that lacks them.
    assert short_of(found, need, 39_000.0) == Short("3", 3000.0, 3000.0, 530)
    # 20 kg there: the second lacks 8 of its 14, and all of the day 22.
    assert short_of(found, need, 20_000.0) == Short("2", 8000.0, 22_000.0, found.of("2")[0].start)
    assert short_of(found, need, 42_000.0) is None and short_of(found, need, None) is None
    # What a begun block took is gone from the tank already: 10 of its 14 kg are drawn, and 4 are still to come out of it.
    done = [replace(makes[0], events=told(BLOCK)), *makes[1:]]
    found, _ = day(done, [], now=540)
    need["1"] = still_takes_g(done[0], 14_000.0, 10_000.0)
    assert need["1"] == 4000.0
    assert short_of(found, need, 32_000.0) is None and short_of(found, need, 31_000.0) == Short("3", 1000.0, 1000.0, found.of("3")[0].start)
    assert still_takes_g(done[0], 14_000.0, 13_900.0) == 0.0 and still_takes_g(done[0], 0.0, 0.0) == 0.0
    assert still_takes_g(replace(done[0], events=[*done[0].events, {"kind": "closed"}]), 14_000.0, 0.0) == 0.0


def test_trays_are_short_by_what_the_bars_need_above_those_free() -> None:
    assert trays_short([out("A", 0, trays=4), out("B", 0, trays=3)], 5) == 2
    assert trays_short([out("A", 0, trays=4)], 4) == 0 and trays_short([out("A", 0)], None) == 0


def test_a_day_too_long_names_the_block_to_leave_out() -> None:
    found, _ = day([make("1"), make("2")], [])
    assert too_long(found, {"1": 475, "2": 475}, 500) == TooLong(30, "2")
    assert too_long(found, {"1": 475, "2": 475}, 440) == TooLong(90, "")
    assert too_long(found, {}, 530) is None and too_long(found, {}, None) is None
