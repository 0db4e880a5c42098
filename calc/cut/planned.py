"""The cut of a batch's block as its sheet plans it, for whoever stands at the cutter later: bars, loaves, layers, strokes, weights."""

from dataclasses import dataclass

from calc.cut.block import SetBlock, Soap, Spread, fresh_bar_g, set_block
from calc.cut.ways import OwnFrames, Way, best_way
from calc.workshop.equipment import Cutter, Mould
from calc.workshop.frames import BarFrame, LoafFrame


@dataclass(frozen=True)
class PlannedCut:
    """A set block, and the way of cutting it that wastes least with what was chosen for it."""

    block: SetBlock
    way: Way

    @property
    def bar_mm(self) -> tuple[float, float, float]:
        """Most bars are of this size [mm], along the block's length, width and height."""
        return next(iter(self.way.sizes_mm))

    @property
    def bar_g(self) -> Spread:
        """What such a bar weighs fresh [g]."""
        return fresh_bar_g(self.bar_mm, self.way.cut_by_wire, self.block.soap)

    @property
    def trim_g(self) -> float:
        """What comes off at the faces [g]."""
        return self.block.mass_g(self.way.trim_ml)


def planned_cut(mould: Mould, fill_mm: float, soap: Soap, tools: tuple[LoafFrame, BarFrame] | Cutter) -> PlannedCut | None:
    """A mould filled to a level [mm], set and cut with two frames or a cutter; None where no bar comes out."""
    block = set_block(mould.length_mm, mould.width_mm, fill_mm, soap, soap.sinks_fraction(soap.set_g_per_ml.used))
    if isinstance(tools, Cutter):
        frames = OwnFrames({}, {}, {"": tools})
    else:
        loaf, bar = tools
        frames = OwnFrames({"": loaf}, {"": bar}, {})
    way = best_way(block, frames)
    return None if way is None else PlannedCut(block, way)
