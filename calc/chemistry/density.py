"""Densities of lye, oils and batter, for the level in the mould and the litres in a tank.

Lye is looked up in the reference grid (its published nodes are on the Sources page). An oil's density comes from its
published relative density. Batter is the ideal mixture of both, which leaves out the small shrinkage on mixing.
"""

import math
from collections.abc import Sequence

from calc.chemistry.interpolation import cell, on_line
from calc.tables.reference import constant, lye_density_grid
from calc.tables.rows import Oil

# Their published figures are of the solid: by oils.csv they melt above the temperature of the figure.
SOLID_WHEN_MEASURED = frozenset({"cocoa_butter", "shea_butter", "beeswax"})

# Taken for a relative density that states no temperature, and for the default density [°C].
USUAL_TEMPERATURE_C = 20.0


def lye_density_g_per_ml(alkali: str, strength_fraction: float, temperature_c: float) -> float:
    """Density of lye [g/ml], bilinear in the reference grid; within ±0.001 g/ml.

    alkali: "naoh" or "koh".
    strength_fraction: pure hydroxide by mass [g/g], 0 to 0.50; 0 is water.
    temperature_c: temperature of the lye [°C], 15 to 80.
    Raises ValueError outside these ranges: beyond them there are no data.

    >>> round(lye_density_g_per_ml("naoh", 0.33, 25.0), 4)
    1.3562
    """
    if alkali not in ("naoh", "koh"):
        raise ValueError(f"The alkali must be naoh or koh, not {alkali!r}.")
    grid = lye_density_grid(alkali)
    # 0.33 · 100 is 33.000000000000004. A quotient meant to be 0.5 could so fall off the grid's edge.
    percent = round(strength_fraction * 100.0, 9)
    low, share = cell(grid.strengths_percent, percent, "Lye densities", "% by mass")
    warmth = cell(grid.temperatures_c, round(temperature_c, 9), "Lye densities", "°C")
    weak, strong = grid.density_g_per_ml[low : low + 2]
    by_temperature = [on_line(ends, (0, share)) for ends in zip(weak, strong, strict=True)]
    return on_line(by_temperature, warmth)


def strength_from_density(alkali: str, density_g_per_ml: float, temperature_c: float) -> float:
    """Strength of a lye [g/g] by its density at that temperature: `lye_density_g_per_ml` the other way round.

    alkali: "naoh" or "koh". density_g_per_ml: above that of water and up to that of 50 % lye. temperature_c: 15 to 80.
    Raises ValueError outside these ranges, which it names.

    >>> round(strength_from_density("naoh", 1.3562, 25.0), 3)
    0.33
    """
    grid = lye_density_grid(alkali)
    warmth = cell(grid.temperatures_c, round(temperature_c, 9), "Lye densities", "°C")
    at_temperature = [on_line(row, warmth) for row in grid.density_g_per_ml]
    return on_line(grid.strengths_percent, cell(at_temperature, density_g_per_ml, "Lyes of 0 to 50 %", "g/ml")) / 100.0


def mixed_lye_density_g_per_ml(naoh_g: float, koh_g: float, water_g: float, temperature_c: float) -> float:
    """Density of a lye of both hydroxides [g/ml]: ideal mixture of NaOH lye and KOH lye of the same strength.

    naoh_g, koh_g, water_g: pure hydroxides and all water [g], 0 or more, not all 0; hydroxides at most half of the sum.
    temperature_c: temperature of the lye [°C], 15 to 80.
    Raises ValueError outside these ranges.
    Formula: 1/rho = x/rho_NaOH(w) + (1 - x)/rho_KOH(w), w the strength, x the share of NaOH in the hydroxides.
    """
    hydroxide_g = naoh_g + koh_g
    if not (min(naoh_g, koh_g, water_g) >= 0.0 and 0.0 < hydroxide_g + water_g < math.inf):
        raise ValueError("The parts of a lye must be zero or more, and not all zero.")
    strength_fraction = hydroxide_g / (hydroxide_g + water_g)
    naoh_share = naoh_g / hydroxide_g if hydroxide_g > 0.0 else 1.0
    volume_per_g = naoh_share / lye_density_g_per_ml("naoh", strength_fraction, temperature_c)
    volume_per_g += (1.0 - naoh_share) / lye_density_g_per_ml("koh", strength_fraction, temperature_c)
    return 1.0 / volume_per_g


def oil_density_g_per_ml(oil: Oil, temperature_c: float) -> float:
    """Density of a clear, melted oil [g/ml]: the middle of its published range, moved to this temperature.

    oil: a row of the oils table. One without a density, or with a density of the solid, gets the default for oils.
    temperature_c: temperature of the oil [°C], 15 to 80.
    Raises ValueError outside that range.
    A figure at 40/20 °C (oil / water) is multiplied by the density of water at 20 °C. One without a water temperature
    is taken as g/ml, at most 0.2 % off. Constants: oil_density_per_k, oil_density_default.

    Palm, 0.891 to 0.899 at 50/20 °C:

    >>> from calc.tables.reference import oils
    >>> round(oil_density_g_per_ml(oils()["palm"], 50.0), 4)
    0.8934
    """
    if not 15.0 <= temperature_c <= 80.0:
        raise ValueError(f"Oil densities hold from 15 to 80 °C, not at {temperature_c:g} °C.")
    published = oil.relative_density
    ends = [end for end in (published.low, published.high) if end is not None] if published else []
    if not ends or oil.key in SOLID_WHEN_MEASURED:
        density, at_c = constant("oil_density_default").value, USUAL_TEMPERATURE_C
    else:
        density = math.fsum(ends) / len(ends)
        at_c = USUAL_TEMPERATURE_C if oil.density_at_c is None else oil.density_at_c
        if oil.density_water_c is not None:
            density *= lye_density_g_per_ml("naoh", 0.0, oil.density_water_c)
    return density - constant("oil_density_per_k").value * (temperature_c - at_c)


def batter_volume_ml(
    oils: Sequence[tuple[float, float]], lye_mass_g: float, lye_density_g_per_ml: float, other_mass_g: float = 0.0
) -> float:
    """Volume of fresh batter [ml] by ideal mixing: (sum m/rho of oils and lye) · (1 + other / (oils + lye)).

    oils: (mass [g], density [g/ml]) of each oil; masses 0 or more, densities above 0.
    lye_mass_g: lye, water included [g], 0 or more.
    lye_density_g_per_ml: its density [g/ml], above 0.
    other_mass_g: scent, colour and other additives [g], 0 or more, counted at the batter's own density.
    Raises ValueError outside these ranges, or when there is neither oil nor lye.

    >>> round(batter_volume_ml([(34_980.0, 0.9097)], 15_040.0, 1.3478))
    49611
    """
    parts = (*oils, (lye_mass_g, lye_density_g_per_ml))
    mass_g = math.fsum(mass for mass, _ in parts)
    masses_fit = min(mass for mass, _ in parts) >= 0.0 and other_mass_g >= 0.0 and 0.0 < mass_g < math.inf
    if not (masses_fit and min(density for _, density in parts) > 0.0):
        raise ValueError("A batter needs oil or lye, masses of zero or more and densities above zero.")
    return math.fsum(mass / density for mass, density in parts) * (1.0 + other_mass_g / mass_g)
