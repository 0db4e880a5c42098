"""Water in its three statements, solubility, and what is weighed from the lots at hand."""

import pytest

from calc.chemistry.lye import Hydroxide
from calc.chemistry.water import (
    AlkaliSource,
    LyePlan,
    crystallisation_c,
    koh_saturation_fraction,
    lye_plan,
    ratio_from_strength,
    share_from_strength,
    stated_three_ways,
    strength_from_ratio,
    strength_from_share,
)
from calc.entry.problems import InputProblems
from calc.tables.reference import constant

PURE = {"naoh": AlkaliSource("solid", 1.0), "koh": AlkaliSource("solid", 1.0)}
KILOGRAM = Hydroxide(1000.0, 0.0)


def codes(plan: LyePlan) -> set[str]:
    return {caution.code for caution in plan.cautions}


@pytest.mark.parametrize(("ratio", "strength"), [(2.0, 1 / 3), (1.5, 0.4), (3.0, 0.25), (1.0, 0.5)])
def test_ratio_and_strength_by_arithmetic(ratio: float, strength: float) -> None:
    # Two parts of water to one of hydroxide are one part in three (arithmetic).
    assert strength_from_ratio(ratio) == pytest.approx(strength)
    assert ratio_from_strength(strength) == pytest.approx(ratio)


def test_example_block_in_all_three_statements() -> None:
    # Check value F4: 10 076.8 g of water in 15 040 g of 33 % lye; 34 980 g of oils, so 28.807 % of them by hand.
    hydroxide_g = 15040 * 0.33
    stated = stated_three_ways(0.33, 34980.0, hydroxide_g)
    assert stated.water_to_lye_ratio * hydroxide_g == pytest.approx(10076.8)
    assert stated.share_of_oils_fraction == pytest.approx(0.28807, abs=1e-5)
    assert strength_from_share(0.28807, 34980.0, hydroxide_g) == pytest.approx(0.33, abs=1e-5)


@pytest.mark.parametrize(
    ("strength", "temperature_c", "within"),
    # Row C11 of physics_check_values.csv (library curve, ±1.5 °C); at 35 and 52 % Wang 2008 as digitised in absorptionlib.
    [(0.33, 8.0, 1.5), (0.388, 16.0, 1.5), (0.455, 5.5, 1.5), (0.50, 12.5, 1.5), (0.35, 11.0, 1.0), (0.52, 16.0, 1.0)],
)
def test_crystallisation_of_soda_lye(strength: float, temperature_c: float, within: float) -> None:
    assert crystallisation_c(strength) == pytest.approx(temperature_c, abs=within)


def test_half_strength_lye_against_a_producers_page() -> None:
    # A producer's page gives 14 °C for 50 % (read), memory says 12 °C.
    assert 11.0 <= crystallisation_c(0.50) <= 14.0


def test_forty_percent_is_no_easier_than_fifty() -> None:
    assert crystallisation_c(0.40) >= crystallisation_c(0.50)


def test_crystallisation_beyond_the_curve_holds_its_ends() -> None:
    assert crystallisation_c(0.0) == pytest.approx(0.0)
    assert crystallisation_c(1.0) == pytest.approx(133.3)


@pytest.mark.parametrize(("temperature_c", "grams_in_100_g_water"), [(5.0, 97.0), (20.0, 112.0), (40.0, 112.0)])
def test_potash_dissolves_as_the_encyclopedia_says(temperature_c: float, grams_in_100_g_water: float) -> None:
    # Great Soviet Encyclopedia (read): 97 g at 0 °C, 112 g at 20 °C in 100 g of water; held on to the cold side.
    expected = grams_in_100_g_water / (100.0 + grams_in_100_g_water)
    assert koh_saturation_fraction(temperature_c) == pytest.approx(expected, abs=1e-4)


def test_flake_of_985_per_mille_as_in_the_check_value() -> None:
    # Check value A9: 200 kg of 33.00 % from 98.5 % flake are 67.005 kg of flake and 132.995 kg of water.
    plan = lye_plan(Hydroxide(66_000.0, 0.0), 0.33, {"naoh": AlkaliSource("solid", 0.985)})
    assert plan.naoh_source_g == pytest.approx(67_005.0, abs=1.0)
    assert plan.water_to_add_g == pytest.approx(132_995.0, abs=1.0)
    assert plan.lye_g == pytest.approx(200_000.0)


def test_premix_is_thinned_by_the_mixing_cross() -> None:
    # Mixing cross (alligation): 50 % down to 33 % takes 33 parts of lye and 17 parts of water.
    plan = lye_plan(KILOGRAM, 0.33, {"naoh": AlkaliSource("premixed", 0.50)})
    assert plan.naoh_source_g == pytest.approx(2000.0)
    assert plan.water_to_add_g == pytest.approx(2000.0 * 17 / 33)


def test_premix_of_just_the_wanted_strength_needs_no_water() -> None:
    plan = lye_plan(Hydroxide(4963.2, 0.0), 0.33, {"naoh": AlkaliSource("premixed", 0.33)})
    assert plan.naoh_source_g == pytest.approx(15_040.0)  # check value D3: 15 040 g of 33 % lye
    assert plan.water_to_add_g == pytest.approx(0.0, abs=1e-6)


def test_two_alkalis_share_one_strength() -> None:
    # 300 g NaOH + 100 g KOH as 90 % flake, 32 %: 850 g water by arithmetic, 11.11 g of it in the potash.
    plan = lye_plan(Hydroxide(300.0, 100.0), 0.32, PURE | {"koh": AlkaliSource("solid", 0.9)})
    assert plan.koh_source_g == pytest.approx(111.11, abs=0.01)
    assert plan.water_g == pytest.approx(850.0)
    assert plan.water_to_add_g == pytest.approx(850.0 - 11.11, abs=0.01)
    assert 400.0 / plan.lye_g == pytest.approx(0.32)


def test_water_of_additives_is_taken_off_what_is_poured() -> None:
    dry, with_milk = (lye_plan(KILOGRAM, 0.30, PURE, additive_water_g=water) for water in (0.0, 500.0))
    assert dry.water_to_add_g - with_milk.water_to_add_g == pytest.approx(500.0)
    assert with_milk.water_g == pytest.approx(dry.water_g)
    assert with_milk.mixed_strength_fraction > with_milk.strength_fraction


def test_weak_premix_is_a_problem_with_a_remedy_that_works() -> None:
    sources = {"naoh": AlkaliSource("premixed", 0.3219)}
    with pytest.raises(InputProblems) as caught:
        lye_plan(KILOGRAM, 0.33, sources)
    (problem,) = caught.value.problems
    assert (problem.field, problem.code) == ("naoh_lot", "premix-too-weak")
    assert "32.1 %" in problem.remedy
    assert lye_plan(KILOGRAM, 0.321, sources).water_to_add_g >= 0.0


def test_the_weaker_of_two_lots_is_named() -> None:
    sources = {"naoh": AlkaliSource("solid", 0.98), "koh": AlkaliSource("premixed", 0.20)}
    with pytest.raises(InputProblems) as caught:
        lye_plan(Hydroxide(100.0, 900.0), 0.33, sources)
    assert caught.value.problems[0].field == "koh_lot"


@pytest.mark.parametrize("water_g", [1300.0, 2100.0])
def test_additives_that_leave_no_water_for_the_caustic_are_a_problem_with_a_remedy_that_works(water_g: float) -> None:
    # 1000 g NaOH with 700 g of its 2000 g of water are 58.8 %, crystallising near 47 °C (curve: 58.3 % at 45.9 °C); with
    # none of it, solid.
    with pytest.raises(InputProblems) as caught:
        lye_plan(KILOGRAM, 1 / 3, PURE, additive_water_g=water_g, working_temperature_c=30.0)
    (problem,) = caught.value.problems
    assert (problem.field, problem.code) == ("additives", "lye-short-of-water")
    # Half water, half caustic is the strongest: 1000 / (2000 + 1300) = 30.30 %, 1000 / 4100 = 24.39 %; a tenth less,
    # since a batch rounds its oils and water to scales, and rounded down.
    at_most = {1300.0: 0.302, 2100.0: 0.242}[water_g]
    assert f"{at_most * 100:.1f} %" in problem.remedy
    plan = lye_plan(KILOGRAM, at_most, PURE, additive_water_g=water_g, working_temperature_c=30.0)
    assert plan.mixed_strength_fraction <= 0.5
    assert plan.strength_fraction == pytest.approx(at_most)


def test_milk_at_trace_leaves_a_stronger_lye_than_is_stated_and_that_one_is_warned_of() -> None:
    # 1000 g NaOH of 32 % have 2125 g of water; 1120 g of it in milk leave 1005 g: 1000 / 2005 = 49.9 % (by hand).
    plan = lye_plan(KILOGRAM, 0.32, PURE, additive_water_g=1120.0, working_temperature_c=30.0)
    assert plan.mixed_strength_fraction == pytest.approx(0.49875, abs=1e-4)
    assert plan.strength_fraction == pytest.approx(0.32)
    (caution,) = plan.cautions
    assert caution.code == "lye-strong"
    assert "49.9 %" in caution.message


def test_premixed_lye_of_just_the_wanted_strength_takes_wet_additives_with_a_word() -> None:
    # 3000 g of 33.3 % lye with 100 g of water in honey: nothing left to pour, 1000 / 3100 = 32.3 % in all.
    plan = lye_plan(KILOGRAM, 1 / 3, {"naoh": AlkaliSource("premixed", 1 / 3)}, additive_water_g=100.0)
    assert plan.water_to_add_g == 0.0
    assert plan.mixed_strength_fraction == pytest.approx(1 / 3)
    assert plan.strength_fraction == pytest.approx(1000 / 3100)
    assert "32.3 %" in next(caution.message for caution in plan.cautions if caution.code == "additives-too-wet")


@pytest.mark.parametrize(
    ("needed", "strength", "temperature_c"),
    [
        (KILOGRAM, 0.55, 25.0),  # 55 % NaOH crystallises at 32 °C (Wang 2008 as digitised in absorptionlib)
        (KILOGRAM, 0.40, 10.0),  # 40 % at 15.5 °C
        (Hydroxide(0.0, 1000.0), 0.54, 25.0),  # 52.8 % KOH saturates at 20 °C
        (Hydroxide(0.0, 1000.0), 0.50, 5.0),  # 49.2 % KOH at 0 °C
    ],
)
def test_lye_that_would_not_dissolve_is_a_problem(needed: Hydroxide, strength: float, temperature_c: float) -> None:
    with pytest.raises(InputProblems) as caught:
        lye_plan(needed, strength, PURE, working_temperature_c=temperature_c, field="water_to_lye_ratio")
    (problem,) = caught.value.problems
    assert (problem.field, problem.code) == ("water_to_lye_ratio", "lye-not-dissolved")


@pytest.mark.parametrize(
    ("strength", "temperature_c", "expected"),
    [
        # 25 and 40 % are common practice, no source; crystals below 20 °C above 35 %: the same curve and 4 °C in hand.
        (0.24, 30.0, {"lye-weak"}),
        (0.25, 30.0, set()),
        (0.33, 15.0, set()),
        (0.36, 18.0, {"lye-near-crystals"}),
        (0.36, 20.0, set()),
        (0.40, 30.0, set()),
        (0.45, 30.0, {"lye-strong"}),
        (0.50, 18.0, {"lye-strong", "lye-near-crystals"}),
    ],
)
def test_cautions_by_strength(strength: float, temperature_c: float, expected: set[str]) -> None:
    plan = lye_plan(KILOGRAM, strength, PURE, working_temperature_c=temperature_c)
    assert codes(plan) == expected
    for caution in plan.cautions:
        assert caution.reason
        if caution.code in {"lye-weak", "lye-strong"}:
            assert "common practice, no source" in caution.reason


def test_potash_alone_is_not_warned_of_soda_crystals() -> None:
    assert codes(lye_plan(Hydroxide(0.0, 1000.0), 0.38, PURE, working_temperature_c=15.0)) == set()


def test_warning_bounds_come_from_the_reference() -> None:
    assert constant("lye_strength_usual_low").value == 0.25
    assert constant("lye_strength_usual_high").value == 0.40
    assert constant("lye_strength_usual_low").how == "common practice"


@pytest.mark.parametrize(
    "call",
    [
        lambda: ratio_from_strength(0.0),
        lambda: ratio_from_strength(1.01),
        lambda: strength_from_ratio(-0.1),
        lambda: strength_from_share(0.3, 100.0, 0.0),
        lambda: share_from_strength(0.3, 0.0, 10.0),
        lambda: lye_plan(Hydroxide(0.0, 0.0), 0.33, PURE),
        lambda: lye_plan(KILOGRAM, 0.33, PURE, additive_water_g=-1.0),
        lambda: lye_plan(KILOGRAM, 0.33, {"koh": PURE["koh"]}),
        lambda: lye_plan(Hydroxide(float("nan"), 0.0), 0.33, PURE),
        lambda: strength_from_ratio(float("nan")),
    ],
)
def test_impossible_amounts_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        call()  # type: ignore[operator]
