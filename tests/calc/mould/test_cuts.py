"""Cuts of a side against pieces placed one by one in exact fractions, in both systems of units; rows F of the check values."""

import csv
import math
from fractions import Fraction
from random import Random

import pytest

from calc.mould.cuts import CutSide, Wires, cut_side
from calc.shared import REFERENCE

with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}

# NIST SP 811, B.8: an inch is 25.4 mm by definition.
INCH = Fraction(254, 10)
STEPS = (Fraction(1, 10), Fraction(1), INCH / 16, INCH / 10)


def placed(side: Fraction, spaces: list[Fraction], kerf: Fraction, first: Fraction, last: Fraction) -> list[Fraction]:
    """Brute force: the saw goes down piece by piece until the next one would not fit; the end of each piece."""
    at, ends = first, []
    for number in range(10_000 if len(spaces) == 1 else len(spaces)):
        piece = spaces[number if len(spaces) > 1 else 0] - kerf
        start = at + kerf if ends else at
        if start + piece > side - last:
            break
        at = start + piece
        ends.append(at)
    return ends


def random_cases(count: int) -> list[tuple[Fraction, list[Fraction], Fraction, Fraction, Fraction]]:
    """Sides in whole steps of a unit, many of them an exact fit or a step off it."""
    chance, cases = Random(13), []
    for _ in range(count):
        step = chance.choice(STEPS)
        kerf = chance.choice((0, 0, 0, 1, 2)) * step
        spaces = [chance.randint(8, 90) * step + kerf for _ in range(chance.choice((1, 1, 2, 3, 7)))]
        first, last = chance.randint(0, 20) * step, chance.randint(0, 20) * step
        if chance.random() < 0.6:
            pieces = chance.randint(1, 30) if len(spaces) == 1 else chance.randint(1, len(spaces))
            total = sum(spaces[n if len(spaces) > 1 else 0] - kerf for n in range(pieces)) + (pieces - 1) * kerf
            side = first + last + total + chance.randint(-1, 1) * step
        else:
            side = chance.randint(20, 3000) * step
        cases.append((max(side, step), spaces, kerf, first, last))
    return cases


def test_pieces_and_cuts_are_those_of_a_placement_by_brute_force() -> None:
    floored_otherwise = 0
    for side, spaces, kerf, first, last in random_cases(6000):
        found = cut_side(float(side), Wires(tuple(map(float, spaces)), float(kerf)), float(first), float(last))
        ends = placed(side, spaces, kerf, first, last) if first + last < side else []
        assert len(found.pieces_mm) == len(ends), (side, spaces, kerf, first, last)
        inside = [float(end) for end in ([first, *ends] if ends else []) if 0 < end < side]
        assert found.cuts_mm == pytest.approx(inside)
        plain = math.floor((float(side) - float(first) - float(last) + float(kerf)) / float(spaces[0])) if len(spaces) == 1 else len(ends)
        floored_otherwise += plain != len(ends) and bool(ends)
    assert floored_otherwise > 0  # else the trap of a floored float was never met


def test_the_example_block_of_the_check_values() -> None:
    # Row F1: block 600 x 400 x 200, trim 5 a side, kerf 0.8, bar 25 x 90 x 60.
    sides = [cut_side(side, Wires((bar + 0.8,), 0.8), 5.0, 5.0) for side, bar in ((600.0, 25.0), (400.0, 90.0), (200.0, 60.0))]
    grid = [len(side.pieces_mm) for side in sides]
    assert f"{grid[0]} x {grid[1]} x {grid[2]} = {math.prod(grid)}" == CHECKS["F1"]["value"]
    used = math.prod(side.bars_mm for side in sides) / (600.0 * 400.0 * 200.0)
    assert used == pytest.approx(float(CHECKS["F2"]["value"].split("/")[1]), abs=float(CHECKS["F2"]["tolerance"]))


# Sizes that conversion to millimetres leaves a hair off, and plain ones; any number of them up to 59: 354 cases.
SIZES = (Fraction(11, 10) * INCH, Fraction(7, 10) * INCH, Fraction(15, 16) * INCH, Fraction(23, 10) * INCH, Fraction(251, 10), Fraction(603, 10))


@pytest.mark.parametrize("size", SIZES)
def test_n_bars_come_out_of_n_times_their_size(size: Fraction) -> None:
    unit = float(INCH)
    for n in range(1, 60):
        # As forms give it: a decimal of an inch times 25.4, or of a millimetre; and n of them typed as one number.
        typed_one, typed_all = float(size / INCH) * unit, float(n * size / INCH) * unit
        assert len(cut_side(typed_all, Wires((typed_one,))).pieces_mm) == n
        assert len(cut_side(float(n * size), Wires((float(size),))).pieces_mm) == n


def test_nothing_of_a_side_is_lost_or_made() -> None:
    for side, spaces, kerf, first, last in random_cases(2000):
        found = cut_side(float(side), Wires(tuple(map(float, spaces)), float(kerf)), float(first), float(last))
        assert found.first_mm + found.bars_mm + found.cut_mm + found.last_mm == pytest.approx(float(side))


def test_more_trim_never_gives_more_pieces() -> None:
    chance = Random(14)
    for side, spaces, kerf, first, last in random_cases(2000):
        wires, more = Wires(tuple(map(float, spaces)), float(kerf)), float(chance.randint(0, 30))
        now = len(cut_side(float(side), wires, float(first), float(last)).pieces_mm)
        assert len(cut_side(float(side), wires, float(first) + more, float(last)).pieces_mm) <= now
        assert len(cut_side(float(side), wires, float(first), float(last) + more).pieces_mm) <= now


def test_a_side_without_wires_stays_whole_less_its_trim() -> None:
    assert cut_side(60.0, None, 3.0, 2.0) == CutSide(60.0, 3.0, (55.0,), 0.0, 2.0)
    assert cut_side(60.0, None).cuts_mm == ()


def test_the_shortest_side_for_the_pieces_gives_just_them() -> None:
    # By hand: 5 + 3 x 60 + 2 x 1 + 5 = 192.
    found = cut_side(230.0, Wires((61.0,), 1.0), 5.0, 5.0)
    assert (len(found.pieces_mm), found.needed_mm, found.spare_mm) == (3, 192.0, 38.0)
    assert len(cut_side(192.0, Wires((61.0,), 1.0), 5.0, 5.0).pieces_mm) == 3
    assert len(cut_side(191.9, Wires((61.0,), 1.0), 5.0, 5.0).pieces_mm) == 2


@pytest.mark.parametrize("sizes", [((), 0.0), ((0.0,), 0.0), ((5.0,), 5.0), ((5.0, -1.0), 0.0), ((5.0,), -0.1), ((math.inf,), 0.0)])
def test_impossible_wires_are_refused(sizes: tuple[tuple[float, ...], float]) -> None:
    with pytest.raises(ValueError, match="must be|need a space"):
        Wires(*sizes)


@pytest.mark.parametrize("sizes", [(0.0, 0.0, 0.0), (math.nan, 0.0, 0.0), (10.0, -1.0, 0.0), (10.0, 0.0, math.inf)])
def test_impossible_sides_are_refused(sizes: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="must be"):
        cut_side(sizes[0], Wires((5.0,)), sizes[1], sizes[2])


@pytest.mark.parametrize(
    ("side", "wires", "ends", "pieces", "wireless"),
    [
        # By hand: 5 wires part 125 mm of 25 into 5 and a rest of 475; a 600 mm side without ends needs 23 wires for 24.
        (600.0, Wires((25.0,), number=5), (0.0, 0.0), 5, 19),
        (600.0, Wires((25.0,), number=23), (0.0, 0.0), 24, 0),
        (600.0, Wires((25.0,), number=22), (0.0, 0.0), 22, 2),
        # Trimmed by 5 mm at either end, the first wire and the last one take it off: N wires leave N - 1.
        (600.0, Wires((25.0,), number=24), (5.0, 5.0), 23, 0),
        (600.0, Wires((25.0,), number=23), (5.0, 5.0), 22, 1),
        (600.0, Wires((25.0,), number=1), (5.0, 5.0), 0, 23),
        # Three spaces that are given: the rest of 5 mm takes a wire too.
        (210.0, Wires((60.0, 60.0, 85.0), number=3), (0.0, 0.0), 3, 0),
        (210.0, Wires((60.0, 60.0, 85.0), number=2), (0.0, 0.0), 2, 1),
    ],
)
def test_so_many_wires_make_one_piece_more_at_most(side, wires, ends, pieces, wireless):
    found = cut_side(side, wires, *ends)
    assert (len(found.pieces_mm), found.wireless) == (pieces, wireless)
    assert len(found.pieces_mm) <= wires.number + 1
    assert len(found.cuts_mm) <= wires.number
    # Nothing is lost: what there is no wire for stays with what comes off.
    assert found.first_mm + found.bars_mm + found.cut_mm + found.last_mm == pytest.approx(side)


def test_a_frame_without_a_wire_is_refused():
    with pytest.raises(ValueError, match="a wire at least"):
        Wires((25.0,), number=0)
