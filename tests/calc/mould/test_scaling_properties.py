"""Mass is conserved and scaling goes there and back, for any formula."""

import math

from hypothesis import given
from hypothesis import strategies as st

from calc.chemistry.density import batter_volume_ml
from calc.entry.counting import COUNTING_TOLERANCE
from calc.mould.scaling import (
    blocks_for_bars,
    blocks_from_stock,
    fill_height_mm,
    fill_volume_ml,
    oils_for_batch_mass_g,
    oils_for_volume_g,
)

MASSES = st.floats(1.0, 1e6)
RATIOS = st.floats(0.0, 1.5)
SIDES = st.floats(30.0, 3000.0)
DENSITIES = st.floats(0.8, 1.0)
BLENDS = st.lists(st.tuples(st.floats(0.01, 1.0), DENSITIES), min_size=1, max_size=8).map(
    lambda rows: [(part / math.fsum(p for p, _ in rows), density) for part, density in rows]
)


@given(MASSES, RATIOS, RATIOS)
def test_mass_is_conserved(batch_mass: float, lye_ratio: float, other_ratio: float) -> None:
    oils = oils_for_batch_mass_g(batch_mass, lye_ratio, other_ratio)
    assert math.isclose(oils + lye_ratio * oils + other_ratio * oils, batch_mass, rel_tol=1e-12)


@given(st.floats(10.0, 1e6), BLENDS, RATIOS, st.floats(1.0, 1.55), RATIOS)
def test_volume_to_oils_to_volume(
    volume: float, blend: list[tuple[float, float]], lye_ratio: float, lye_density: float, other_ratio: float
) -> None:
    oils = oils_for_volume_g(volume, blend, lye_ratio, lye_density, other_ratio)
    masses = [(share * oils, density) for share, density in blend]
    back = batter_volume_ml(masses, lye_ratio * oils, lye_density, other_ratio * oils)
    assert math.isclose(back, volume, rel_tol=1e-12)


@given(SIDES, SIDES, SIDES)
def test_height_to_volume_to_height(length: float, width: float, height: float) -> None:
    volume = fill_volume_ml(length, width, height)
    assert math.isclose(fill_height_mm(volume, length, width), height, rel_tol=1e-12)


@given(st.integers(1, 10_000), st.floats(0.01, 1e6))
def test_blocks_to_mass_to_blocks(blocks: int, per_block: float) -> None:
    assert blocks_from_stock(blocks * per_block, per_block) == (blocks, 0.0, 0.0)


@given(st.floats(0.0, 1e7), st.floats(0.1, 1e6))
def test_blocks_and_what_is_left_over_are_all_the_stock(left: float, per_block: float) -> None:
    found = blocks_from_stock(left, per_block)
    assert math.isclose(found.whole_blocks * per_block + found.left_over_g, left, rel_tol=2 * COUNTING_TOLERANCE)
    assert 0.0 <= found.left_over_g <= per_block
    assert 0.0 <= found.part_block_fraction < 1.0


@given(st.integers(1, 100_000), st.integers(1, 5000))
def test_blocks_give_the_bars_wanted_and_one_less_would_not(wanted: int, per_block: int) -> None:
    blocks = blocks_for_bars(wanted, per_block)
    assert (blocks - 1) * per_block < wanted <= blocks * per_block


@given(MASSES, st.floats(1.0, 10.0), RATIOS)
def test_a_larger_batch_never_takes_less_oil(batch_mass: float, factor: float, lye_ratio: float) -> None:
    assert oils_for_batch_mass_g(batch_mass * factor, lye_ratio) >= oils_for_batch_mass_g(batch_mass, lye_ratio)
