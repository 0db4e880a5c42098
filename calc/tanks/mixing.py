"""What temperature oils and lye come to as they are poured together, and which of them has to be how warm for that.

The balance is that of `calc.chemistry.heat`: no losses, and without the soap's own heat, which begins at once and takes the
batter on from there. Ranges: the thermometers, and the heat capacities of fat (±5 %) and lye (±2 %).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, NamedTuple

from calc.chemistry.heat import fat_heat_capacity, mix_temperature_c, naoh_lye_heat_capacity
from calc.tables.reference import constant
from calc.tables.rows import Oil
from calc.tanks.spread import Spread, band, even_shares

# What can be asked for, from the two others.
Wanted = Literal["batter", "oils", "lye"]
COLDEST_C, HOTTEST_C = 0.0, 100.0
# Halvings that take the whole range to less than a millionth of a degree.
_HALVINGS = 28
_SHARES = even_shares(4)
# A fat with less saturated acids than this, in percent, and no melting range of its own stays liquid in a workshop.
LIQUID_SATURATED_PERCENT = constant("liquid_saturated_most").value


@dataclass(frozen=True)
class Mixed:
    """Oils and lye that are poured together [g], the lye's strength [mass fraction] and water poured apart from it [g]."""

    oils_g: float
    lye_g: float
    strength_fraction: float
    water_g: float = 0.0

    def batter_c(self, oils_c: float, lye_c: float, fat_off: float = 0.0, lye_off: float = 0.0) -> float:
        """The batter's temperature [°C]; fat_off and lye_off: by which share a heat capacity is off.

        A heat capacity that is off by a share weighs like a mass that is: the balance holds their products alone.
        Raises ValueError as `mix_temperature_c` does.
        """
        naoh_kept = self.strength_fraction
        oils_g, lye_g = self.oils_g * (1.0 + fat_off), self.lye_g * (1.0 + lye_off)
        return mix_temperature_c(oils_g, oils_c, lye_g, lye_c, naoh_kept, self.water_g * (1.0 + lye_off))


def mixed(mix: Mixed, wanted: Wanted, known_c: tuple[float, float]) -> Spread | None:
    """One of the three temperatures from the two others [°C], with its range; None where nothing from 0 to 100 °C gives it.

    known_c: for "batter" the oils' and the lye's temperature, for "oils" the lye's and the batter's, for "lye" the oils' and
    the batter's. Raises ValueError for masses, strengths and temperatures that `mix_temperature_c` refuses.

    Rows C14 and C15 of physics_check_values.csv:

    >>> block = Mixed(34_980.0, 15_040.0, 0.33)
    >>> round(mixed(block, "batter", (40.0, 30.0)).used, 1), round(mixed(block, "oils", (30.0, 38.0)).used, 1)
    (35.7, 44.0)
    """
    found = [_one(mix, wanted, *known_c, 0.0, 0.0)]
    off_c = constant("thermometer_off").value
    fat, lye = constant("fat_heat_capacity_off").value, constant("lye_heat_capacity_off").value
    for shares in _SHARES:
        first, second, fat_share, lye_share = (2.0 * share - 1.0 for share in shares)
        # What is asked for is no reading: of it, no thermometer is off.
        second_off_c = off_c * second if wanted == "batter" else 0.0
        found.append(_one(mix, wanted, known_c[0] + off_c * first, known_c[1] + second_off_c, fat * fat_share, lye * lye_share))
    if found[0] is None:
        return None
    return band([each for each in found if each is not None], found[0])


def _one(mix: Mixed, wanted: Wanted, first_c: float, second_c: float, fat_off: float, lye_off: float) -> float | None:
    if wanted == "batter":
        return mix.batter_c(_in_table(first_c), _in_table(second_c), fat_off, lye_off)
    asked = {
        "oils": lambda at_c: mix.batter_c(at_c, _in_table(first_c), fat_off, lye_off),
        "lye": lambda at_c: mix.batter_c(_in_table(first_c), at_c, fat_off, lye_off),
    }[wanted]
    return _where(asked, second_c)


def _in_table(temperature_c: float) -> float:
    """A reading that its thermometer's error would take out of the table's range stays at its end."""
    return min(max(temperature_c, COLDEST_C), HOTTEST_C)


def _where(rising: Callable[[float], float], wanted: float) -> float | None:
    low, high = COLDEST_C, HOTTEST_C
    if not rising(low) <= wanted <= rising(high):
        return None
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if rising(middle) < wanted:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def heat_shares(mix: Mixed, oils_c: float, lye_c: float) -> tuple[float, float]:
    """Which share [0 to 1] of the batter's heat capacity the oils and the lye hold: what each degree of theirs moves it by.

    oils_c: 0 to 100, lye_c: any that lye has [°C]. Raises ValueError for oils outside that and lye outside 5 to 50 %. Masses times heat capacities; row C15 of physics_check_values.csv has 2.03 and 3.58 kJ/(kg K):

    >>> [round(share, 2) for share in heat_shares(Mixed(34_980.0, 15_040.0, 0.33), 40.0, 30.0)]
    [0.57, 0.43]
    """
    oil = mix.oils_g * fat_heat_capacity(oils_c)
    lye = mix.lye_g * naoh_lye_heat_capacity(mix.strength_fraction, lye_c) + mix.water_g * constant("water_heat_capacity").value
    return oil / (oil + lye), lye / (oil + lye)


class Setting(NamedTuple):
    """One fat at a temperature: surely below its own melting range ("sets"), perhaps ("may"), or that range is nowhere stated."""

    oil: Oil
    state: Literal["sets", "may", "unknown"]


def fats_that_set(oils: list[Oil], batter: Spread) -> tuple[Setting, ...]:
    """Which of the fats are not surely melted at a batter's temperature [°C], each by the melting range it has by itself.

    In liquid oils a fat melts lower than alone, so that "sets" means what sets first. An oil without a melting range, of which
    the acids tell that it is liquid, is left out.
    """
    found = []
    for oil in oils:
        melting = oil.melting
        if melting is None:
            if may_be_solid(oil):
                found.append(Setting(oil, "unknown"))
            continue
        ends = [end for end in (melting.low, melting.high) if end is not None]
        if batter.low > max(ends) and melting.high is not None:
            continue
        state: Literal["sets", "may"] = "sets" if melting.low is not None and batter.high < melting.low else "may"
        found.append(Setting(oil, state))
    return tuple(found)


def may_be_solid(oil: Oil) -> bool:
    """Whether an oil without a melting range may be set in a workshop, by its saturated acids."""
    saturated = [share for share in oil.fatty_acids if share.acid.endswith(":0")]
    known = [share.typical_percent if share.typical_percent is not None else share.high_percent for share in saturated]
    if not oil.fatty_acids:
        return True
    return math.fsum(each for each in known if each is not None) > LIQUID_SATURATED_PERCENT
