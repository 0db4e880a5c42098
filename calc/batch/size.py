"""How large one block is and how many there are, whichever way the maker orders them."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from calc.batch.order import MOST_BLOCKS, BatchOrder, BatchSetting
from calc.chemistry.density import batter_volume_ml, mixed_lye_density_g_per_ml, oil_density_g_per_ml
from calc.chemistry.water import AlkaliSource
from calc.cut.block import batter_g_per_ml, soap_of
from calc.cut.planned import PlannedCut, planned_cut
from calc.entry.language import lower_first, ntr, tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import level, percent_down, weight
from calc.formula.chemistry import OilUsed, hydroxide_needed, plan_lye
from calc.mould.bars import BarYield
from calc.mould.scaling import (
    blocks_for_bars,
    blocks_from_stock,
    fill_height_mm,
    fill_volume_ml,
    oils_for_batch_mass_g,
    oils_for_volume_g,
)
from calc.workshop.equipment import Cutter, Mould

TRIAL_OILS_G = 1000.0


@dataclass(frozen=True)
class Proportions:
    """A formula per gram of oils, with the densities at the pouring temperatures."""

    oils: tuple[tuple[float, float], ...]  # (share, density [g/ml]) of each row
    lye_ratio: float
    lye_density_g_per_ml: float
    other_ratio: float
    soap_g: float = 0.0  # set aside before, in one block, whatever its oils
    soap_ml: float = 0.0

    def oils_for_height_g(self, mould: Mould, fill_height_mm: float) -> float:
        """Oils [g] whose batter fills the mould to a height [mm], with the soap that goes in too."""
        volume_ml = fill_volume_ml(mould.length_mm, mould.width_mm, fill_height_mm) - self.soap_ml
        if volume_ml <= 0.0:
            raise _soap_alone()
        return oils_for_volume_g(volume_ml, self.oils, self.lye_ratio, self.lye_density_g_per_ml, self.other_ratio)

    def height_mm(self, mould: Mould, oils_g: float) -> float:
        """The height [mm] to which these oils and the soap that goes in too fill the mould; the inverse."""
        volume_ml = batter_volume_ml(self.oils, self.lye_ratio, self.lye_density_g_per_ml, self.other_ratio) * oils_g
        return fill_height_mm(volume_ml + self.soap_ml, mould.length_mm, mould.width_mm)


def _soap_alone() -> InputProblems:
    message = tr("The set-aside soap alone fills the block.")
    return InputProblems(Problem("soaps.0.taken_g", "soap-fills-block", message, tr("Take less of it.")))


@dataclass(frozen=True)
class BatchSize:
    """The number of blocks, the oils of one, the height to fill it to, and a sentence on how these came about.

    Bars are counted at that height. Rounding to the scales leaves the batter a hair lower, which costs no bar.
    """

    blocks: int
    oils_g: float
    height_mm: float
    note: str


def proportions(setting: BatchSetting, used: Sequence[OilUsed], sources: dict[str, AlkaliSource]) -> Proportions:
    """What everything else weighs per gram of oils. Raises InputProblems when the lye can't be made as stated."""
    formula = setting.formula
    oils_g = [row.share_fraction * TRIAL_OILS_G for row in used]
    additives_g = [row.share_fraction * TRIAL_OILS_G for row in formula.additives]
    needed = hydroxide_needed(formula, used, oils_g, additives_g)
    plan = plan_lye(formula, needed, TRIAL_OILS_G, additives_g, sources)
    lye_water_g = plan.lye_g - math.fsum(needed)
    return Proportions(
        tuple((row.share_fraction, oil_density_g_per_ml(row.oil, formula.oils_poured_c)) for row in used),
        plan.lye_g / TRIAL_OILS_G,
        mixed_lye_density_g_per_ml(*needed, lye_water_g, formula.lye_poured_c),
        formula.scent_fraction + math.fsum(additives_g) / TRIAL_OILS_G,
    )


def batch_size(
    order: BatchOrder,
    setting: BatchSetting,
    used: Sequence[OilUsed],
    parts: Proportions,
    takes_g: Callable[[float], float],
) -> BatchSize:
    """The order turned into blocks and grams of oils. Raises InputProblems for an order that can't be met.

    takes_g: of the oil in stock, what the scales show of it for a block of so many oils [g].
    """
    mould = setting.mould
    usual_g, usual_mm = parts.oils_for_height_g(mould, mould.fill_height_mm), mould.fill_height_mm
    if order.scale_to == "fill_height":
        assert order.blocks is not None and order.fill_height_mm is not None
        oils_g = parts.oils_for_height_g(mould, order.fill_height_mm)
        note = tr("{mould}, filled to {height}.", mould=mould.name, height=level(order.fill_height_mm, setting.units))
        return BatchSize(order.blocks, oils_g, order.fill_height_mm, note)
    if order.scale_to == "batch_mass":
        assert order.blocks is not None and order.batch_mass_g is not None
        if order.batch_mass_g <= parts.soap_g:
            raise _soap_alone()
        oils_g = oils_for_batch_mass_g(order.batch_mass_g - parts.soap_g, parts.lye_ratio, parts.other_ratio)
        note = tr("{mass} of batter in each block.", mass=weight(order.batch_mass_g, setting.units))
        height_mm = parts.height_mm(mould, oils_g) if parts.soap_g else usual_mm * oils_g / usual_g
        return BatchSize(order.blocks, oils_g, height_mm, note)
    if order.scale_to == "bars":
        return _for_bars(order, setting, usual_g)
    if order.scale_to == "oil_left":
        return _from_stock(order, setting, used, parts, usual_g, takes_g)
    assert order.blocks is not None
    note = tr("{mould}, filled to its usual {height}.", mould=mould.name, height=level(usual_mm, setting.units))
    return BatchSize(order.blocks, usual_g, usual_mm, note)


@dataclass(frozen=True)
class Cutting:
    """Bars of a block, and how it is cut; None where no bar comes out."""

    bars: BarYield
    cut: PlannedCut | None


def cutting(setting: BatchSetting, fill_height_mm: float) -> Cutting | None:
    """Bars of a block filled to a height: by the frames, else by the cutter; None where neither is chosen.

    Raises InputProblems when a cutter's cuts eat up its bars, or the lye of the formula can't be made as stated.
    """
    tools, mould = setting.frames or setting.cutter, setting.mould
    if tools is None:
        return None
    if isinstance(tools, Cutter):
        bar_size_mm(tools)
    batter = batter_g_per_ml(setting.formula, setting.oils, setting.oil_lots)
    cut = planned_cut(mould, fill_height_mm, soap_of(setting.shop, batter, own=setting.own_soap), tools)
    if cut is None:
        return Cutting(BarYield(0, 0, 0, 0, 0.0, mould.length_mm, mould.width_mm, fill_height_mm), None)
    spare = (side.spare_mm for side in cut.way.sides)
    return Cutting(BarYield(*cut.way.grid, cut.way.bars, cut.way.used_fraction, *spare), cut)


def bar_size_mm(cutter: Cutter) -> tuple[float, float, float]:
    """A bar's size along the block's length, width and height [mm]. Raises InputProblems when the cuts eat it up."""
    sides = (cutter.pitch_length_mm, cutter.pitch_width_mm, cutter.pitch_height_mm)
    if min(sides) <= cutter.kerf_mm:
        raise InputProblems(
            Problem(
                "cutter",
                "kerf-over-pitch",
                tr("Each cut takes out more soap than the gap between the wires."),
                tr("Correct the cutter's pitch or kerf in Workshop."),
            )
        )
    along, across, up = (side - cutter.kerf_mm for side in sides)
    return along, across, up


def _for_bars(order: BatchOrder, setting: BatchSetting, usual_g: float) -> BatchSize:
    assert order.bars_wanted is not None
    found = cutting(setting, setting.mould.fill_height_mm)
    if found is None:
        raise InputProblems(
            Problem("cutter", "cutter-missing", tr("Bars can only be counted with a cutter."), tr("Choose a cutter."))
        )
    bars = found.bars.total
    if bars == 0:
        raise InputProblems(
            Problem("cutter", "no-bars", tr("This cutter gives no whole bar from this mold."), tr("Choose another cutter."))
        )
    blocks = blocks_for_bars(order.bars_wanted, bars)
    if blocks > MOST_BLOCKS:
        raise InputProblems(
            Problem(
                "bars_wanted",
                "too-many-blocks",
                tr(
                    "That takes {blocks} blocks. More than {most} on one sheet is too many to keep track of at the pot.",
                    blocks=blocks, most=MOST_BLOCKS,
                ),
                tr("Ask for at most {bars} bars on one sheet.", bars=MOST_BLOCKS * bars),
            )
        )
    note = ntr(
        "{wanted} bars wanted, {bars} a block: {number} block gives {all}.",
        "{wanted} bars wanted, {bars} a block: {number} blocks give {all}.",
        blocks, wanted=order.bars_wanted, bars=bars, all=blocks * bars,
    )
    return BatchSize(blocks, usual_g, setting.mould.fill_height_mm, note)


def _from_stock(
    order: BatchOrder,
    setting: BatchSetting,
    used: Sequence[OilUsed],
    parts: Proportions,
    usual_g: float,
    takes_g: Callable[[float], float],
) -> BatchSize:
    assert order.oil_left_g is not None
    usual_mm, units = setting.mould.fill_height_mm, setting.units
    share = math.fsum(row.share_fraction for row in used if row.key == order.oil_left)
    if share == 0.0:
        raise InputProblems(
            Problem("oil_left", "oil-not-in-formula", tr("This oil isn't in the formula."), tr("Choose one of its oils."))
        )
    name = lower_first(next(tr(row.name) for row in used if row.key == order.oil_left))
    try:
        per_block_g = takes_g(usual_g)
    except InputProblems:
        per_block_g = share * usual_g  # too much for the scales; less of it may not be
    stock = blocks_from_stock(order.oil_left_g, per_block_g)
    left = weight(order.oil_left_g, units)
    if stock.whole_blocks == 0:
        part = order.oil_left_g / (share * usual_g)
        note = tr(
            "{left} of {oil} isn't enough for a full block. It makes one block at {percent} of the usual size.",
            left=left, oil=name, percent=percent_down(part, 0),
        )
        height_mm = parts.height_mm(setting.mould, usual_g * part) if parts.soap_g else usual_mm * part
        return BatchSize(1, usual_g * part, height_mm, note)
    if stock.whole_blocks > MOST_BLOCKS:
        note = tr(
            "{left} of {oil} makes {blocks} blocks; one sheet takes {most} of them.",
            left=left, oil=name, blocks=stock.whole_blocks, most=MOST_BLOCKS,
        )
        return BatchSize(MOST_BLOCKS, usual_g, usual_mm, note)
    note = ntr(
        "{left} of {oil} makes {number} full block, with {over} left over.",
        "{left} of {oil} makes {number} full blocks, with {over} left over.",
        stock.whole_blocks, left=left, oil=name, over=weight(stock.left_over_g, units),
    )
    return BatchSize(stock.whole_blocks, usual_g, usual_mm, note)
