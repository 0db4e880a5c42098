"""Bars on trays: the check value, and a placement counted bar by bar."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.cure.trays import bars_per_tray, free_places, trays_needed


def test_the_check_value_of_the_physics_sheet():
    # Physics sheet, F3: tray 600 x 400, gap 3.175 mm, face 25 x 90: 84 bars, 264 need 4 trays; lying, 90 x 60: 36.
    assert bars_per_tray((600, 400), (25, 90, 60), True, 3.175) == 84
    assert trays_needed(264, 84) == 4
    assert bars_per_tray((600, 400), (25, 90, 60), False, 3.175) == 36


def placed(side: float, bar: float, gap: float) -> int:
    """Bars laid one after another until the next no longer fits."""
    count, end = 0, 0.0
    while end + bar <= side + 1e-6:
        count, end = count + 1, end + bar + gap
    return count


@given(
    st.tuples(st.floats(100, 900), st.floats(100, 900)),
    st.tuples(st.floats(15, 120), st.floats(15, 120), st.floats(15, 120)),
    st.booleans(), st.floats(0, 20), st.sampled_from([1.0, 25.4]),
)  # fmt: skip
def test_as_many_as_can_be_laid_one_by_one_in_both_unit_systems(tray, bar, stands, gap, unit):
    tray, bar, gap = tuple(round(side / unit, 1) * unit for side in tray), tuple(max(round(side / unit, 1), 0.1) * unit for side in bar), round(gap / unit, 3) * unit
    thin, middle, long = sorted(bar)
    a, b = (thin, long) if stands else (middle, long)
    ways = [placed(tray[0], x, gap) * placed(tray[1], y, gap) for x, y in ((a, b), (b, a))]
    assert bars_per_tray(tray, bar, stands, gap) == max(ways)


def test_a_wider_gap_never_holds_more():
    counts = [bars_per_tray((600, 400), (25, 90, 60), True, gap) for gap in range(30)]
    assert counts == sorted(counts, reverse=True)


def test_free_places_are_those_that_nobody_takes():
    assert free_places(6, [2, 5, 9]) == (1, 3, 4, 6)


def test_a_size_of_nothing_is_refused():
    with pytest.raises(ValueError, match="above zero"):
        bars_per_tray((600, 0), (25, 90, 60), True, 3)
