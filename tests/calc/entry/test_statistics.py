"""Student's t and the tolerance factors against SciPy."""

import math

import pytest
from scipy import stats

from calc.entry.statistics import deviation_of, mean_of, normal_quantile, t_quantile, tolerance_factor


@pytest.mark.parametrize("share", [0.5, 0.9, 0.975, 0.9999])
def test_the_normal_quantile_is_scipys(share):
    assert normal_quantile(share) == pytest.approx(stats.norm.ppf(share), abs=1e-9)


@pytest.mark.parametrize("freedom", [1, 2, 4, 9, 29, 200])
@pytest.mark.parametrize("share", [0.9, 0.95, 0.995])
def test_students_t_is_scipys(share, freedom):
    # With one degree of freedom Simpson's rule cuts a heavy tail; nobody prints a label from two bars.
    assert t_quantile(share, freedom) == pytest.approx(stats.t.ppf(share, freedom), rel=2e-2 if freedom == 1 else 1e-5)


@pytest.mark.parametrize("count", [3, 5, 12, 50])
@pytest.mark.parametrize("share", [0.9, 0.975, 0.9999])
def test_tolerance_factors_are_those_of_scipys_noncentral_t(count, share):
    expected = stats.nct.ppf(0.95, count - 1, stats.norm.ppf(share) * math.sqrt(count)) / math.sqrt(count)
    assert tolerance_factor(count, share, 0.95) == pytest.approx(expected, rel=1e-5)


def test_the_factor_of_ten_bars_is_the_published_one():
    # One-sided tolerance factor for 90 % of a population, 95 % confidence, n = 10: 2.355 (NIST/SEMATECH handbook, 7.2.6.3, from memory).
    assert tolerance_factor(10, 0.9, 0.95) == pytest.approx(2.355, abs=0.001)


def test_mean_and_deviation_are_scipys():
    values = [121.5, 119.8, 122.0, 120.6]
    assert mean_of(values) == pytest.approx(stats.tmean(values))
    assert deviation_of(values) == pytest.approx(stats.tstd(values))
