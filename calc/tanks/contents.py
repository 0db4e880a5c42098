"""Lye in a tank: by mass, since a litre of lye weighs less when it is warm; litres only to look at.

Source: densities from `calc.chemistry.density`.
"""

import math

from calc.chemistry.density import lye_density_g_per_ml
from calc.mould.scaling import StockBlocks, blocks_from_stock


def lye_in_tank_g(volume_ml: float, alkali: str, strength_fraction: float, temperature_c: float) -> float:
    """Mass of lye that fills so much of a tank [g]: its volume times its density at that temperature.

    volume_ml: lye in the tank [ml], 0 or more.
    alkali: "naoh" or "koh".
    strength_fraction: pure hydroxide by mass [g/g], 0 to 0.50.
    temperature_c: temperature of the lye [°C], 15 to 80.
    Raises ValueError outside these ranges.

    >>> round(lye_in_tank_g(200_000.0, "naoh", 0.33, 25.0), -2)
    271200.0
    """
    _zero_or_more("A volume", volume_ml)
    return volume_ml * lye_density_g_per_ml(alkali, strength_fraction, temperature_c)


def lye_in_tank_ml(mass_g: float, alkali: str, strength_fraction: float, temperature_c: float) -> float:
    """Volume of so much lye [ml]; the inverse of `lye_in_tank_g`, with its other ranges.

    mass_g: lye in the tank [g], 0 or more.
    Raises ValueError outside these ranges.

    >>> [round(lye_in_tank_ml(271_250.0, "naoh", 0.33, at_c), -3) for at_c in (25.0, 40.0)]
    [200000.0, 201000.0]
    """
    _zero_or_more("A mass", mass_g)
    return mass_g / lye_density_g_per_ml(alkali, strength_fraction, temperature_c)


def blocks_in_tank(left_g: float, dead_g: float, per_block_g: float) -> StockBlocks:
    """Whole blocks that a tank still gives, and what of its usable lye then remains: floor((M - M_dead) / block).

    left_g: lye in the tank [g], 0 or more.
    dead_g: what stays below its outlet [g], 0 or more; a tank that holds less gives none.
    per_block_g: lye of one block [g], above 0.
    Raises ValueError outside these ranges.

    Of 200 l, of which 5 l stay:

    >>> tank_g, stays_g = (lye_in_tank_g(volume_ml, "naoh", 0.33, 25.0) for volume_ml in (200_000.0, 5_000.0))
    >>> blocks_in_tank(tank_g, stays_g, 15_040.0).whole_blocks
    17
    """
    _zero_or_more("What is left", left_g)
    _zero_or_more("What stays below the outlet", dead_g)
    return blocks_from_stock(max(0.0, left_g - dead_g), per_block_g)


def _zero_or_more(what: str, size: float) -> None:
    if not 0.0 <= size < math.inf:
        raise ValueError(f"{what} must be zero or more, not {size!r}.")
