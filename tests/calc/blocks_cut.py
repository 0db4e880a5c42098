"""A block under equal wires along each side, as the worked examples have it."""

import math

from calc.mould.cuts import CutSide, Wires, cut_side

Sizes = tuple[float, float, float]


def cut_into(block: Sizes, bar: Sizes, kerf_mm: float = 0.0, trim_mm: float = 0.0) -> tuple[CutSide, CutSide, CutSide]:
    """The three sides of a block [mm] cut into bars of that size."""
    along, across, up = (
        cut_side(side, Wires((piece + kerf_mm,), kerf_mm), trim_mm, trim_mm) for side, piece in zip(block, bar, strict=True)
    )
    return along, across, up


def grid(sides: tuple[CutSide, ...]) -> tuple[int, ...]:
    """Pieces along each side."""
    return tuple(len(side.pieces_mm) for side in sides)


def used_fraction(sides: tuple[CutSide, ...]) -> float:
    """The bars' share of the block."""
    return math.prod(side.bars_mm for side in sides) / math.prod(side.side_mm for side in sides)
