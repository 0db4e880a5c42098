"""The lye left in a tank: row E6 of the check values, balances by hand, and what must hold for any lye."""

import csv
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.shared import REFERENCE
from calc.tanks.contents import blocks_in_tank, lye_in_tank_g, lye_in_tank_ml

with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}

NAOH_33 = ("naoh", 0.33)
BLOCK_G = 15_040.0


def test_a_tank_of_200_litres_gives_17_blocks_and_holds_122_litres_after_seven() -> None:
    # Row E6: blocks and litres, with the litres' tolerance.
    blocks, litres = CHECKS["E6"]["value"].split(" / ")
    filled_g = lye_in_tank_g(200_000.0, *NAOH_33, 25.0)
    dead_g = lye_in_tank_g(5_000.0, *NAOH_33, 25.0)
    assert blocks_in_tank(filled_g, dead_g, BLOCK_G).whole_blocks == int(blocks)
    left_g = filled_g - 7 * BLOCK_G
    assert lye_in_tank_ml(left_g, *NAOH_33, 25.0) / 1000.0 == pytest.approx(float(litres), abs=float(CHECKS["E6"]["tolerance"]))
    # By hand: 17 = 7 + 10 blocks, whether counted at the start or after seven.
    assert blocks_in_tank(left_g, dead_g, BLOCK_G).whole_blocks == int(blocks) - 7


def test_the_mass_is_that_of_the_published_density() -> None:
    # Handbook density of NaOH 33 % by interpolation, 1.3562 g/ml at 25 °C within 0.001: 200 l are 271.25 kg +- 0.2 kg.
    assert lye_in_tank_g(200_000.0, *NAOH_33, 25.0) == pytest.approx(271_250.0, abs=200.0)


def test_the_same_lye_stands_higher_when_warm() -> None:
    # By hand, from interpolated handbook densities at 25 and 40 °C (271.25 kg, 1.346 g/ml): 201.5 l.
    warm_ml = lye_in_tank_ml(lye_in_tank_g(200_000.0, *NAOH_33, 25.0), *NAOH_33, 40.0)
    assert warm_ml == pytest.approx(201_500.0, abs=100.0)


def test_what_stays_below_the_outlet_gives_no_block() -> None:
    assert blocks_in_tank(6_000.0, 6_780.0, BLOCK_G) == (0, 0.0, 0.0)
    # By hand: 6.78 + 15.04 kg give just one; a gram less gives none.
    assert blocks_in_tank(6_780.0 + BLOCK_G, 6_780.0, BLOCK_G).whole_blocks == 1
    assert blocks_in_tank(6_779.0 + BLOCK_G, 6_780.0, BLOCK_G).whole_blocks == 0


def test_a_tank_emptied_by_even_pours_is_empty() -> None:
    # 3 x 0.1 is not 0.3 in floats; by hand it held three blocks.
    assert blocks_in_tank(0.3, 0.0, 0.1).whole_blocks == 3


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: lye_in_tank_g(-1.0, "naoh", 0.33, 25.0), "A volume must be zero or more"),
        (lambda: lye_in_tank_ml(math.inf, "naoh", 0.33, 25.0), "A mass must be zero or more"),
        (lambda: lye_in_tank_ml(1.0, "naoh", 0.33, 5.0), "from 15 to 80"),
        (lambda: lye_in_tank_ml(1.0, "lime", 0.33, 25.0), "naoh or koh"),
        (lambda: blocks_in_tank(1.0, -1.0, 1.0), "below the outlet must be zero or more"),
        (lambda: blocks_in_tank(1.0, 0.0, 0.0), "above zero"),
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
def test_litres_and_kilograms_are_each_others_inverse(mass_g: float, alkali: str, strength: float, at_c: float) -> None:
    assert lye_in_tank_g(lye_in_tank_ml(mass_g, alkali, strength, at_c), alkali, strength, at_c) == pytest.approx(mass_g)
