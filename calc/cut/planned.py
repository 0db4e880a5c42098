"""The cut of a batch's block as its sheet plans it, for whoever stands at the cutter later: bars, loaves, layers, strokes."""

from calc.cut.block import set_block, soap_of
from calc.cut.ways import OwnFrames, Way, best_way
from calc.workshop.equipment import Mould
from calc.workshop.frames import BarFrame, LoafFrame
from calc.workshop.shop import Shop


def planned_way(
    mould: Mould, fill_mm: float, shop: Shop, batter_g_per_ml: float | None, loaf: LoafFrame, bar: BarFrame
) -> Way | None:
    """The way that wastes least of a mould filled to a level [mm]; None where no bar comes out.

    batter_g_per_ml: density of the batter that was poured [g/ml], as a batch's mass and volume tell it; None where unknown.
    """
    soap = soap_of(shop, batter_g_per_ml)
    block = set_block(mould.length_mm, mould.width_mm, fill_mm, soap, soap.sinks_fraction(soap.set_g_per_ml.used))
    return best_way(block, OwnFrames({"": loaf}, {"": bar}, {}))
