"""From a formula to amounts: worked by hand, and the example block of the check values."""

import csv
import math
from collections.abc import Callable

import pytest

from calc.chemistry.density import batter_volume_ml
from calc.mould.scaling import (
    blocks_for_bars,
    blocks_from_stock,
    fill_height_mm,
    fill_volume_ml,
    oils_for_batch_mass_g,
    oils_for_volume_g,
)
from calc.shared import REFERENCE

with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}


def test_mould_volume_and_level() -> None:
    # By hand: 60 cm · 40 cm · 21 cm = 50 400 cm³.
    assert fill_volume_ml(600.0, 400.0, 210.0) == pytest.approx(50_400.0)
    assert fill_height_mm(50_400.0, 600.0, 400.0) == pytest.approx(210.0)


def test_the_example_mould_takes_50_8_kg() -> None:
    # Worked by hand, ideal mixing: batter of 34.98 kg oils at 0.9097 and 15.04 kg lye at 1.3478 g/ml is
    # 1.008 kg/l, so 50.4 l take 50.8 kg (printed to 0.1 kg).
    ratio = 15.04 / 34.98
    oils_g = oils_for_volume_g(50_400.0, [(1.0, 0.9097)], ratio, 1.3478)
    assert oils_g * (1.0 + ratio) == pytest.approx(50_800.0, abs=50.0)


def test_other_ingredients_take_their_share_of_the_volume() -> None:
    # By hand: counted at the batter's density, 10 % other per (oils + lye) leaves 1/1.1 of the volume for oils and lye.
    plain = oils_for_volume_g(1000.0, [(0.6, 0.91), (0.4, 0.92)], 0.4, 1.35)
    with_other = oils_for_volume_g(1000.0, [(0.6, 0.91), (0.4, 0.92)], 0.4, 1.35, other_ratio=0.14)
    assert with_other == pytest.approx(plain / 1.1)


def test_oils_for_a_batch_mass() -> None:
    # The example block: 15.74 + 10.50 + 8.74 = 34.98 kg of oils with 15.04 kg of lye make 50.02 kg.
    assert oils_for_batch_mass_g(50_020.0, 15.04 / 34.98) == pytest.approx(34_980.0)


def test_blocks_for_bars_rounds_up() -> None:
    # 264 bars a block (row F1): 264 need one, 265 need two.
    assert [blocks_for_bars(wanted, 264) for wanted in (1, 264, 265, 528, 529)] == [1, 1, 2, 2, 3]


def test_lye_in_a_tank_gives_17_blocks() -> None:
    # Row E6: 200 l at 1.3562 g/ml less 5 l that the tank cannot give = 264.47 kg; 15.04 kg a block.
    blocks = CHECKS["E6"]["value"].split("/")[0]
    found = blocks_from_stock(264_470.0, 15_040.0)
    assert found.whole_blocks == int(blocks)
    assert found.left_over_g == pytest.approx(264_470.0 - 17 * 15_040.0)
    assert found.part_block_fraction == pytest.approx(8_790.0 / 15_040.0)


def test_stock_that_is_exactly_whole_blocks_is_counted_whole() -> None:
    # 0.3/0.1 is 2.9999999999999996 in floats; by hand it is 3, with nothing over.
    assert blocks_from_stock(0.3, 0.1) == (3, 0.0, 0.0)
    assert blocks_from_stock(5.5 * 453.59237, 1.1 * 453.59237) == (5, 0.0, 0.0)


def test_less_than_one_block_in_stock_tells_the_largest_part() -> None:
    assert blocks_from_stock(7_520.0, 15_040.0) == (0, 7_520.0, 0.5)
    assert blocks_from_stock(0.0, 15_040.0) == (0, 0.0, 0.0)


@pytest.mark.parametrize("size", [0.0, -1.0, math.nan, math.inf])
def test_sizes_that_are_not_above_zero_are_refused(size: float) -> None:
    calls: list[Callable[[], object]] = [
        lambda: fill_volume_ml(600.0, size, 210.0),
        lambda: fill_height_mm(50_400.0, size, 400.0),
        lambda: oils_for_volume_g(size, [(1.0, 0.91)], 0.4, 1.35),
        lambda: oils_for_batch_mass_g(size, 0.4),
        lambda: blocks_from_stock(1.0, size),
    ]
    for call in calls:
        with pytest.raises(ValueError, match="above zero"):
            call()


def test_negative_ratios_shares_off_and_zero_counts_are_refused() -> None:
    with pytest.raises(ValueError, match="zero or more"):
        oils_for_batch_mass_g(1000.0, -0.1)
    with pytest.raises(ValueError, match="sum to 1"):
        oils_for_volume_g(1000.0, [(0.5, 0.91), (0.4, 0.92)], 0.4, 1.35)
    with pytest.raises(ValueError, match="1 or more"):
        blocks_for_bars(0, 264)


def test_volume_of_the_oils_found_is_the_volume_asked_for() -> None:
    shares = [(0.45, 0.9055), (0.30, 0.9012), (0.25, 0.9134)]
    oils_g = oils_for_volume_g(48_000.0, shares, 0.43, 1.3478, 0.03)
    masses = [(share * oils_g, density) for share, density in shares]
    assert batter_volume_ml(masses, 0.43 * oils_g, 1.3478, 0.03 * oils_g) == pytest.approx(48_000.0)
