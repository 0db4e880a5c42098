"""When each block of a day is worked: of all orders, one that ends soonest, and what each block waits for.

A job is what one person does in one go: once lye is on the oils the batter sets the pace, so weighing, mixing and pouring
follow each other without a pause. Jobs are put one behind the other, each as early as people, things and molds allow and
never before the one in front of it. Which of the orders ends soonest is found by branch and bound: a branch is left where
even its lower bound (the work still to come, shared by all who are there) ends no sooner than the best found, or where the
same jobs are already done with everybody and everything free at least as early. Of orders that end alike the one stands
that takes the jobs as they are listed.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from math import fsum
from operator import le
from typing import NamedTuple

# Where the search has looked at so many beginnings it gives the best it has, and says that it is not proven.
MOST_LOOKED_AT = 25_000
LOAF, BAR = "loaf", "bar"
CUTTER = "cutter"
CHANGE, POUR, UNMOULD = "change", "pour", "unmould"


@dataclass(frozen=True)
class Part:
    """A stage of a job [min, 0 or more]: what it needs beside whoever does the job; people: 1, or 2 where somebody helps."""

    stage: str
    minutes: int
    things: tuple[str, ...] = ()
    people: int = 1


@dataclass(frozen=True)
class Job:
    """What one person does in one go at one block.

    not_before: minute of the day. after: the job that has to be over first. takes_mould: at its pour; gives_mould: at the
    end of its unmolding. frame: which frame must be on the cutter.
    """

    key: str
    block: str
    parts: tuple[Part, ...]
    not_before: int = 0
    who: str | None = None
    takes_mould: str | None = None
    gives_mould: str | None = None
    after: str | None = None
    frame: str | None = None

    @property
    def minutes(self) -> int:
        """From its start to its end."""
        return int(fsum(part.minutes for part in self.parts))

    def ends(self) -> Iterator[tuple[Part, int, int]]:
        """Each part, with when it begins and ends after the job's start."""
        for part, end in zip(self.parts, accumulate(part.minutes for part in self.parts), strict=True):
            yield part, end - part.minutes, end


@dataclass(frozen=True)
class Floor:
    """Who and what is there. moulds: of each kind counted, the minute from which each one is free; others are never short.

    start: no job begins before it [minute of the day]. change: what changing the cutter's frame takes [min].
    """

    people: tuple[str, ...]
    things: Mapping[str, int]
    moulds: Mapping[str, tuple[int, ...]]
    start: int
    change: int = 0
    frame: str | None = None


@dataclass(frozen=True)
class Placed:
    """A job at its time [minute of the day]. done: it is begun or over, so nothing moves it."""

    job: Job
    start: int
    lead: str
    helper: str | None = None
    done: bool = False

    @property
    def end(self) -> int:
        return self.start + self.job.minutes

    def stages(self) -> Iterator[tuple[Part, int, int]]:
        """Each part with its minutes of the day."""
        return ((part, self.start + begin, self.start + end) for part, begin, end in self.job.ends())

    def uses(self) -> Iterator[tuple[str, int, int]]:
        """Every thing and person, from when to when."""
        yield f"person:{self.lead}", self.start, self.end
        for part, begin, end in self.stages():
            if self.helper and part.people > 1:
                yield f"person:{self.helper}", begin, end
        for thing, (begin, end) in _things_of(self.job).items():
            yield thing, self.start + begin, self.start + end


@dataclass(frozen=True)
class Bound:
    """Why a job begins no sooner: "start", "due", "person", "thing", "mould", "after" or "order"; what, and which block has it."""

    kind: str
    what: str = ""
    block: str = ""


@dataclass(frozen=True)
class Schedule:
    """Every job at its time, the done ones first. listed_end: when the day ends with the jobs as they are listed."""

    placed: tuple[Placed, ...]
    listed_end: int
    proven: bool
    no_mould: tuple[str, ...]  # blocks for which there is none, however the day is ordered

    @property
    def end(self) -> int:
        return max((each.end for each in self.placed), default=0)

    def of(self, block: str) -> tuple[Placed, ...]:
        """What is done at one block, in order."""
        return tuple(each for each in self.placed if each.job.block == block)


class _State(NamedTuple):
    """After some of the jobs: from when each person, thing, mold and job is free, and who was placed last."""

    left: int
    people: tuple[int, ...]
    things: tuple[tuple[int, ...], ...]
    moulds: tuple[tuple[int, ...], ...]
    ready: tuple[int, ...]
    frame: str | None
    last: int
    end: int


class _Step(NamedTuple):
    job: int
    start: int
    lead: int
    helper: int | None
    changed: bool


def schedule(jobs: Sequence[Job], floor: Floor, done: Sequence[Placed] = (), order: Sequence[str] = ()) -> Schedule | None:
    """The jobs at their times. done: what is begun or over, at its own times. order: blocks in the order in which each is begun.

    None where no order that begins the blocks so can be worked. Raises ValueError without people, and for a job that no
    person or thing there can do.

    >>> weigh = Job("1", "1", (Part("weigh", 20, ("vessel",)), Part("pour", 10, ("vessel",))))
    >>> found = schedule([weigh, replace(weigh, key="2", block="2")], Floor(("Q", "J"), {"vessel": 1}, {}, 420))
    >>> [(each.job.key, each.start, each.end) for each in found.placed]
    [('1', 420, 450), ('2', 450, 480)]
    """
    if not floor.people:
        raise ValueError("Nobody is there to work.")
    for job in jobs:
        if job.who is not None and job.who not in floor.people:
            raise ValueError(f"{job.who} isn't there.")
        if lacking := next((thing for thing in _things_of(job) if floor.things.get(thing, 0) < 1), None):
            raise ValueError(f"There is no {lacking}.")
    short = _without_mould(jobs, floor)
    search = _Search([replace(job, takes_mould=None) if job.key in short else job for job in jobs], floor, done, order)
    best = search.run()
    if best is None:
        return None
    placed = (*sorted(done, key=lambda each: each.start), *best)
    return Schedule(placed, search.listed_end, search.proven, tuple(job.block for job in jobs if job.key in short))


def why(found: Schedule, each: Placed, floor: Floor) -> Bound:
    """What keeps a job from beginning sooner."""
    if each.start <= max(each.job.not_before, floor.start):
        return Bound("due" if each.job.not_before > floor.start else "start")
    others = [other for other in found.placed if other is not each]
    able = [each.job.who] if each.job.who else list(floor.people)
    holders = [_holding(others, f"person:{name}", each.start) for name in able]
    if all(holders):
        return Bound("person", able[0] if len(able) == 1 else "", next(holder for holder in holders if holder).job.block)
    for thing, (begin, _) in _things_of(each.job).items():
        holding = [other for other in others if _holds(other, thing, each.start + begin)]
        if len(holding) >= floor.things[thing]:
            return Bound("thing", thing, max(holding, key=lambda other: other.end).job.block)
    for part, begin, _ in each.stages():
        if part.people > 1 and each.helper:
            holder = _holding(others, f"person:{each.helper}", begin)
            if holder:
                return Bound("person", "", holder.job.block)
    if each.job.takes_mould in floor.moulds:
        taken = [other for other in others if other.job.takes_mould == each.job.takes_mould and other.start <= each.start]
        freed = [other for other in others if other.job.gives_mould == each.job.takes_mould and other.start <= each.start]
        if freed and len(taken) >= len(floor.moulds[each.job.takes_mould or ""]):
            return Bound("mould", each.job.takes_mould or "", freed[-1].job.block)
    before = next((other for other in others if other.job.key == each.job.after and other.end == each.start), None)
    return Bound("after", "", before.job.block) if before else Bound("order")


def _holds(other: Placed, use: str, minute: int) -> bool:
    """Whether a job has a person or thing in the minute before this one."""
    return any(name == use and begin < minute <= end for name, begin, end in other.uses())


def _holding(others: Iterable[Placed], use: str, minute: int) -> Placed | None:
    return next((other for other in others if _holds(other, use, minute)), None)


def _things_of(job: Job) -> dict[str, tuple[int, int]]:
    """From when to when after its start a job has each thing; one that is needed again stays with it in between."""
    found: dict[str, tuple[int, int]] = {}
    for part, begin, end in job.ends():
        for thing in part.things:
            found[thing] = (found[thing][0] if thing in found else begin, end)
    return found


def _without_mould(jobs: Sequence[Job], floor: Floor) -> set[str]:
    """The jobs, last ones of the list, that find no mold even once all that are unmolded are empty again."""
    short: set[str] = set()
    for kind, free in floor.moulds.items():
        wanting = [job.key for job in jobs if job.takes_mould == kind]
        there = len(free) + len([job for job in jobs if job.gives_mould == kind])
        short.update(wanting[there:])
    return short


def with_change(job: Job, minutes: int) -> Job:
    """The job where another frame is on: it is changed just before the cutter is used."""
    at = next(n for n, part in enumerate(job.parts) if CUTTER in part.things)
    return replace(job, parts=(*job.parts[:at], Part(CHANGE, minutes, (CUTTER,)), *job.parts[at:]))


class _Needs(NamedTuple):
    """What a job takes, as the search reckons with it: times after its start."""

    minutes: int
    things: tuple[tuple[int, int, int], ...]  # which, from, to
    help: tuple[int, int] | None  # from, to
    pour: int  # when it takes its mold
    freed: int  # when it gives its mold back


class _Search:
    def __init__(self, jobs: Sequence[Job], floor: Floor, done: Sequence[Placed], order: Sequence[str]) -> None:
        self.jobs, self.floor, self.order = jobs, floor, list(order)
        self.kinds: list[str | None] = list(floor.moulds)
        self.names = list(floor.things)
        self.plain = [self._needs(job) for job in jobs]
        self.changed = [self._needs(with_change(job, floor.change)) if job.frame else self.plain[n] for n, job in enumerate(jobs)]
        keys = {job.key: n for n, job in enumerate(jobs)}
        over = {each.job.key for each in done}
        self.after = [None if job.after is None or job.after in over else keys[job.after] for job in jobs]
        self.follower = {before: n for n, before in enumerate(self.after) if before is not None}
        self.alike = [self._signature(n) for n in range(len(jobs))]
        self.wanted = [job.who is not None for job in jobs]
        self.begun = self._state(done)
        self.best: list[_Step] | None = None
        self.best_end = self.listed_end = 1 << 30
        self.proven = True
        self.looked_at = 0
        self.seen: dict[tuple[int, str | None], list[tuple[int, ...]]] = {}

    def run(self) -> list[Placed] | None:
        self._go_on(self.begun, [])
        if self.best is None:
            return None
        return [
            Placed(
                with_change(self.jobs[step.job], self.floor.change) if step.changed else self.jobs[step.job], step.start,
                self.floor.people[step.lead], None if step.helper is None else self.floor.people[step.helper],
            )
            for step in self.best
        ]  # fmt: skip

    def _needs(self, job: Job) -> _Needs:
        help_, pour, freed = None, 0, 0
        for part, begin, end in job.ends():
            if part.people > 1 and len(self.floor.people) > 1:
                help_ = (begin if help_ is None else help_[0], end)
            pour = begin if part.stage == POUR else pour
            freed = end if part.stage == UNMOULD else freed
        things = tuple((self.names.index(thing), *span) for thing, span in _things_of(job).items())
        return _Needs(job.minutes, things, help_, pour, freed)

    def _signature(self, n: int) -> object:
        """Jobs that have this in common differ at most in when they may begin: the one that may sooner goes first."""
        job, follower = self.jobs[n], self.follower.get(n)
        behind = None if follower is None else self._signature(follower)
        return (self.plain[n], self.changed[n], job.who, job.takes_mould, job.gives_mould, job.frame, behind)

    def _state(self, done: Sequence[Placed]) -> _State:
        floor = self.floor
        free = {f"person:{name}": [floor.start] for name in floor.people} | {name: [floor.start] * n for name, n in floor.things.items()}
        for each in sorted(done, key=lambda each: each.start):
            for use, _, end in each.uses():
                if use in free:
                    free[use] = sorted([max(end, free[use][0]), *free[use][1:]])
        ends = {each.job.key: each.end for each in done}
        ready = tuple(max(job.not_before, floor.start, ends.get(job.after or "", 0)) for job in self.jobs)
        frame = floor.frame
        for each in sorted(done, key=lambda each: each.start):
            frame = each.job.frame or frame
        return _State(
            (1 << len(self.jobs)) - 1,
            tuple(free[f"person:{name}"][0] for name in floor.people),
            tuple(tuple(free[name]) for name in self.names),
            tuple(tuple(sorted(free_from)) for free_from in floor.moulds.values()),
            ready, frame, floor.start, max(ends.values(), default=floor.start),
        )  # fmt: skip

    def _go_on(self, state: _State, path: list[_Step]) -> None:
        if state.left == 0:
            if self.best is None:
                self.listed_end = state.end
            if state.end < self.best_end:
                self.best, self.best_end = list(path), state.end
            return
        if self.looked_at >= MOST_LOOKED_AT and self.best is not None:
            self.proven = False
            return
        self.looked_at += 1
        if self._bound(state) >= self.best_end:
            return
        branches = self._branches(state)
        # None of what is left begins before this: what is free earlier is as good as free then.
        soonest = min((step.start for step, _ in branches), default=state.last)
        if self._is_dominated(state, soonest):
            return
        for step, after in branches:
            path.append(step)
            self._go_on(after, path)
            path.pop()

    def _branches(self, state: _State) -> list[tuple[_Step, _State]]:
        named = any(self.wanted[n] for n in _bits(state.left))
        found = []
        for n in self._candidates(state):
            changed = self.jobs[n].frame is not None and state.frame is not None and state.frame != self.jobs[n].frame
            for lead, helper, start in self._hands(state, n, self.changed[n] if changed else self.plain[n], named):
                found.append((_Step(n, start, lead, helper, changed), self._placed(state, n, start, lead, helper, changed)))
        return sorted(found, key=lambda pair: (pair[0].start, pair[0].job))

    def _candidates(self, state: _State) -> list[int]:
        """The jobs that may come next: of those alike only the one that may begin first."""
        first: dict[object, int] = {}
        for n in _bits(state.left):
            before, job = self.after[n], self.jobs[n]
            if before is not None and state.left >> before & 1:
                continue
            if job.takes_mould in self.floor.moulds and not state.moulds[self.kinds.index(job.takes_mould)]:
                continue
            other = first.get(self.alike[n])
            if other is None or (not self.order and (max(state.ready[n], state.last), n) < (max(state.ready[other], state.last), other)):
                first[self.alike[n]] = n
            if self.order and self._is_first(n):
                first.pop(self.alike[n], None)
                if job.block == self._next_in_order(state):
                    first[("of the order", n)] = n
        return list(first.values())

    def _is_first(self, n: int) -> bool:
        """Whether this is where its block is begun, and the block stands in the order."""
        return self.after[n] is None and self.jobs[n].after is None and self.jobs[n].block in self.order

    def _next_in_order(self, state: _State) -> str:
        waiting = {self.jobs[n].block for n in _bits(state.left) if self._is_first(n)}
        return next(block for block in self.order if block in waiting)

    def _hands(self, state: _State, n: int, needs: _Needs, named: bool) -> Iterator[tuple[int, int | None, int]]:
        """Who may do it, and when it then begins."""
        job, people = self.jobs[n], state.people
        start = max(state.last, state.ready[n])
        for thing, begin, _ in needs.things:
            start = max(start, state.things[thing][0] - begin)
        if job.takes_mould in self.floor.moulds:
            start = max(start, state.moulds[self.kinds.index(job.takes_mould)][0] - needs.pour)
        everybody = range(len(people))
        if not named:
            # Whoever is free longest is kept for what needs somebody sooner.
            in_turn = sorted(people)
            start = max(start, in_turn[0], *((in_turn[1] - needs.help[0],) if needs.help else ()))
            lead = max((who for who in everybody if people[who] <= start), key=lambda who: (people[who], -who))
            helper = None
            if needs.help:
                free = [who for who in everybody if who != lead and people[who] <= start + needs.help[0]]
                helper = max(free, key=lambda who: (people[who], -who))
            yield lead, helper, start
            return
        leads = [self.floor.people.index(job.who)] if job.who else everybody
        for lead in leads:
            begins = max(start, people[lead])
            if needs.help is None:
                yield lead, None, begins
                continue
            for helper in everybody:
                if helper != lead:
                    yield lead, helper, max(begins, people[helper] - needs.help[0])

    def _placed(self, state: _State, n: int, start: int, lead: int, helper: int | None, changed: bool) -> _State:
        job, needs = self.jobs[n], self.changed[n] if changed else self.plain[n]
        end = start + needs.minutes
        people = list(state.people)
        people[lead] = end
        if helper is not None and needs.help:
            people[helper] = start + needs.help[1]
        things = list(state.things)
        for thing, begin, over in needs.things:
            units = list(things[thing])
            # Of several the one that was free last: those before it may serve what begins sooner.
            taken = max(unit for unit, free in enumerate(units) if free <= start + begin)
            units[taken] = start + over
            things[thing] = tuple(sorted(units))
        moulds = list(state.moulds)
        if job.takes_mould in self.floor.moulds:
            kind = self.kinds.index(job.takes_mould)
            moulds[kind] = moulds[kind][1:]
        if job.gives_mould in self.floor.moulds:
            kind = self.kinds.index(job.gives_mould)
            moulds[kind] = tuple(sorted((*moulds[kind], start + needs.freed)))
        ready, follower = state.ready, self.follower.get(n)
        if follower is not None:
            ready = (*ready[:follower], max(ready[follower], end), *ready[follower + 1 :])
        return _State(
            state.left & ~(1 << n), tuple(people), tuple(things), tuple(moulds), ready, job.frame or state.frame, start,
            max(state.end, end),
        )  # fmt: skip

    def _bound(self, state: _State) -> int:
        """No order of what is left ends before this."""
        left = list(_bits(state.left))
        last, bound, changes = state.last, state.end, self._changes(state, left)
        total = changes
        work: list[tuple[int, int]] = []
        heads: dict[int, list[tuple[int, int, int]]] = {}
        own = [0] * len(state.people)
        for n in left:
            needs, ready = self.plain[n], max(last, state.ready[n])
            bound = max(bound, ready + needs.minutes)
            work.append((ready, needs.minutes + (needs.help[1] - needs.help[0] if needs.help else 0)))
            total += work[-1][1]
            if self.wanted[n]:
                own[self.floor.people.index(self.jobs[n].who or "")] += needs.minutes
            for thing, begin, over in needs.things:
                heads.setdefault(thing, []).append((ready + begin, over - begin, needs.minutes - over))
        free = [max(each, last) for each in state.people]
        bound = max(bound, -(-(int(fsum(free)) + total) // len(free)), *(each + more for each, more in zip(free, own, strict=True) if more), 0)
        bound = max(bound, _together(((ready, minutes, 0) for ready, minutes in work), len(free)))
        for thing, uses in heads.items():
            units = state.things[thing]
            bound = max(bound, _together(((max(head, units[0]), minutes, tail) for head, minutes, tail in uses), len(units)))
            if self.names[thing] == CUTTER and len(units) == 1:
                first, least = min(head for head, _, _ in uses), min(tail for _, _, tail in uses)
                bound = max(bound, max(first, units[0]) + int(fsum(minutes for _, minutes, _ in uses)) + changes + least)
        return bound

    def _changes(self, state: _State, left: Sequence[int]) -> int:
        """Minutes that changing frames takes at least: bars follow their own loaves."""
        frames = {self.jobs[n].frame for n in left}
        if BAR not in frames and LOAF not in frames:
            return 0
        times = int(state.frame == BAR) + int(BAR in frames) if LOAF in frames else int(state.frame == LOAF)
        return self.floor.change * times

    def _is_dominated(self, state: _State, soonest: int) -> bool:
        """Whether the same jobs were done before with everything free at least as early."""
        left = list(_bits(state.left))
        needed = {thing for n in left for thing, _, _ in self.plain[n].things}
        kinds = {self.jobs[n].takes_mould for n in left}
        people = state.people if any(self.wanted[n] for n in left) else sorted(state.people)
        found = (
            *people,
            *(each for thing in sorted(needed) for each in state.things[thing]),
            *(each for kind, moulds in zip(self.kinds, state.moulds, strict=True) if kind in kinds for each in moulds),
            *(state.ready[n] for n in left if self.after[n] is not None),
        )  # fmt: skip
        told = (*(max(each, soonest) for each in found), soonest, state.end)
        known = self.seen.setdefault((state.left, state.frame), [])
        if any(all(map(le, each, told)) for each in known):
            return True
        known[:] = [each for each in known if not all(map(le, told, each))]
        known.append(told)
        return False


def _together(uses: Iterable[tuple[int, int, int]], units: int) -> int:
    """The least end of what so many units do: of each use the earliest start, its minutes, and what follows it."""
    found, minutes, tail = 0, 0, 1 << 30
    for head, more, behind in sorted(uses, reverse=True):
        minutes, tail = minutes + more, min(tail, behind)
        found = max(found, head - (-minutes // units) + tail)
    return found


def _bits(left: int) -> Iterator[int]:
    while left:
        low = left & -left
        yield low.bit_length() - 1
        left ^= low
