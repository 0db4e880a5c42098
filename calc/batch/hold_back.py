"""The lye held back for the top-up: where the first pour stops, what is left, and the scale that weighs it.

Row E5 of physics_check_values.csv: pour (1 - h) of the plan, rounded down to the display's division, then top up to the exact need.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from calc.entry.shown import decimal_of
from calc.scales.weighing import JUG_ROOM, Scale


@dataclass(frozen=True)
class HoldBack:
    """What is poured first and what is left for the top-up, each in counts of its scale's display."""

    short: int
    top_up: int
    scale: Scale  # weighs the top-up: the vessel's own scale where none is finer


def hold_back(
    exact_g: float, hold_back_fraction: float, vessel_scale: Scale, scales: Sequence[Scale]
) -> HoldBack | None:
    """How a lye poured into the vessel is split. None when the display can't show a first pour smaller than all of it.

    exact_g: the whole lye as reckoned [g], above 0; the two pours never exceed it. hold_back_fraction: 0 to below 1.

    Of 15 037.2 g on a display of 20 g with 5 % held back 14.28 kg go first; 757 g are left for a scale of 1 g:

    >>> large, fine = Scale("large", 150_000.0, 20.0, "R76", "III"), Scale("fine", 6_000.0, 1.0, "R76", "III")
    >>> found = hold_back(15_037.2, 0.05, large, [large, fine])
    >>> large.display.grams(found.short), fine.display.grams(found.top_up)
    (14280.0, 757.0)
    """
    display = vessel_scale.display
    short = display.counts_within(exact_g * (1.0 - hold_back_fraction))
    if not (hold_back_fraction > 0.0 and 0 < short < display.counts_within(exact_g)):
        return None
    rest_g = float(decimal_of(exact_g) - decimal_of(display.grams(short)))
    scale = _finer(rest_g, vessel_scale, scales)
    return HoldBack(short, scale.display.counts_within(rest_g), scale)


def _finer(rest_g: float, vessel_scale: Scale, scales: Sequence[Scale]) -> Scale:
    """The finest scale that holds the top-up and its jug, when it is finer than the vessel's."""
    fits = [scale for scale in scales if JUG_ROOM * rest_g <= scale.capacity_g]
    found = min(fits, key=lambda scale: (scale.division_g, scale.capacity_g), default=vessel_scale)
    return found if found.division_g < vessel_scale.division_g else vessel_scale
