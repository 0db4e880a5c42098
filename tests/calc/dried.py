"""Bars dried by diffusion, for tests and bench: what a curve through a few weighings is asked to foretell."""

import math
from functools import cache

import numpy as np

from calc.cure.drying import Band, Weighed, dry
from calc.cure.forecast import scatter_g

SALE = 56
# Days on which the sample bars are weighed: four, six and nine times.
WEIGHED = ((0, 3, 7, 14), (0, 3, 7, 14, 21, 28), (0, 3, 7, 14, 21, 28, 35, 42, 49))


@cache
def roots(biot: float) -> list[float]:
    """The roots of x tan x = Bi, in order (Crank, The Mathematics of Diffusion, 4.3.6)."""
    found = []
    for n in range(60):
        low, high = n * math.pi, (n + 0.5) * math.pi
        for _ in range(50):
            root = (low + high) / 2
            low, high = (root, high) if root * math.tan(root) < biot else (low, root)
        found.append(root)
    return found


def slab(fourier: float, biot: float) -> float:
    """What is left in a plane sheet with a resistance at its surface (Crank, the same)."""
    return math.fsum(
        2 * biot**2 / (root**2 * (root**2 + biot**2 + biot)) * math.exp(-(root**2) * fourier) for root in roots(biot)
    )


def simulated(rng: np.random.Generator, days, target):
    """A bar dried by diffusion through its three sides, half of them with a skin; weighings with 0.2 g of noise."""
    halves = np.array((12.5, 45.0, 30.0)) * 1e-3 * rng.uniform(0.85, 1.15)
    spread = 10 ** rng.uniform(-11, math.log10(1.2e-10))  # [m^2/s]
    loss = rng.uniform(0.08, 0.16)
    biot = 10 ** rng.uniform(0, 1.5) if rng.random() < 0.5 else 1e6

    def grams(day: float) -> float:
        left = math.prod(slab(spread * day * 86400 / half**2, biot * half / halves[0]) for half in halves) if day else 1.0
        return 140 * (1 - loss) + 140 * loss * left

    return [Weighed(day, grams(day) + (rng.normal(0, 0.2) if day else 0.0)) for day in days], grams(target)


def foretold(rng: np.random.Generator, days) -> tuple[Band, float]:
    """The band of nine in ten for the day of sale of one such bar, and what it weighs then."""
    weighings, truth = simulated(rng, days, SALE)
    return dry(weighings, 0.20, scatter_g(weighings, 0.2)).on(SALE), truth
