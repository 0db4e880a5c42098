"""Student's t and the noncentral t, as far as the weight of bars asks for them; in plain Python, for the browser has no SciPy.

Both are integrals over the spread of a sample's standard deviation, which is a chi distribution (ISO 16269-6, annex, from
memory); SciPy is asked for the same figures in the tests.
"""

import math
from collections.abc import Callable, Sequence
from functools import cache

# Simpson's rule over eight standard deviations either way leaves less than a millionth.
_STEPS, _REACH = 400, 8.0


def mean_of(values: Sequence[float]) -> float:
    """The mean of at least one value."""
    return math.fsum(values) / len(values)


def deviation_of(values: Sequence[float]) -> float:
    """The sample standard deviation of at least two values, by n - 1."""
    mean = mean_of(values)
    return math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1))


def normal_share(deviations: float) -> float:
    """The share of a normal distribution that lies below so many standard deviations from its middle."""
    return 0.5 * math.erfc(-deviations / math.sqrt(2.0))


@cache
def normal_quantile(share: float) -> float:
    """How many standard deviations from the middle a share (between 0 and 1) lies below."""
    return _solved(normal_share, share, -10.0, 10.0)


@cache
def t_quantile(share: float, freedom: int) -> float:
    """Student's t for a share of 0.5 or more, below 1, and 1 or more degrees of freedom."""
    return _solved(lambda t: _t_share(t, 0.0, freedom), share, 0.0, _beyond(lambda t: _t_share(t, 0.0, freedom), share))


@cache
def tolerance_factor(count: int, share: float, confidence: float) -> float:
    """How many sample standard deviations under the sample's mean no more than 1 - share of a normal distribution lies.

    One-sided, with this confidence, for a sample of `count` (2 or more); both shares between 0.5 and 1.
    """
    root, freedom = math.sqrt(count), count - 1
    off = normal_quantile(share) * root

    def held(factor: float) -> float:
        return _t_share(factor * root, off, freedom)

    return _solved(held, confidence, 0.0, _beyond(held, confidence))


def _t_share(t: float, off: float, freedom: int) -> float:
    """The share of the noncentral t distribution below t."""
    return math.fsum(weight * normal_share(t * u - off) for u, weight in _spreads(freedom))


@cache
def _spreads(freedom: int) -> tuple[tuple[float, float], ...]:
    """How a sample's standard deviation may come out, as a multiple of the true one, each with its share."""
    width = _REACH / math.sqrt(2.0 * freedom)
    low, high = max(0.0, 1.0 - width), 1.0 + width
    step = (high - low) / _STEPS
    scale = math.log(2.0) + 0.5 * freedom * math.log(0.5 * freedom) - math.lgamma(0.5 * freedom)
    found = []
    for place in range(_STEPS + 1):
        u = low + place * step
        power = (freedom - 1.0) * math.log(u) if u > 0.0 else (0.0 if freedom == 1 else -math.inf)
        simpson = 1.0 if place in (0, _STEPS) else 4.0 if place % 2 else 2.0
        found.append((u, simpson * step / 3.0 * math.exp(scale + power - 0.5 * freedom * u * u)))
    return tuple(found)


def _beyond(share_at: Callable[[float], float], share: float) -> float:
    high = 1.0
    while share_at(high) < share:
        high *= 2.0
    return high


def _solved(share_at: Callable[[float], float], share: float, low: float, high: float) -> float:
    for _ in range(44):
        middle = 0.5 * (low + high)
        if share_at(middle) < share:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
