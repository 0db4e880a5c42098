"""Rules: NIST SP 811, 7.2 and 7.7 (read); 10.5.2 and 10.5.3 (from memory)."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.entry.shown import (
    about,
    counted,
    division_decimals,
    duration,
    hundredths,
    interval,
    length,
    limit,
    load_and_limit,
    mass,
    money,
    number,
    percent,
    percent_down,
    percent_figures,
    plain_weight,
    points,
    quantity,
    room,
    small_weight,
    temperature,
    tenths,
    volume,
)


@pytest.mark.parametrize(
    ("value", "decimals", "expected"),
    [
        # Leading zero (10.5.2), no commas between thousands (10.5.3).
        (0.25, None, "0.25"),
        (43279.0, None, "43279"),
        (1234567.891, 2, "1234567.89"),
        # No trailing zeros on whole numbers, unless so many decimals are asked for.
        (12.0, None, "12"),
        (1e3, 0, "1000"),
        (12.0, 2, "12.00"),
        # Halves go up, on the decimal a person sees, away from zero on both sides.
        (2.675, 2, "2.68"),
        (0.5, 0, "1"),
        (2.5, 0, "3"),
        (-2.5, 0, "−3"),
        # The true minus sign, and never a minus before nothing.
        (-12.5, None, "−12.5"),
        (-0.0, None, "0"),
        (-0.004, 2, "0.00"),
        # No exponents at either end.
        (1e-7, None, "0.0000001"),
        (1e22, None, "10000000000000000000000"),
        (1.7e308, 2, "17" + "0" * 307),
    ],
)
def test_number_is_written_out_plainly(value: float, decimals: int | None, expected: str) -> None:
    assert number(value, decimals) == expected


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_never_shown(value: float) -> None:
    with pytest.raises(ValueError, match="cannot be shown"):
        number(value)


@pytest.mark.parametrize(
    ("division_g", "unit", "decimals"),
    [
        # Divisions that are short decimals in the unit shown.
        (20, "kg", 2),
        (5, "kg", 3),
        (1, "g", 0),
        (50, "g", 0),
        (0.1, "g", 1),
        (0.01, "g", 2),
        # 0.05 lb and 0.25 lb scales, 453.59237 g to the pound; a quarter needs both decimals.
        (22.6796185, "lb", 2),
        (113.3980925, "lb", 2),
        # 1 g is 0.0022 lb, 0.035 oz: the decimals just finer than the step.
        (1, "lb", 3),
        (1, "oz", 2),
    ],
)
def test_decimals_follow_the_division_in_the_unit_shown(division_g: float, unit: str, decimals: int) -> None:
    assert division_decimals(division_g, unit) == decimals


@pytest.mark.parametrize("division_g", [0.0, -1.0, math.nan])
def test_a_division_of_nothing_is_refused(division_g: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        mass(100, "g", division_g)


@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        # A scale of 20 g divisions shown in kg keeps its zeros.
        (mass(15040, "kg", 20), "15.04 kg"),
        (mass(15000, "kg", 20), "15.00 kg"),
        (mass(15040, "g", 20), "15040 g"),
        # Without a division four figures, and no zeros at the end: 1 lb is 453.59237 g.
        (mass(453.59237), "453.6 g"),
        (mass(15043.7, "kg"), "15.04 kg"),
        (mass(500, "kg"), "0.5 kg"),
        (mass(123456.7), "123457 g"),
        (mass(0), "0 g"),
        (mass(453.59237, "lb"), "1 lb"),
        # Spaces before every unit, % and °C too (NIST SP 811 7.2; its own example is 30.2 °C).
        (temperature(30.2, decimals=1), "30.2 °C"),
        (temperature(37.5), "38 °C"),
        (temperature(100, "degF"), "212 °F"),
        (percent(0.45), "45 %"),
        (percent(0.0025, 2), "0.25 %"),
        (percent(0.4567), "45.7 %"),
        (percent(-0.05), "−5 %"),
        # Under 1 % two figures stay, and halves go up on the decimal that was typed: by hand.
        (percent(0.00085), "0.085 %"),
        (percent(0.000855, 2), "0.086 %"),
        (percent(0.0075), "0.75 %"),
        (percent(0.0655), "6.6 %"),
        (percent(0.0655, 2), "6.55 %"),
        (tenths(0.0655), "6.6 %"),
        (hundredths(0.0655), "6.55 %"),
        (hundredths(0.05), "5.00 %"),
        (points(0.0011, 2), "0.11"),
        (points(-0.00001, 2), "0.00"),
        # What is only estimated has two figures.
        (percent_figures(0.0133), "1.3 %"),
        (percent_figures(0.127), "13 %"),
        (percent_figures(0.00855), "0.86 %"),
        (about(1514.4, "g"), "1500 g"),
        (about(0.0476, "lb"), "0.048 lb"),
        # A display's counts, digit by digit.
        (counted(1574, 2), "15.74"),
        (counted(5, 3), "0.005"),
        (counted(12, 0), "12"),
        # What arithmetic leaves in the last figures is no number: 0.1 + 0.2, and 7 % of 100 in floats.
        (number(0.1 + 0.2), "0.3"),
        (percent_down(0.07 * 100.0 / 100.0, 2), "7 %"),
        (percent_down(0.57 * 100.0 / 100.0, 2), "57 %"),
        (percent_down(0.00085, 2), "0.085 %"),
        # A limit is never rounded up, and never down to nothing: 0.0041/0.8 and 0.0041/0.8187 per cent, both by hand.
        (percent_down(0.016676, 2), "1.66 %"),
        (percent_down(0.00005125, 2), "0.0051 %"),
        (percent_down(0.0000500794, 2), "0.005 %"),
        (percent_down(0.000099999, 2), "0.0099 %"),
        (percent_down(0.0001, 2), "0.01 %"),
        (percent_down(0.0, 2), "0 %"),
        (length(25.4, "in"), "1 in"),
        (length(600), "600 mm"),
        (length(600, "cm", 1), "60.0 cm"),
        (volume(3785.411784, "gal"), "1 gal"),
        (volume(29.5735295625, "fl_oz"), "1 fl oz"),
        # US gallon 3785.411784 ml, fluid ounce 29.5735295625 ml (NIST Handbook 44, appendix C): small rooms keep figures.
        (room(400, "us"), "14 fl oz"),
        (room(3785.411784, "us"), "1.0 gal"),
        (room(400, "metric"), "400 mL"),
        (room(1250, "metric"), "1.3 L"),
        (quantity(0.92, "g/ml"), "0.92 g/mL"),
        # A plain ratio has no unit and no space after it.
        (quantity(2, ""), "2"),
        # Both ends carry the unit (NIST SP 811 7.7: 0 °C to 100 °C).
        (interval(0, 100, temperature), "0 °C to 100 °C"),
        (interval(0.049, 0.0491, percent), "4.9 %"),
    ],
)
def test_quantity_is_written_by_the_si_guide(shown: str, expected: str) -> None:
    assert shown == expected


@pytest.mark.parametrize(("seconds", "expected"), [(0, "0 s"), (2, "2 s"), (200, "3 min 20 s"), (86_400, "24 h"), (3_661, "1 h 1 min 1 s")])
def test_a_length_of_time_has_only_the_units_it_needs(seconds: int, expected: str) -> None:
    # Signs h, min, s: NIST SP 811, table 6.
    assert duration(seconds) == expected


def test_an_interval_upside_down_is_refused() -> None:
    with pytest.raises(ValueError, match="low end"):
        interval(2, 1, percent)


def test_limits_are_rounded_inward() -> None:
    # 2000 mm is 78.7401... in and 50 mm is 1.9685... in, by the inch of 25.4 mm.
    assert limit(2000 / 25.4, "in", lowest=False) == "78.74 in"
    assert limit(50 / 25.4, "in", lowest=True) == "1.969 in"


@pytest.mark.parametrize(
    ("grams", "units", "said"),
    [
        (48_124.0, "metric", "48.1 kg"), (1_000.0, "metric", "1 kg"), (140.4, "metric", "140 g"), (4.26, "metric", "4.3 g"),
        # NIST Handbook 44, Appendix C: a pound is 453.59237 g, an ounce 28.349523125 g. 102.4 lb, 6.1 oz.
        (46_448.0, "us", "102.4 lb"), (173.0, "us", "6.1 oz"), (453.59237, "us", "1 lb"),
    ],
)  # fmt: skip
def test_a_weight_that_nobody_weighs_out_is_said_as_people_say_it(grams, units, said):
    assert plain_weight(grams, units) == said


def test_a_scent_is_said_in_grams_or_ounces_however_much_it_is():
    assert small_weight(1_500.0, "metric") == "1500 g"
    # 500 g / 28.349523125 g = 17.64 oz (NIST Handbook 44, Appendix C).
    assert small_weight(500.0, "us") == "17.6 oz"


@pytest.mark.parametrize(
    ("load", "limit_", "over", "shown"),
    [
        # By hand: to the nearest and down, with as many decimals as tell the two apart.
        (0.01004, 0.01003, True, ("1.004 %", "1.003 %")),
        (0.00767, 0.00769, False, ("0.767 %", "0.769 %")),
        (0.0107, 0.0108, False, ("1.07 %", "1.08 %")),
        (0.06, 0.0253, True, ("6 %", "2.53 %")),
        # 1.6666... %: to the nearest it would lie above itself rounded down.
        (1 / 60, 1 / 60, False, ("1.6666 %", "1.6666 %")),
        (0.0192300001, 0.01923, True, ("1.9231 %", "1.923 %")),
    ],
)
def test_a_load_beside_its_limit_shows_whether_it_is_over(load, limit_, over, shown):
    assert load_and_limit(load, limit_, over=over) == shown


@given(st.floats(1e-5, 0.5), st.floats(-1e-3, 1e-3))
def test_no_load_reads_over_a_limit_that_it_is_within_or_the_other_way(limit_, off):
    load = limit_ * (1.0 + off)
    over = load > limit_ * (1.0 + 1e-12)
    shown, most = (float(text.removesuffix(" %")) for text in load_and_limit(load, limit_, over=over))
    assert (shown > most) == over


def test_money_that_rounds_to_nothing_has_no_sign():
    # Half a cent is a cent, away from nothing (common practice, no source).
    shown = [money(Decimal(text), "$") for text in ("-0.004", "0.004", "0", "-0.005", "-1.5")]
    assert shown == ["$0.00", "$0.00", "$0.00", "-$0.01", "-$1.50"]
