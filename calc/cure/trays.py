"""How many bars lie on a tray, how many trays a batch needs, and which places of a rack are free."""

import math
from collections.abc import Iterable

# A whole number of bars that only the floats make a hair too few.
_GUARD = 1e-9


def bars_per_tray(tray_mm: tuple[float, float], bar_mm: tuple[float, float, float], stands: bool, gap_mm: float) -> int:
    """Bars on one tray, in straight rows, the better of both ways round.

    tray_mm: its inner sides. bar_mm: the bar's three sides. stands: on its long narrow side, else it lies on its largest.
    gap_mm: air between bars, 0 or more; none is needed at the tray's edge. Raises ValueError for a size that is not above zero.

    >>> bars_per_tray((600.0, 400.0), (25.0, 90.0, 60.0), True, 3.175)
    84
    """
    if min(*tray_mm, *bar_mm) <= 0.0 or gap_mm < 0.0:
        raise ValueError("The sizes of tray and bar must be above zero.")
    thin, middle, long = sorted(bar_mm)
    face = (thin, long) if stands else (middle, long)
    return max(_in_rows(tray_mm, way, gap_mm) for way in (face, face[::-1]))


def _in_rows(tray_mm: tuple[float, float], face_mm: tuple[float, float], gap_mm: float) -> int:
    return math.prod(math.floor((side + gap_mm) / (bar + gap_mm) + _GUARD) for side, bar in zip(tray_mm, face_mm, strict=True))


def trays_needed(bars: int, per_tray: int) -> int:
    """Trays for so many bars; both above zero."""
    return -(-bars // per_tray)


def free_places(places: int, taken: Iterable[int]) -> tuple[int, ...]:
    """The places of a rack, counted from 1, that hold no tray."""
    held = set(taken)
    return tuple(place for place in range(1, places + 1) if place not in held)
