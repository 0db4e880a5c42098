"""From a formula per gram of oils to amounts: by mould, by batch mass, by bars wanted, by what is left in stock.

Everything scales with the mass of oils. Lye and other ingredients come in as ratios to it, so that mass is conserved.
Batter volumes come from `calc.chemistry.density` by ideal mixing.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from calc.chemistry.density import batter_volume_ml
from calc.entry.counting import COUNTING_TOLERANCE, whole_count

# Shares come from typed percentages; what is left of a share below this is float noise.
SHARES_TOLERANCE = 1e-6


def fill_volume_ml(length_mm: float, width_mm: float, fill_height_mm: float) -> float:
    """Volume of a mould filled to a height [ml].

    length_mm, width_mm: inner sides with the liner in [mm], above 0.
    fill_height_mm: level of the batter above the bottom [mm], above 0.
    Raises ValueError when one of these is not above zero.

    >>> fill_volume_ml(600.0, 400.0, 210.0)
    50400.0
    """
    _above_zero(length_mm=length_mm, width_mm=width_mm, fill_height_mm=fill_height_mm)
    return length_mm * width_mm * fill_height_mm / 1000.0


def fill_height_mm(volume_ml: float, length_mm: float, width_mm: float) -> float:
    """Level to which a volume fills a mould [mm]; the inverse of `fill_volume_ml`.

    volume_ml: batter [ml], above 0.
    length_mm, width_mm: inner sides with the liner in [mm], above 0.
    Raises ValueError when one of these is not above zero.
    """
    _above_zero(volume_ml=volume_ml, length_mm=length_mm, width_mm=width_mm)
    return volume_ml * 1000.0 / (length_mm * width_mm)


def oils_for_volume_g(
    volume_ml: float,
    oils: Sequence[tuple[float, float]],
    lye_ratio: float,
    lye_density_g_per_ml: float,
    other_ratio: float = 0.0,
) -> float:
    """Mass of all oils whose batter fills a volume [g]; the inverse of `calc.chemistry.density.batter_volume_ml`.

    volume_ml: batter wanted [ml], above 0.
    oils: (share of all oils [1], density [g/ml]) of each oil; the shares sum to 1.
    lye_ratio: mass of lye per mass of oils [g/g], 0 or more.
    lye_density_g_per_ml: density of that lye [g/ml], above 0.
    other_ratio: mass of everything else per mass of oils [g/g], 0 or more; counted at the batter's own density.
    Raises ValueError outside these ranges.
    """
    _above_zero(volume_ml=volume_ml)
    if abs(math.fsum(share for share, _ in oils) - 1.0) > SHARES_TOLERANCE:
        raise ValueError("The shares of the oils must sum to 1.")
    return volume_ml / batter_volume_ml(oils, lye_ratio, lye_density_g_per_ml, other_ratio)


def oils_for_batch_mass_g(batch_mass_g: float, lye_ratio: float, other_ratio: float = 0.0) -> float:
    """Mass of all oils in a batch of a given mass [g]: m / (1 + lye ratio + other ratio).

    batch_mass_g: all that goes into the vessel [g], above 0.
    lye_ratio, other_ratio: mass per mass of oils [g/g], 0 or more.
    Raises ValueError outside these ranges.

    >>> round(oils_for_batch_mass_g(50_020.0, 15.04 / 34.98), 6)
    34980.0
    """
    _above_zero(batch_mass_g=batch_mass_g)
    _zero_or_more(lye_ratio=lye_ratio, other_ratio=other_ratio)
    return batch_mass_g / (1.0 + lye_ratio + other_ratio)


def blocks_for_bars(bars_wanted: int, bars_per_block: int) -> int:
    """Blocks that give at least the bars wanted, rounded up.

    bars_wanted, bars_per_block: whole numbers, 1 or more.
    Raises ValueError below 1.

    >>> blocks_for_bars(300, 264)
    2
    """
    if bars_wanted < 1 or bars_per_block < 1:
        raise ValueError("Bars wanted and bars per block must be 1 or more.")
    return -(-bars_wanted // bars_per_block)


class StockBlocks(NamedTuple):
    """What is left of an ingredient, in blocks."""

    whole_blocks: int
    left_over_g: float  # after the whole blocks
    part_block_fraction: float  # the largest further block it allows, as a share of a full one; below 1


def blocks_from_stock(left_g: float, per_block_g: float) -> StockBlocks:
    """Whole blocks that an ingredient in stock allows, and what then remains.

    left_g: usable mass in stock [g], 0 or more (less what a tank cannot give).
    per_block_g: mass in one block [g], above 0.
    Raises ValueError outside these ranges.

    >>> blocks_from_stock(264_470.0, 15_040.0).whole_blocks
    17
    """
    _zero_or_more(left_g=left_g)
    _above_zero(per_block_g=per_block_g)
    blocks = whole_count(left_g / per_block_g)
    over_g = left_g - blocks * per_block_g
    if over_g <= left_g * COUNTING_TOLERANCE:
        over_g = 0.0
    return StockBlocks(blocks, over_g, over_g / per_block_g)


def _above_zero(**sizes: float) -> None:
    for name, size in sizes.items():
        if not (math.isfinite(size) and size > 0.0):
            raise ValueError(f"{name} must be above zero, not {size!r}.")


def _zero_or_more(**sizes: float) -> None:
    for name, size in sizes.items():
        if not (math.isfinite(size) and size >= 0.0):
            raise ValueError(f"{name} must be zero or more, not {size!r}.")
