"""What is only known as a range, and what follows from several of them together.

Every value between two ends counts as equally likely (JCGM 101:2008, 6.4.2). The cases come from an even sequence instead of
chance, so that one question always has one answer, and a change of one figure moves every case the same way.
"""

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

# So many cases stand for all that the ranges leave possible.
CASES = 160
PRIMES = (2, 3, 5, 7, 11, 13, 17, 19)
# Nine cases in ten lie between these shares.
LOW, HIGH = 0.05, 0.95


class Spread(NamedTuple):
    """A figure with the two ends between which it lies; of a result, nine cases in ten."""

    low: float
    used: float
    high: float

    def at(self, share: float) -> float:
        """The value so far from the low end (0) to the high one (1)."""
        return self.low + share * (self.high - self.low)

    def by_ratio(self, share: float) -> float:
        """The same of a figure above 0 that is known by its order alone: as far from each end by ratio."""
        return math.exp(math.log(self.low) + share * math.log(self.high / self.low))

    def times(self, factor: float) -> "Spread":
        """The whole range times a factor of 0 or more."""
        return Spread(self.low * factor, self.used * factor, self.high * factor)


def exactly(value: float) -> Spread:
    """A figure that is no range."""
    return Spread(value, value, value)


def within(value: float, off: float) -> Spread:
    """A figure that may be off by so much on either side."""
    return Spread(value - off, value, value + off)


def even_shares(kinds: int, cases: int = CASES) -> list[tuple[float, ...]]:
    """For each case one share from 0 to 1 of every range, evenly over all of them together.

    Whole multiples of the square roots of primes, less their whole parts (Richtmyer): no two ranges ever go in step.
    kinds: at most as many ranges as there are primes here.
    """
    steps = [math.sqrt(prime) for prime in PRIMES[:kinds]]
    return [tuple((0.5 + (case + 1) * step) % 1.0 for step in steps) for case in range(cases)]


def band(values: Iterable[float], used: float) -> Spread:
    """Where nine in ten of the values lie, widened where the figure that is used would lie outside."""
    ordered = sorted(values)
    low, high = (_quantile(ordered, share) for share in (LOW, HIGH))
    return Spread(min(low, used), used, max(high, used))


def _quantile(ordered: Sequence[float], share: float) -> float:
    place = share * (len(ordered) - 1)
    below = math.floor(place)
    lower, upper = ordered[below], ordered[min(below + 1, len(ordered) - 1)]
    # Beside what never comes no line can be drawn: then the end that is further off counts.
    if math.isinf(lower) or math.isinf(upper):
        return lower if place == below or math.isinf(lower) else upper
    return lower + (place - below) * (upper - lower)
