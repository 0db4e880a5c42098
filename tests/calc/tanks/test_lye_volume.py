"""The volume of lye in a tank: published densities, and what must hold for any lye."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.chemistry.density import lye_density_g_per_ml
from calc.tanks.lye_volume import lye_in_tank_ml


def test_the_volume_is_that_of_the_published_density() -> None:
    # Handbook density of NaOH 33 % by interpolation, 1.3562 g/ml at 25 °C within 0.001: 271.25 kg are 200 l +- 0.15 l.
    assert lye_in_tank_ml(271_250.0, "naoh", 0.33, 25.0) == pytest.approx(200_000.0, abs=150.0)


def test_the_same_lye_stands_higher_when_warm() -> None:
    # By hand, from interpolated handbook densities at 25 and 40 °C (271.25 kg, 1.346 g/ml): 201.5 l.
    assert lye_in_tank_ml(271_250.0, "naoh", 0.33, 40.0) == pytest.approx(201_500.0, abs=150.0)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: lye_in_tank_ml(-1.0, "naoh", 0.33, 25.0), "A mass must be zero or more"),
        (lambda: lye_in_tank_ml(math.inf, "naoh", 0.33, 25.0), "A mass must be zero or more"),
        (lambda: lye_in_tank_ml(1.0, "naoh", 0.33, 5.0), "from 15 to 80"),
        (lambda: lye_in_tank_ml(1.0, "lime", 0.33, 25.0), "naoh or koh"),
    ],
)
def test_what_can_not_be_is_refused(call, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()


@given(
    mass_g=st.floats(min_value=0.0, max_value=1e6),
    alkali=st.sampled_from(["naoh", "koh"]),
    strength=st.floats(min_value=0.0, max_value=0.5),
    at_c=st.floats(min_value=15.0, max_value=80.0),
)
def test_volume_times_density_is_the_mass_again(mass_g: float, alkali: str, strength: float, at_c: float) -> None:
    assert lye_in_tank_ml(mass_g, alkali, strength, at_c) * lye_density_g_per_ml(alkali, strength, at_c) == pytest.approx(mass_g)
