"""Counting whole pieces; that it counts as exact fractions do is tested where bars are counted."""

import pytest

from calc.entry.counting import whole_count


def test_a_ratio_below_zero_cannot_be_counted() -> None:
    with pytest.raises(ValueError, match="zero or more"):
        whole_count(-0.1)
