"""The lye held back for the top-up: where the first pour stops, what is left, and the scale that weighs it.

Source: physics E3: pour (1 - h) of the plan, rounded down to the display's division, then top up to the exact need.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from calc.display import Display
from calc.weighing import JUG_ROOM
from calc.workshop import ScaleItem


@dataclass(frozen=True)
class HoldBack:
    """Grams poured first, grams left for the top-up, and the finer scale for them where there is one."""

    short_g: float
    top_up_g: float
    scale: ScaleItem | None


def hold_back(
    target_g: float,
    exact_g: float,
    hold_back_fraction: float,
    display: Display,
    vessel_scale: ScaleItem,
    scales: Sequence[ScaleItem],
) -> HoldBack | None:
    """How a lye poured into the vessel is parted; None when the display could not show a first pour short of it.

    target_g: the whole lye on the vessel's display, exact_g: as reckoned [g]; hold_back_fraction: 0 to below 1.
    Example: 15.04 kg (exactly 15 037.2 g) by 20 g, 5 % held back: 14.28 kg, then 757.2 g on a scale of 1 g.
    """
    whole = display.counts(target_g)
    kept = 1 - Fraction(repr(float(hold_back_fraction)))
    short = int(whole * kept // display.division) * display.division
    if not (hold_back_fraction > 0.0 and 0 < short < whole):
        return None
    short_g = display.grams(short)
    top_up_g = exact_g - short_g
    return HoldBack(short_g, top_up_g, _finer(top_up_g, vessel_scale, scales))


def _finer(top_up_g: float, vessel_scale: ScaleItem, scales: Sequence[ScaleItem]) -> ScaleItem | None:
    """The finest scale that holds the top-up and its jug, when it is finer than the vessel's."""
    fits = [scale for scale in scales if JUG_ROOM * top_up_g <= scale.capacity_g]
    found = min(fits, key=lambda scale: (scale.division_g, scale.capacity_g), default=None)
    return found if found is not None and found.division_g < vessel_scale.division_g else None
