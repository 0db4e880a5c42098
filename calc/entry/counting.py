"""The one way of counting whole pieces: bars of a block, blocks of a stock and divisions of a scale are counted by it."""

import math
from collections.abc import Iterable
from functools import reduce
from operator import add
from typing import Any, TypeVar

Exact = TypeVar("Exact", bound=Any)

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


def total(pieces: Iterable[int]) -> int:
    """The sum of whole pieces, 0 where there are none."""
    return summed(pieces, 0)


def summed(amounts: Iterable[Exact], nothing: Exact) -> Exact:
    """The sum of what adds up exactly: whole numbers, decimals, what is made of them. Floats are summed by `math.fsum`.

    nothing: what is said where there are no amounts, of their kind.
    """
    return reduce(add, amounts, nothing)
