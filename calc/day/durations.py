"""How long each stage of a block takes here: by the workshop's own logged deeds, else what is usual.

A stage is told by the deeds that end the one before it and itself; what went over midnight was left lying and counts for
nothing. From so many blocks of one's own on (`own_blocks_least`) their median holds: of the same formula where there are
enough of them, else of all. Times are rounded to the steps in which a day is planned.
"""

import statistics
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from calc.steps.keys import BARS, DEMOULD, FRAME, INTO_MOULD, LOAVES, SKIM
from calc.tables.reference import constant

Deed = Mapping[str, Any]

_DAY_MIN = 24 * 60
STAGES = ("weigh", "mix", "pour", "unmould", "loaves", "change", "bars", "rack")
MIX, TRACE = "mix", "trace"
_BEGINNING = datetime(2000, 1, 1)
STEP_MIN = int(constant("day_step_usual").value)


@dataclass(frozen=True)
class Duration:
    """What a stage takes [min]: the median of so many blocks of one's own, and between what half of them lie; 0 of one's own: usual."""

    minutes: int
    low: int
    high: int
    own: int = 0


def local_minutes(event: Deed) -> float:
    """When it was done, by the clock where it was done [min]; ValueError, KeyError where it doesn't say so."""
    return (datetime.fromisoformat(str(event["local"])[:19]) - _BEGINNING).total_seconds() / 60.0


def minute_of(day: date, clock_min: float) -> int:
    """A moment [min on the clock] as a minute of a day; below 0 of the day before."""
    return round(clock_min - (day - _BEGINNING.date()).days * _DAY_MIN)


def moments(events: Iterable[Deed]) -> dict[str, float]:
    """When each moment that bounds a stage came [min on the clock]: "began", and the end of each stage; those not told lack.

    events: of one block, in order. What is told again later counts for nothing.
    """
    found: dict[str, float] = {}
    weighed: float | None = None
    for event in events:
        kind, step = event.get("kind"), str(event.get("step") or "")
        try:
            at = local_minutes(event)
        except (KeyError, ValueError):
            continue
        if kind in ("checked", "weighed", "timed") and "began" not in found:
            found["began"] = at
        if kind == "timed" and step == MIX and event.get("action") == "started":
            found.setdefault("weigh", at)
        elif step in (MIX, TRACE) and kind in ("timed", "checked"):
            # Who starts no clock for the mixing begins it once all is weighed.
            found.setdefault("weigh", at if weighed is None else weighed)
            if step == TRACE:
                found.setdefault("mix", at)
        elif kind == "checked" and step == INTO_MOULD:
            found.setdefault("pour", at)
        elif kind == "lifted":
            found.setdefault("lifted", at)
        elif kind == "checked" and step in _ENDS:
            # Loaves are skimmed as they come: that end counts.
            found[_ENDS[step]] = at if step == SKIM else found.get(_ENDS[step], at)
        elif kind == "racked":
            found.setdefault("rack", at)
        if kind == "weighed" and "weigh" not in found:
            weighed = at
    return found


_ENDS = {DEMOULD: "unmould", LOAVES: "loaves", SKIM: "loaves", FRAME: "change", BARS: "bars"}
# What comes before each stage; of the bars the frame, or, where it was on already, the loaves.
_BEFORE = {
    "weigh": ("began",), "mix": ("weigh",), "pour": ("mix",), "unmould": ("lifted",), "loaves": ("unmould",),
    "change": ("loaves",), "bars": ("change", "loaves"), "rack": ("bars",),
}  # fmt: skip


def logged(events: Iterable[Deed]) -> dict[str, float]:
    """What each stage of one block took [min], as far as its deeds tell."""
    at = moments(events)
    found = {}
    for stage, befores in _BEFORE.items():
        before = next((at[each] for each in befores if each in at), None)
        if before is None or stage not in at:
            continue
        if at[stage] >= before and at[stage] // _DAY_MIN == before // _DAY_MIN:
            found[stage] = at[stage] - before
    return found


def usual(stage: str) -> Duration:
    """What is counted where a workshop has told too few blocks (common practice, no source)."""
    minutes = round(constant(f"day_{stage}_usual").value)
    return Duration(minutes, minutes, minutes)


def durations(blocks: Sequence[tuple[str, Sequence[Deed]]], formula: str) -> dict[str, Duration]:
    """What each stage takes for one formula. blocks: of each, the name of its formula and its events in order."""
    told = [(name, logged(events)) for name, events in blocks]
    found = {}
    for stage in STAGES:
        every = [stages[stage] for _, stages in told if stage in stages]
        same = [stages[stage] for name, stages in told if stage in stages and name == formula]
        least = int(constant("own_blocks_least").value)
        counted = same if len(same) >= least else every
        found[stage] = _median(counted) if len(counted) >= least else usual(stage)
    return found


def _median(minutes: Sequence[float]) -> Duration:
    """The middle, and the middle half (quartiles that count both ends in)."""
    low, middle, high = statistics.quantiles(minutes, n=4, method="inclusive")
    return Duration(planned(middle), round(low), round(high), len(minutes))


def planned(minutes: float) -> int:
    """In whole steps of the plan, one at least; halves are rounded up."""
    return max(STEP_MIN, STEP_MIN * int(minutes / STEP_MIN + 0.5))
