"""What must hold for every batch sheet, whatever the formula."""

from hypothesis import given
from hypothesis import strategies as st
from workshops import order, setting

from calc.batch.sheet import batch_sheet
from calc.formula.declaration import OilShare

superfats = st.floats(0.0, 0.2)
heights = st.floats(40.0, 205.0)
shares = st.tuples(st.integers(1, 50), st.integers(1, 50), st.integers(1, 50)).map(
    lambda parts: tuple(part / sum(parts) for part in parts)
)


def oils_of(three_shares):
    return tuple(
        OilShare(oil=oil, share_fraction=share, added="main")
        for oil, share in zip(("olive", "palm", "coconut"), three_shares, strict=True)
    )


@given(superfats, superfats, shares)
def test_more_superfat_never_means_more_lye(one, other, three_shares):
    low, high = sorted((one, other))
    sheets = [
        batch_sheet(
            order(scale_to="batch_mass", batch_mass_g=40_000.0),
            setting({"superfat_fraction": superfat, "oils": oils_of(three_shares)}),
        )
        for superfat in (low, high)
    ]
    # Per gram of oils, since the oils fill up what the lye leaves; rounding moves either by half a division of 20 g.
    per_oil = [sheet.naoh_g / sheet.oils_g for sheet in sheets]
    assert per_oil[1] <= per_oil[0] * 1.003


@given(heights, shares)
def test_level_ordered_is_the_level_shown(height, three_shares):
    sheet = batch_sheet(order(scale_to="fill_height", fill_height_mm=height), setting({"oils": oils_of(three_shares)}))
    # Four pours rounded to 20 g: at most 40 g of batter, 0.17 mm on 600 x 400 mm; lye follows the oils as rounded.
    assert abs(sheet.fill_height_mm - height) < 0.4


@given(heights, shares)
def test_mass_in_the_vessel_is_the_sum_of_the_pours(height, three_shares):
    sheet = batch_sheet(order(scale_to="fill_height", fill_height_mm=height), setting({"oils": oils_of(three_shares)}))
    # As near as a display in steps of 20 g comes; the errors of the steps before do not add up in it.
    assert abs(sheet.pours[-1].running.grams - sum(pour.target_g for pour in sheet.pours)) <= 10.0 + 1e-6


@given(heights, shares)
def test_every_target_is_a_whole_number_of_divisions_next_to_the_exact_amount(height, three_shares):
    sheet = batch_sheet(order(scale_to="fill_height", fill_height_mm=height), setting({"oils": oils_of(three_shares)}))
    for pour in sheet.pours:
        off_g = pour.target_g - pour.exact_g
        if pour.key.startswith("lye:"):
            assert -20.0 < off_g <= 1e-9
        else:
            assert abs(off_g) <= pour.division_g / 2.0 * (1.0 + 1e-9)
        assert all(portion.count % portion.display.division == 0 for portion in pour.portions)
