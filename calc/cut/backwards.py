"""From the bars wanted back to the batch: weight at sale, fresh bar, how far apart its wires, blocks, fill, batter."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from calc.cut.advice import PITCH_STEP_MM, filled_for
from calc.cut.block import Soap
from calc.cut.ways import HEIGHT, Way
from calc.entry.counting import COUNTING_TOLERANCE
from calc.mould.scaling import blocks_for_bars, fill_volume_ml


@dataclass(frozen=True)
class Wanted:
    """What the bars wanted come to. The way is of a block as high as can be; masses are as fresh as the name says."""

    bars: int | None
    sold_g: float | None
    fresh_g: float | None  # what one has to weigh at the cutter
    pitch_mm: float | None  # of the wires along the loaf for just that weight
    heavy_enough: bool  # the frames as they are give bars that weigh it
    way: Way  # with the frames as they are, or with wires at that pitch
    blocks: int
    fill_mm: float
    all_bars: int
    one_block_less: int  # bars that a block less, each as full as can be, would give
    batter_g: float | None  # None without a formula


def pitch_for(way: Way, fresh_g: float, soap: Soap, units: str) -> float:
    """How far apart the wires along the loaf stand for a bar of that mass [mm], up to a whole step.

    The bar's other two sizes stay the least they are.
    """
    across = [min(side.pieces_mm) for axis, side in enumerate(way.sides) if axis != way.runs]
    exact_mm = fresh_g * 1000.0 / soap.set_g_per_ml.used / (across[0] * across[1]) + way.sides[way.runs].kerf_mm
    step_mm = PITCH_STEP_MM[units]
    return math.ceil(exact_mm / step_mm * (1.0 - COUNTING_TOLERANCE)) * step_mm


def lightest_ml(way: Way) -> float:
    """The smallest bar of a way [ml]."""
    along, across, up = (min(side.pieces_mm) for side in way.sides)
    return along * across * up / 1000.0


def weighs_enough(way: Way, sold_g: float | None, soap: Soap) -> bool:
    """Whether the smallest bar of a way comes to that weight at sale [g], by the middle of what is known of the soap."""
    if sold_g is None:
        return True
    return lightest_ml(way) * soap.set_g_per_ml.used >= _fresh_g(sold_g, soap) * (1.0 - COUNTING_TOLERANCE)


def _fresh_g(sold_g: float, soap: Soap) -> float:
    return sold_g / (1.0 - soap.loss_fraction.used)


def way_for(meant: Sequence[Way], sold_g: float | None, soap: Soap) -> Way:
    """Of ways, the best first, the one for bars of a weight at sale [g].

    Of those whose bars weigh enough as the frames are, the one that gives most; where none does, the first.
    """
    enough = [way for way in meant if weighs_enough(way, sold_g, soap)]
    return meant[0] if sold_g is None or not enough else max(enough, key=lambda way: way.bars)


def wanted(
    bars: int | None,
    sold_g: float | None,
    way: Way,
    soap: Soap,
    mould_mm: tuple[float, float],
    fill_mm: float,
    sinks_fraction: float,
    units: str,
    at_pitch: Callable[[float], Way | None],
) -> Wanted | None:
    """What is to be made; None where wires for that weight leave no bar in the block.

    way: the frames as they are; at_pitch: the same way with the wires along the loaf that far apart [mm].
    mould_mm: length and width of the mould [mm]; fill_mm: the highest fill thought of [mm]; sinks_fraction: the most that
    the block may sink, so that no layer is lost.
    No bar is short: where the frames give lighter ones, wires at the pitch found are counted with.
    """
    fresh_g = None if sold_g is None else _fresh_g(sold_g, soap)
    pitch_mm = None if fresh_g is None else pitch_for(way, fresh_g, soap, units)
    enough = weighs_enough(way, sold_g, soap)
    used = way
    if not enough and pitch_mm is not None:
        other = at_pitch(pitch_mm)
        if other is None or not other.bars:
            return None
        used = other
    blocks = 1 if bars is None else blocks_for_bars(bars, used.bars)
    layers, high_mm = _layers(bars, blocks, used), fill_mm
    side = used.sides[HEIGHT]
    if used.cut_by_wire[HEIGHT]:
        less_mm = (len(side.pieces_mm) - layers) * (side.pieces_mm[0] + side.kerf_mm)
        high_mm = min(fill_mm, filled_for(side.needed_mm - less_mm, sinks_fraction, units))
    each = used.bars // len(side.pieces_mm) * layers
    batter_g = None if soap.batter_g_per_ml is None else fill_volume_ml(*mould_mm, high_mm) * soap.batter_g_per_ml
    return Wanted(bars, sold_g, fresh_g, pitch_mm, enough, used, blocks, high_mm, blocks * each, (blocks - 1) * used.bars, batter_g)


def _layers(bars: int | None, blocks: int, way: Way) -> int:
    """Layers of bars that each of the blocks has to give."""
    all_layers = len(way.sides[HEIGHT].pieces_mm)
    if bars is None or not way.cut_by_wire[HEIGHT]:
        return all_layers
    return _up(_up(bars, blocks), way.bars // all_layers)


def _up(whole: int, part: int) -> int:
    """How many parts hold the whole."""
    return -(-whole // part)
