"""Crystallising points against row C11 of the check values, a library, and an encyclopedia for potash."""

import pytest
from absorptionlib import NaOH  # type: ignore[import-untyped]

from calc.tanks.liquid import liquid, no_easier_than_bought


def test_crystals_form_where_the_check_values_say() -> None:
    # Row C11: 33 / 38.8 / 45.5 / 50 % at 8 / 16 / 5-6 / 11-14 °C, within 1.5.
    for percent, low, high in ((33.0, 8.0, 8.0), (38.8, 16.0, 16.0), (45.5, 5.0, 6.0), (50.0, 11.0, 14.0)):
        point_c = liquid("naoh", percent / 100.0).point_c
        assert point_c is not None and low - 1.5 <= point_c <= high + 1.5


@pytest.mark.parametrize("strength", [0.25, 0.31, 0.37, 0.42, 0.47, 0.52])
def test_the_curve_is_that_of_the_library(strength: float) -> None:
    # absorptionlib, digitised from Wang 2008, plus or minus 1 to 2 °C.
    assert liquid("naoh", strength).point_c == pytest.approx(NaOH.solubility_temperature(strength), abs=1.5)


def test_forty_percent_is_no_easier_than_fifty() -> None:
    # physics.md B: 40 % at 15.5 °C, a local maximum of 16 °C at 39 %; 50 % at 11 to 14 °C; 45.6 % at 6 °C, the minimum; 33 % at 8 °C.
    assert no_easier_than_bought(0.40) and no_easier_than_bought(0.39)
    assert not no_easier_than_bought(0.33) and not no_easier_than_bought(0.455) and not no_easier_than_bought(0.50)


def test_a_cold_night_is_told_by_its_margin() -> None:
    # 33 % at 8 °C (row C11); 4 °C are kept in hand.
    lye = liquid("naoh", 0.33)
    assert [lye.in_room(room_c) for room_c in (18.0, 10.0, 5.0)] == ["liquid", "close", "crystals"]
    assert lye.keep_above_c == pytest.approx(12.0, abs=0.5)


def test_lye_above_35_percent_is_kept_at_20_degrees_whatever_its_own_point() -> None:
    # physics.md B: warn below 20 °C for anything above 35 %. 45.6 % alone would drop crystals at 6 °C only.
    strong = liquid("naoh", 0.456)
    assert [strong.in_room(room_c) for room_c in (20.0, 19.0, 12.0, 8.0, 5.0)] == ["liquid", "cold", "cold", "close", "crystals"]
    assert strong.keep_above_c == 20.0
    # Whichever warns first: 40 % at 15.5 °C (local maximum) is close to it from 19.5 on.
    assert [liquid("naoh", 0.40).in_room(room_c) for room_c in (20.5, 19.8, 18.0)] == ["liquid", "cold", "close"]
    # At 35 % and below its own point counts, 11 °C.
    assert [liquid("naoh", 0.35).in_room(room_c) for room_c in (19.0, 13.0)] == ["liquid", "close"]
    assert liquid("koh", 0.45).in_room(15.0) == "liquid"


def test_potash_is_told_as_far_as_two_points_go() -> None:
    # Great Soviet Encyclopedia: 97 g KOH to 100 g water at 0 °C, 112 g at 20 °C, that is 49.2 and 52.8 %.
    weak = liquid("koh", 0.45)
    assert weak.at_most and weak.in_room(5.0) == "liquid" and weak.in_room(-5.0) is None
    point_c = liquid("koh", 0.51).point_c
    assert point_c is not None and 5.0 < point_c < 15.0
    unknown = liquid("koh", 0.55)
    assert unknown.point_c is None and unknown.in_room(20.0) is None and unknown.keep_above_c is None
