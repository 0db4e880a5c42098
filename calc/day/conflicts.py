"""What of a day is short or in the way, each with what would solve it. Words are the page's; here stand the figures."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from calc.day.plan import Make, Out
from calc.day.schedule import Floor, Schedule, why
from calc.tables.reference import constant


@dataclass(frozen=True)
class Wait:
    """A block that begins when another gives something free: what, whose, and from when [minute of the day]."""

    block: str
    stage: str
    what: str
    holder: str
    at: int


@dataclass(frozen=True)
class Short:
    """The first block that a tank has too little for, and from when [minute of the day]; first_g: by how much it is short for that one.

    short_g: how much has to be loaded before it for all of the day.
    """

    block: str
    first_g: float
    short_g: float
    at: int


@dataclass(frozen=True)
class TooLong:
    """By how much the day is too long [min]; the block without which it would end in time, "" where one alone is not enough."""

    minutes: int
    without: str


def waits(found: Schedule, floor: Floor) -> tuple[Wait, ...]:
    """The jobs that wait for a thing or an empty mold, in the order of the day."""
    told = []
    for each in sorted((each for each in found.placed if not each.done), key=lambda each: each.start):
        bound = why(found, each, floor)
        if bound.kind in ("thing", "mould"):
            told.append(Wait(each.job.block, each.job.parts[0].stage, bound.what if bound.kind == "thing" else "mould", bound.block, each.start))
    return tuple(told)


def short_of(found: Schedule, need_g: Mapping[str, float], on_hand_g: float | None) -> Short | None:
    """Whether the lye or the blend in a tank ends before the blocks do. on_hand_g: what can be drawn now [g], 0 or more; None is not known.

    need_g: what each block still takes of it, by its mark [g]; one that isn't there takes none.
    """
    if on_hand_g is None:
        return None
    order = sorted((each for each in found.placed if each.job.key in need_g), key=lambda each: each.start)
    short_g = math.fsum((-on_hand_g, *(need_g[each.job.key] for each in order)))
    if short_g <= 0.0:
        return None
    left_g = on_hand_g
    for each in order:
        left_g -= need_g[each.job.key]
        if left_g < 0.0:
            return Short(each.job.block, -left_g, short_g, each.start)
    return None


def still_takes_g(make: Make, wants_g: float, drawn_g: float) -> float:
    """What a block still takes out of a tank [g] that it wants so much of in all, after so much was drawn for it.

    A rest so small that its weighing is over counts as drawn, and a block whose record is closed takes no more.
    """
    rest_g = wants_g - drawn_g
    return 0.0 if make.closed or rest_g <= constant("tank_rest_told").value * wants_g else rest_g


def trays_short(outs: Sequence[Out], free: int | None) -> int:
    """How many trays are too few for the bars that are cut that day; 0 where it is not known."""
    needed = int(math.fsum(out.trays or 0 for out in outs))
    return 0 if free is None else max(0, needed - free)


def too_long(found: Schedule, ends: Mapping[str, int], ends_at: int | None) -> TooLong | None:
    """Whether work ends later than it should. ends: when the day would end without each block that is not begun [minute]."""
    if ends_at is None or found.end <= ends_at:
        return None
    enough = [block for block, end in ends.items() if end <= ends_at]
    return TooLong(found.end - ends_at, enough[-1] if enough else "")
