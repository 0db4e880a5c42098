"""The order of a day against every order, written out here a second time; and what no plan may ever do."""

import itertools
import random
from dataclasses import dataclass, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.day.schedule import BAR, CHANGE, LOAF, Floor, Job, Part, Placed, Schedule, schedule, why

OPENS = 420


@dataclass(frozen=True)
class Day:
    jobs: tuple[Job, ...]
    floor: Floor


def make(key: str, minutes: tuple[int, int, int], who: str | None = None, mould: str | None = None, not_before: int = 0) -> Job:
    weigh, mix, pour = minutes
    parts = (Part("weigh", weigh, ("vessel",)), Part("mix", mix, ("vessel", "mixer")), Part("pour", pour, ("vessel",)))
    return Job(key, key, parts, not_before, who, takes_mould=mould)


def out(key: str, minutes: tuple[int, int, int, int], due: int, mould: str | None = None) -> tuple[Job, Job]:
    unmould, loaves, bars, rack = minutes
    first = Job(key, key, (Part("unmould", unmould, ("hoist",), 2), Part("loaves", loaves, ("cutter",))), due, gives_mould=mould, frame=LOAF)
    return first, Job(f"{key}+", key, (Part("bars", bars, ("cutter",)), Part("rack", rack)), after=key, frame=BAR)


def floor(people: int = 2, moulds: int | None = None, change: int = 15, start: int = OPENS, **things: int) -> Floor:
    there = {"vessel": 1, "mixer": 1, "hoist": 1, "cutter": 1} | things
    return Floor(tuple("QJM"[:people]), there, {} if moulds is None else {"big": (start,) * moulds}, start, change)


def a_day(chance: random.Random) -> Day:
    """Two to five jobs; now and then a person is named, a mold is scarce, or there are two vessels."""
    people, moulds = chance.randint(1, 3), chance.choice((None, None, 1, 2))
    makes, outs = chance.choice(((2, 0), (3, 0), (4, 0), (1, 1), (2, 1), (0, 2), (1, 2)))
    names = "QJM"[:people]
    jobs: list[Job] = []
    for n in range(makes):
        who = chance.choice(names) if chance.random() < 0.25 else None
        minutes = (chance.randint(1, 40), chance.randint(1, 25), chance.randint(1, 20))
        jobs.append(make(str(n), minutes, who, "big", chance.choice((0, 0, chance.randint(400, 600)))))
    for n in range(outs):
        minutes4 = (chance.randint(1, 20), chance.randint(1, 30), chance.randint(1, 40), chance.randint(0, 30))
        jobs.extend(out("AB"[n], minutes4, chance.randint(380, 620), "big"))
    short = moulds is not None and moulds + outs < makes
    return Day(tuple(jobs), floor(people, None if short else moulds, chance.choice((0, 10, 20)), vessel=chance.choice((1, 1, 2))))


def every_order(day: Day) -> int:
    """The soonest end of all orders, whoever of the people does each job: the rules of a day, minute by minute and job by job."""
    best = 1 << 30
    for order in itertools.permutations(day.jobs):
        places = {job.key: n for n, job in enumerate(order)}
        if any(job.after and places[job.after] > places[job.key] for job in order):
            continue
        choices = [[names for names in hands(day, job) if job.who in (None, names[0])] for job in order]
        for crew in itertools.product(*choices):
            end = worked(day, order, crew)
            best = best if end is None else min(best, end)
    return best


def hands(day: Day, job: Job) -> list[tuple[str, ...]]:
    two = any(part.people == 2 for part in job.parts) and len(day.floor.people) > 1
    return list(itertools.permutations(day.floor.people, 2 if two else 1))


def worked(day: Day, order: tuple[Job, ...], crew: tuple[tuple[str, ...], ...]) -> int | None:
    """When an order ends, each job as soon as it can be and none before the one in front of it; None where a mold is never empty."""
    people = dict.fromkeys(day.floor.people, day.floor.start)
    units = {name: [day.floor.start] * n for name, n in day.floor.things.items()}
    empty = sorted(day.floor.moulds.get("big", ()))
    ended: dict[str, int] = {}
    clock, frame, end = day.floor.start, day.floor.frame, 0
    for job, names in zip(order, crew, strict=True):
        parts = list(job.parts)
        if job.frame and frame and frame != job.frame:
            at = next(n for n, part in enumerate(parts) if "cutter" in part.things)
            parts.insert(at, Part(CHANGE, day.floor.change, ("cutter",)))
        frame = job.frame or frame
        spans, at = [], 0
        for part in parts:
            spans.append((part, at, at + part.minutes))
            at += part.minutes
        earliest = [clock, job.not_before, people[names[0]], ended.get(job.after or "", 0)]
        using: dict[str, tuple[int, int]] = {}
        for part, begin, over in spans:
            for thing in part.things:
                using[thing] = (using.get(thing, (begin, 0))[0], over)
            if part.people == 2 and len(names) == 2:
                earliest.append(people[names[1]] - begin)
            if part.stage == "pour" and job.takes_mould in day.floor.moulds:
                if not empty:
                    return None
                earliest.append(empty[0] - begin)
        earliest += [min(units[thing]) - begin for thing, (begin, _) in using.items()]
        start = max(earliest)
        for thing, (begin, over) in using.items():
            taken = max(free for free in units[thing] if free <= start + begin)
            units[thing].remove(taken)
            units[thing].append(start + over)
        if job.takes_mould in day.floor.moulds:
            empty.pop(0)
        for part, _, over in spans:
            if part.stage == "unmould" and job.gives_mould:
                empty = sorted([*empty, start + over])
            if part.people == 2 and len(names) == 2:
                people[names[1]] = start + over
        people[names[0]] = start + at
        ended[job.key], clock, end = start + at, start, max(end, start + at)
    return end


def planned(day: Day) -> Schedule:
    found = schedule(day.jobs, day.floor)
    assert found is not None and found.proven
    return found


def test_no_order_of_a_thousand_days_ends_sooner_than_the_one_found() -> None:
    chance = random.Random(20261201)
    for n in range(1000):
        day = a_day(chance)
        assert planned(day).end == every_order(day), f"day {n}: {day}"


def overlaps(found: Schedule, there: Floor) -> list[str]:
    """Where more of a thing or person is in use at once than there is: counted at every beginning."""
    uses = [use for each in found.placed for use in each.uses() if use[1] < use[2]]
    most = {f"person:{name}": 1 for name in there.people} | dict(there.things)
    return [
        f"{name} at {at}" for name, at, _ in uses
        if sum(other == name and begin <= at < end for other, begin, end in uses) > most.get(name, 1)
    ]  # fmt: skip


@given(st.randoms(use_true_random=False))
@settings(max_examples=150, deadline=None)
def test_no_two_uses_of_one_thing_or_person_overlap(chance: random.Random) -> None:
    day = a_day(chance)
    found = planned(day)
    assert overlaps(found, day.floor) == []
    assert all(each.start >= max(each.job.not_before, day.floor.start) for each in found.placed)
    assert {each.job.key for each in found.placed} == {job.key for job in day.jobs}
    # Poured blocks never fill more molds than there are.
    if "big" in day.floor.moulds:
        freed = [end for each in found.placed for part, _, end in each.stages() if part.stage == "unmould"]
        pours = [begin for each in found.placed for part, begin, _ in each.stages() if part.stage == "pour"]
        assert all(sum(p <= at for p in pours) <= len(day.floor.moulds["big"]) + sum(f <= at for f in freed) for at in pours)


@given(st.randoms(use_true_random=False), st.integers(0, 120))
@settings(max_examples=100, deadline=None)
def test_who_starts_later_never_ends_sooner(chance: random.Random, later: int) -> None:
    day = a_day(chance)
    moulds = {kind: tuple(each + later for each in free) for kind, free in day.floor.moulds.items()}
    assert planned(Day(day.jobs, replace(day.floor, start=OPENS + later, moulds=moulds))).end >= planned(day).end


@given(st.randoms(use_true_random=False))
@settings(max_examples=100, deadline=None)
def test_what_is_done_stands_where_it_was_done_and_nothing_new_begins_in_its_place(chance: random.Random) -> None:
    day = a_day(chance)
    first = min(planned(day).placed, key=lambda each: each.start)
    if first.job.frame or first.job.takes_mould in day.floor.moulds:
        return
    late = chance.randint(0, 60)
    done = replace(first, start=first.start + late, done=True)
    rest = tuple(job for job in day.jobs if job.key != first.job.key)
    found = schedule(rest, replace(day.floor, start=OPENS + late), [done])
    assert found is not None
    assert done in found.placed
    assert overlaps(found, day.floor) == []
    assert found.end >= done.end


def placed(found: Schedule | None) -> dict[str, int]:
    assert found is not None
    return {each.job.key: each.start for each in found.placed}


def test_one_vessel_makes_the_second_block_wait_and_says_whose_it_is() -> None:
    there = floor(people=2)
    found = schedule([make("1", (30, 10, 10)), make("2", (30, 10, 10))], there)
    assert found is not None and placed(found) == {"1": 420, "2": 470}
    bound = why(found, found.placed[1], there)
    assert (bound.kind, bound.what, bound.block) == ("thing", "vessel", "1")


def test_one_mixer_lets_the_second_vessel_begin_only_as_far_ahead_as_its_weighing_takes() -> None:
    there = floor(people=2, vessel=2)
    found = schedule([make("1", (30, 20, 10)), make("2", (30, 20, 10))], there)
    # Mixed from 450 to 470 and then from 470: its own weighing of 30 minutes begins at 440.
    assert found is not None and placed(found) == {"1": 420, "2": 440}
    assert why(found, found.placed[1], there).what == "mixer"


def test_alone_it_is_the_hand_that_is_waited_for() -> None:
    there = floor(people=1)
    found = schedule([make("1", (30, 10, 10)), make("2", (30, 10, 10))], there)
    assert found is not None and why(found, found.placed[1], there).kind == "person"


def test_the_block_that_fills_the_only_mold_comes_out_before_the_next_is_poured() -> None:
    there = floor(people=3, moulds=0)
    first, second = out("A", (20, 10, 10, 10), 480, "big")
    found = schedule([make("1", (30, 10, 10), mould="big"), first, second], there)
    assert found is not None
    # Out at 500: poured then, so begun 40 minutes before; no job begins before the one in front of it.
    assert placed(found)["1"] == 480 and placed(found)["A"] == 480


def test_where_there_are_too_few_molds_the_last_blocks_are_named() -> None:
    found = schedule([make("1", (30, 10, 10), mould="big"), make("2", (30, 10, 10), mould="big")], floor(moulds=1))
    assert found is not None and found.no_mould == ("2",)


def test_loaves_of_all_blocks_are_cut_before_the_frame_is_changed_for_the_bars() -> None:
    jobs = [*out("A", (10, 10, 10, 10), 420), *out("B", (10, 10, 10, 10), 420)]
    found = schedule(jobs, floor(people=1, change=30))
    assert found is not None
    order = [each.job.key for each in sorted(found.placed, key=lambda each: each.start)]
    assert order == ["A", "B", "A+", "B+"]
    # Four times 20 minutes and one change: 110.
    assert found.end == OPENS + 110


def test_an_order_fixed_by_hand_is_kept_and_one_that_cannot_be_worked_is_none() -> None:
    jobs = [make("1", (30, 10, 10)), make("2", (20, 10, 10)), make("3", (10, 10, 10))]
    found = schedule(jobs, floor(people=1), order=["3", "1"])
    assert found is not None and placed(found)["3"] < placed(found)["1"]
    first, second = out("A", (20, 10, 10, 10), 480, "big")
    assert schedule([make("1", (30, 10, 10), mould="big"), first, second], floor(moulds=0), order=["1", "A"]) is None


def test_what_nobody_there_can_do_is_refused() -> None:
    with pytest.raises(ValueError, match="isn't there"):
        schedule([make("1", (1, 1, 1), who="Z")], floor())
    with pytest.raises(ValueError, match="no hoist"):
        schedule(out("A", (1, 1, 1, 1), 0), floor(hoist=0))
    with pytest.raises(ValueError, match="Nobody"):
        schedule([], Floor((), {}, {}, OPENS))


def test_a_job_begun_today_ends_as_it_ended_and_moves_the_rest() -> None:
    # Weighed in 50 minutes instead of 30: all after it comes 20 minutes later.
    late = Placed(make("1", (50, 10, 10)), 420, "Q", done=True)
    found = schedule([make("2", (30, 10, 10))], floor(people=1, start=480), [late])
    assert placed(found) == {"1": 420, "2": 490}
