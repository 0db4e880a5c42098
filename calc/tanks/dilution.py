"""How much caustic, bought lye or water brings what stands in a tank to a strength: balances of mass and of hydroxide.

Mass is conserved and so is hydroxide; litres are not. Solid caustic counts by its hydroxide, the rest of it as water.
"""

import math
from typing import NamedTuple

# What is left over of a balance that comes out even is the rounding of floats.
ROUNDING = 1e-9


class TopUp(NamedTuple):
    """What goes into the tank [g]: solid caustic or bought lye, and water."""

    source_g: float
    water_g: float


class CannotReach(ValueError):
    """No addition makes that much of that strength.

    least_g: the least that can be made of what is there [g], by water alone or by the source alone; infinite where neither does it.
    too_strong: what is there is stronger than wanted, so that only water helps.
    """

    def __init__(self, least_g: float, too_strong: bool) -> None:
        super().__init__("What is there makes more of that strength than is wanted.")
        self.least_g, self.too_strong = least_g, too_strong


def top_up(have_g: float, have_fraction: float, total_g: float, wanted_fraction: float, source_fraction: float) -> TopUp:
    """What to put into a tank so that it holds a mass at a strength, whatever strength stands in it.

    have_g: lye in the tank [g], 0 or more; have_fraction: its hydroxide [g/g], 0 to below 1, with 0 g anything.
    total_g: what the tank is to hold [g], above 0; wanted_fraction: its strength [g/g], above 0 and below 1.
    source_fraction: hydroxide in the solid or bought lye [g/g], above the wanted strength and up to 1.
    Raises CannotReach where the tank holds too much, too strong or too weak a lye for it; ValueError outside these ranges.

    200 kg of 33 % from flake of 98.5 %:

    >>> [round(part) for part in top_up(0.0, 0.0, 200_000.0, 0.33, 0.985)]
    [67005, 132995]
    """
    if not (have_g >= 0.0 and 0.0 < total_g < math.inf and 0.0 <= have_fraction < 1.0):
        raise ValueError("What is there must be zero or more, what is wanted above zero.")
    if not 0.0 < wanted_fraction < source_fraction <= 1.0:
        raise ValueError("The source must be stronger than the lye that is wanted, and at most pure.")
    pure_g = total_g * wanted_fraction - (have_g * have_fraction if have_g > 0.0 else 0.0)
    source_g = pure_g / source_fraction
    water_g = total_g - have_g - source_g
    short_g = ROUNDING * total_g
    if source_g < -short_g or water_g < -short_g:
        raise CannotReach(_least_g(have_g, have_fraction, wanted_fraction, source_fraction), have_fraction > wanted_fraction)
    return TopUp(max(0.0, source_g), max(0.0, water_g))


def _least_g(have_g: float, have_fraction: float, wanted_fraction: float, source_fraction: float) -> float:
    """The least that what is there makes of the strength [g]: thinned by water alone, or strengthened by the source alone."""
    if have_fraction >= wanted_fraction:
        return have_g * have_fraction / wanted_fraction
    return have_g * (source_fraction - have_fraction) / (source_fraction - wanted_fraction)


def water_to_thin_g(have_g: float, have_fraction: float, wanted_fraction: float) -> float:
    """Water that thins so much lye to a strength [g]. Raises ValueError unless it is wanted weaker, and above 0.

    >>> round(water_to_thin_g(660.0, 0.50, 0.33))
    340
    """
    if not (have_g >= 0.0 and 0.0 < wanted_fraction <= have_fraction <= 1.0):
        raise ValueError("Lye is thinned to a strength above zero and at most its own.")
    return have_g * (have_fraction / wanted_fraction - 1.0)


def mixed(first_g: float, first_fraction: float, second_g: float, second_fraction: float) -> tuple[float, float]:
    """Mass [g] and strength [g/g] of two lyes put together. Masses 0 or more, not both 0; ValueError otherwise."""
    mass_g = first_g + second_g
    if not (min(first_g, second_g) >= 0.0 and mass_g > 0.0):
        raise ValueError("Masses must be zero or more, and not both zero.")
    return mass_g, (first_g * first_fraction + second_g * second_fraction) / mass_g
