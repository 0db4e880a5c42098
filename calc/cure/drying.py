"""How a bar dries: a Page curve on a Bayesian grid, bounded by the water that can leave, with its 90 % band.

Water leaves a bar by diffusion behind a drying skin (Simmons and Appleton, Handbook of Soap Manufacture, 1908), so the loss
slows down more than one exponential tells. Page's curve, m = m_end + (m0 - m_end) exp(-(kt)^n), with n from 0.5 to 1, follows
the diffusion curve of a plane sheet (Crank, The Mathematics of Diffusion, 4.3) within a few hundredths; with the end bounded
by the water, three weighings are enough to say something, and the band says how much.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.tables.reference import constant

FEWEST = 3
# The grid: every value is as likely as the next before a weighing tells otherwise.
_NS = tuple(0.5 + 0.01 * step for step in range(51))
_LN_KS = tuple(-math.log(365.0) * (1.0 - step / 240.0) for step in range(241))
# Of the whole grid, so many curves stand for what the weighings leave possible, each as likely as the next.
_CURVES = 1500
# So many ends of each n and k.
_ENDS = 12
# A cell of the grid that is less likely than the best by more than this in the exponent adds nothing that shows.
_NEGLIGIBLE = 14.0
# So many times its scatter may the lowest weighing lie under the end.
_ABOVE_LOWEST = 2.0
LOW, MIDDLE, HIGH = 0.05, 0.5, 0.95


@dataclass(frozen=True)
class Weighed:
    """What one bar of the sample group weighed on average [g], so many days after the first weighing."""

    day: float
    bar_g: float


@dataclass(frozen=True)
class Band:
    """A middle with the ends between which it lies nine times in ten."""

    low: float
    middle: float
    high: float

    @property
    def width(self) -> float:
        return self.high - self.low


class _Curve(NamedTuple):
    end_g: float
    ln_k: float
    n: float


@dataclass(frozen=True)
class Drying:
    """What the weighings leave possible. `scatter_g`: by how much a weighing is taken to be off (one standard deviation)."""

    fresh_g: float
    curves: tuple[_Curve, ...]
    scatter_g: float
    last: Weighed

    def masses_g(self, day: float) -> list[float]:
        """What each of the curves says of a day (0 or more after the first weighing) [g], in the order of the curves."""
        if day <= 0.0:
            return [self.fresh_g] * len(self.curves)
        ln_day = math.log(day)
        return [
            curve.end_g + (self.fresh_g - curve.end_g) * math.exp(-math.exp(curve.n * (curve.ln_k + ln_day)))
            for curve in self.curves
        ]

    def on(self, day: float) -> Band:
        """The weight of a bar [g] on a day (0 or more after the first weighing)."""
        return band_of(self.masses_g(day))

    @cached_property
    def end(self) -> Band:
        """The weight of a bar that loses no more [g]."""
        return band_of([curve.end_g for curve in self.curves])

    def days_until(self, held: Callable[[float, float], bool], most: int) -> list[float]:
        """For each curve the first whole day on which `held(weight then, weight a week later)` [g], at most `most`.

        What held once must hold from then on; the weekly loss of a Page curve with n up to 1 only ever falls.
        """
        found = []
        for curve in self.curves:
            low, high = 0, most
            while low < high:
                middle = (low + high) // 2
                if held(self._mass_g(curve, middle), self._mass_g(curve, middle + 7)):
                    high = middle
                else:
                    low = middle + 1
            found.append(float(low))
        return found

    def _mass_g(self, curve: _Curve, day: float) -> float:
        if day <= 0.0:
            return self.fresh_g
        return curve.end_g + (self.fresh_g - curve.end_g) * math.exp(-math.exp(curve.n * (curve.ln_k + math.log(day))))


def band_of(values: Sequence[float]) -> Band:
    """The band of equally likely values, at least one of them."""
    ordered = sorted(values)
    return Band(*(_quantile(ordered, share) for share in (LOW, MIDDLE, HIGH)))


def _quantile(ordered: Sequence[float], share: float) -> float:
    place = share * len(ordered) - 0.5
    below = min(max(math.floor(place), 0), len(ordered) - 1)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * min(max(place - below, 0.0), 1.0)


def dry(weighings: Sequence[Weighed], water_fraction: float, scatter_g: float) -> Drying:
    """What weighings of one sample group leave possible.

    weighings: in the order of days, the first on day 0, at least three, each of one bar on average [g].
    water_fraction: water in the fresh soap, above 0 and under 1: no more can leave.
    scatter_g: how far a weighing is off (one standard deviation) [g], above 0; raised where the best curve misses by more.
    Raises InputProblems where no curve may be drawn: too few weighings, a gain, no loss that shows, more loss than there is water.
    """
    refuse(weighings, water_fraction, scatter_g)
    fresh_g = weighings[0].bar_g
    # Of bars that lose no more the lowest weighing is the one that is most off: the end may lie above it.
    highest_g = min(fresh_g, min(each.bar_g for each in weighings) + _ABOVE_LOWEST * scatter_g)
    bounds = min(fresh_g * (1.0 - water_fraction), highest_g), highest_g
    cells = _cells(weighings, bounds)
    best = min(cell.misfit for cell in cells)
    scatter_g = max(scatter_g, math.sqrt(best / (len(weighings) - 1)))
    return Drying(fresh_g, _drawn(cells, best, scatter_g, bounds), scatter_g, weighings[-1])


def refuse(weighings: Sequence[Weighed], water_fraction: float, scatter_g: float) -> None:
    """Raises InputProblems where no curve may be drawn through these weighings; as in `dry`."""
    if len(weighings) < FEWEST:
        message = tr("{n} weighings make no curve.", n=len(weighings))
        raise _no_curve("too-few", message, tr("Weigh the same bars on {n} different days.", n=FEWEST))
    fresh_g, beyond_g = weighings[0].bar_g, constant("cure_beyond_scatter").value * scatter_g
    lowest_g = fresh_g
    for each in weighings[1:]:
        if each.bar_g > lowest_g + beyond_g:
            message = tr("The bars gained weight between two weighings.")
            raise _no_curve("gained", message, tr("Check the scale and that they are the same bars; take the wrong weighing back. In damp air bars do take up water: then go on weighing."))
        lowest_g = min(lowest_g, each.bar_g)
    if lowest_g < fresh_g * (1.0 - water_fraction) - beyond_g:
        message = tr("The bars lost more than all of their water.")
        raise _no_curve("below-water", message, tr("Check the weighings, how many bars were on the scale, and the recipe’s water."))
    if fresh_g - lowest_g < beyond_g:
        message = tr("The bars have not lost enough yet for the scale to tell.")
        raise _no_curve("no-loss", message, tr("Weigh again in some days."))


def _no_curve(code: str, message: str, remedy: str) -> InputProblems:
    return InputProblems(Problem("", f"curve-{code}", message, remedy))


class _Cell(NamedTuple):
    """One n and k. Its misfit is a square function of the end: the best end, the least misfit within bounds, how steep it is."""

    n: float
    ln_k: float
    end_g: float
    misfit: float
    steepness: float


def _cells(weighings: Sequence[Weighed], bounds: tuple[float, float]) -> list[_Cell]:
    fresh_g = weighings[0].bar_g
    lost_g = [fresh_g - each.bar_g for each in weighings[1:]]
    square = math.fsum(lost * lost for lost in lost_g)
    cells = []
    for n in _NS:
        times = [(each.day**n, lost) for each, lost in zip(weighings[1:], lost_g, strict=True)]
        for ln_k in _LN_KS:
            k_n = math.exp(n * ln_k)
            steepness = cross = 0.0
            for time, lost in times:
                gone = 1.0 - math.exp(-k_n * time)
                steepness += gone * gone
                cross += gone * lost
            end_g = fresh_g - cross / steepness
            off_g = min(max(end_g, bounds[0]), bounds[1]) - end_g
            misfit = max(square - cross * cross / steepness, 0.0) + steepness * off_g * off_g
            cells.append(_Cell(n, ln_k, end_g, misfit, steepness))
    return cells


def _drawn(cells: Sequence[_Cell], best: float, scatter_g: float, bounds: tuple[float, float]) -> tuple[_Curve, ...]:
    """Curves that stand for the whole grid: evenly spaced in the heaped likelihood, so that each is as likely as the next."""
    kept = []
    for cell in cells:
        excess = (cell.misfit - best) / (2.0 * scatter_g * scatter_g)
        if excess <= _NEGLIGIBLE:
            ends = _ends(cell, scatter_g, bounds)
            kept.append((cell, math.exp(-excess), ends))
    step = math.fsum(share * weight for _, share, ends in kept for _, weight in ends) / _CURVES
    curves: list[_Curve] = []
    heaped = 0.0
    for cell, share, ends in kept:
        for end_g, weight in ends:
            heaped += share * weight
            while len(curves) < _CURVES and (len(curves) + 0.5) * step <= heaped:
                curves.append(_Curve(end_g, cell.ln_k, cell.n))
    return tuple(curves)


def _ends(cell: _Cell, scatter_g: float, bounds: tuple[float, float]) -> list[tuple[float, float]]:
    """Ends of one cell between the bounds, each with its likelihood beside the likeliest and the room that it stands for."""
    low, high = bounds
    if low == high:
        return [(low, 1.0)]
    spread_g = scatter_g / math.sqrt(cell.steepness)
    likeliest = min(max(cell.end_g, low), high)
    off = abs(likeliest - cell.end_g) / spread_g
    reach_g = (math.sqrt(off * off + 2.0 * _NEGLIGIBLE) - off) * spread_g
    first, last = max(low, likeliest - reach_g), min(high, likeliest + reach_g)
    room = (last - first) / _ENDS
    ends = []
    for place in range(_ENDS):
        end_g = first + (place + 0.5) * room
        deviations = (end_g - cell.end_g) / spread_g
        ends.append((end_g, room * math.exp(-0.5 * (deviations * deviations - off * off))))
    return ends
