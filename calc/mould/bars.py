"""How many whole bars a block gives, and what is left over on each side.

Source of the cutting rule: geometry, n pieces and n - 1 cuts between them fit into what the trim leaves.
"""

import math
from dataclasses import dataclass

from calc.entry.counting import whole_count


def count_fitting(length_mm: float, piece_mm: float, kerf_mm: float = 0.0, trim_mm: float = 0.0) -> int:
    """Whole pieces along one axis: n = floor((L - 2T + k) / (a + k)), counted by `whole_count`.

    length_mm: side of the block L [mm], above 0.
    piece_mm: size of a piece along it a [mm], above 0.
    kerf_mm: soap that one cut removes k [mm], 0 or more; a thin wire displaces soap and removes none.
    trim_mm: taken off at each of the two ends T [mm], 0 or more.
    Raises ValueError outside these ranges.

    >>> count_fitting(600.0, 25.0, kerf_mm=0.8, trim_mm=5.0)
    22
    """
    for name, size in (("The block's side", length_mm), ("A piece", piece_mm)):
        if not 0.0 < size < math.inf:
            raise ValueError(f"{name} must be above zero, not {size!r} mm.")
    for name, size in (("The kerf", kerf_mm), ("The trim", trim_mm)):
        if not 0.0 <= size < math.inf:
            raise ValueError(f"{name} must be zero or more, not {size!r} mm.")
    usable_mm = length_mm - 2.0 * trim_mm
    if usable_mm <= 0.0:
        return 0
    return whole_count((usable_mm + kerf_mm) / (piece_mm + kerf_mm))


@dataclass(frozen=True)
class BarYield:
    """Bars of one block: along its length, across its width, up its height."""

    along: int
    across: int
    up: int
    total: int
    used_fraction: float  # volume of the bars, of the untrimmed block
    leftover_length_mm: float  # beyond the trim and the last cut needed
    leftover_width_mm: float
    leftover_height_mm: float


def bar_mass_g(bar_mm: tuple[float, float, float], density_g_per_ml: float) -> float:
    """Mass of a fresh bar [g]: its volume times the density of set soap.

    bar_mm: the three sizes of the bar [mm], each above 0.
    density_g_per_ml: density of set soap [g/ml], above 0; best from a weighed bar.
    Raises ValueError when one of these is not above zero.

    >>> round(bar_mass_g((25.0, 90.0, 60.0), 1.04), 1)
    140.4
    """
    if not (min(bar_mm) > 0.0 and density_g_per_ml > 0.0):
        raise ValueError("A bar's sizes and the density of its soap must be above zero.")
    return math.prod(bar_mm) / 1000.0 * density_g_per_ml
