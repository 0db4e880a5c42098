"""Ways of cutting against bars laid one by one in exact fractions; volume; trim; the stack, reckoned by hand."""

import itertools
import math
from dataclasses import replace
from fractions import Fraction
from random import Random

import pytest

from calc.cut.block import Soap, Spread, set_block
from calc.cut.ways import HEIGHT, LENGTH, WIDTH, OwnFrames, best_way, through, ways
from calc.workshop.equipment import Cutter
from calc.workshop.frames import BarFrame, LoafFrame, Space

SOAP = Soap(1.0, Spread(1.04, 1.04, 1.04), Spread(0.1, 0.1, 0.1))
# NIST SP 811, B.8.
INCH = Fraction(254, 10)


def loaf(pitch: float | None = 90.0, level: float | None = 60.0, trim: float = 5.0, **more: object) -> LoafFrame:
    values = {"name": "L", "pitch_mm": pitch, "spaces": (), "level_pitch_mm": level, "cuts_with": "wire", "trim_mm": trim}
    return LoafFrame(**{**values, **more})


def bar(pitch: float | None = 25.0, trim: float = 5.0, **more: object) -> BarFrame:
    return BarFrame(**{"name": "B", "pitch_mm": pitch, "spaces": (), "cuts_with": "wire", "trim_mm": trim, **more})


def block(length: float = 600.0, width: float = 400.0, height: float = 200.0):
    return set_block(length, width, height, SOAP, 0.0)


def own(loaf_frame: LoafFrame, bar_frame: BarFrame, *cutters: Cutter) -> OwnFrames:
    return OwnFrames({"l": loaf_frame}, {"b": bar_frame}, dict(zip("cde", cutters)))


def laid(sides, sizes, kerfs, firsts, lasts) -> int:
    """Bars laid one by one, each at its own corner; a bar counts where it lies wholly inside what the trim leaves."""
    corners = []
    for axis in range(3):
        at, row = firsts[axis], []
        while at + sizes[axis] <= sides[axis] - lasts[axis]:
            row.append(at)
            at += sizes[axis] + kerfs[axis]
        corners.append(row)
    return len({corner for corner in itertools.product(*corners)})


def test_bars_are_those_laid_one_by_one_both_ways_round() -> None:
    chance, counted, bars = Random(7), 0, 0
    for _ in range(1500):
        step = chance.choice((Fraction(1, 2), Fraction(1), INCH / 16, INCH / 10))
        sides = [chance.randint(low, high) * step for low, high in ((60, 700), (60, 500), (40, 240))]
        kerf = chance.choice((0, 0, 1, 2)) * step
        pitches = [chance.randint(12, 110) * step + kerf for _ in range(3)]
        trims = [chance.randint(0, 12) * step for _ in range(4)]
        blade = {"cuts_with": "blade" if kerf else "wire", "thickness_mm": float(kerf) or None}
        frame = loaf(float(pitches[0]), float(pitches[1]), float(trims[0]), trim_top_mm=float(trims[1]), trim_bottom_mm=float(trims[2]), **blade)
        bars_frame = bar(float(pitches[2]), float(trims[3]), **blade)
        for runs, across in ((LENGTH, WIDTH), (WIDTH, LENGTH)):
            size, first, last = [Fraction(0)] * 3, [Fraction(0)] * 3, [Fraction(0)] * 3
            size[across], size[HEIGHT], size[runs] = (pitch - kerf for pitch in pitches)
            first[across], first[HEIGHT], first[runs] = trims[0], trims[2], trims[3]
            last[across], last[HEIGHT], last[runs] = trims[0], trims[1], trims[3]
            expected = laid(sides, size, [kerf] * 3, first, last)
            way = through(block(*map(float, sides)), {}, frame, bars_frame, runs)
            assert way is not None and way.bars == expected, (sides, pitches, kerf, trims, runs)
            counted, bars = counted + 1, bars + expected
            # Nothing is lost or made, and each size of bar is counted.
            assert way.bars_ml + way.cut_ml + way.trim_ml == pytest.approx(float(math.prod(sides)) / 1000.0)
            assert min(way.bars_ml, way.cut_ml + 1e-6, way.trim_ml + 1e-6) >= 0.0
            assert sum(way.sizes_mm.values()) == way.bars
    assert counted == 3000 and bars > 50_000


def test_more_trim_never_gives_more_bars() -> None:
    chance = Random(8)
    for _ in range(400):
        size = block(*(chance.uniform(low, high) for low, high in ((200.0, 800.0), (150.0, 600.0), (60.0, 250.0))))
        frames = [loaf(chance.uniform(30.0, 120.0), chance.uniform(20.0, 90.0), 0.0), bar(chance.uniform(15.0, 60.0), 0.0)]
        before = None
        for trim in (0.0, 1.0, 2.5, 5.0, 9.0, 20.0):
            found = best_way(size, own(replace(frames[0], trim_mm=trim), replace(frames[1], trim_mm=trim)))
            bars = 0 if found is None else found.bars
            most = max((way.bars for way in ways(size, own(replace(frames[0], trim_mm=trim), replace(frames[1], trim_mm=trim)))), default=0)
            assert before is None or most <= before
            assert bars <= most
            before = most


def test_the_example_block_with_a_blade_and_with_wires() -> None:
    # Row F1 of the check values: 22 x 4 x 3 = 264 with a kerf of 0.8; by hand beside it in the reference: 276 without.
    blade = {"cuts_with": "blade", "thickness_mm": 0.8}
    found = through(block(), {}, loaf(90.8, 60.8, **blade), bar(25.8, **blade), LENGTH)
    assert found is not None and (found.grid, found.bars, found.loaves) == ((22, 4, 3), 264, 12)
    # Row F2: 0.7425 of the block.
    assert found.used_fraction == pytest.approx(0.7425, abs=0.0001)
    found = through(block(), {}, loaf(), bar(), LENGTH)
    assert found is not None and found.bars == 276


def test_the_way_round_that_wastes_least_comes_first() -> None:
    # By hand: lengthwise 23 x 4 x 3 = 276; crosswise the length gives 6 of 90 and the width 15 of 25: 270.
    found = ways(block(), own(loaf(), bar()))
    assert [(way.runs, way.bars) for way in found] == [(LENGTH, 276), (WIDTH, 270)]
    # Against a cutter of three distances that leaves less over: 24 x 5 x 3 bars of 25 x 80 x 60, without trim.
    cutter = Cutter(name="C", pitch_length_mm=25.0, pitch_width_mm=80.0, pitch_height_mm=60.0, trim_mm=0.0, kerf_mm=0.0)
    first = ways(block(), own(loaf(), bar(), cutter))[0]
    assert (first.names, first.bars, first.stack) == (("C",), 360, None)


def test_spaces_that_differ_give_bars_of_several_sizes() -> None:
    frame = loaf(None, spaces=(Space(space_mm=60.0), Space(space_mm=120.0), Space(space_mm=190.0), Space(space_mm=60.0)))
    found = through(block(), {}, frame, bar(), LENGTH)
    # By hand: 5 + 60 + 120 + 190 = 375, and 60 more is over 395.
    assert found is not None and found.grid == (23, 3, 3)
    assert dict(found.sizes_mm) == {(25.0, 60.0, 60.0): 69, (25.0, 120.0, 60.0): 69, (25.0, 190.0, 60.0): 69}


def test_a_first_wire_farther_from_the_stop_than_the_trim_takes_that_off() -> None:
    found = through(block(), {}, loaf(first_mm=30.0), bar(first_mm=2.0), LENGTH)
    assert found is not None and (found.sides[WIDTH].first_mm, found.sides[LENGTH].first_mm) == (30.0, 5.0)


def test_layers_keep_the_gap_and_loaves_lie_so_that_fewest_strokes_cut_them() -> None:
    # By hand: 12 loaves of 90 by 60; (240 - 50)/60 = 3 layers lying flat, 2 side by side on 200: 2 strokes.
    # On edge: (240 - 50)/90 = 2 layers, 3 side by side: 2 strokes too, but a higher stack.
    found = through(block(), {}, loaf(), bar(opening_mm=240.0, bed_mm=200.0), LENGTH)
    assert found is not None and found.stack is not None
    assert (found.stack.stands_mm, found.stack.layers, found.stack.abreast, found.stack.strokes) == (60.0, 3, 2, 2)
    # 80 mm under the wires leave 30 over the gap: no loaf goes under it.
    assert through(block(), {}, loaf(), bar(opening_mm=80.0), LENGTH) is None
    # A frame for loaves of half a metre takes them crosswise only.
    assert [way.runs for way in ways(block(), own(loaf(), bar(longest_mm=500.0)))] == [WIDTH]
    # Nobody measured the frame.
    found = through(block(), {}, loaf(), bar(), LENGTH)
    assert found is not None and found.stack is not None and found.stack.layers is None and found.stack.strokes is None


def test_without_level_wires_the_height_is_left_to_the_bar_frames_cross_wires_or_stays_whole() -> None:
    crossed = through(block(), {}, loaf(level=None), bar(cross_pitch_mm=60.0, opening_mm=300.0, bed_mm=250.0), LENGTH)
    # By hand: four slices 90 thick lie flat, 2 high under 250, one beside the other: 23 x 4 x 3 bars, 4 loaves, 2 strokes.
    assert crossed is not None and (crossed.bars, crossed.loaves) == (276, 4)
    assert crossed.stack is not None and (crossed.stack.stands_mm, crossed.stack.layers, crossed.stack.strokes) == (90.0, 2, 2)
    whole = through(block(height=70.0), {}, loaf(level=None), bar(), LENGTH)
    assert whole is not None and set(whole.sizes_mm) == {(25.0, 90.0, 60.0)} and whole.cut_by_wire == (True, True, False)


def test_no_bar_no_way() -> None:
    assert ways(block(height=40.0), own(loaf(), bar())) == ()
    assert best_way(block(height=40.0), own(loaf(), bar())) is None
