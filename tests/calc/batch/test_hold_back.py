"""Where the first pour of lye stops and what is left, against the reference and by properties."""

import csv
import math
import re
from dataclasses import replace
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st
from workshops import BENCH, FINE, FLOOR

from calc.batch.hold_back import hold_back
from calc.shared import REFERENCE
from calc.workshop.scales import scales_of

with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}


def scales(*items):
    return [scale for scale, _ in scales_of(items, "R76").values()]


UNDER_VESSEL, OF_1_G, OF_A_TENTH = SCALES = scales(FLOOR, BENCH, FINE)


def test_example_block_is_parted_as_in_the_reference():
    # E5: "14.28 kg / 9.784 % / 0.7572 kg".
    first, top_up = (float(n) for n in re.findall(r"([\d.]+) kg", CHECKS["E5"]["value"]))
    found = hold_back(15_037.2, 0.05, UNDER_VESSEL, SCALES)
    assert found is not None
    assert found.short == round(100.0 * first)  # the display has two decimals of a kilogram
    assert found.top_up == math.floor(1000.0 * top_up)  # and the bench scale whole grams, rounded down
    assert found.scale == OF_1_G  # 757 g and a jug are too much for the fine scale's 600 g


def test_small_top_up_goes_on_the_finest_scale_and_none_on_a_coarse_one():
    assert hold_back(4_000.0, 0.05, UNDER_VESSEL, SCALES).scale == OF_A_TENTH
    assert hold_back(4_000.0, 0.05, UNDER_VESSEL, scales(FLOOR)).scale == UNDER_VESSEL
    as_coarse = scales(FLOOR, replace(BENCH, division_g=20.0))
    assert hold_back(4_000.0, 0.05, UNDER_VESSEL, as_coarse).scale == UNDER_VESSEL


def test_nothing_to_hold_back():
    assert hold_back(15_040.0, 0.0, UNDER_VESSEL, SCALES) is None
    # One division of 20 g cannot be parted.
    assert hold_back(39.0, 0.05, UNDER_VESSEL, SCALES) is None


@given(st.integers(4_000, 14_000_000), st.integers(1, 200))
def test_both_pours_make_the_whole_to_the_finer_division_and_never_more(hundredths, held_back):
    """In exact fractions: gram counts of 0.01 g, hold-back in thousandths."""
    exact = Fraction(hundredths, 100)
    found = hold_back(hundredths / 100, held_back / 1000, UNDER_VESSEL, SCALES)
    if found is None:
        # 20 g a division: nothing short of the whole is left.
        assert exact * (1 - Fraction(held_back, 1000)) // 20 in (0, exact // 20)
        return
    step = {"Floor": Fraction(20), "Bench": Fraction(1), "Fine": Fraction(1, 10)}[found.scale.name]
    short, top_up = Fraction(found.short, 100) * 1000, Fraction(found.top_up, 10**found.scale.display.decimals)
    if found.scale.display.unit == "kg":
        top_up *= 1000
    assert short == exact * (1 - Fraction(held_back, 1000)) // 20 * 20
    assert 0 <= exact - short - top_up < step
    assert top_up > 0
