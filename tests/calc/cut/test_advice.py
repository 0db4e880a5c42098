"""What would waste less, reckoned by hand."""

import pytest

from calc.cut.advice import filled_for, higher_fill, lower_fill, other_pitch
from calc.cut.ways import LENGTH, WIDTH, ways
from cut.test_ways import bar, block, loaf, own


def test_a_lower_fill_gives_the_same_bars_with_less_trim() -> None:
    # 5 + 3 x 60 + 5 = 190, and 2 for the level of the fill: 192 instead of 210 saves 600 x 400 x 18 mm at 1.04.
    made = block(height=210.0)
    found = lower_fill(ways(made, own(loaf(), bar()))[0], made, 210.0, 0.0, "metric")
    assert found is not None and found.fill_mm == 192.0
    assert found.saved_g == pytest.approx(600.0 * 400.0 * 18.0 * 1.04e-3)
    # Nothing is said of less than the fill itself is off.
    made = block(height=194.0)
    assert lower_fill(ways(made, own(loaf(), bar()))[0], made, 194.0, 0.0, "metric") is None


def test_a_fill_is_proposed_in_steps_of_a_rule() -> None:
    assert filled_for(190.2, 0.0, "metric") == 193.0
    # 190 mm and 2 are 7.559 in: 7.60.
    assert filled_for(190.0, 0.0, "us") == pytest.approx(7.6 * 25.4)
    # A block that sinks by a twentieth: 190/0.95 = 200, and 2.
    assert filled_for(190.0, 0.05, "metric") == 202.0


def test_a_higher_fill_gives_one_more_layer_where_the_mould_has_room() -> None:
    frames, made = own(loaf(), bar()), block(height=180.0)
    way = ways(made, frames)[0]

    def cut(fill_mm: float):
        return ways(block(height=fill_mm), frames)[0]

    found = higher_fill(way, 180.0, 210.0, 0.0, "metric", cut)
    assert found is not None and (found.fill_mm, found.more_bars) == (192.0, 92)
    assert higher_fill(way, 180.0, 191.0, 0.0, "metric", cut) is None


def test_the_nearest_distance_that_leaves_nothing_over() -> None:
    # The width leaves 390 - 4 x 90 = 30: four of 97.5 are 7.5 off, five of 78 are 12 off. The length leaves 15 of 590 only.
    way = next(way for way in ways(block(), own(loaf(), bar())) if way.runs == LENGTH)
    found = other_pitch(way, "metric")
    assert found is not None and (found.axis, found.pieces) == (WIDTH, 4)
    assert (found.pitch_mm, found.spare_mm, found.bar_fraction) == pytest.approx((97.5, 30.0, 97.5 / 90.0))
    # 85 leaves 50: five of 78 are nearer than four of 97.5.
    way = next(way for way in ways(block(), own(loaf(85.0), bar())) if way.runs == LENGTH)
    found = other_pitch(way, "metric")
    assert found is not None and (found.pieces, found.pitch_mm) == (5, pytest.approx(78.0))


def test_wires_that_leave_nothing_over_are_left_as_they_are() -> None:
    assert other_pitch(ways(block(610.0, 370.0), own(loaf(), bar()))[0], "metric") is None
