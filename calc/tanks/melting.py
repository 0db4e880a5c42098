"""What of the fats in a tank is set at a temperature, and the heat that melts it.

How the oils stand is seen, or told by how cold each fat is against the range in which it melts by itself. In liquid oils it melts
lower than alone, and as it cools it may stay liquid far below that range: so hardly any of it may be set, or all of it.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from calc.tables.reference import constant
from calc.tables.rows import Oil
from calc.tanks.mixing import may_be_solid
from calc.tanks.spread import Spread, exactly

# The share that is solid, by how oils look.
SOLID_SHARE = {
    "clear": exactly(0.0),
    "cloudy": Spread(constant("solid_cloudy_low").value, 0.25, constant("solid_cloudy_high").value),
    "hard": Spread(constant("solid_hard_low").value, 0.7, constant("solid_hard_high").value),
}
# Of a fat that is colder than the range in which it melts.
_COLDER = Spread(SOLID_SHARE["cloudy"].low, SOLID_SHARE["hard"].low, SOLID_SHARE["hard"].high)
# As colder than these it counts as set: [°C], with the heat that melts it [J]; the highest first, none less than the one before.
Melting = tuple[tuple[float, Spread], ...]


class Fat(NamedTuple):
    """One fat of a blend and its share of all oils [g/g]."""

    oil: Oil
    share: float


def melting_j(mass_g: float, share: Spread) -> Spread:
    """What melts that share [0 to 1] of so much fat [g, 0 or more], in joules; 100 to 130 kJ/kg, from memory."""
    low, high = constant("fat_melting_heat_low").value, constant("fat_melting_heat_high").value
    return Spread(mass_g * low * share.low, mass_g * 0.5 * (low + high) * share.used, mass_g * high * share.high)


def melting(mass_g: float, fats: Sequence[Fat], state: str | None, now_c: float, wanted_c: float) -> Melting:
    """Below which temperature how much heat melts what is set in a tank of oils.

    mass_g: of all oils, 0 or more. state: how they stand at now_c [°C], a key of SOLID_SHARE; None where nobody says. wanted_c:
    where a fat counts as clear of which no range is known [°C].

    Palm oil melts at 33 to 39 °C (oils.csv); cooled from 45 °C, a third of it in the tank, nothing is set above that:

    >>> from calc.tables.reference import oils
    >>> found = melting(120_000.0, [Fat(oils()["palm"], 0.3)], None, 45.0, 45.0)
    >>> [(below_c, round(heat.low / 1e6, 2), round(heat.high / 1e6, 2)) for below_c, heat in found]
    [(39.0, 0.18, 2.34), (33.0, 0.18, 4.68)]
    """
    ends = [(fat.share, *_range(fat.oil, wanted_c)) for fat in fats if fat.oil.melting or may_be_solid(fat.oil)]
    found: dict[float, Spread] = {}
    for below_c in sorted({each for _, low_c, high_c in ends for each in (low_c, high_c) if each > -math.inf}, reverse=True):
        shares = [_COLDER.times(share) if low_c >= below_c else SOLID_SHARE["cloudy"].times(share) for share, low_c, high_c in ends if high_c >= below_c]
        found[below_c] = melting_j(mass_g, Spread(*(math.fsum(each) for each in zip(*shares, strict=True))))
    if state == "clear":
        # It was seen clear there; less than the thermometer may be off sets nothing.
        most_c = now_c - constant("thermometer_off").value
        return tuple({min(below_c, most_c): heat for below_c, heat in found.items()}.items())
    if state is not None:
        seen = melting_j(mass_g, SOLID_SHARE[state])
        clear_c = max([high_c for _, _, high_c in ends if high_c > now_c], default=wanted_c)
        colder = {below_c: Spread(*map(max, seen, heat)) for below_c, heat in found.items() if below_c < min(now_c, clear_c)}
        return ((clear_c, seen), *colder.items())
    return tuple(found.items())


def _range(oil: Oil, wanted_c: float) -> tuple[float, float]:
    if oil.melting is None:
        return -math.inf, wanted_c
    ends = [end for end in (oil.melting.low, oil.melting.high) if end is not None]
    return min(ends), max(ends)
