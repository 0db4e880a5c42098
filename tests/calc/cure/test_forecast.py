"""What a batch's weighings say of its sale, and when they say too little."""

import pytest

from calc.cure.drying import Weighed
from calc.cure.forecast import ReadyRule, forecast, scatter_g

DAYS, GRAMS = (0, 3, 7, 14, 21, 28, 42), (140.0, 135.4, 132.6, 129.6, 127.7, 126.5, 125.2)
WEIGHINGS = [Weighed(day, bar_g) for day, bar_g in zip(DAYS, GRAMS, strict=True)]


NO_RULE = ReadyRule()


def outlook(used=7, rule=NO_RULE, sale=56, today=42, label=None, first=0):
    return forecast(WEIGHINGS[:used], 0.20, 0.2, rule, first, sale, today, label)


@pytest.mark.parametrize("used", [1, 2])
def test_one_or_two_weighings_give_the_bounds_and_no_curve(used):
    found = outlook(used)
    assert found.drying is None and found.no_curve.code == "curve-too-few"
    # All of the water, 20 %, may go; nothing comes back.
    assert (found.at_sale.low, found.at_sale.high) == (112.0, GRAMS[used - 1])


def test_without_a_weighing_nothing_is_said_of_weight():
    found = outlook(0)
    assert found.at_sale is None and found.drying is None


def test_where_nobody_knows_the_water_the_makers_weeks_still_hold():
    found = forecast(WEIGHINGS, None, 0.2, ReadyRule(weeks=5), 0, None, 42, None)
    assert found.drying is None and found.at_sale is None and found.no_curve.code == "curve-water-unknown"
    assert found.ready.band.middle == 35


def test_a_few_weighings_are_too_early_for_a_label_inside_their_band():
    assert outlook(4, today=14, label=123.5).too_early
    assert not outlook(7, label=120.0).too_early
    assert not outlook(7, label=130.0).too_early


def test_without_a_label_the_band_has_to_fit_the_tolerance_of_the_law():
    # Directive 76/211/EEC: 5.6 g for 123 g.
    assert not outlook(7).too_early
    assert outlook(3, today=7).too_early


def test_the_weighing_that_would_help_lies_ahead_and_narrows_the_band():
    found = outlook(4, today=14, label=123.5)
    assert 14 < found.better.day < 56
    assert found.better.width_g < found.at_sale.width
    later = outlook(5, today=21, label=123.5)
    assert later.at_sale.width < found.at_sale.width


def test_the_makers_weeks_are_a_day():
    found = outlook(rule=ReadyRule(weeks=6), sale=None)
    assert found.ready.band.low == found.ready.band.high == 42
    assert found.sale_day == 42


def test_a_weekly_loss_is_read_off_the_curve():
    # Page curve of all seven weighings (SciPy: end 123.323 g, k 0.07003, n 0.7343): a week takes 0.5 % of the bar from about day 30 on.
    def page(day):
        return 123.323 + 16.677 * 2.718281828 ** -((0.07003 * day) ** 0.7343)

    expected = next(day for day in range(200) if page(day) - page(day + 7) <= 0.005 * page(day))
    found = outlook(rule=ReadyRule(weekly_loss_fraction=0.005), sale=None).ready.band
    assert found.low <= expected <= found.high
    assert found.middle == pytest.approx(expected, abs=2)


def test_both_rules_hold_where_both_are_said():
    assert outlook(rule=ReadyRule(weeks=20, weekly_loss_fraction=0.005), sale=None).ready.band.low == 140
    assert outlook(2, rule=ReadyRule(weekly_loss_fraction=0.005), sale=None).ready.band is None


def test_without_a_rule_the_usual_weeks_are_said_to_be_usual():
    # Four to six weeks: common practice, no source.
    ready = outlook().ready
    assert ready.usual and (ready.band.low, ready.band.high) == (28, 42)


def test_a_first_weighing_after_cutting_moves_the_days():
    found = outlook(first=2, sale=58)
    assert found.sale_day == 56


def test_a_coarse_scale_counts_for_more_than_the_least_scatter():
    assert scatter_g(WEIGHINGS, 0.0) == pytest.approx((0.2**2 + (0.01 * 14.8) ** 2) ** 0.5)
    assert scatter_g(WEIGHINGS, 1.5) > 1.5
