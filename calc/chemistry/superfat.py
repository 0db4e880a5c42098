"""The superfat of amounts as weighed, with the interval that oils, alkali and scales leave open.

Superfat is the lye discount: the share of all oils' alkali demand left open. Below about 5 % the oils' own spread can
reach zero, where a bar keeps free lye. The interval shows that, and the best question names the one certificate that
narrows it most.

Only the limits of each unknown are known. So it is a rectangle about their middle, wherever the value used lies
(JCGM 101:2008 6.4.2). S is at most s where A - Q - (1 - s)·D is zero or more. For one s that is a sum of independent
rectangles, apart from products of two small errors. Its distribution is computed, not taken to be normal.

What lye takes of a wax is not known even so well. The low end and the chance of excess hold for a wax that gives only
its free acids, the high end for one that is taken whole. Clause numbers from memory.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from calc.chemistry.lye import demand_koh_g, koh_per_g, superfat_of
from calc.chemistry.rectangles import RectangleSum
from calc.tables.reference import constant

# The chance that the interval leaves out at each end.
TAIL = 0.025
# A quantile of a sum of rectangles, in its standard deviations: 1.65 for one, 1.96 for many. Near enough for a first k.
USUAL_QUANTILE = 1.85
# The demand's relative standard deviation above which it can't be a ratio's denominator: the linear model then has to do.
LARGEST_SPREAD = 0.25
# The least superfat told: lye of six times what the oils take. Wax alone may take next to none.
LEAST = -5.0
# Certificates that take off nearly as much variance as the best are compared by the interval itself.
NEARLY_BEST = 0.5

SAPONIFICATION_VALUE, MASS, TAKEN = "saponification value", "mass", "how much of it lye takes"


@dataclass(frozen=True)
class OilAmount:
    """One pour of an oil. Pours of one name share their saponification value, and so its error."""

    name: str
    mass_g: float
    saponification_value: float  # used, mg KOH/g
    sv_low: float  # mg KOH/g; the true value is equally likely anywhere from low to high
    sv_high: float
    mass_limit_g: float = 0.0  # limit of error of the scale at this mass
    division_g: float = 0.0
    acid_value: float | None = None  # of a wax, mg KOH/g: what lye surely takes of it; None for an oil


@dataclass(frozen=True)
class AlkaliAmount:
    """Solid alkali or lye. hydroxide_fraction: a solid's assay, or a lye's strength (times a purity stated apart)."""

    name: str
    mass_g: float
    hydroxide_fraction: float
    alkali: str  # "naoh" or "koh"
    # (what, half width as a share of the fraction itself): ("strength", 0.00097 / 0.33), ("purity", 0.005)
    relative_half_widths: tuple[tuple[str, float], ...] = ()
    mass_limit_g: float = 0.0
    division_g: float = 0.0


@dataclass(frozen=True)
class AcidAmount:
    """An acid that takes up alkali before the oils do; acid_value in mg KOH per g of pure acid."""

    name: str
    mass_g: float
    acid_value: float
    strength_fraction: float = 1.0
    relative_half_widths: tuple[tuple[str, float], ...] = ()
    mass_limit_g: float = 0.0
    division_g: float = 0.0


def taken_koh_g(acids: Iterable[AcidAmount]) -> float:
    """Alkali that acids take before the oils do [g KOH]."""
    return math.fsum(acid.mass_g * acid.strength_fraction * acid.acid_value for acid in acids) / 1000.0


@dataclass(frozen=True)
class Contribution:
    """What one unknown adds: its standard uncertainty in superfat and its share of the variance."""

    name: str
    what: str
    uncertainty_fraction: float
    share_of_variance: float


@dataclass(frozen=True)
class BestQuestion:
    """The certificate that would narrow the interval most. The value itself may shift with it."""

    name: str
    new_half_width_fraction: float  # of the 95 % interval
    factor: float  # new half width over the present one, below 1


@dataclass(frozen=True)
class SuperfatInterval:
    """Superfat with its 95 % interval, all as fractions; contributions largest first.

    `value` is reckoned from the values used, `mean` from all that they may be. The mean is higher where the values used
    lean to the low side. The ends are not equally far from either.
    """

    value: float
    standard_uncertainty: float
    low: float
    high: float
    chance_of_excess: float  # that the lye is more than the oils can take
    contributions: tuple[Contribution, ...]
    mean: float
    without_waxes: float | None  # the value when only the free acids of waxes react; None without waxes

    @property
    def half_width(self) -> float:
        """Half of the interval's width."""
        return (self.high - self.low) / 2.0


def superfat_interval(
    oils: Sequence[OilAmount], alkalis: Sequence[AlkaliAmount], acids: Sequence[AcidAmount] = ()
) -> SuperfatInterval:
    """Superfat S = 1 - (A - Q)/D and what is uncertain about it; every half width is a rectangle, u = width/√12.

    oils: demand D = sum m·SV/1000 [g KOH]; masses [g] 0 or more, SV [mg KOH/g] between its low and high, all above 0.
    alkalis: A = sum m·fraction, NaOH divided by M(NaOH)/M(KOH) [g KOH]; fraction above 0, at most 1.
    acids: uptake Q = sum m·strength·acid value/1000 [g KOH].
    Relative half widths, limits of error [g] and divisions [g] are 0 or more.
    Raises ValueError outside these ranges, or when the oils demand nothing.

    Lye of 33 %, its strength by hydrometer and thermometer, all on a scale of 20 g:

    >>> olive = OilAmount("olive", 15_740.0, 190.0, 184.0, 196.0, 40.0, 20.0)
    >>> palm = OilAmount("palm", 10_500.0, 199.5, 190.0, 209.0, 40.0, 20.0)
    >>> coconut = OilAmount("coconut", 8_740.0, 256.5, 248.0, 265.0, 20.0, 20.0)
    >>> unknown = (*(("strength", half / 0.33) for half in (0.00097, 0.00062, 0.00097)), ("purity", 0.005))
    >>> lye = AlkaliAmount("lye", 15_040.0, 0.33, "naoh", unknown, 40.0, 20.0)
    >>> found = superfat_interval([olive, palm, coconut], [lye])
    >>> [round(100.0 * each, 2) for each in (found.value, found.standard_uncertainty, found.low, found.high)]
    [4.98, 1.24, 2.53, 7.33]
    """
    _check(oils, alkalis, acids)
    demand_g = math.fsum(demand_koh_g(oil.mass_g, oil.saponification_value) for oil in oils)
    if not 0.0 < demand_g < math.inf:
        raise ValueError("Without oils there is no superfat.")
    net = _Side(tuple(_net(alkalis, acids)))
    whole = surely_taken = between = _demand(oils, _whole)
    without = None
    if any(oil.acid_value is not None for oil in oils):
        surely_taken, between = _demand(oils, _acids_alone), _demand(oils, _from_acids_to_whole)
        sure_g = math.fsum(
            demand_koh_g(oil.mass_g, oil.saponification_value if oil.acid_value is None else oil.acid_value)
            for oil in oils
        )
        without = max(superfat_of(net.mean_g, 0.0, sure_g), LEAST) if sure_g > 0.0 else LEAST
    contributions = _contributions(net, between)
    return SuperfatInterval(
        value=superfat_of(net.mean_g, 0.0, demand_g),
        standard_uncertainty=math.sqrt(math.fsum(part.uncertainty_fraction**2 for part in contributions)),
        low=_end(net, surely_taken, 1.0),
        high=_end(net, whole, -1.0),
        chance_of_excess=_chance_of_excess(net, surely_taken),
        contributions=contributions,
        # The mean of 1/D to second order (JCGM 100:2008 5.1.2, note, from memory).
        mean=1.0 - net.mean_g / between.mean_g * (1.0 + between.variance / between.mean_g**2),
        without_waxes=without,
    )


@dataclass(frozen=True)
class _Part:
    """A part of the alkali, the acid or the demand [g KOH], with the rectangles of one cause about it."""

    name: str
    what: str
    mean_g: float
    half_widths_g: tuple[float, ...]


@dataclass(frozen=True)
class _Side:
    """The demand, or the alkali less the acids."""

    parts: tuple[_Part, ...]

    @cached_property
    def mean_g(self) -> float:
        return math.fsum(part.mean_g for part in self.parts)

    @cached_property
    def half_widths_g(self) -> tuple[float, ...]:
        return tuple(width for part in self.parts for width in part.half_widths_g if width > 0.0)

    @cached_property
    def variance(self) -> float:
        return math.fsum(width * width for width in self.half_widths_g) / 3.0


Ends = Callable[[OilAmount], tuple[float, float]]


def _whole(oil: OilAmount) -> tuple[float, float]:
    """The least and the most that a gram of oil takes [mg KOH], when all of it reacts."""
    return oil.sv_low, oil.sv_high


def _acids_alone(oil: OilAmount) -> tuple[float, float]:
    return _whole(oil) if oil.acid_value is None else (oil.acid_value, oil.acid_value)


def _from_acids_to_whole(oil: OilAmount) -> tuple[float, float]:
    return _whole(oil) if oil.acid_value is None else (oil.acid_value, oil.sv_high)


def _weighed(entry: OilAmount | AlkaliAmount | AcidAmount, per_g: float) -> tuple[float, ...]:
    """Limit of error, and half a division for each of the two readings (as `weighing.mass_uncertainty_g`)."""
    return tuple(per_g * half_g for half_g in (entry.mass_limit_g, entry.division_g / 2.0, entry.division_g / 2.0))


def _demand(oils: Sequence[OilAmount], ends: Ends) -> _Side:
    values: dict[str, tuple[str, float, float]] = {}
    weighings = []
    for oil in oils:
        low, high = ends(oil)
        what, mean_g, half_g = values.get(oil.name, (SAPONIFICATION_VALUE, 0.0, 0.0))
        what = TAKEN if oil.acid_value is not None else what
        middle = (low + high) / 2.0
        half_g += demand_koh_g(oil.mass_g, (high - low) / 2.0)
        values[oil.name] = what, mean_g + demand_koh_g(oil.mass_g, middle), half_g
        weighings.append(_Part(oil.name, MASS, 0.0, _weighed(oil, middle / 1000.0)))
    parts = (_Part(name, what, mean_g, (half_g,)) for name, (what, mean_g, half_g) in values.items())
    return _Side((*parts, *weighings))


def _net(alkalis: Sequence[AlkaliAmount], acids: Sequence[AcidAmount]) -> Iterator[_Part]:
    for alkali in alkalis:
        yield from _of_net(alkali, koh_per_g(alkali.alkali, alkali.hydroxide_fraction), 1.0)
    for acid in acids:
        yield from _of_net(acid, acid.strength_fraction * acid.acid_value / 1000.0, -1.0)


def _of_net(entry: AlkaliAmount | AcidAmount, per_g: float, sign: float) -> Iterator[_Part]:
    whole_g = entry.mass_g * per_g
    yield _Part(entry.name, MASS, sign * whole_g, _weighed(entry, per_g))
    for what, half_width in entry.relative_half_widths:
        yield _Part(entry.name, what, 0.0, (whole_g * half_width,))


def _contributions(net: _Side, demand: _Side) -> tuple[Contribution, ...]:
    """What each unknown adds, by the linear model about the middle of all (JCGM 100:2008 5.1.2, from memory)."""
    variances: dict[tuple[str, str], float] = {}
    for side, effect in ((net, 1.0), (demand, net.mean_g / demand.mean_g)):
        for part in side.parts:
            squares = math.fsum(width * width for width in part.half_widths_g)
            found = squares / 3.0 * (effect / demand.mean_g) ** 2
            variances[part.name, part.what] = variances.get((part.name, part.what), 0.0) + found
    variance = math.fsum(variances.values())
    contributions = (
        Contribution(name, what, math.sqrt(found), found / variance if variance > 0.0 else 0.0)
        for (name, what), found in variances.items()
    )
    return tuple(sorted(contributions, key=lambda contribution: -contribution.uncertainty_fraction))


def _end(net: _Side, demand: _Side, side: float) -> float:
    """An end of the interval, low (side 1) or high (side -1): the superfat lies beyond it with the chance left out.

    At that end k = 1 - S is the lye's part of the demand, and the mean of A - Q - k·D is a quantile away from zero. The
    demand's rectangles are weighted by k. A first k, from a usual quantile, is near enough for these weights.
    """
    if demand.mean_g <= 0.0:
        return LEAST
    k = _part_at(net, demand, side * USUAL_QUANTILE)
    errors = _sum_at(net, demand, k)
    if errors.standard_deviation > 0.0:
        k = _part_at(net, demand, -side * errors.quantile(TAIL) / errors.standard_deviation)
    return max(1.0 - k, LEAST)


def _sum_at(net: _Side, demand: _Side, k: float) -> RectangleSum:
    return RectangleSum((*net.half_widths_g, *(abs(k) * width for width in demand.half_widths_g)))


def _part_at(net: _Side, demand: _Side, deviations: float) -> float:
    """The k whose A - Q - k·D has its mean so many standard deviations below zero: Fieller's theorem for a ratio."""
    ratio, net_part, spread = net.mean_g / demand.mean_g, net.variance / demand.mean_g**2, demand.variance / demand.mean_g**2
    if spread > LARGEST_SPREAD**2:
        return ratio + deviations * math.sqrt(net_part + ratio * ratio * spread)
    square = deviations * deviations
    root = math.sqrt(net_part * (1.0 - square * spread) + ratio * ratio * spread)
    return (ratio + deviations * root) / (1.0 - square * spread)


def _chance_of_excess(net: _Side, demand: _Side) -> float:
    errors, excess_g = _sum_at(net, demand, 1.0), net.mean_g - demand.mean_g
    return errors.chance_below(excess_g) if errors.standard_deviation > 0.0 else float(excess_g > 0.0)


def best_question(
    oils: Sequence[OilAmount], alkalis: Sequence[AlkaliAmount], acids: Sequence[AcidAmount] = ()
) -> BestQuestion | None:
    """The oil whose certificate, at the usual half width, narrows the interval most; None when none narrows it.

    Amounts as in `superfat_interval`. A wax is not asked about: a certificate leaves open how much of it reacts.
    """
    net = _Side(tuple(_net(alkalis, acids)))
    half_width = _half_width(oils, net)
    if half_width <= 0.0:
        return None
    asked = [_certified(oil) if oil.acid_value is None else oil for oil in oils]
    now, then = (
        {part.name: part.half_widths_g[0] for part in _demand(rows, _whole).parts if part.what != MASS}
        for rows in (oils, asked)
    )
    gains = {name: now[name] ** 2 - then[name] ** 2 for name in now}
    found = []
    for name, gain in gains.items():
        if gain > 0.0 and gain >= NEARLY_BEST * max(gains.values()):
            certified = [new if oil.name == name else oil for oil, new in zip(oils, asked, strict=True)]
            then_half = _half_width(certified, net)
            found.append(BestQuestion(name, then_half, then_half / half_width))
    best = min(found, key=lambda question: question.factor, default=None)
    return best if best is not None and best.factor < 1.0 else None


def _half_width(oils: Sequence[OilAmount], net: _Side) -> float:
    return (_end(net, _demand(oils, _whole), -1.0) - _end(net, _demand(oils, _acids_alone), 1.0)) / 2.0


def _certified(oil: OilAmount) -> OilAmount:
    half_width = constant("certificate_half_width").value * oil.saponification_value
    value = oil.saponification_value
    return replace(oil, sv_low=value - half_width, sv_high=value + half_width)


def _check(oils: Sequence[OilAmount], alkalis: Sequence[AlkaliAmount], acids: Sequence[AcidAmount]) -> None:
    for oil in oils:
        if not (oil.mass_g >= 0.0 and 0.0 < oil.sv_low <= oil.saponification_value <= oil.sv_high < math.inf):
            raise ValueError(f"{oil.name}: the value used must lie within its range and the mass be zero or more.")
        if oil.acid_value is not None and not 0.0 <= oil.acid_value <= oil.sv_low:
            raise ValueError(f"{oil.name}: the acid value must lie from zero to the low end of its range.")
    for alkali in alkalis:
        if alkali.alkali not in ("naoh", "koh"):
            raise ValueError(f"{alkali.name}: the alkali must be naoh or koh, not {alkali.alkali!r}.")
        if not (0.0 <= alkali.mass_g < math.inf and 0.0 < alkali.hydroxide_fraction <= 1.0):
            raise ValueError(f"{alkali.name}: the mass must be zero or more, the hydroxide a share above 0, up to 1.")
    for acid in acids:
        if not (0.0 <= acid.mass_g < math.inf and acid.acid_value >= 0.0 and 0.0 <= acid.strength_fraction <= 1.0):
            raise ValueError(f"{acid.name}: mass and acid value must be zero or more, the strength a share up to 1.")
    every: list[OilAmount | AlkaliAmount | AcidAmount] = [*oils, *alkalis, *acids]
    for weighed in every:
        if not (weighed.mass_limit_g >= 0.0 and weighed.division_g >= 0.0):
            raise ValueError(f"{weighed.name}: a limit of error and a division must be zero or more.")
    stated = [(entry.name, entry.relative_half_widths) for entry in alkalis]
    stated += [(entry.name, entry.relative_half_widths) for entry in acids]
    for name, half_widths in stated:
        if any(not 0.0 <= half_width < math.inf for _, half_width in half_widths):
            raise ValueError(f"{name}: a half width must be zero or more.")
