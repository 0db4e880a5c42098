"""Sums of rectangles against their closed forms: trapezium, triangle, Irwin and Hall's sum, and the normal distribution."""

import math
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.chemistry.rectangles import RectangleSum


def irwin_hall(value: float, number: int) -> float:
    """Distribution of the sum of so many rectangles from 0 to 1 (Irwin 1927, Hall 1927; textbook formula, memory)."""
    terms = ((-1) ** k * math.comb(number, k) * max(value - k, 0.0) ** number for k in range(number + 1))
    return math.fsum(terms) / math.factorial(number)


@given(st.integers(1, 8), st.floats(0.001, 1000.0), st.floats(-1.2, 1.2))
def test_equal_rectangles_are_irwin_and_halls_sum(number: int, half_width: float, at: float) -> None:
    found = RectangleSum([half_width] * number).chance_below(at * number * half_width)
    assert found == pytest.approx(irwin_hall((at + 1.0) * number / 2.0, number), abs=2e-4)


@given(st.floats(0.05, 1.0), st.floats(0.0005, 0.5))
def test_two_rectangles_are_a_trapezium(narrower: float, chance: float) -> None:
    # Density 1/2 up to 1 - narrower, falling to nothing at 1 + narrower: below x in the ramp lies (x + 1 + n)²/(8 n).
    value = RectangleSum([1.0, narrower]).quantile(chance)
    in_ramp = chance <= narrower / 2.0
    exact = math.sqrt(8.0 * narrower * chance) - 1.0 - narrower if in_ramp else 2.0 * chance - 1.0
    assert value == pytest.approx(exact, abs=0.003)


@given(st.lists(st.floats(0.0, 10.0), max_size=30), st.floats(0.001, 0.999))
def test_a_quantile_is_undercut_with_its_chance_and_no_sum_lies_beyond_all_widths(widths: list[float], chance: float) -> None:
    errors = RectangleSum(widths)
    assert errors.end <= math.fsum(widths) * (1.0 + 1e-9)
    variance = math.fsum(width * width for width in widths) / 3.0
    assert errors.standard_deviation == pytest.approx(math.sqrt(variance), rel=1e-9, abs=1e-150)
    if errors.standard_deviation > 0.0:
        value = errors.quantile(chance)
        assert abs(value) <= errors.end
        assert errors.chance_below(value) == pytest.approx(chance, abs=2e-6)
        assert errors.quantile(1.0 - chance) == pytest.approx(-value, abs=1e-3 * errors.standard_deviation)


def test_many_rectangles_are_as_good_as_normal() -> None:
    # Central limit theorem: at 60 equal ones the quantile of 2.5 % is within a hundredth of 1.96 deviations.
    errors = RectangleSum([1.0] * 60)
    assert errors.quantile(0.025) / errors.standard_deviation == pytest.approx(NormalDist().inv_cdf(0.025), abs=0.01)


def test_no_width_at_all_is_no_error() -> None:
    errors = RectangleSum([0.0, 0.0])
    assert (errors.standard_deviation, errors.quantile(0.025)) == (0.0, 0.0)
    assert (errors.chance_below(-1.0), errors.chance_below(1.0)) == (0.0, 1.0)
