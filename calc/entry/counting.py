"""The one way of counting whole pieces: bars of a block, blocks of a stock and divisions of a scale are counted by it."""

import math

# A converted length misses its exact value by some 1e-16 of itself; a real shortfall this small (1 µm in 1 km)
# cannot be seen on any block. Without it, five 1.1 in bars in a 5.5 in block count as four.
COUNTING_TOLERANCE = 1e-9


def whole_count(ratio: float) -> int:
    """Whole pieces in a ratio: floor(ratio · (1 + 1e-9)).

    ratio: what there is, divided by one piece [1], 0 or more and finite.
    Raises ValueError for a ratio below zero or not finite.
    """
    if not math.isfinite(ratio) or ratio < 0.0:
        raise ValueError(f"Only a ratio of zero or more can be counted, not {ratio!r}.")
    return math.floor(ratio * (1.0 + COUNTING_TOLERANCE))
