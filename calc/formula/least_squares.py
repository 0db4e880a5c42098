"""The shares whose blend comes nearest to a target: linear least squares within bounds, with a given sum.

There are few shares. So each is tried free, at its low end and at its high end, and the best of all that keeps the bounds is
the answer: exact, and nothing can go round in circles.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import product

# More than sums of floats lose, and far less than anybody weighs, as a part of the sum to be kept.
LOST_IN_FLOATS = 1e-12

Vector = Sequence[float]


def nearest(
    columns: Sequence[Vector], target: Vector, low: Vector, high: Vector, total: float
) -> tuple[float, ...] | None:
    """The x that makes |sum of x·column - target| least, with low <= x <= high and sum of x = total (above 0).

    None where no x keeps both. Where several are as near, one of them.

    Half of each of two pure parts, of which the second is short:

    >>> nearest([(1.0, 0.0), (0.0, 1.0)], (0.5, 0.5), (0.0, 0.0), (1.0, 0.4), 1.0)
    (0.6, 0.4)
    """
    found = list(_on_every_face(columns, target, low, high, total))
    return min(found, key=lambda x: distance(columns, target, x), default=None)


def distance(columns: Sequence[Vector], target: Vector, x: Vector) -> float:
    """How far the blend of these shares is from the target."""
    rows = zip(*columns, strict=True)
    return math.hypot(*(_times(row, x) - wanted for row, wanted in zip(rows, target, strict=True)))


def _times(row: Vector, x: Vector) -> float:
    return math.fsum(a * b for a, b in zip(row, x, strict=True))


def _on_every_face(
    columns: Sequence[Vector], target: Vector, low: Vector, high: Vector, total: float
) -> Iterator[tuple[float, ...]]:
    """Of each choice of free shares, the others at an end, the nearest point; only those within the bounds."""
    lost = LOST_IN_FLOATS * total
    for ends in product(*((None, a, b) if a < b else (a,) for a, b in zip(low, high, strict=True))):
        free = [number for number, end in enumerate(ends) if end is None]
        x = [0.0 if end is None else end for end in ends]
        rest = total - math.fsum(x)
        if free:
            shares = _free_shares([columns[number] for number in free], _less(target, columns, x), rest)
            if shares is None:
                continue  # two parts alike: a face with one of them at an end is as near
            for number, share in zip(free, shares, strict=True):
                x[number] = share
        elif abs(rest) > lost:
            continue
        if all(a - lost <= each <= b + lost for a, each, b in zip(low, x, high, strict=True)):
            yield tuple(min(max(each, a), b) for a, each, b in zip(low, x, high, strict=True))


def _less(target: Vector, columns: Sequence[Vector], x: Vector) -> list[float]:
    return [wanted - _times(row, x) for row, wanted in zip(zip(*columns, strict=True), target, strict=True)]


def _free_shares(columns: Sequence[Vector], target: Vector, total: float) -> list[float] | None:
    """The shares with this sum and no bounds; None where they aren't told apart.

    The last one is the total less the others, which leaves a plain least-squares problem: its normal equations.
    """
    last = columns[-1]
    apart = [[a - b for a, b in zip(column, last, strict=True)] for column in columns[:-1]]
    wanted = [t - total * b for t, b in zip(target, last, strict=True)]
    equations = [[*(_times(a, b) for b in apart), _times(a, wanted)] for a in apart]
    shares = _solved(equations)
    return None if shares is None else [*shares, total - math.fsum(shares)]


def _solved(equations: list[list[float]]) -> list[float] | None:
    """Gauss with the largest pivot. None where a pivot is nothing beside the largest figure."""
    size = len(equations)
    largest = max((abs(figure) for row in equations for figure in row[:size]), default=0.0)
    for step in range(size):
        pivot = max(range(step, size), key=lambda row: abs(equations[row][step]))
        equations[step], equations[pivot] = equations[pivot], equations[step]
        if abs(equations[step][step]) <= LOST_IN_FLOATS * largest:
            return None
        for row in range(step + 1, size):
            times = equations[row][step] / equations[step][step]
            equations[row] = [a - times * b for a, b in zip(equations[row], equations[step], strict=True)]
    shares = [0.0] * size
    for step in reversed(range(size)):
        known = math.fsum(equations[step][later] * shares[later] for later in range(step + 1, size))
        shares[step] = (equations[step][size] - known) / equations[step][step]
    return shares
