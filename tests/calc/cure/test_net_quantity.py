"""What may be printed: the directive's table, and labels that a simulated delivery keeps."""

import math

import numpy as np
import pytest
from scipy import stats

from calc.cure.net_quantity import OZ_G, Sample, allowable_variation_g, allowed, sample_of, tolerable_error_g
from calc.entry.problems import InputProblems
from calc.entry.statistics import t_quantile


@pytest.mark.parametrize(
    ("label_g", "error_g"),
    [
        # Directive 76/211/EEC, Annex I, 2.4, its rows and its bounds; percentages are rounded up to a tenth.
        (5, 0.5), (50, 4.5), (85, 4.5), (100, 4.5), (120, 5.4), (150, 6.8), (200, 9.0), (250, 9.0), (300, 9.0), (400, 12.0), (500, 15.0), (999, 15.0),
    ],
)  # fmt: skip
def test_the_tolerable_error_is_the_directives(label_g, error_g):
    assert tolerable_error_g(label_g) == pytest.approx(error_g)


def test_outside_what_was_read_nothing_is_counted():
    assert tolerable_error_g(4.0) is None and tolerable_error_g(1001.0) is None
    # Read in a quotation: 0.25 oz for a label of 3 oz, 7 g for one of 113 g.
    assert allowable_variation_g(100.0) == 7.0
    assert allowable_variation_g(80.0) is None and allowable_variation_g(120.0) is None


def test_even_bars_are_held_to_their_average():
    found = allowed(Sample(20, 121.0, 0.4), 1.0, "eu", "g")
    assert found.limit.by == "average"
    # Lower 95 % confidence bound of a mean, by SciPy.
    assert found.limit.label_g == pytest.approx(121.0 - stats.t.ppf(0.95, 19) * 0.4 / math.sqrt(20), abs=1e-4)
    assert found.grams == 120


def test_uneven_bars_are_held_to_their_weak_ones():
    found = allowed(Sample(20, 121.0, 5.0), 1.0, "eu", "g")
    assert found.limit.by in ("weak", "weakest")
    label_g, root = found.limit.label_g, math.sqrt(20)
    for share, errors in ((0.975, 1), (0.9999, 2)):
        factor = stats.nct.ppf(0.95, 19, stats.norm.ppf(share) * root) / root
        assert 121.0 - factor * 5.0 >= label_g - errors * tolerable_error_g(label_g) - 0.02


def test_large_samples_come_to_the_factors_of_filling_practice():
    # Target mean = max(Q, Q - TNE + 1.96 s, Q - 2 TNE + 3.72 s) for Q = 100 (filling practice, factors from memory): s 2.5 asks 100.4 g, s 4 asks 105.9 g.
    for s, mean in ((2.5, 100.4), (4.0, 105.9)):
        found = allowed(Sample(100_000, mean, s), 1.0, "eu", "g")
        assert found.limit.label_g == pytest.approx(100.0, abs=0.25)


def test_what_is_still_lost_comes_off_the_label():
    fresh, sold = allowed(Sample(12, 121.0, 1.0), 1.0, "eu", "g"), allowed(Sample(12, 121.0, 1.0), 0.95, "eu", "g")
    assert sold.limit.label_g == pytest.approx(0.95 * fresh.limit.label_g, abs=0.01)


def test_both_units_are_rounded_down():
    found = allowed(Sample(12, 121.0, 1.0), 1.0, "both", "oz")
    assert found.grams <= found.limit.label_g < found.grams + 1
    assert found.hundredths_oz / 100 * OZ_G <= found.limit.label_g < (found.hundredths_oz + 1) / 100 * OZ_G


def test_so_many_more_bars_are_enough_and_one_fewer_is_not():
    sample = Sample(6, 4.29 * OZ_G, 1.4)
    found = allowed(sample, 1.0, "eu", "oz")
    assert found.next_label_g == pytest.approx(4.25 * OZ_G)
    assert found.limit.label_g < found.next_label_g
    enough = allowed(sample.at(1.0, sample.count + found.more), 1.0, "eu", "oz")
    fewer = allowed(sample.at(1.0, sample.count + found.more - 1), 1.0, "eu", "oz")
    assert fewer.limit.label_g < found.next_label_g <= enough.limit.label_g


def test_where_no_number_of_bars_helps_none_is_named():
    found = allowed(Sample(12, 121.0, 1.0), 1.0, "eu", "g")
    assert (found.more, found.next_label_g) == (None, None)


def test_the_american_average_is_counted_and_what_was_not_read_is_told():
    (limit,) = allowed(Sample(12, 121.0, 1.0), 1.0, "us", "oz").limits
    assert not limit.single_known and limit.by == "average"
    (limit,) = allowed(Sample(12, 101.0, 3.0), 1.0, "us", "oz").limits
    assert limit.single_known


def test_too_few_bars_tell_nothing():
    with pytest.raises(InputProblems, match="weakest"):
        sample_of([120.0, 121.0])


def test_of_many_deliveries_nearly_all_keep_the_label():
    # Confidence 95 %: of workshops that weigh ten bars and print what is allowed, at most about one in twenty is short on average.
    rng, short = np.random.default_rng(7), 0
    for _ in range(400):
        bars = rng.normal(120.0, 1.5, 10)
        short += allowed(sample_of(list(bars)), 1.0, "eu", "g").limit.label_g > 120.0
    assert short <= 0.075 * 400


@pytest.mark.parametrize(("sample", "factor"), [(30, 0.503), (50, 0.379), (20, 0.640)])
def test_the_average_is_reckoned_as_the_law_reckons_it(sample, factor):
    # The Weights and Measures (Packaged Goods) Regulations 2006 (UK SI 2006/659), Schedule 2, 4.5 and 4.6, read: a batch of
    # packages is refused by its average where the mean of the sample is under Qn - 0.503 s, Qn - 0.379 s, Qn - 0.640 s, at
    # Student's t of 0.995, as Annex II, 2.3 of Directive 76/211/EEC has it.
    assert t_quantile(0.995, sample - 1) / math.sqrt(sample) == pytest.approx(factor, abs=0.0005)


@pytest.mark.parametrize(
    ("lot", "sample", "factor"), [(39, 12, 0.746), (79, 12, 0.826), (149, 12, 0.860), (399, 32, 0.465), (4000, 32, 0.483)]
)
def test_sample_correction_factors_follow_from_the_same_t(lot, sample, factor):
    # New Zealand Weights and Measures Regulations 1999, Schedule 7A, table 1, read: lots of so many packages at most. Of a lot
    # that is drawn from without putting back, t at 0.995 shrinks by the root of the share that is left.
    corrected = t_quantile(0.995, sample - 1) / math.sqrt(sample) * math.sqrt(1.0 - sample / lot)
    assert corrected == pytest.approx(factor, abs=0.0006)


@pytest.mark.parametrize(("label_g", "error_g"), [(50, 4.5), (51, 4.5), (100, 4.5), (200, 9.0), (201, 9.0), (300, 9.0), (500, 15.0), (501, 15.0)])
def test_a_second_law_has_the_directives_errors(label_g, error_g):
    # New Zealand Weights and Measures Regulations 1999, Schedule 7A, table 2, read: 9 % up to 50 g, 4.5 g up to 100, 4.5 % up to
    # 200, 9 g up to 300, 3 % up to 500, 15 g up to 1000.
    assert tolerable_error_g(label_g) == pytest.approx(error_g)


def test_a_label_allowed_of_twenty_bars_passes_the_laws_own_test_of_its_average_in_a_delivery():
    # Deliveries of 500 bars of 121 g and 2 g of spread, seeded; the inspector weighs 30 of them: Schedule 2, 4.5, as above.
    chance = np.random.default_rng(13)
    passed = 0
    for _ in range(200):
        bars = chance.normal(121.0, 2.0, 520)
        label_g = allowed(sample_of(list(bars[:20])), 1.0, "eu", "g").limit.label_g
        seen = bars[20:50]
        passed += seen.mean() >= label_g - 0.503 * seen.std(ddof=1)
    assert passed >= 199
