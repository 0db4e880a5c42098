"""What goes into a tank: balances by hand, and what must hold for any formulas."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.scales.display import display_of
from calc.tanks.dilution import CannotReach
from calc.tanks.loading import Recipe, blocks_that_fit, foreign, lye_load, oil_load, portions

MARSH = Recipe("Marsh", 2, {"olive": 45.0, "palm": 30.0, "coconut": 25.0}, 4_963.2, 0.32)


def test_a_formula_of_weaker_lye_takes_less_of_the_stronger_and_its_water_at_the_pot():
    load = lye_load([MARSH], 0.33, 0.985, 0.0, 0.0, 0.0)
    # By hand: 4963.2 / 0.33 = 15 040 g a block, whatever the formula's own 32 %.
    assert load.per_block_g == (("Marsh", 2, pytest.approx(15_040.0)),)
    assert load.total_g == pytest.approx(30_080.0)


def test_a_formula_of_stronger_lye_is_refused():
    with pytest.raises(ValueError, match="Marsh takes stronger lye"):
        lye_load([MARSH], 0.31, 0.985, 0.0, 0.0, 0.0)


def test_what_is_there_and_what_stays_below_the_valve_count():
    load = lye_load([MARSH], 0.33, 0.98, 10_000.0, 0.30, 6_780.0)
    # By hand: 36.86 kg of 33 % hold 12.1638 kg of hydroxide, 3 kg are there: 9.3508 kg of flake, 17.5092 kg of water.
    assert load.total_g == pytest.approx(36_860.0)
    assert load.added.source_g == pytest.approx(9_163.8 / 0.98)
    assert load.added.water_g == pytest.approx(26_860.0 - 9_163.8 / 0.98)


def test_enough_in_it_wants_nothing():
    load = lye_load([MARSH], 0.33, 0.98, 50_000.0, 0.33, 5_000.0)
    assert load.added == pytest.approx((0.0, 0.0), abs=1e-6)
    # Nobody thins a whole tank for a tenth of a point.
    assert lye_load([MARSH], 0.33, 0.98, 50_000.0, 0.331, 5_000.0, 0.003).added == (0.0, 0.0)


def test_more_there_than_wanted_and_too_weak_is_refused_for_that_little_lye():
    with pytest.raises(CannotReach):
        lye_load([MARSH], 0.33, 0.98, 50_000.0, 0.30, 5_000.0)


def test_oil_in_the_tank_counts_and_too_much_of_one_makes_more_of_all():
    plain = oil_load([MARSH], {"olive": 20.0}, 0.0)
    assert plain.added_g == pytest.approx({"olive": 70.0, "palm": 60.0, "coconut": 50.0})
    # By hand: 90 of palm are 30 % of 300.
    assert oil_load([MARSH], {"palm": 90.0}, 0.0).added_g == pytest.approx({"olive": 135.0, "palm": 0.0, "coconut": 75.0})


def test_oils_that_no_formula_shares_make_no_blend():
    with pytest.raises(ValueError, match="no oil in common"):
        oil_load([MARSH, Recipe("Other", 1, {"lard": 100.0})], {}, 0.0)


def test_an_oil_in_the_tank_that_the_blend_has_not_is_named():
    assert foreign({"olive": 1.0}, {"olive": 80.0, "lard": 20.0}) == ("lard",)
    assert foreign({"olive": 1.0}, {"olive": 99.9, "lard": 0.1}) == ()


def test_what_fits_is_told_in_blocks_in_their_order():
    recipes = [MARSH, Recipe("Reed", 5, {})]
    assert blocks_that_fit(recipes, [10.0, 20.0], 75.0) == (("Marsh", 2), ("Reed", 2))
    assert blocks_that_fit(recipes, [10.0, 20.0], -5.0) == (("Marsh", 0), ("Reed", 0))


def test_what_a_scale_does_not_carry_at_once_is_weighed_in_equal_portions():
    floor = display_of(20.0, "kg")
    # A pail stands on the scale too: half of 150 kg is left for what is in it (jug_room). 133.34 kg in steps of 20 g.
    assert portions(133_340.0, floor, 150_000.0, on_scale=False) == (6668, 6666)
    assert portions(133_340.0, floor, 150_000.0, on_scale=True) == (13334,)


oils = st.dictionaries(st.sampled_from(["olive", "palm", "coconut", "castor", "lard"]), st.floats(1.0, 1e5), min_size=1)
formulas = st.lists(st.builds(Recipe, st.just("x"), st.integers(1, 9), oils), min_size=1, max_size=4)


@given(recipes=formulas)
def test_blend_and_rest_together_are_each_formula(recipes):
    try:
        load = oil_load(recipes, {}, 0.0)
    except ValueError:
        # By another road: no oil stands in all of them.
        assert not set.intersection(*(set(recipe.oils_g) for recipe in recipes))
        return
    for recipe, pot in zip(recipes, load.pots, strict=True):
        for oil, grams in recipe.oils_g.items():
            assert load.shares.get(oil, 0.0) * pot.blend_g + pot.rest_g.get(oil, 0.0) == pytest.approx(grams, rel=1e-6)
    assert math.fsum(load.added_g.values()) == pytest.approx(math.fsum(pot.blocks * pot.blend_g for pot in load.pots))


@given(mass=st.floats(1_000.0, 1e6), capacity=st.floats(10_000.0, 200_000.0))
def test_portions_add_up_and_none_is_more_than_its_scale_carries(mass, capacity):
    display = display_of(20.0, "kg")
    found = portions(mass, display, capacity, on_scale=False)
    assert sum(found) == display.counts(mass)
    # Half of the scale (jug_room), and a division for each portion's rounding.
    assert max(found) <= display.counts(capacity / 2.0) + len(found) * display.division
