"""The superfat of amounts as weighed, with the interval that oils, alkali and scales leave open.

Below about 5 % the oils' own spread can reach zero, where a bar keeps free lye: the interval shows it, and the best
question names the one certificate that narrows it most. Superfat is the lye discount: the share of all oils' alkali
demand left open. Source: JCGM 100:2008 4.3.7, 4.3.8, 5.1.2 and Annex G (clause numbers from memory), linear model.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import NormalDist

from calc.lye import demand_koh_g, koh_equivalent_g
from calc.reference import constant
from calc.weighing import mass_uncertainty_g

# JCGM 100:2008 Table G.2, normal distribution, 95 % (clause from memory).
COVERAGE_FACTOR = 1.96

SAPONIFICATION_VALUE, MASS = "saponification value", "mass"


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


@dataclass(frozen=True)
class AlkaliAmount:
    """Solid alkali (hydroxide_fraction = its assay) or lye (= its strength, times purity where that is apart)."""

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
    """Superfat with its 95 % interval, all as fractions; contributions largest first."""

    value: float
    standard_uncertainty: float
    low: float
    high: float
    chance_of_excess: float  # that the lye is more than the oils can take, by the normal distribution
    contributions: tuple[Contribution, ...] = ()
    best_question: BestQuestion | None = None


def superfat_interval(
    oils: Sequence[OilAmount], alkalis: Sequence[AlkaliAmount], acids: Sequence[AcidAmount] = ()
) -> SuperfatInterval:
    """Superfat S = 1 - (A - Q)/D and what is uncertain about it; every half width is a rectangle, u = width/√12.

    oils: demand D = sum m·SV/1000 [g KOH]; masses [g] 0 or more, SV [mg KOH/g] between its low and high, all above 0.
    alkalis: A = sum m·fraction, NaOH divided by M(NaOH)/M(KOH) [g KOH]; fraction above 0, at most 1.
    acids: uptake Q = sum m·strength·acid value/1000 [g KOH].
    Relative half widths, limits of error [g] and divisions [g] are 0 or more.
    Raises ValueError outside these ranges, or when the oils demand nothing.
    Example: olive 15.74, palm 10.50, coconut 8.74 kg (190 ± 6, 199.5 ± 9.5, 256.5 ± 8.5), 15.04 kg of 33 % lye:
    4.98 %, u 1.24 percentage points, 2.55 to 7.41 %.
    """
    _check(oils, alkalis, acids)
    demand_g = math.fsum(demand_koh_g(oil.mass_g, oil.saponification_value) for oil in oils)
    if not 0.0 < demand_g < math.inf:
        raise ValueError("Without oils there is no superfat.")
    supplied_g = math.fsum(alkali.mass_g * _koh_per_g(alkali) for alkali in alkalis)
    taken_g = math.fsum(acid.mass_g * acid.strength_fraction * acid.acid_value for acid in acids) / 1000.0
    value = 1.0 - (supplied_g - taken_g) / demand_g

    variances: dict[tuple[str, str], float] = {}
    for name, what, koh_g, effect in _unknowns(oils, alkalis, acids, value):
        variances[name, what] = variances.get((name, what), 0.0) + (effect * koh_g / demand_g) ** 2
    variance = math.fsum(variances.values())
    uncertainty = math.sqrt(variance)
    contributions = sorted(
        (
            Contribution(name, what, math.sqrt(part), part / variance if variance > 0.0 else 0.0)
            for (name, what), part in variances.items()
        ),
        key=lambda contribution: -contribution.uncertainty_fraction,
    )
    return SuperfatInterval(
        value,
        uncertainty,
        value - COVERAGE_FACTOR * uncertainty,
        value + COVERAGE_FACTOR * uncertainty,
        NormalDist(value, uncertainty).cdf(0.0) if uncertainty > 0.0 else float(value < 0.0),
        tuple(contributions),
        _best_question(oils, value, demand_g, variances),
    )


def _koh_per_g(alkali: AlkaliAmount) -> float:
    fraction = alkali.hydroxide_fraction
    return koh_equivalent_g(fraction, 0.0) if alkali.alkali == "naoh" else koh_equivalent_g(0.0, fraction)


def _unknowns(
    oils: Sequence[OilAmount], alkalis: Sequence[AlkaliAmount], acids: Sequence[AcidAmount], superfat: float
) -> Iterator[tuple[str, str, float, float]]:
    """(name, what, standard uncertainty in g KOH, its effect on superfat per share of the demand)."""
    for name, width_g in _demand_widths_g(oils).items():
        yield name, SAPONIFICATION_VALUE, width_g / math.sqrt(12.0), 1.0 - superfat
    for oil in oils:
        mass_g = mass_uncertainty_g(oil.mass_limit_g, oil.division_g)
        yield oil.name, MASS, demand_koh_g(mass_g, oil.saponification_value), 1.0 - superfat
    for alkali in alkalis:
        koh_per_g = _koh_per_g(alkali)
        yield alkali.name, MASS, mass_uncertainty_g(alkali.mass_limit_g, alkali.division_g) * koh_per_g, -1.0
        for what, half_width in alkali.relative_half_widths:
            yield alkali.name, what, alkali.mass_g * koh_per_g * half_width / math.sqrt(3.0), -1.0
    for acid in acids:
        koh_per_g = acid.strength_fraction * acid.acid_value / 1000.0
        yield acid.name, MASS, mass_uncertainty_g(acid.mass_limit_g, acid.division_g) * koh_per_g, 1.0
        for what, half_width in acid.relative_half_widths:
            yield acid.name, what, acid.mass_g * koh_per_g * half_width / math.sqrt(3.0), 1.0


def _demand_widths_g(oils: Sequence[OilAmount], relative_half_width: float | None = None) -> dict[str, float]:
    """Width of each oil's demand [g KOH], from its range or from a relative half width; pours of one oil go together."""
    widths: dict[str, float] = {}
    for oil in oils:
        width = oil.sv_high - oil.sv_low
        if relative_half_width is not None:
            width = 2.0 * relative_half_width * oil.saponification_value
        widths[oil.name] = widths.get(oil.name, 0.0) + demand_koh_g(oil.mass_g, width)
    return widths


def _best_question(
    oils: Sequence[OilAmount], superfat: float, demand_g: float, variances: dict[tuple[str, str], float]
) -> BestQuestion | None:
    """The oil whose certificate, at the usual half width, leaves the least; None when none would narrow anything."""
    certified = _demand_widths_g(oils, constant("certificate_half_width").value)
    gains = {
        name: ((1.0 - superfat) / demand_g) ** 2 * (width_g**2 - certified[name] ** 2) / 12.0
        for name, width_g in _demand_widths_g(oils).items()
    }
    name = max(gains, key=lambda oil: gains[oil])
    if gains[name] <= 0.0:
        return None
    variance = math.fsum(variances.values())
    factor = math.sqrt(max(0.0, variance - gains[name]) / variance)
    return BestQuestion(name, COVERAGE_FACTOR * math.sqrt(variance) * factor, factor)


def _check(oils: Sequence[OilAmount], alkalis: Sequence[AlkaliAmount], acids: Sequence[AcidAmount]) -> None:
    for oil in oils:
        if not (oil.mass_g >= 0.0 and 0.0 < oil.sv_low <= oil.saponification_value <= oil.sv_high < math.inf):
            raise ValueError(f"{oil.name}: the value used must lie within its range and the mass be zero or more.")
    for alkali in alkalis:
        if alkali.alkali not in ("naoh", "koh"):
            raise ValueError(f"{alkali.name}: the alkali must be naoh or koh, not {alkali.alkali!r}.")
        if not (0.0 <= alkali.mass_g < math.inf and 0.0 < alkali.hydroxide_fraction <= 1.0):
            raise ValueError(f"{alkali.name}: the mass must be zero or more, the hydroxide a share above 0, up to 1.")
    for acid in acids:
        if not (0.0 <= acid.mass_g < math.inf and acid.acid_value >= 0.0 and 0.0 <= acid.strength_fraction <= 1.0):
            raise ValueError(f"{acid.name}: mass and acid value must be zero or more, the strength a share up to 1.")
    stated = [(entry.name, entry.relative_half_widths) for entry in alkalis]
    stated += [(entry.name, entry.relative_half_widths) for entry in acids]
    for name, half_widths in stated:
        if any(not 0.0 <= half_width < math.inf for _, half_width in half_widths):
            raise ValueError(f"{name}: a half width must be zero or more.")
