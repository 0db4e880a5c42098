"""An oil that is out or short, as it is told: how much is missing, what comes from where, and each way as a whole formula."""

import math
from fractions import Fraction

import numpy as np
import pytest

from calc.entry.problems import InputProblems
from calc.formula.changed_oils import shares_of
from calc.formula.stand_in import BEST, Shelf
from calc.formula.stand_in_plan import Stock, lacks, plan, worst
from calc.formula.stand_in_question import StandInQuestion
from calc.tables.reference import oils

# NaOH for KOH by the atomic weights of CIAAW 2021, abridged.
NAOH_PER_KOH = (22.98976928 + 15.999 + 1.008) / (39.0983 + 15.999 + 1.008)
MARSH = {
    "name": "Marsh Plain", "alkali": "naoh", "superfat_fraction": "6", "water_as": "lye_strength", "lye_strength_fraction": "32",
    "oils.0.oil": "olive", "oils.0.share_fraction": "45", "oils.0.added": "main",
    "oils.1.oil": "palm", "oils.1.share_fraction": "30", "oils.1.added": "main",
    "oils.2.oil": "coconut", "oils.2.share_fraction": "25", "oils.2.added": "main",
}  # fmt: skip
SHELF = {"olive": 160e3, "palm": 5e3, "coconut": 20e3, "tallow": 12e3, "palm_kernel": 25e3}


def stock(shelf=SHELF):
    there = {oil: Shelf(left_g, (f"{oil}-1",)) for oil, left_g in shelf.items()}
    return Stock(oils=oils(), in_use={}, shelf=there, of_formulas=frozenset({"olive", "palm", "coconut", "castor"}), own=frozenset())


def asked(**fields):
    return StandInQuestion(formula="f", **fields)


def planned(shelf=SHELF, values=MARSH, **fields):
    question, there = asked(**fields), stock(shelf)
    lack = next(each for each in lacks(question, values, there.shelf) if each.oil == question.oil)
    return lack, plan(lack, values, there, question, "Other")


def test_short_oil_keeps_what_is_there():
    # 30 % of 40 kg is 12 kg; 5 kg are 12.5 % of 40 kg, 12 whole percent.
    lack, found = planned(oil="palm", oils_g=40_000.0)
    assert (lack.kept, lack.needed_g, lack.short_g) == (12, 12_000.0, 7_000.0)
    for way in found.ways:
        shares = shares_of(way.rows)
        assert shares["palm"] == 12 and sum(shares.values()) == 100
        # No more of anything that changes than the shelf has for 40 kg.
        assert all(40_000.0 * float(shares[each.oil]) / 100.0 <= SHELF[each.oil] for each in way.stand_in.changes if each.after)


def test_an_oil_that_is_out_goes_whatever_its_lots_say():
    lack, found = planned(oil="palm", left_g=0.0, oils_g=40_000.0)
    assert lack.kept == 0 and lack.short_g is None
    assert all("palm" not in shares_of(way.rows) for way in found.ways)


def test_with_enough_on_the_shelf_nothing_is_missing():
    (olive, palm, coconut) = lacks(asked(oils_g=10_000.0), MARSH, stock().shelf)
    assert olive.enough and palm.enough and coconut.enough
    assert worst((olive, palm, coconut)) is None


def test_the_oil_that_is_most_short_is_asked_about_by_itself():
    # Of 100 kg of oils: 45, 30 and 25 kg; 160, 5 and 20 kg are there.
    found = lacks(asked(oils_g=100_000.0), MARSH, stock().shelf)
    assert worst(found).oil == "palm"
    _, told = planned(oil="palm", oils_g=100_000.0)
    assert [(each.oil, each.left_g, each.needed_g) for each in told.others_short] == [("coconut", 20_000.0, 25_000.0)]
    # Without a batch, one that the shelf has none of.
    assert worst(lacks(asked(), MARSH, stock({"olive": 1e5, "coconut": 1e5}).shelf)).oil == "palm"


def test_only_what_is_on_the_shelf_comes_first_and_what_is_not_is_named():
    _, found = planned(oil="palm", left_g=0.0)
    assert len(found.ways) == BEST and not any(way.to_get for way in found.ways)
    assert {each.oil for way in found.ways for each in way.stand_in.changes} <= set(SHELF) - {"palm"}
    assert found.to_get and all(way.to_get and not set(way.to_get) & set(SHELF) for way in found.to_get)


def test_without_any_lots_the_oils_of_the_formulas_are_gone_by():
    _, found = planned({}, oil="palm")
    assert {each.oil for way in found.ways for each in way.stand_in.changes} <= {"olive", "coconut", "castor"}


def test_tallow_in_a_bar_of_plants_is_told_and_so_is_its_end():
    _, found = planned(oil="palm", left_g=0.0)
    with_tallow = [way for way in found.ways if "tallow" in shares_of(way.rows)]
    assert with_tallow
    for way in found.ways:
        assert [oil for oil, _ in way.animal] == (["tallow"] if way in with_tallow else [])
        # INCI names of the soaps (International Nomenclature of Cosmetic Ingredients, from memory).
        assert "Sodium Palmate" in way.label_off
        assert ("Sodium Tallowate" in way.label_on) == (way in with_tallow)
    tallow = {**MARSH, "oils.1.oil": "tallow"}
    _, found = planned({"olive": 1e5, "coconut": 1e5, "palm": 1e5}, tallow, oil="tallow", left_g=0.0)
    assert all(way.without_animal and not way.animal for way in found.ways)


def test_an_allergen_that_comes_in_is_told():
    _, found = planned({"almond": 1e5, "coconut": 1e5, "palm": 1e5}, oil="olive", left_g=0.0)
    told = {oil for way in found.ways for oil, _ in way.allergens}
    assert told == {"almond"}
    _, found = planned({"hazelnut": 1e5, "palm": 1e5}, {**MARSH, "oils.0.oil": "almond"}, oil="almond", left_g=0.0)
    assert not any(way.allergens for way in found.ways)  # from a nut before, from a nut after


def test_a_shelf_in_an_amount_that_nobody_noted_bounds_nothing_and_says_so():
    _, found = planned({**SHELF, "tallow": None}, oil="palm", left_g=0.0, oils_g=1e6)
    way = found.ways[0]
    assert shares_of(way.rows)["tallow"] > 20 and way.not_noted == ("tallow",)


def test_a_wax_is_compared_with_nothing():
    wax = {**MARSH, "oils.1.oil": "beeswax"}
    with pytest.raises(InputProblems) as found:
        planned(SHELF, wax, oil="beeswax")
    assert found.value.problems[0].code == "not-comparable"


def test_lye_and_superfat_are_reckoned_anew():
    _, found = planned(oil="palm", left_g=0.0)
    chance = np.random.default_rng(7)
    for way in found.ways:
        shares = {oil: float(share) / 100.0 for oil, share in shares_of(way.rows).items()}
        used = {oil.key: oil for oil in way.sheet.oils}
        # The lye: 94 % of what the oils take, of each by its value used.
        demand_g = math.fsum(1000.0 * share * used[oil].used / 1000.0 for oil, share in shares.items())
        naoh_g = 0.94 * demand_g * NAOH_PER_KOH
        assert way.blend.hydroxide_g == pytest.approx(naoh_g, rel=1e-6)
        # The interval: each true value anywhere between the table's ends, drawn 200 000 times.
        table = oils()
        takes_g = sum(
            share * chance.uniform(table[oil].saponification_low, table[oil].saponification_high, 200_000) for oil, share in shares.items()
        )
        superfat = 1.0 - naoh_g / NAOH_PER_KOH / takes_g
        low, high = np.quantile(superfat, [0.025, 0.975])
        assert (way.sheet.superfat.low, way.sheet.superfat.high) == pytest.approx((low, high), abs=5e-4)


def test_what_the_shelf_has_is_enough_for_so_much_oil():
    _, found = planned(oil="palm", left_g=0.0)
    way = next(way for way in found.ways if "tallow" in shares_of(way.rows))
    grown = {each.oil: each.after for each in way.stand_in.changes if each.after > each.before}
    # By hand: the kilograms of each, divided by its share.
    assert way.oils_most_g == pytest.approx(min(100.0 * SHELF[oil] / float(after) for oil, after in grown.items()))
    assert isinstance(grown["tallow"], Fraction)
