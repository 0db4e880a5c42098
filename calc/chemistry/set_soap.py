"""Soap that was made before and goes into new batter: what it does to the superfat of the whole.

Superfat is the share of all oils' alkali demand left open, those of the old soap among them. So soap that is stirred
through brings the whole nearer to its own superfat, in the proportion of the demands.

How far old soap melts into the batter nobody knows. The low end is the lower of two: all of it is stirred through; or its
fat stays locked in the shavings and takes no lye, while what free alkali it may hold leaches out. Its errors and the
batter's are taken to go together, for both often come of the same lots of oil: ends are mixed with ends.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from calc.chemistry.superfat import Contribution, SuperfatInterval

# The standard deviations from the middle to the end of a 95 % interval of a normal variable.
_DEVIATIONS = 1.96
OWN_SUPERFAT = "its own superfat"


@dataclass(frozen=True)
class SoapAmount:
    """So much of a lot of set soap [g]; a gram holds oils that took, or could take, from low to high [g KOH]; its superfat."""

    name: str
    mass_g: float
    demand_low_koh_per_g: float
    demand_high_koh_per_g: float
    superfat_fraction: float
    superfat_low_fraction: float
    superfat_high_fraction: float

    @property
    def demand_koh_g(self) -> float:
        """The demand of the oils in it, met and open [g KOH]: the middle of what it may be."""
        return self.mass_g * (self.demand_low_koh_per_g + self.demand_high_koh_per_g) / 2.0


def brought_koh_g(soaps: Sequence[SoapAmount], superfat_fraction: float) -> float:
    """The alkali by which soap of less superfat exceeds what a batch aims for [g KOH]: so much less lye is poured.

    Soap of more superfat brings none: no lye is ever poured for fat that is locked in shavings.
    """
    return math.fsum(max(superfat_fraction - soap.superfat_fraction, 0.0) * soap.demand_koh_g for soap in soaps)


def with_soaps(fresh: SuperfatInterval, demand_koh_g: float, soaps: Sequence[SoapAmount]) -> SuperfatInterval:
    """The superfat of batter with soap in it. fresh: of the batter alone; demand_koh_g: of its oils [g KOH], above 0.

    A fifth of all oils in soap of 1 %, stirred into batter of 6 %, leaves 5 %:

    >>> batter = SuperfatInterval(0.06, 0.01, 0.04, 0.08, 0.0, (), 0.06, None)
    >>> old = SoapAmount("old", 1000.0, 0.125, 0.125, 0.01, 0.0, 0.02)
    >>> found = with_soaps(batter, 500.0, [old])
    >>> [round(each, 4) for each in (found.value, found.low, found.high)]
    [0.05, 0.032, 0.068]
    """
    if not demand_koh_g > 0.0:
        raise ValueError("A demand must be above zero.")
    if not soaps:
        return fresh
    in_soaps_g = math.fsum(soap.demand_koh_g for soap in soaps)
    share = demand_koh_g / (demand_koh_g + in_soaps_g)

    def mixed(of_batter: float, of_soaps: Sequence[float]) -> float:
        brought = math.fsum(soap.demand_koh_g * each for soap, each in zip(soaps, of_soaps, strict=True))
        return (demand_koh_g * of_batter + brought) / (demand_koh_g + in_soaps_g)

    leached_g = math.fsum(soap.mass_g * soap.demand_high_koh_per_g * min(soap.superfat_low_fraction, 0.0) for soap in soaps)
    spread = [(soap.superfat_high_fraction - soap.superfat_low_fraction) / 2.0 / _DEVIATIONS for soap in soaps]
    uncertainty = mixed(fresh.standard_uncertainty, spread)
    low = min(fresh.low + leached_g / demand_koh_g, _end(fresh.low, demand_koh_g, soaps, lower=True))
    high = _end(fresh.high, demand_koh_g, soaps, lower=False)
    return SuperfatInterval(
        value=mixed(fresh.value, [soap.superfat_fraction for soap in soaps]),
        standard_uncertainty=uncertainty,
        low=low,
        high=high,
        chance_of_excess=max(fresh.chance_of_excess, _chance_below(-leached_g / demand_koh_g, fresh)),
        contributions=_contributions(fresh, share, soaps, spread, demand_koh_g + in_soaps_g),
        mean=mixed(fresh.mean, [(soap.superfat_low_fraction + soap.superfat_high_fraction) / 2.0 for soap in soaps]),
        without_waxes=fresh.without_waxes,
    )


def _end(of_batter: float, demand_koh_g: float, soaps: Sequence[SoapAmount], *, lower: bool) -> float:
    """An end of the superfat with all soap stirred through: of each the water that makes it weigh most towards that end."""
    demands, open_g = demand_koh_g, demand_koh_g * of_batter
    for soap in soaps:
        own = soap.superfat_low_fraction if lower else soap.superfat_high_fraction
        heavy = own < of_batter if lower else own > of_batter
        demand_g = soap.mass_g * (soap.demand_high_koh_per_g if heavy else soap.demand_low_koh_per_g)
        demands, open_g = demands + demand_g, open_g + demand_g * own
    return open_g / demands


def _chance_below(superfat_fraction: float, fresh: SuperfatInterval) -> float:
    """The chance that the batter's superfat lies under another one above zero; zero where nothing leaches into it."""
    if superfat_fraction <= 0.0:
        return 0.0
    if fresh.standard_uncertainty <= 0.0:
        return float(fresh.mean < superfat_fraction)
    return 0.5 * (1.0 + math.erf((superfat_fraction - fresh.mean) / fresh.standard_uncertainty / math.sqrt(2.0)))


def _contributions(
    fresh: SuperfatInterval, share: float, soaps: Sequence[SoapAmount], spread: Sequence[float], demands_g: float
) -> tuple[Contribution, ...]:
    found = [replace(each, uncertainty_fraction=share * each.uncertainty_fraction) for each in fresh.contributions]
    for soap, each in zip(soaps, spread, strict=True):
        found.append(Contribution(soap.name, OWN_SUPERFAT, soap.demand_koh_g / demands_g * each, 0.0))
    whole = math.fsum(each.uncertainty_fraction**2 for each in found)
    shared = (replace(each, share_of_variance=each.uncertainty_fraction**2 / whole if whole > 0.0 else 0.0) for each in found)
    return tuple(sorted(shared, key=lambda each: -each.uncertainty_fraction))
