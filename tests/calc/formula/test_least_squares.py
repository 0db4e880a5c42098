"""Bounded least squares with a given sum, against scipy's lsq_linear and minimize on problems made by chance."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import LinearConstraint, lsq_linear, minimize

from calc.formula.least_squares import distance, nearest

# A weight of the sum's own row at which what scipy gives away of the sum is nothing beside the distances compared.
HEAVY = 1e5


@st.composite
def problems(draw):
    """Up to four parts of up to ten figures, with bounds and a sum that keeps them; two parts may be alike."""
    number, size = draw(st.integers(1, 4)), draw(st.integers(1, 10))
    figures = st.floats(0.0, 100.0).map(lambda figure: round(figure, 2))
    columns = [draw(st.lists(figures, min_size=size, max_size=size)) for _ in range(number)]
    target = draw(st.lists(figures, min_size=size, max_size=size))
    low = [round(draw(st.floats(0.0, 0.4)), 3) for _ in range(number)]
    high = [round(end + draw(st.floats(0.01, 1.0)), 3) for end in low]
    total = sum(low) + draw(st.floats(0.01, 0.99)) * (sum(high) - sum(low))
    return columns, target, low, high, total


@settings(max_examples=150, deadline=None)
@given(problems())
def test_as_near_as_scipy_and_within_sum_and_bounds(problem):
    columns, target, low, high, total = problem
    x = nearest(columns, target, low, high, total)
    assert math.fsum(x) == pytest.approx(total, rel=1e-12)
    assert all(a <= each <= b for a, each, b in zip(low, x, high, strict=True))
    matrix = np.array(columns).T
    weighed = np.vstack([matrix, HEAVY * np.ones(len(columns))])
    of_lsq = lsq_linear(weighed, np.append(target, HEAVY * total), (low, high), tol=1e-14).x
    of_minimize = minimize(
        lambda each: float(np.sum((matrix @ each - target) ** 2)), np.clip(x, low, high), jac=lambda each: 2.0 * matrix.T @ (matrix @ each - target),
        bounds=list(zip(low, high, strict=True)), constraints=LinearConstraint(np.ones(len(columns)), total, total), method="SLSQP",
    ).x  # fmt: skip
    for theirs in (of_lsq, of_minimize):
        # What scipy gives away of the sum shifts its distance by at most that much of the longest part.
        off = abs(float(np.sum(theirs)) - total) * float(np.max(np.linalg.norm(matrix, axis=0), initial=0.0))
        assert distance(columns, target, x) <= float(np.linalg.norm(matrix @ theirs - target)) + off + 1e-6


def test_no_shares_where_bounds_and_sum_exclude_each_other():
    assert nearest([(1.0,), (2.0,)], (1.0,), (0.0, 0.0), (0.2, 0.3), 0.6) is None
    assert nearest([(1.0,), (2.0,)], (1.0,), (0.4, 0.4), (1.0, 1.0), 0.6) is None


def test_two_parts_alike_still_have_an_answer():
    x = nearest([(3.0, 1.0), (3.0, 1.0)], (3.0, 1.0), (0.0, 0.0), (0.7, 0.7), 1.0)
    assert sum(x) == pytest.approx(1.0)


def test_a_share_without_room_stays_at_its_end():
    assert nearest([(1.0, 0.0), (0.0, 1.0)], (1.0, 0.0), (0.0, 0.25), (1.0, 0.25), 1.0) == pytest.approx((0.75, 0.25))
