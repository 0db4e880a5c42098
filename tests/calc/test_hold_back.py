"""Where the first pour of lye stops and what is left, against the reference and by properties."""

import csv
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workshops import BENCH, FINE, FLOOR

from calc.display import display_of
from calc.hold_back import hold_back

REFERENCE = Path(__file__).parents[2] / "shared" / "reference"
with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}
DISPLAY = display_of(FLOOR.division_g, FLOOR.reads_in)
SCALES = (FLOOR, BENCH, FINE)


def test_example_block_is_parted_as_in_the_reference():
    # E5: "14.28 kg / 9.784 % / 0.7572 kg".
    first, top_up = (float(n) for n in re.findall(r"([\d.]+) kg", CHECKS["E5"]["value"]))
    found = hold_back(15_040.0, 15_037.2, 0.05, DISPLAY, FLOOR, SCALES)
    assert found is not None
    assert found.short_g == pytest.approx(1000.0 * first, abs=1e-9)
    assert found.top_up_g == pytest.approx(1000.0 * top_up, abs=1000.0 * float(CHECKS["E5"]["tolerance"]))
    assert found.scale == BENCH  # 757 g and a jug are too much for the fine scale's 600 g


def test_small_top_up_goes_on_the_finest_scale_and_none_on_a_coarse_one():
    assert hold_back(4_000.0, 4_000.0, 0.05, DISPLAY, FLOOR, SCALES).scale == FINE
    assert hold_back(4_000.0, 4_000.0, 0.05, DISPLAY, FLOOR, (FLOOR,)).scale is None
    assert hold_back(4_000.0, 4_000.0, 0.05, DISPLAY, FLOOR, (FLOOR, replace(BENCH, division_g=20.0))).scale is None


def test_nothing_to_hold_back():
    assert hold_back(15_040.0, 15_040.0, 0.0, DISPLAY, FLOOR, SCALES) is None
    # One division of 20 g cannot be parted.
    assert hold_back(20.0, 20.0, 0.05, DISPLAY, FLOOR, SCALES) is None


@given(st.integers(2, 7_000), st.floats(-0.5, 0.5), st.floats(1e-4, 0.2))
def test_both_pours_make_the_whole(divisions, off, held_back):
    target_g = 20.0 * divisions
    found = hold_back(target_g, target_g + 20.0 * off, held_back, DISPLAY, FLOOR, SCALES)
    assert found is not None
    assert found.short_g + found.top_up_g == pytest.approx(target_g + 20.0 * off, abs=1e-6)
    assert found.short_g % 20.0 == pytest.approx(0.0, abs=1e-9)
    # (1 - h) of the whole, rounded down to 20 g.
    assert -1e-6 <= (1.0 - held_back) * target_g - found.short_g < 20.0 + 1e-6
    assert found.top_up_g > 0.0 or off == -0.5
