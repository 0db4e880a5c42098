"""Whether lye stays liquid: where its first crystals form, and what that leaves against the coldest hour of a room.

Soda by naoh_crystallisation.csv (±1 °C; a producer's page has 14 °C for 50 %, the curve 11). Potash has two points of its
solubility, at 0 and 20 °C: weaker than the first it stays liquid down to 0 °C, and colder than that nothing is known here.
"""

from typing import Literal, NamedTuple

from calc.chemistry.interpolation import cell, on_line
from calc.chemistry.water import crystallisation_c
from calc.tables.reference import constant

# Lye that is bought strong, and what people thin it to in the hope that it stays liquid.
BOUGHT_FRACTION = 0.50

Verdict = Literal["liquid", "cold", "close", "crystals"]


class Liquid(NamedTuple):
    """Where a lye begins to crystallise [°C]; at_most: the truth may lie lower. None where nothing is known.

    least_c: how cold lye of that strength may stand at all, whatever its own point is; None where that alone decides.
    """

    point_c: float | None
    at_most: bool = False
    least_c: float | None = None

    def margin_c(self, room_c: float) -> float | None:
        """How far the room's coldest hour [°C] lies above it [K]; below 0 where that is colder, None where the point isn't known."""
        return None if self.point_c is None else room_c - self.point_c

    def in_room(self, room_c: float) -> Verdict | None:
        """What a room whose coldest hour is that [°C, any] does to it; None where nothing is known of lye so strong, or so cold.

        "crystals": it stands at its point or below; "close": less than is kept in hand above it; "cold": further above it, and yet
        colder than lye that strong is kept; "liquid": none of these. Whichever warns first counts. Raises nothing.
        """
        margin_c = self.margin_c(room_c)
        if margin_c is None:
            return None
        if margin_c < constant("crystal_margin_least").value:
            # Colder than a point that is only an upper bound nothing is known.
            return "close" if margin_c > 0.0 else None if self.at_most else "crystals"
        return "cold" if self.least_c is not None and room_c < self.least_c else "liquid"

    @property
    def keep_above_c(self) -> float | None:
        """The coldest it should stand at [°C]: what is kept in hand above the point, and no less than lye that strong is kept at."""
        if self.point_c is None:
            return None
        above_c = self.point_c + constant("crystal_margin_least").value
        return above_c if self.least_c is None else max(above_c, self.least_c)


def liquid(alkali: str, strength_fraction: float) -> Liquid:
    """Where lye of this strength begins to crystallise. alkali: "naoh" or "koh"; strength_fraction: 0 to 1.

    >>> round(liquid("naoh", 0.33).point_c), liquid("naoh", 0.45).least_c, liquid("koh", 0.45)
    (8, 20.0, Liquid(point_c=0.0, at_most=True, least_c=None))
    """
    if alkali == "naoh":
        strong = 100.0 * strength_fraction > constant("strong_lye_from").value
        return Liquid(crystallisation_c(strength_fraction), least_c=constant("strong_lye_least").value if strong else None)
    cold, warm = constant("koh_solubility_0c").value, constant("koh_solubility_20c").value
    if strength_fraction <= cold:
        return Liquid(0.0, at_most=True)
    if strength_fraction > warm:
        return Liquid(None)
    return Liquid(on_line((0.0, 20.0), cell((cold, warm), strength_fraction, "Solubilities of KOH", "g/g")))


def no_easier_than_bought(strength_fraction: float) -> bool:
    """Whether soda lye weaker than 50 % crystallises at as high a temperature as that: thinning it then gains nothing.

    strength_fraction: pure hydroxide by mass [g/g], 0 to 1; beyond the ends of naoh_crystallisation.csv (0.003 and 0.79) its last
    point holds. Raises nothing.

    >>> no_easier_than_bought(0.40), no_easier_than_bought(0.33)
    (True, False)
    """
    return strength_fraction < BOUGHT_FRACTION and crystallisation_c(strength_fraction) >= crystallisation_c(BOUGHT_FRACTION)


def crystals_below_c(alkali: str, strength_fraction: float, temperature_c: float) -> float | None:
    """Where lye drops crystals, of one that is at or below that [°C]; None where it is warmer, or that isn't known."""
    found = liquid(alkali, strength_fraction)
    return found.point_c if found.point_c is not None and not found.at_most and temperature_c <= found.point_c else None
