"""The set block that a mould gives: its size, what it weighs, and what its bars weigh, fresh and at sale."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from calc.chemistry.density import batter_volume_ml, mixed_lye_density_g_per_ml, oil_density_g_per_ml
from calc.entry.statistics import deviation_of, mean_of, t_quantile
from calc.formula.declaration import Formula
from calc.formula.sheet import OILS_G, FormulaSheet, formula_sheet
from calc.mould.bars import bar_mass_g
from calc.tables.reference import constant
from calc.tables.rows import Oil
from calc.workshop.lots import OilLot
from calc.workshop.shop import LOSS_HIGH, LOSS_LOW, SOAP_RANGE, Shop

WIRE_MM = constant("wire_stands_usual").value
FILL_MM = constant("fill_level_usual").value
OWN_BLOCKS = int(constant("own_blocks_least").value)


class Spread(NamedTuple):
    """A figure with the lowest and highest that it may well be."""

    low: float
    used: float
    high: float

    @property
    def sure(self) -> bool:
        """Whether there is one figure only."""
        return self.low == self.high


@dataclass(frozen=True)
class Densities:
    """Set densities of a workshop's own blocks of a formula [g/ml], each by its first bar: their mean, and how they spread."""

    mean_g_per_ml: float
    spread_g_per_ml: float | None  # standard deviation of the sample; None of one block
    blocks: int

    @property
    def next_block(self) -> Spread | None:
        """What nine in ten of further blocks lie between; None while they are too few to go by.

        The prediction interval of one more value of a normal distribution (ISO 16269-8, from memory).
        """
        if self.blocks < OWN_BLOCKS or self.spread_g_per_ml is None:
            return None
        off = t_quantile(0.95, self.blocks - 1) * self.spread_g_per_ml * math.sqrt(1.0 + 1.0 / self.blocks)
        return Spread(max(self.mean_g_per_ml - off, SOAP_RANGE.low), self.mean_g_per_ml, min(self.mean_g_per_ml + off, SOAP_RANGE.high))


def remembered(found_g_per_ml: Sequence[float]) -> Densities | None:
    """What earlier blocks showed; None where none did. A density that no bar of soap has is a slip, and is left out.

    >>> remembered([1.0, 1.25, 0.75])
    Densities(mean_g_per_ml=1.0, spread_g_per_ml=0.25, blocks=3)
    """
    likely = [each for each in found_g_per_ml if SOAP_RANGE.low <= each <= SOAP_RANGE.high]
    if not likely:
        return None
    return Densities(mean_of(likely), deviation_of(likely) if len(likely) > 1 else None, len(likely))


@dataclass(frozen=True)
class Soap:
    """What is known of the soap: density as batter (None without a formula) and set [g/ml], and the loss in cure."""

    batter_g_per_ml: float | None
    set_g_per_ml: Spread
    loss_fraction: Spread
    own_blocks: int = 0  # so many of the workshop's own the set density is from

    def sinks_fraction(self, set_g_per_ml: float) -> float:
        """How much lower the block is than the batter was, at this set density: its mass stays, its density grows.

        0 where no formula says how dense the batter is, and where set soap were lighter than the batter.
        """
        if self.batter_g_per_ml is None:
            return 0.0
        return max(0.0, 1.0 - self.batter_g_per_ml / set_g_per_ml)


def soap_of(
    shop: Shop, batter_g_per_ml: float | None, loss_fraction: float | None = None, own: Densities | None = None
) -> Soap:
    """What the workshop knows of its soap; what it has not measured stands between the usual ends, in their middle.

    loss_fraction: weight lost in cure where it was said for this soap; before what the workshop states.
    own: what its own blocks of this formula showed; where they are enough, before the one density that it states for all.
    """
    low, high = shop.set_densities_g_per_ml
    stated = shop.cure_loss_fraction if loss_fraction is None else loss_fraction
    loss = Spread(LOSS_LOW, (LOSS_LOW + LOSS_HIGH) / 2.0, LOSS_HIGH) if stated is None else Spread(stated, stated, stated)
    known = None if own is None else own.next_block
    if own is None or known is None:
        return Soap(batter_g_per_ml, Spread(low, (low + high) / 2.0, high), loss)
    return Soap(batter_g_per_ml, known, loss, own.blocks)


def batter_g_per_ml(formula: Formula, oils: Mapping[str, Oil], lots: Mapping[str, OilLot]) -> float:
    """Density of a formula's fresh batter [g/ml] by ideal mixing at the temperatures it is poured at.

    Raises InputProblems for an unknown oil, or when the lye can't be made as stated.
    """
    sheet = formula_sheet(formula, oils, lots)
    densities = [(row.share_fraction * OILS_G, oil_density_g_per_ml(row.oil, formula.oils_poured_c)) for row in sheet.oils]
    lye_g = _lye_g(sheet)
    water_g = lye_g - sheet.naoh_g - sheet.koh_g
    lye_density = mixed_lye_density_g_per_ml(sheet.naoh_g, sheet.koh_g, water_g, formula.lye_poured_c)
    other_g = sheet.batter_g - OILS_G - lye_g
    return sheet.batter_g / batter_volume_ml(densities, lye_g, lye_density, max(0.0, other_g))


def _lye_g(sheet: FormulaSheet) -> float:
    """The lye per kg of oils, without the water that additives bring [g]."""
    return (sheet.naoh_g + sheet.koh_g) / sheet.lye_itself_fraction


@dataclass(frozen=True)
class SetBlock:
    """A block out of its mould [mm], with what its soap is like. Its length and width are the mould's: it sinks in height."""

    length_mm: float
    width_mm: float
    height_mm: float
    soap: Soap

    @property
    def sides_mm(self) -> tuple[float, float, float]:
        """Length, width and height [mm]."""
        return self.length_mm, self.width_mm, self.height_mm

    @property
    def volume_ml(self) -> float:
        """All of it [ml]."""
        return math.prod(self.sides_mm) / 1000.0

    def mass_g(self, volume_ml: float) -> float:
        """What a part of it weighs fresh [g]."""
        return volume_ml * self.soap.set_g_per_ml.used


def set_block(length_mm: float, width_mm: float, fill_mm: float, soap: Soap, sinks_fraction: float) -> SetBlock:
    """The block of a mould filled to a level [mm], lower by what it sinks as it sets (0 to under 1).

    Raises ValueError outside these ranges.
    """
    if not (min(length_mm, width_mm, fill_mm) > 0.0 and 0.0 <= sinks_fraction < 1.0):
        raise ValueError("A block's sides are above zero, and it sinks by less than all of it.")
    return SetBlock(length_mm, width_mm, fill_mm * (1.0 - sinks_fraction), soap)


def fresh_bar_g(bar_mm: tuple[float, float, float], cut_by_wire: tuple[bool, bool, bool], soap: Soap) -> Spread:
    """A fresh bar [g], and between what the bars of a block lie: wires stand off a little, a whole side as the fill does.

    bar_mm: along the block's length, width and height [mm]; cut_by_wire: whether wires make that size.
    """
    offs = [WIRE_MM if cut else FILL_MM if axis == 2 else 0.0 for axis, cut in enumerate(cut_by_wire)]

    def mass(sign: float, density: float) -> float:
        sizes = [max(size + sign * off, size / 2.0) for size, off in zip(bar_mm, offs, strict=True)]
        return bar_mass_g((sizes[0], sizes[1], sizes[2]), density)

    low, used, high = soap.set_g_per_ml
    return Spread(mass(-1.0, low), mass(0.0, used), mass(1.0, high))


def sold_bar_g(fresh_g: Spread, soap: Soap) -> Spread:
    """A bar after cure [g]: the lightest fresh one at the greatest loss, to the heaviest at the least."""
    low, used, high = soap.loss_fraction
    return Spread(fresh_g.low * (1.0 - high), fresh_g.used * (1.0 - used), fresh_g.high * (1.0 - low))
