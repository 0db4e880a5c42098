"""A formula as a whole: what adds up, what is named twice, and its chemistry per kilogram of oils."""

from dataclasses import replace

import molmass
import pytest
from workshops import EXAMPLE, EXAMPLE_LOTS

from calc.entry.fields import check
from calc.entry.problems import InputProblems
from calc.formula.chemistry import additive_water_g, counted_water
from calc.formula.declaration import AdditiveShare, OilShare, water_text
from calc.formula.sheet import formula_sheet
from calc.tables.reference import oils


def shares(*pairs):
    return tuple(OilShare(oil=oil, share_fraction=share, added="main") for oil, share in pairs)


def faults_of(**changes):
    with pytest.raises(InputProblems) as found:
        check(replace(EXAMPLE, **changes))
    return [(problem.field, problem.code) for problem in found.value.problems]


def test_every_fault_of_the_whole_is_told_at_once():
    rows = (*shares(("olive", 0.5), ("olive", 0.4)),)
    lactic = AdditiveShare(kind="lactic", share_fraction=0.01)
    stranger = AdditiveShare(kind="moon_dust", share_fraction=0.01)
    assert faults_of(oils=rows, additives=(lactic, stranger)) == [
        ("oils", "shares-do-not-sum"),
        ("oils.1.oil", "oil-twice"),
        ("additives.0.strength_fraction", "strength-missing"),
        ("additives.1.kind", "additive-unknown"),
    ]


def test_the_remedy_says_how_much_is_missing():
    with pytest.raises(InputProblems) as found:
        check(replace(EXAMPLE, oils=shares(("olive", 0.45), ("palm", 0.30))))
    assert found.value.problems[0].remedy == "Add 25 % more."


def test_thirds_typed_to_a_hundredth_stand_and_are_taken_in_proportion():
    thirds = replace(EXAMPLE, oils=shares(("olive", 0.3333), ("palm", 0.3333), ("coconut", 0.3333)))
    check(thirds)
    sheet = formula_sheet(thirds, oils(), EXAMPLE_LOTS)
    assert sum(oil.share_fraction for oil in sheet.oils) == pytest.approx(1.0, abs=1e-12)


def test_lye_of_a_kilogram_of_the_example_block():
    # By hand, per kg of the formula's exact shares and at 5 %, with the middles of the Codex ranges and row A3 of
    # physics_check_values.csv: 0.45*190 + 0.30*199.5 + 0.25*256.5 = 209.475 mg/g; * 0.71289 * 0.95 = 141.866 g.
    sheet = formula_sheet(EXAMPLE, oils(), EXAMPLE_LOTS)
    assert sheet.naoh_g == pytest.approx(141.866, abs=0.005)
    assert sheet.koh_g == 0.0


def test_potash_alone_needs_the_saponification_value_itself():
    # The definition of the saponification value: mg of KOH per g of oil.
    sheet = formula_sheet(replace(EXAMPLE, alkali="koh"), oils(), EXAMPLE_LOTS)
    assert sheet.koh_g == pytest.approx(209.475 * 0.95, rel=1e-6)


def test_water_is_stated_three_ways():
    # Strength 1/3 is a ratio of 2 to 1 by definition; the share is 2 * 141.866 g per 1000 g.
    sheet = formula_sheet(replace(EXAMPLE, lye_strength_fraction=1 / 3), oils(), EXAMPLE_LOTS)
    assert sheet.water.water_to_lye_ratio == pytest.approx(2.0)
    assert sheet.water.share_of_oils_fraction == pytest.approx(0.283732, abs=1e-5)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, "lye strength 33 %"),
        ({"lye_strength_fraction": None, "water_to_lye_ratio": 1.8}, "water to lye 1.8 to 1"),
        ({"lye_strength_fraction": None, "water_share_fraction": 0.38}, "water 38 % of the oils"),
    ],
)
def test_water_in_words(changes, expected):
    assert water_text(replace(EXAMPLE, **changes)) == expected


def test_too_little_water_is_a_problem_at_the_control_that_states_it():
    dry = replace(EXAMPLE, lye_strength_fraction=None, water_as="share_of_oils", water_share_fraction=0.12)
    with pytest.raises(InputProblems) as found:
        formula_sheet(dry, oils(), EXAMPLE_LOTS)
    assert [(p.field, p.code) for p in found.value.problems] == [("water_share_fraction", "lye-too-strong")]


def test_oil_that_is_gone_is_a_problem_of_its_row():
    gone = replace(EXAMPLE, oils=shares(("olive", 0.5), ("own:gone", 0.5)))
    with pytest.raises(InputProblems) as found:
        formula_sheet(gone, oils(), {})
    assert [(p.field, p.code) for p in found.value.problems] == [("oils.1.oil", "oil-unknown")]


def test_sugars_and_waxes_bring_a_caution():
    formula = replace(
        EXAMPLE,
        oils=shares(("olive", 0.95), ("beeswax", 0.05)),
        additives=(AdditiveShare(kind="honey", share_fraction=0.01),),
    )
    found = {caution.code for caution in formula_sheet(formula, oils(), {}).cautions}
    assert {"heats-the-batter", "wax-saponifies-in-part"} <= found


def test_certificate_stands_above_the_table():
    with_paper = formula_sheet(EXAMPLE, oils(), EXAMPLE_LOTS)
    without = formula_sheet(EXAMPLE, oils(), {})
    assert [oil.basis for oil in with_paper.oils] == ["certificate"] * 3
    # Table: olive 184 to 196 and 191.0 calculated, so the middle, 190, is the lower one (oils.csv).
    assert (without.oils[0].used, without.oils[0].basis) == (190.0, "range middle")


def test_habit_without_a_source_is_not_given_one():
    from calc.formula.chemistry import _from_source

    assert _from_source("common practice, no source") == "Common practice, no source."
    assert _from_source("NIOSH") == "Source: NIOSH."


@pytest.mark.parametrize(
    ("row", "fraction", "basis"),
    [
        # additives.csv: whole cow's milk 87 %, honey 17 % (typical figures, memory); vinegar of 5 % acidity is water else.
        ({"kind": "milk"}, 0.87, "usual"),
        ({"kind": "honey"}, 0.17, "usual"),
        ({"kind": "acetic", "strength_fraction": 0.05}, 0.95, "strength"),
        ({"kind": "lactic", "strength_fraction": 0.80}, 0.20, "strength"),
        ({"kind": "citric_monohydrate"}, 0.0857, "usual"),
        ({"kind": "citric_anhydrous"}, 0.0, "dry"),
        ({"kind": "clay"}, 0.0, "dry"),
        ({"kind": "milk", "water_fraction": 0.03}, 0.03, "stated"),  # milk powder
        ({"kind": "milk", "water_fraction": 0.0}, 0.0, "stated"),
        ({"kind": "lactic", "strength_fraction": 0.80, "water_fraction": 0.1}, 0.1, "stated"),
    ],
)
def test_water_that_nobody_states_is_what_is_usual_and_a_stated_one_wins(row, fraction, basis):
    found = counted_water(AdditiveShare(share_fraction=0.01, **row))
    assert (found.fraction, found.basis) == (pytest.approx(fraction), basis)


def test_acid_brings_its_crystal_water_and_the_water_of_its_neutralisation():
    # molmass: 10 g of C6H8O7·H2O (210.14 g/mol) hold 0.857 g and make 3·18.015/210.14·10 = 2.572 g.
    water, acid = molmass.Formula("H2O").mass, molmass.Formula("C6H10O8").mass
    row = AdditiveShare(kind="citric_monohydrate", share_fraction=0.01)
    expected = 10.0 * (water + 3 * water) / acid
    assert additive_water_g(replace(EXAMPLE, additives=(row,)), [10.0]) == pytest.approx(expected, abs=0.001)


def test_milk_left_blank_makes_the_lye_itself_stronger_and_too_much_of_it_is_refused_not_a_fault():
    # By hand for the example: 141.866 g NaOH of 32 % have 301.47 g of water; milk of 18 % brings 180·0.87 = 156.6 g at
    # trace, so the caustic dissolves in 144.87 g: 49.48 %. Of 20 %: 174 g, 127.47 g left, 52.7 %.
    milky = replace(EXAMPLE, lye_strength_fraction=0.32, additives=(AdditiveShare(kind="milk", share_fraction=0.18),))
    sheet = formula_sheet(milky, oils(), EXAMPLE_LOTS)
    assert sheet.lye_itself_fraction == pytest.approx(0.4948, abs=1e-4)
    assert sheet.water.lye_strength_fraction == pytest.approx(0.32)
    assert "lye-strong" in {caution.code for caution in sheet.cautions}
    with pytest.raises(InputProblems) as found:
        formula_sheet(replace(milky, additives=(AdditiveShare(kind="milk", share_fraction=0.20),)), oils(), EXAMPLE_LOTS)
    (problem,) = found.value.problems
    assert (problem.field, problem.code) == ("additives", "lye-short-of-water")
    assert "52.7 %" in problem.message
    at_most = float(problem.remedy.rsplit(" %", 1)[0].rsplit(" ", 1)[1]) / 100
    weaker = replace(milky, lye_strength_fraction=at_most, additives=(AdditiveShare(kind="milk", share_fraction=0.20),))
    assert formula_sheet(weaker, oils(), EXAMPLE_LOTS).lye_itself_fraction <= 0.5


def test_strength_and_water_of_an_acid_are_not_more_than_all_of_it():
    row = AdditiveShare(kind="lactic", share_fraction=0.01, strength_fraction=0.8, water_fraction=0.3)
    assert faults_of(additives=(row,)) == [("additives.0.water_fraction", "more-than-all")]


def test_jojoba_that_may_not_react_is_told_with_its_superfat_and_opens_the_question_of_free_lye():
    # By hand: 171 g KOH of olive and 9.5 g of jojoba at 5 % are 171.475 g of lye, for 171.032 g when jojoba takes no
    # more than its acid value of 0.32 (Merck Index): -0.26 %.
    formula = replace(EXAMPLE, oils=shares(("olive", 0.9), ("jojoba", 0.1)))
    sheet = formula_sheet(formula, oils(), {})
    assert sheet.superfat.without_waxes == pytest.approx(-0.00259, abs=1e-5)
    assert sheet.free_lye_possible
    (caution,) = [each for each in sheet.cautions if each.code == "wax-saponifies-in-part"]
    assert caution.message == "If none of the jojoba oil reacts, the superfat is −0.26 %."
    assert formula_sheet(replace(EXAMPLE, oils=shares(("olive", 1.0))), oils(), {}).superfat.without_waxes is None
