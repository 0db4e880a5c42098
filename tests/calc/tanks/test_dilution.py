"""Top-ups against the worked row of the check values, balances by hand, and what must hold for any tank."""

import csv

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.shared import REFERENCE
from calc.tanks.dilution import CannotReach, mixed, top_up, water_to_thin_g

with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}

# A tank, from empty to five metric tons, by the milligram.
masses = st.just(0.0) | st.floats(0.001, 5e6)
strengths = st.floats(0.01, 0.5)


def test_an_empty_tank_takes_flake_and_water_as_the_check_values_say() -> None:
    # Row A9: 200 kg of 33.00 % from 98.5 % flake.
    flake, water = (float(part) for part in CHECKS["A9"]["value"].split(" / "))
    found = top_up(0.0, 0.0, 200_000.0, 0.33, 0.985)
    assert (found.source_g / 1000.0, found.water_g / 1000.0) == pytest.approx((flake, water), abs=float(CHECKS["A9"]["tolerance"]))


def test_bought_lye_is_thinned_by_its_balance() -> None:
    # By hand: 100 kg of 33 % hold 33 kg; in 50 % that is 66 kg, and 34 kg of water.
    assert top_up(0.0, 0.0, 100_000.0, 0.33, 0.50) == pytest.approx((66_000.0, 34_000.0))
    assert water_to_thin_g(66_000.0, 0.50, 0.33) == pytest.approx(34_000.0)


def test_a_half_full_tank_of_another_strength_is_topped_up() -> None:
    # By hand: 41 kg of 31 % hold 12.71 kg, 100 kg of 33 % hold 33 kg: 20.29 kg short, 20.599 kg flake of 98.5 %, 38.401 kg water.
    assert top_up(41_000.0, 0.31, 100_000.0, 0.33, 0.985) == pytest.approx((20_598.98, 38_401.02), abs=0.01)


def test_what_cannot_be_reached_says_the_least_that_can_and_makes_it() -> None:
    # By hand: 50 kg of 40 % hold 20 kg, which is 60.606 kg of 33 %; 50 kg of 20 % with flake of 100 %: 50·0.8/0.67 = 59.701 kg.
    with pytest.raises(CannotReach) as strong:
        top_up(50_000.0, 0.40, 55_000.0, 0.33, 1.0)
    assert strong.value.too_strong and strong.value.least_g == pytest.approx(60_606.06, abs=0.01)
    assert top_up(50_000.0, 0.40, strong.value.least_g, 0.33, 1.0).source_g == pytest.approx(0.0, abs=1e-6)
    with pytest.raises(CannotReach) as weak:
        top_up(50_000.0, 0.20, 55_000.0, 0.33, 1.0)
    assert not weak.value.too_strong and weak.value.least_g == pytest.approx(59_701.49, abs=0.01)
    assert top_up(50_000.0, 0.20, weak.value.least_g, 0.33, 1.0).water_g == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("wrong", [(-1.0, 0.3, 1.0, 0.3, 1.0), (0.0, 0.0, 0.0, 0.3, 1.0), (0.0, 0.0, 1.0, 0.33, 0.33), (0.0, 0.0, 1.0, 0.3, 1.1)])
def test_what_is_no_question_is_refused(wrong: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="must be"):
        top_up(*wrong)


@pytest.mark.parametrize("wrong", [(1.0, 0.3, 0.4), (-1.0, 0.5, 0.3), (1.0, 0.5, 0.0)])
def test_nothing_is_thinned_to_more_than_its_strength(wrong: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="thinned"):
        water_to_thin_g(*wrong)


@given(masses, strengths, masses.filter(lambda grams: grams > 1.0), strengths, st.floats(0.51, 1.0))
def test_any_top_up_that_is_told_gives_the_mass_and_the_strength(
    have_g: float, have: float, total_g: float, wanted: float, source: float
) -> None:
    try:
        found = top_up(have_g, have, total_g, wanted, source)
    except CannotReach as cannot:
        assert cannot.least_g > total_g
        return
    assert min(found) >= 0.0
    assert have_g + sum(found) == pytest.approx(total_g)
    assert have_g * have + found.source_g * source == pytest.approx(total_g * wanted, rel=1e-6)


@given(masses, strengths, masses, strengths)
def test_two_lyes_put_together_keep_their_alkali(first_g: float, first: float, second_g: float, second: float) -> None:
    if first_g + second_g <= 0.0:
        with pytest.raises(ValueError, match="not both zero"):
            mixed(first_g, first, second_g, second)
        return
    mass_g, strength = mixed(first_g, first, second_g, second)
    assert mass_g * strength == pytest.approx(first_g * first + second_g * second)
    assert min(first, second) * (1 - 1e-9) <= strength <= max(first, second) * (1 + 1e-9)
