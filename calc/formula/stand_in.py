"""What could stand in for an oil that is gone or short: the blends nearest in fatty acids, iodine and saponification value.

At most two oils change their shares beside the one that is missing; all others stay as they are. Everything is counted in
points of fatty acid, so that nothing has to be weighed against anything by taste: one point of an acid counts one; a
difference of iodine value as the points of oleic acid that would make it; one of saponification value as the points of
lauric acid, in the place of palmitic, that would. The compositions are the typical ones, the saponification values those
that the lye is reckoned with.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import combinations

from calc.chemistry.oils import (
    iodine_value_of,
    oils_together,
    saponification_used,
    saponification_value_of,
    typical_composition,
)
from calc.formula.changed_oils import together
from calc.formula.chemistry import certificate_of
from calc.formula.least_squares import distance, nearest
from calc.tables.reference import fatty_acid_names
from calc.tables.rows import Oil
from calc.workshop.lots import OilLot

# As many as are told, and as many oils as change their share for one.
BEST = 3
MOST_CHANGES = 2


@dataclass(frozen=True)
class Shelf:
    """What there is of one oil: how much [g], None where nobody has noted it; and its lots."""

    left_g: float | None
    lots: tuple[str, ...]


@dataclass(frozen=True)
class Change:
    """An oil whose share of all oils changes [%]."""

    oil: str
    before: Fraction
    after: Fraction


@dataclass(frozen=True)
class StandIn:
    """One way: the changes beside the missing oil, and how far the blend is from what it was [points of fatty acid]."""

    changes: tuple[Change, ...]
    apart: float


def shelf_of(lots: Iterable[OilLot]) -> dict[str, Shelf]:
    """What stands on the shelf by oil. A lot of which nothing is left is gone; what nobody has noted may be any amount."""
    by_oil: dict[str, list[OilLot]] = {}
    for lot in lots:
        if lot.left_g is None or lot.left_g > 0.0:
            by_oil.setdefault(lot.oil, []).append(lot)
    return {
        oil: Shelf(
            None if any(lot.left_g is None for lot in there) else math.fsum(lot.left_g or 0.0 for lot in there),
            tuple(lot.code for lot in there),
        )
        for oil, there in by_oil.items()
    }


def is_comparable(oil: Oil) -> bool:
    """Whether enough of an oil's fatty acids is known. A wax, or an acid by itself, is no other fat's stand-in."""
    return oil.kind == "triglyceride" and oil.calculated is not None and bool(oil.fatty_acids)


def profile(oil: Oil, lot: OilLot | None = None) -> tuple[float, ...]:
    """What an oil brings by chemistry, in points of fatty acid for the whole of it; one that is comparable."""
    acids = typical_composition(oil)
    iodine = oils_together([(oil, 1.0)]).iodine_typical or 0.0
    value = saponification_used(oil, certificate_of(lot)).used
    per_iodine, per_saponification = points_per_value()
    return (*(acids.get(acid, 0.0) for acid in fatty_acid_names()), iodine * per_iodine, value * per_saponification)


@cache
def points_per_value() -> tuple[float, float]:
    """Points of oleic acid for one of iodine value, and of lauric for palmitic for one of saponification value."""
    of_oleic = iodine_value_of({"C18:1": 1.0})
    of_lauric = saponification_value_of({"C12:0": 1.0}) - saponification_value_of({"C16:0": 1.0})
    return 100.0 / of_oleic, 100.0 / of_lauric


def stand_ins(
    shares: Mapping[str, Fraction],
    missing: str,
    kept: Fraction,
    profiles: Mapping[str, Sequence[float]],
    most: Mapping[str, Fraction],
) -> tuple[StandIn, ...]:
    """Every way to fill the place of a missing oil with one oil or two, the nearest first.

    shares: the formula's oils [%]. kept: what the missing one keeps of its share [%]. profiles: what may change, and the
    missing oil, each by `profile`. most: the largest share [%] that the shelf has of an oil; none named, no bound. Shares
    that change become whole percents; where the formula's own are none, one of the two takes the rest.
    """
    # All shares together stay as they are. So only what sets an oil apart from the missing one counts.
    apart = {
        oil: [a - b for a, b in zip(profiles[oil], profiles[missing], strict=True)] for oil in sorted(profiles.keys() - {missing})
    }
    gone = shares[missing] - kept
    found: dict[frozenset[Change], StandIn] = {}
    for number in range(1, MOST_CHANGES + 1):
        for oils in combinations(apart, number):
            rooms = [_Room(oil, shares.get(oil, Fraction(0)), most.get(oil)) for oil in oils]
            way = _way(rooms, gone, _in_their_plane([apart[oil] for oil in oils]))
            if way is not None:
                found.setdefault(frozenset(way.changes), way)
    return tuple(sorted(found.values(), key=lambda way: (way.apart, len(way.changes))))


@dataclass(frozen=True)
class _Room:
    """An oil that may change: its share, and the largest there can be of it [%]; None for no bound."""

    oil: str
    before: Fraction
    most: Fraction | None


def _in_their_plane(vectors: Sequence[Sequence[float]]) -> list[tuple[float, ...]]:
    """One vector or two by their coordinates in the plane that they lie in: lengths and angles stay, with fewer figures."""
    first = vectors[0]
    length = math.hypot(*first)
    if len(vectors) == 1:
        return [(length,)]
    along = math.fsum(a * b for a, b in zip(*vectors, strict=True)) / length if length > 0.0 else 0.0
    across = math.hypot(*(b - along * a / length for a, b in zip(*vectors, strict=True))) if length > 0.0 else math.hypot(*vectors[1])
    return [(length, 0.0), (along, across)]


def _way(rooms: Sequence[_Room], gone: Fraction, columns: Sequence[Sequence[float]]) -> StandIn | None:
    """The nearest blend in which just these oils change; None where they haven't the room or one of them stays as it is.

    gone: what is to be filled [%]. columns: what sets each oil apart from the missing one.
    """
    before = [room.before for room in rooms]
    total = together((*before, gone))
    high = [total if room.most is None else min(room.most, total) for room in rooms]
    target = [math.fsum(float(a) * b for a, b in zip(before, row, strict=True)) for row in zip(*columns, strict=True)]
    best = nearest(columns, target, [0.0] * len(rooms), [float(each) for each in high], float(total))
    if best is None:
        return None
    whole = [
        shown for shown in _in_whole_percents(best, total) if all(0 <= a <= b for a, b in zip(shown, high, strict=True))
    ]
    # The distance is a parabola along the one way that is left: the nearest whole percent lies beside its lowest point.
    after = min(whole, key=lambda each: distance(columns, target, [float(a) for a in each]), default=None)
    if after is None or any(a == b for a, b in zip(before, after, strict=True)):
        return None
    changes = tuple(Change(room.oil, room.before, share) for room, share in zip(rooms, after, strict=True))
    apart = distance(columns, target, [float(a) for a in after]) / 100.0
    return StandIn(tuple(sorted(changes, key=lambda each: each.before - each.after)), apart)


def _in_whole_percents(best: Sequence[float], total: Fraction) -> Iterator[tuple[Fraction, ...]]:
    """The shares nearest to the best of which all but one are whole percents; their sum is kept exactly."""
    if len(best) == 1:
        yield (total,)
        return
    first = math.floor(best[0])
    # One more to each side: an end of the shelf may lie between two whole percents.
    for share in range(first - 1, first + 3):
        yield Fraction(share), total - share
    if total.denominator > 1:
        second = math.floor(best[1])
        for share in range(second - 1, second + 3):
            yield total - share, Fraction(share)
