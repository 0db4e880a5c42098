"""What a display can show: exact counts of its last decimal."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.entry.units import convert
from calc.scales.display import Display, display_of

# Divisions as plates state them: 1, 2 or 5 of a decimal place (OIML R 76-1 3.4.1, NIST HB 44 2.20 S.1.2.1; from memory).
PLATES = [("0.02", "kg"), ("20", "g"), ("0.1", "g"), ("1", "g"), ("5", "kg"), ("0.05", "lb"), ("0.01", "lb"), ("0.1", "oz")]
plates = st.sampled_from(PLATES)


def of_plate(division: str, unit: str) -> Display:
    return display_of(convert(float(division), unit, "g"), unit)


@pytest.mark.parametrize(("division", "unit"), PLATES)
def test_division_on_the_plate_is_the_display_s_division(division, unit):
    display = of_plate(division, unit)
    assert Decimal(display.division).scaleb(-display.decimals) == Decimal(division)


@pytest.mark.parametrize(
    ("division_g", "unit", "mass_g", "shown"),
    [
        (20.0, "kg", 15_740.0, "15.74 kg"),  # row E1 of physics_check_values.csv: olive of the example block
        (20.0, "g", 15_740.0, "15740 g"),
        (22.6796185, "lb", 15_000.0, "33.05 lb"),  # 0.05 lb; 15 kg = 33.0693 lb by hand (HB 44 App. C: 1 lb = 453.59237 g)
        (0.1, "g", 0.3, "0.3 g"),
        (1.0, "lb", 1_000.0, "2.204 lb"),  # 1 g is 0.0022 lb: such displays count by 0.002 lb (common practice, no source)
        (28.349523125 / 8, "oz", 85.0, "3.000 oz"),  # an eighth of an ounce; 85 g = 2.998 oz
    ],
)
def test_display_shows_the_nearest_multiple_of_its_division(division_g, unit, mass_g, shown):
    display = display_of(division_g, unit)
    assert display.said(display.counts(mass_g)) == shown


@given(plates, st.integers(0, 200_000))
def test_counts_survive_the_way_to_grams_and_back(plate, steps):
    display = of_plate(*plate)
    counts = steps * display.division
    assert display.counts(display.grams(counts)) == counts
    assert display.counts_within(display.grams(counts)) == counts
    assert Decimal(display.text(counts)) == Decimal(plate[0]) * steps


@given(plates, st.floats(0.0, 200_000.0))
def test_nearest_count_is_a_multiple_within_half_a_division(plate, mass_g):
    display = of_plate(*plate)
    division_g = convert(float(plate[0]), plate[1], "g")
    counts = display.counts(mass_g)
    assert counts % display.division == 0
    assert abs(display.grams(counts) - mass_g) <= division_g / 2 * (1 + 1e-9) + 1e-9
    within = display.counts_within(mass_g)
    assert within % display.division == 0
    assert -1e-9 <= mass_g - display.grams(within) + division_g * 1e-9
    assert mass_g - display.grams(within) < division_g * (1 + 1e-9)


def test_division_of_nothing_is_refused():
    with pytest.raises(ValueError):
        display_of(0.0, "kg")
