"""The jobs of a day: of each block that is made or comes out of its mold, what is done, what runs, and what is still to do."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from calc.day.durations import Deed, Duration, minute_of, moments
from calc.day.schedule import BAR, CUTTER, LOAF, POUR, UNMOULD, Floor, Job, Part, Placed

VESSEL, MIXER, HOIST = "vessel", "mixer", "hoist"
Durations = Mapping[str, Duration]

# After one of these nothing more is weighed for a block. site/static/js/rules/orders.mjs has them too.
OVER = ("closed", "ended")


@dataclass(frozen=True)
class Make:
    """A block to be made: its mark in the plan, and what is known of it; events: its own, where it is begun.

    rests: how long it then stays in its mold [min]. lye: what it takes out of a tank by the lot that sheets call it [g], None
    where that is not known. formula: its id. blend_g: all oils of its vessel, where they come blended out of a tank; 0 where not.
    """

    mark: str
    soap: str
    durations: Durations
    vessel: str = ""
    mould: str | None = None
    who: str | None = None
    not_before: int = 0
    subject: str = ""
    rests: int = 0
    lye: Mapping[str, float] | None = None
    events: Sequence[Deed] = ()
    formula: str = ""
    blend_g: float = 0.0

    @property
    def closed(self) -> bool:
        """Whether its record is closed, or somebody has ended it: then it takes no more of anything."""
        return any(event.get("kind") in OVER for event in self.events)


@dataclass(frozen=True)
class Out:
    """A block that lies in its mold when the day begins. due: when it may come out [minute of the day]."""

    mark: str
    soap: str
    durations: Durations
    due: int
    mould: str | None = None
    subject: str = ""
    trays: int | None = None
    events: Sequence[Deed] = ()


@dataclass(frozen=True)
class Jobs:
    """What is still to do, and what is begun or over, at its own times."""

    waiting: tuple[Job, ...]
    done: tuple[Placed, ...]


def bars_key(mark: str) -> str:
    """Of the job that cuts a block's loaves into bars."""
    return f"{mark}+"


def jobs(makes: Sequence[Make], outs: Sequence[Out], day: date, now: int | None) -> Jobs:
    """Every job of a day. now: minute of the day; None where it is another day's plan, of which nothing is done yet."""
    waiting: list[Job] = []
    done: list[Placed] = []
    for make in makes:
        at = _at(make.events, day) if now is not None else {}
        if "began" in at:
            done.append(_begun_make(make, at, now or 0))
        else:
            waiting.append(_make(make, _plain(make.durations)))
    for out in outs:
        at = _at(out.events, day)
        first = _first(out, at, now)
        if isinstance(first, Placed):
            done.append(first)
        elif first is not None:
            waiting.append(first)
        second = _second(out, at, now, first is not None)
        if isinstance(second, Placed):
            done.append(second)
        else:
            waiting.append(second)
    return Jobs(tuple(waiting), tuple(done))


def floor_of(
    people: Sequence[str], vessels: Sequence[str], counts: Mapping[str, int], moulds: Mapping[str, tuple[int, ...]],
    start: int, change: int,
) -> Floor:  # fmt: skip
    """What there is: each vessel by its name, so many of the rest. Of two cutters each keeps its frame."""
    things = {f"{VESSEL}:{vessel}": 1 for vessel in vessels} | dict(counts)
    return Floor(tuple(people), things, moulds, start, 0 if counts.get(CUTTER, 1) > 1 else change)


def _at(events: Sequence[Deed], day: date) -> dict[str, int]:
    return {name: minute_of(day, at) for name, at in moments(events).items()}


def _plain(durations: Durations) -> dict[str, int]:
    return {stage: each.minutes for stage, each in durations.items()}


def _make(make: Make, minutes: Mapping[str, int]) -> Job:
    vessel = f"{VESSEL}:{make.vessel}"
    parts = (
        Part("weigh", minutes["weigh"], (vessel,)),
        Part("mix", minutes["mix"], (vessel, MIXER)),
        Part(POUR, minutes["pour"], (vessel,)),
    )
    return Job(make.mark, make.mark, parts, make.not_before, make.who, takes_mould=make.mould)


def _begun_make(make: Make, at: Mapping[str, int], now: int) -> Placed:
    job = _make(make, _ran(make.durations, at, ("began", "weigh", "mix", "pour"), now))
    return Placed(job, at["began"], _person(make.events, make.who), done=True)


def _ran(durations: Durations, at: Mapping[str, int], names: Sequence[str], now: int) -> dict[str, int]:
    """What each stage took, or takes: one that runs ends no sooner than now."""
    minutes = _plain(durations)
    for before, stage in pairwise(names):
        if before not in at:
            break
        minutes[stage] = max(at[stage] - at[before], 0) if stage in at else max(minutes[stage], now - at[before])
    return minutes


def _first(out: Out, at: Mapping[str, int], now: int | None) -> Job | Placed | None:
    """Out of the mold and into loaves; None where that was done on a day before."""
    minutes = _plain(out.durations)
    lifted, today = at.get("lifted"), now is not None
    unmould = Part(UNMOULD, minutes["unmould"], (HOIST,), 2)
    loaves = Part("loaves", minutes["loaves"], (CUTTER,))
    if lifted is None:
        return Job(out.mark, out.mark, (unmould, loaves), out.due, gives_mould=out.mould, frame=LOAF)
    if lifted < 0:
        return None if "loaves" in at else Job(out.mark, out.mark, (loaves,), frame=LOAF)
    if not today:
        return None
    ran = _ran(out.durations, at, ("lifted", "unmould", "loaves"), now or 0)
    parts = (Part(UNMOULD, ran["unmould"], (HOIST,), 2), Part("loaves", ran["loaves"], (CUTTER,)))
    job = Job(out.mark, out.mark, parts, gives_mould=out.mould, frame=LOAF)
    return Placed(job, lifted, _person(out.events, None), done=True)


def _second(out: Out, at: Mapping[str, int], now: int | None, behind: bool) -> Job | Placed:
    """Its bars, and the trays. behind: it comes after the block's own loaves of that day."""
    minutes = _plain(out.durations)
    key = bars_key(out.mark)
    begun = at.get("change", at.get("loaves"))
    if now is None or begun is None or begun < 0 or not ({"change", "bars", "rack"} & at.keys()):
        parts = (Part("bars", minutes["bars"], (CUTTER,)), Part("rack", minutes["rack"]))
        return Job(key, out.mark, parts, after=out.mark if behind else None, frame=BAR)
    ran = _ran(out.durations, {**at, "begun": begun}, ("begun", "bars", "rack"), now)
    parts = (Part("bars", ran["bars"], (CUTTER,)), Part("rack", ran["rack"]))
    return Placed(Job(key, out.mark, parts, frame=BAR), begun, _person(out.events, None), done=True)


def _person(events: Sequence[Deed], else_: str | None) -> str:
    """Who did what was told last of a block."""
    return next((str(event["person"]) for event in reversed(events) if event.get("person")), else_ or "")
