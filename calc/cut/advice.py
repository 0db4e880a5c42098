"""What would waste less: another fill, another distance of wires."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from calc.cut.block import FILL_MM, SetBlock
from calc.cut.ways import HEIGHT, Way
from calc.entry.counting import COUNTING_TOLERANCE
from calc.entry.units import convert
from calc.mould.cuts import CutSide, cuts_for

# Fill heights are proposed in steps that can be read off a rule [mm].
STEP_MM = {"metric": 1.0, "us": convert(0.05, "in", "mm")}
# And wires in steps that are shown [mm].
PITCH_STEP_MM = {"metric": 0.1, "us": convert(0.01, "in", "mm")}


def filled_for(needed_mm: float, sinks_fraction: float, units: str) -> float:
    """The fill [mm] whose block is surely so high: more by what it sinks at most and by what the level is off, up to a whole step."""
    step_mm = STEP_MM[units]
    exact_mm = needed_mm / (1.0 - sinks_fraction) + FILL_MM
    return math.ceil(exact_mm / step_mm * (1.0 - COUNTING_TOLERANCE)) * step_mm


@dataclass(frozen=True)
class LowerFill:
    """The same bars from less."""

    fill_mm: float
    saved_g: float


@dataclass(frozen=True)
class HigherFill:
    """One more layer from the same mould."""

    fill_mm: float
    more_bars: int


@dataclass(frozen=True)
class OtherPitch:
    """Wires that leave nothing over along a side, with pieces as many as now or one more."""

    axis: int
    now_mm: float
    pitch_mm: float
    pieces: int
    spare_mm: float  # what is left over now
    bar_fraction: float  # the new bar's size along that side, of the present one


def lower_fill(way: Way, block: SetBlock, fill_mm: float, sinks_fraction: float, units: str) -> LowerFill | None:
    """A lower fill for the same bars; None where less than the level is off would be saved."""
    if not way.cut_by_wire[HEIGHT]:
        return None
    lower_mm = filled_for(way.sides[HEIGHT].needed_mm, sinks_fraction, units)
    if fill_mm - lower_mm <= FILL_MM:
        return None
    return LowerFill(lower_mm, block.mass_g(block.volume_ml * (1.0 - lower_mm / fill_mm)))


def higher_fill(
    way: Way, fill_mm: float, highest_mm: float, sinks_fraction: float, units: str, cut: Callable[[float], Way | None]
) -> HigherFill | None:
    """A fill for one more layer of bars, where the mould is high enough; cut: the block of a fill [mm], cut in the same way."""
    side = way.sides[HEIGHT]
    if not (way.cut_by_wire[HEIGHT] and side.pieces_mm):
        return None
    needed_mm = side.needed_mm + side.pieces_mm[-1] + side.kerf_mm
    higher_mm = filled_for(needed_mm, sinks_fraction, units)
    if not fill_mm < higher_mm <= highest_mm:
        return None
    more = cut(higher_mm)
    if more is None or more.bars <= way.bars or more.used_fraction <= way.used_fraction:
        return None
    return HigherFill(higher_mm, more.bars - way.bars)


def other_pitch(way: Way, units: str) -> OtherPitch | None:
    """For the side that leaves most over: the nearest distance of equal wires that leaves nothing; None where little is left.

    The height is left out: there the fill is changed, not the frame.
    """
    sides = [(axis, side) for axis, side in enumerate(way.sides) if axis != HEIGHT and _equal(side)]
    if not sides:
        return None
    axis, side = max(sides, key=lambda each: each[1].spare_mm / each[1].side_mm)
    pieces, now_mm, kerf_mm = len(side.pieces_mm), side.pieces_mm[0] + side.kerf_mm, side.kerf_mm
    usable_mm = side.side_mm - side.first_mm - side.least_last_mm + kerf_mm
    step_mm = PITCH_STEP_MM[units]
    # Down to a whole step, so that what is shown still fits.
    counts = (pieces, pieces + 1) if _wire_for_one_more(side) else (pieces,)
    choices = [(n, math.floor(usable_mm / n / step_mm * (1.0 + COUNTING_TOLERANCE)) * step_mm) for n in counts]
    n, pitch_mm = min(choices, key=lambda each: abs(each[1] - now_mm))
    if pitch_mm - kerf_mm <= 0.0 or abs(pitch_mm - now_mm) < 1.0 or side.spare_mm <= 0.0:
        return None
    return OtherPitch(axis, now_mm, pitch_mm, n, side.spare_mm, (pitch_mm - kerf_mm) / side.pieces_mm[0])


def _wire_for_one_more(side: CutSide) -> bool:
    return side.number is None or cuts_for(side) < side.number


def _equal(side: CutSide) -> bool:
    return bool(side.pieces_mm) and min(side.pieces_mm) == max(side.pieces_mm)
