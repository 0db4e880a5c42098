"""A formula of before, whose water is stated as a ratio or a share: the lye strength that is just that water."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workshops import EXAMPLE, EXAMPLE_LOTS

from calc.entry.fields import read
from calc.entry.quantity_text import read_quantity
from calc.formula.declaration import Formula
from calc.formula.older_water import strength_typed
from calc.formula.sheet import OILS_G, formula_sheet
from calc.tables.reference import oils


def typed_share(text: str) -> float:
    """As the form's field reads it, which takes 10 to 50 %."""
    return float(read_quantity(text, ("%",), fits=lambda number, unit: 10 <= number <= 50).number / 100)


VALUES = {
    "name": "Old", "oils.0.oil": "olive", "oils.0.share_fraction": "100", "oils.0.added": "main", "alkali": "naoh",
    "superfat_fraction": "5", "scent_fraction": "0", "oil_temperature_c": "40", "lye_temperature_c": "30",
}  # fmt: skip


def formula(**water: str) -> Formula:
    return read(Formula, {**VALUES, **water}).value


@pytest.mark.parametrize(
    ("ratio", "strength"),
    # By the definition, 1 part of hydroxide in 1 + ratio parts of lye: 100/3, 100/(10/3), 100/2.8.
    [("2", "33 1/3"), ("2 1/3", "30"), ("1.8", "35 5/7"), ("1,8", "35 5/7"), ("3", "25")],
)
def test_a_ratio_becomes_the_strength_exactly(ratio, strength):
    values = {"water_as": "water_to_lye", "water_to_lye_ratio": ratio}
    assert strength_typed(formula(**values), values, OILS_G, 140.0) == strength


@given(st.decimals(min_value="1.05", max_value=9, places=2).map(str))
def test_the_strength_of_a_ratio_is_read_back_as_the_same_water_to_the_last_digit(ratio):
    values = {"water_as": "water_to_lye", "water_to_lye_ratio": ratio}
    typed = strength_typed(formula(**values), values, OILS_G, 140.0)
    strength = typed_share(typed)
    assert (1 - strength) / strength == pytest.approx(float(ratio), rel=1e-11)


@given(st.floats(min_value=0.15, max_value=0.6))
def test_the_strength_of_a_share_gives_that_share_again(share):
    older = replace(EXAMPLE, lye_strength_fraction=None, water_as="share_of_oils", water_share_fraction=share)
    sheet = formula_sheet(older, oils(), EXAMPLE_LOTS)
    strength = typed_share(strength_typed(older, {}, OILS_G, sheet.naoh_g))
    again = formula_sheet(replace(EXAMPLE, lye_strength_fraction=strength), oils(), EXAMPLE_LOTS)
    # 141.866 g of NaOH per kg (test_sheet): half a hundredth of a gram of water is what no scale of the trade shows.
    assert again.water.share_of_oils_fraction == pytest.approx(share, abs=1e-8)
