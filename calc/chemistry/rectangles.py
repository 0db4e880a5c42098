"""The sum of independent rectangular errors: the chance that it stays under a value, and the value for a chance.

Its characteristic function is a product of sin(tw)/(tw), so its distribution function is a Fourier series over its own
span. The series is exact for one rectangle and converges quickly for several. The check is a Monte Carlo run (JCGM 101:2008).
"""

import math
from collections.abc import Iterable
from functools import cached_property
from statistics import NormalDist

# Parts that together make up less of the variance than this count as one rectangle: their shape hardly shows.
SMALL_SHARE = 0.01
# Three terms in a row this small end the series: a chance is shown far less finely.
LAST_TERM, MOST_TERMS = 1e-6, 200
CLOSE = 1e-6


class RectangleSum:
    """Independent errors, each equally likely anywhere within its half width of zero (any one unit, 0 or more)."""

    def __init__(self, half_widths: Iterable[float]) -> None:
        self._widths = _merged(half_widths)
        self.end = math.fsum(self._widths)  # half the series' span; with small parts merged, a sum may lie a little beyond
        self.standard_deviation = math.sqrt(math.fsum(width * width for width in self._widths) / 3.0)

    @cached_property
    def _terms(self) -> list[float]:
        return _terms(self._widths, self.end)

    def chance_below(self, value: float) -> float:
        """The chance [0 to 1] that the sum is at most this value."""
        if abs(value) >= self.end:
            return 1.0 if value >= 0.0 else 0.0
        # Clenshaw's recurrence for the sum of term · sin(k · angle).
        angle = math.pi * value / self.end
        twice_cosine = 2.0 * math.cos(angle)
        first = second = 0.0
        for term in reversed(self._terms):
            first, second = term + twice_cosine * first - second, first
        return min(max(0.5 + 0.5 * value / self.end + first * math.sin(angle), 0.0), 1.0)

    def quantile(self, chance: float) -> float:
        """The value that the sum stays under with this chance [above 0, below 1]."""
        if chance > 0.5:
            return -self.quantile(1.0 - chance)
        if not self._widths:
            return 0.0
        low, high = -self.end, 0.0
        below, above = -chance, 0.5 - chance
        # Regula falsi with the Illinois correction (an end that stays twice counts half), started at the normal's value.
        value = max(NormalDist(0.0, self.standard_deviation).inv_cdf(chance), -0.99 * self.end)
        for _ in range(60):
            off = self.chance_below(value) - chance
            if abs(off) <= CLOSE:
                break
            if off < 0.0:
                low, below, above = value, off, above / 2.0
            else:
                high, above, below = value, off, below / 2.0
            value = (low * above - high * below) / (above - below)
        return value


def _merged(half_widths: Iterable[float]) -> list[float]:
    """The widths, widest first. The narrowest, which together hardly count, become one of the same variance."""
    widths = sorted((width for width in half_widths if width > 0.0), reverse=True)
    small_up_to = SMALL_SHARE * math.fsum(width * width for width in widths)
    rest = 0.0
    while len(widths) > 1 and rest + widths[-1] ** 2 <= small_up_to:
        rest += widths.pop() ** 2
    return [*widths, math.sqrt(rest)] if rest > 0.0 else widths


def _terms(widths: list[float], end: float) -> list[float]:
    terms: list[float] = []
    small = 0
    while widths and small < 3 and len(terms) < MOST_TERMS:
        count = math.pi * (len(terms) + 1)
        product = 1.0 / count
        for width in widths:
            angle = count * width / end
            product *= math.sin(angle) / angle
        terms.append(product)
        small = small + 1 if abs(product) < LAST_TERM else 0
    return terms
