"""The ways a block can be cut with a workshop's frames: which side goes through which wires, and the stack under the bar frame.

The block goes through the loaf frame lengthwise (its loaves are as long as the block) or crosswise (as long as it is wide).
The loaves then lie under the bar frame on the side that lets most of them go under it at once.
"""

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace

from calc.cut.block import SetBlock
from calc.entry.counting import whole_count
from calc.mould.cuts import CutSide, Wires, cut_side
from calc.workshop.equipment import Cutter
from calc.workshop.frames import GAP_MM, BarFrame, LoafFrame

LENGTH, WIDTH, HEIGHT = 0, 1, 2
Sides = tuple[CutSide, CutSide, CutSide]


@dataclass(frozen=True)
class Stack:
    """How the loaves lie under the bar frame. What the frame's measures don't tell is None."""

    stands_mm: float  # one loaf is so high as it lies
    layers: int | None
    abreast: int | None
    strokes: int | None  # how often the frame comes down


@dataclass(frozen=True)
class Way:
    """One way of cutting a block: the frames by id, the side along which loaves run, and what each side gives.

    A cutter that is declared by three distances in one has neither frame nor stack.
    """

    ids: Mapping[str, str]  # kind of item -> its id
    names: tuple[str, ...]
    runs: int  # LENGTH or WIDTH
    loaf_axes: tuple[int, ...]  # the sides that the loaf frame divides
    sides: Sides
    cut_by_wire: tuple[bool, bool, bool]
    stack: Stack | None

    @property
    def grid(self) -> tuple[int, int, int]:
        """Pieces along the block's length, width and height."""
        along, across, up = (len(side.pieces_mm) for side in self.sides)
        return along, across, up

    @property
    def bars(self) -> int:
        """Bars of the block."""
        return math.prod(self.grid)

    @property
    def loaves(self) -> int:
        """Loaves that come out of the loaf frame; 0 where no bar comes of them."""
        return math.prod(self.grid[axis] for axis in self.loaf_axes) if self.bars else 0

    @property
    def bars_ml(self) -> float:
        """All bars together [ml]."""
        return math.prod(side.bars_mm for side in self.sides) / 1000.0

    @property
    def cut_ml(self) -> float:
        """What the cuts between the bars remove [ml]: within the trimmed block, all that is no bar."""
        return math.prod(side.bars_mm + side.cut_mm for side in self.sides) / 1000.0 - self.bars_ml

    @property
    def trim_ml(self) -> float:
        """What comes off at the six faces [ml]."""
        return math.prod(side.side_mm for side in self.sides) / 1000.0 - self.bars_ml - self.cut_ml

    @property
    def used_fraction(self) -> float:
        """The bars' share of the block."""
        return self.bars_ml * 1000.0 / math.prod(side.side_mm for side in self.sides)

    @property
    def sizes_mm(self) -> Mapping[tuple[float, float, float], int]:
        """Each size of bar, and how many there are of it; the most frequent first."""
        found: Counter[tuple[float, float, float]] = Counter()
        counts = [Counter(side.pieces_mm) for side in self.sides]
        for along, n in counts[LENGTH].items():
            for across, m in counts[WIDTH].items():
                for up, k in counts[HEIGHT].items():
                    found[along, across, up] += n * m * k
        return dict(found.most_common())


@dataclass(frozen=True)
class OwnFrames:
    """The frames and cutters of a workshop, by id."""

    loaf: Mapping[str, LoafFrame]
    bar: Mapping[str, BarFrame]
    cutters: Mapping[str, Cutter]


def ways(block: SetBlock, frames: OwnFrames) -> tuple[Way, ...]:
    """Every way that gives a bar, the one that wastes least first; of equals the one that takes fewer strokes."""
    found = [
        way
        for loaf_id, loaf in frames.loaf.items()
        for bar_id, bar in frames.bar.items()
        for runs in (LENGTH, WIDTH)
        if (way := through(block, {"loaf_frame": loaf_id, "bar_frame": bar_id}, loaf, bar, runs)) is not None
    ]
    found += [_by_cutter(block, id_, cutter) for id_, cutter in frames.cutters.items() if _cuts(cutter)]
    return tuple(sorted((way for way in found if way.bars), key=_waste))


def _waste(way: Way) -> tuple[float, int]:
    # To the millionth: what arithmetic leaves in the last figures must not decide between two ways that waste alike.
    strokes = way.stack.strokes if way.stack is not None and way.stack.strokes is not None else way.loaves
    return -math.floor(way.used_fraction * 1e6 + 0.5), strokes


def through(block: SetBlock, ids: Mapping[str, str], loaf: LoafFrame, bar: BarFrame, runs: int) -> Way | None:
    """A block through two frames, its loaves running along its length or its width; None where they don't go under."""
    across = WIDTH if runs == LENGTH else LENGTH
    sides_mm = block.sides_mm
    if bar.longest_mm is not None and sides_mm[runs] > bar.longest_mm:
        return None
    bottom_mm = loaf.trim_mm if loaf.trim_bottom_mm is None else loaf.trim_bottom_mm
    top_mm = loaf.trim_mm if loaf.trim_top_mm is None else loaf.trim_top_mm
    level = _level_wires(loaf, bar)
    by_axis = {
        across: cut_side(sides_mm[across], Wires(loaf.spaces_mm, loaf.kerf_mm, loaf.wires), _at_stop(loaf), loaf.trim_mm),
        runs: cut_side(sides_mm[runs], Wires(bar.spaces_mm, bar.kerf_mm, bar.wires), _at_stop(bar), bar.trim_mm),
        HEIGHT: cut_side(sides_mm[HEIGHT], level, bottom_mm, top_mm),
    }
    sides = (by_axis[LENGTH], by_axis[WIDTH], by_axis[HEIGHT])
    by_bar_frame = loaf.level_pitch_mm is None and bar.cross_pitch_mm is not None
    stack = _stack(sides, across, bar, by_bar_frame)
    if stack is not None and stack.layers == 0:
        return None
    loaf_axes = (across,) if loaf.level_pitch_mm is None else (across, HEIGHT)
    return Way(ids, (loaf.name, bar.name), runs, loaf_axes, sides, (True, True, level is not None), stack)


def _at_stop(frame: LoafFrame | BarFrame) -> float:
    return max(frame.trim_mm, frame.first_mm or 0.0)


def _level_wires(loaf: LoafFrame, bar: BarFrame) -> Wires | None:
    """What divides the height: the loaf frame's level wires, else the bar frame's wires across; else nothing."""
    if loaf.level_pitch_mm is not None:
        return Wires((loaf.level_pitch_mm,), loaf.kerf_mm, loaf.level_wires)
    return None if bar.cross_pitch_mm is None else Wires((bar.cross_pitch_mm,), bar.kerf_mm, bar.cross_wires)


def _stack(sides: Sides, across: int, bar: BarFrame, height_lies: bool) -> Stack | None:
    """The loaves under the bar frame, lying so that the fewest strokes cut them all; None where there are none.

    height_lies: its wires across divide the block's height, which so lies flat.
    """
    if not all(side.pieces_mm for side in sides):
        return None
    thick_mm = max(sides[across].pieces_mm)
    high_mm = sides[HEIGHT].side_mm if height_lies else max(sides[HEIGHT].pieces_mm)
    loaves = len(sides[across].pieces_mm) * (1 if height_lies else len(sides[HEIGHT].pieces_mm))
    lying = [(thick_mm, high_mm)] if height_lies else [(thick_mm, high_mm), (high_mm, thick_mm)]
    return min((_lying(loaves, stands, lies, bar) for stands, lies in lying), key=_effort)


def _lying(loaves: int, stands_mm: float, lies_mm: float, bar: BarFrame) -> Stack:
    layers = None if bar.opening_mm is None else whole_count(max(0.0, bar.opening_mm - GAP_MM) / stands_mm)
    abreast = None if bar.bed_mm is None else whole_count(bar.bed_mm / lies_mm)
    if layers is None:
        return Stack(stands_mm, None, abreast, None)
    # A loaf wider than the table may still lie on it.
    at_once = layers * max(1, abreast or 1)
    return Stack(stands_mm, layers, abreast, -(-loaves // at_once) if at_once else None)


def _effort(stack: Stack) -> tuple[bool, float, float]:
    """No room at all is the worst; then the strokes; then the height, for a low stack stands the surest."""
    return stack.layers == 0, math.inf if stack.strokes is None else stack.strokes, stack.stands_mm


def _cuts(cutter: Cutter) -> bool:
    return min(cutter.pitch_length_mm, cutter.pitch_width_mm, cutter.pitch_height_mm) > cutter.kerf_mm


def _by_cutter(block: SetBlock, id_: str, cutter: Cutter) -> Way:
    pitches = (cutter.pitch_length_mm, cutter.pitch_width_mm, cutter.pitch_height_mm)
    along, across, up = (
        cut_side(side_mm, Wires((pitch_mm,), cutter.kerf_mm), cutter.trim_mm, cutter.trim_mm)
        for side_mm, pitch_mm in zip(block.sides_mm, pitches, strict=True)
    )
    return Way({"cutter": id_}, (cutter.name,), LENGTH, (WIDTH, HEIGHT), (along, across, up), (True, True, True), None)


def best_way(block: SetBlock, frames: OwnFrames) -> Way | None:
    """The way that wastes least; None where no bar comes out of the block."""
    return next(iter(ways(block, frames)), None)


def same_way(block: SetBlock, way: Way, frames: OwnFrames, pitch_mm: float | None = None) -> Way | None:
    """Another block cut as this one was; where a pitch [mm] is given, with the wires along the loaf that far apart."""
    if "cutter" in way.ids:
        cutter = frames.cutters[way.ids["cutter"]]
        changed = cutter if pitch_mm is None else replace(cutter, pitch_length_mm=pitch_mm)
        return _by_cutter(block, way.ids["cutter"], changed) if _cuts(changed) else None
    loaf, bar = frames.loaf[way.ids["loaf_frame"]], frames.bar[way.ids["bar_frame"]]
    changed_bar = bar if pitch_mm is None else replace(bar, pitch_mm=pitch_mm, spaces=())
    return through(block, way.ids, loaf, changed_bar, way.runs)
