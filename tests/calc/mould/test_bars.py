"""Bars of a block: cases worked by hand, exact fractions, and the trap of a floored converted length."""

import csv
import math
from fractions import Fraction

import pytest
from blocks_cut import cut_into, grid, used_fraction

from calc.mould.bars import bar_mass_g, count_fitting
from calc.mould.cuts import Wires
from calc.shared import REFERENCE

with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}

BLOCK, BAR = (600.0, 400.0, 200.0), (25.0, 90.0, 60.0)


def test_the_example_block_gives_22_by_4_by_3_bars() -> None:
    # Row F1 of the check values, worked by hand there: floor((L - 2T + k)/(a + k)) = "22 x 4 x 3 = 264".
    along, across, up = grid(cut_into(BLOCK, BAR, kerf_mm=0.8, trim_mm=5.0))
    assert f"{along} x {across} x {up} = {along * across * up}" == CHECKS["F1"]["value"]


def test_a_wire_without_kerf_gives_one_more_slice_and_no_trim_another() -> None:
    # Worked by hand: (600 - 10)/25 = 23.6, 600/25 = 24; the other two axes keep 4 and 3.
    assert grid(cut_into(BLOCK, BAR, trim_mm=5.0)) == (23, 4, 3)
    assert grid(cut_into(BLOCK, BAR)) == (24, 4, 3)


def test_bar_mass_and_used_share_of_the_example_block() -> None:
    # Row F2: 25 x 90 x 60 mm = 135 cm³, times 1.04; 264 x 135 cm³ of 48 000 cm³.
    mass, used = (float(part.split()[0]) for part in CHECKS["F2"]["value"].split("/"))
    assert bar_mass_g(BAR, 1.04) == pytest.approx(mass, abs=float(CHECKS["F2"]["tolerance"]))
    found = cut_into(BLOCK, BAR, kerf_mm=0.8, trim_mm=5.0)
    assert used_fraction(found) == pytest.approx(used, abs=float(CHECKS["F2"]["tolerance"]))


def test_leftover_is_what_trim_bars_and_cuts_do_not_take() -> None:
    # By hand: 590 - 22·25 - 21·0.8 = 23.2; 390 - 4·90 - 3·0.8 = 27.6; 190 - 3·60 - 2·0.8 = 8.4.
    found = cut_into(BLOCK, BAR, kerf_mm=0.8, trim_mm=5.0)
    assert [side.spare_mm for side in found] == pytest.approx([23.2, 27.6, 8.4])


def test_five_bars_of_1_1_inch_fit_5_5_inch_though_floored_floats_say_four() -> None:
    # 25.4 mm is an inch by definition (NIST SP 811 B.8); 5.5/1.1 is exactly 5.
    length_mm, piece_mm = 5.5 * 25.4, 1.1 * 25.4
    assert length_mm // piece_mm == 4
    assert count_fitting(length_mm, piece_mm) == 5


def test_counts_equal_exact_rational_arithmetic() -> None:
    """Lengths in sixteenths, tenths of an inch and tenths of a millimetre, with kerf and trim, against Fractions."""
    inch = Fraction(254, 10)
    checked = lost_by_flooring = 0
    for step in (Fraction(1, 10), inch / 16, inch / 10):
        for pieces in range(1, 40):
            for piece_steps in (7, 11, 13, 16, 24, 40, 53):
                for kerf_steps, trim_steps, extra_steps in ((0, 0, 0), (0, 3, 1), (1, 2, 0), (1, 0, -1), (2, 5, 6)):
                    piece, kerf, trim = piece_steps * step, kerf_steps * step, trim_steps * step
                    length = pieces * piece + (pieces - 1) * kerf + 2 * trim + extra_steps * step
                    exact = math.floor((length - 2 * trim + kerf) / (piece + kerf))
                    sizes = float(length), float(piece), float(kerf), float(trim)
                    assert count_fitting(*sizes) == exact, sizes
                    floored = (sizes[0] - 2 * sizes[3] + sizes[2]) // (sizes[1] + sizes[2])
                    lost_by_flooring += floored != exact
                    checked += 1
    assert checked > 4000
    assert lost_by_flooring > 0  # else this test would not see the trap


def test_a_real_shortfall_of_a_micrometre_still_costs_a_bar() -> None:
    assert count_fitting(100.0, 25.0) == 4
    assert count_fitting(99.999, 25.0) == 3


def test_a_piece_longer_than_the_trimmed_block_gives_none() -> None:
    assert count_fitting(100.0, 95.0, trim_mm=5.0) == 0
    assert count_fitting(100.0, 25.0, kerf_mm=40.0, trim_mm=60.0) == 0
    found = cut_into((100.0, 95.0, 95.0), (95.0, 25.0, 25.0), trim_mm=5.0)
    assert (grid(found)[0], used_fraction(found), found[0].spare_mm) == (0, 0.0, 90.0)


@pytest.mark.parametrize(
    "sizes",
    [(0.0, 25.0), (-1.0, 25.0), (100.0, 0.0), (100.0, -25.0), (100.0, 25.0, -0.1), (100.0, 25.0, 0.0, -1.0),
     (math.nan, 25.0), (100.0, math.inf)],
)  # fmt: skip
def test_impossible_sizes_are_refused(sizes: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="must be"):
        count_fitting(*sizes)


def test_a_zero_pitch_is_refused() -> None:
    with pytest.raises(ValueError, match="space between"):
        Wires((0.0,))
    with pytest.raises(ValueError, match="above zero"):
        bar_mass_g((25.0, 0.0, 60.0), 1.04)
