"""The net quantity in both units, each rounded down, and how high its letters must stand.

Rounding never overstates. Where the two figures differ, the larger one binds, so neither may pass what the bars weigh.
"""

import math
from dataclasses import dataclass

from calc.entry.shown import number
from calc.entry.units import convert
from calc.tables.label import READ, type_heights
from calc.tables.reference import constant

# A figure that a float holds a hair too low is still that figure.
HAIR = 1e-9
KILOGRAM_G = 1000.0


@dataclass(frozen=True)
class NetQuantity:
    """What is printed: grams and ounces as words, and the heavier of the two figures [g], which binds."""

    metric: str
    inch_pound: str
    binding_g: float


def net_quantity(net_g: float, leads: str) -> NetQuantity:
    """Both figures for so much soap [g], from a gram on. leads: "oz" or "g", the one from which the other is worked out.

    >>> net_quantity(113.0, "g")
    NetQuantity(metric='113 g', inch_pound='3.98 oz', binding_g=113.0)
    """
    if net_g < 1.0:
        raise ValueError("A net quantity is a gram or more.")
    per_oz = constant("label_g_per_oz").value
    if leads == "oz":
        ounces = _down(net_g / per_oz, 2)
        grams = _metric_down(ounces * per_oz)
    else:
        grams = _metric_down(net_g)
        ounces = _down(grams * constant("label_oz_per_g").value, 2)
    return NetQuantity(_metric(grams), _ounces(ounces), max(grams, ounces * per_oz))


def _down(value: float, decimals: int) -> float:
    step = 10.0**decimals
    return math.floor(value * step + HAIR) / step


def _metric_down(grams: float) -> float:
    """Three figures, below 100 g two (16 CFR 500.19(b))."""
    figures = 3 if grams >= 100.0 - HAIR else 2
    return _down(grams, figures - 1 - math.floor(math.log10(grams) + HAIR))


def _metric(grams: float) -> str:
    return f"{number(grams / KILOGRAM_G, 2)} kg" if grams >= KILOGRAM_G else f"{number(grams)} g"


def _ounces(ounces: float) -> str:
    """Ounces; from a pound on with pounds behind (21 CFR 701.13(j), from memory). A last zero may be dropped."""
    pounds = ounces * constant("label_g_per_oz").value / constant("label_g_per_lb").value
    behind = f" ({number(_down(pounds + HAIR, 2))} lb)" if pounds >= 1.0 - 1e-6 else ""
    return f"{number(ounces)} oz{behind}"


@dataclass(frozen=True)
class Panel:
    """The side that faces the buyer. shape: "flat" (height and width), "round" (height and way around), "other" (whole surface) [mm, mm²]."""

    shape: str
    height_mm: float
    width_mm: float
    surface_mm2: float = 0.0

    @property
    def area_in2(self) -> float:
        """What counts of it [in²]: of a round pack, or one of another shape, four tenths."""
        inch = convert(1.0, "in", "mm")
        part = 1.0 if self.shape == "flat" else constant("label_round_part").value
        area = self.surface_mm2 if self.shape == "other" else self.height_mm * self.width_mm
        return part * area / inch**2


@dataclass(frozen=True)
class Letters:
    """The least height of the net quantity's letters [mm] by one law, and whether its row was read."""

    law: str
    height_mm: float
    read: bool


def letters(panel: Panel, net_g: float, markets: tuple[str, ...]) -> tuple[Letters, ...]:
    """What each law asks: "us" goes by the panel and means capitals, or the small o; "eu" goes by the quantity and means figures."""
    of = {"us": ("US", panel.area_in2), "eu": ("EU", net_g)}
    found = []
    for law in markets:
        scheme, amount = of[law]
        row = next(row for row in type_heights() if row.scheme == scheme and amount <= row.up_to * (1.0 + HAIR))
        found.append(Letters(law, row.height_mm, row.how == READ))
    return tuple(found)
