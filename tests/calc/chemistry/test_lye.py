"""Stoichiometry of lye against rows A1 to A13 of physics_check_values.csv, general libraries and textbook sums."""

import csv
import re

import molmass
import pytest

from calc.chemistry.lye import (
    Hydroxide,
    acid_uptake_koh_g,
    alkali_needed,
    demand_koh_g,
    hydroxide_fraction,
    koh_equivalent_g,
    neutralisation_water_g,
    products,
)
from calc.chemistry.oils import glycerol_g_per_kg
from calc.shared import REFERENCE
from calc.tables.reference import additives, constant


def check_values() -> dict[str, tuple[tuple[float, ...], float]]:
    """id -> (the expected values, the tolerance); a cell such as '102.864 / 0.642' holds two."""
    with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
        return {
            row["id"]: (tuple(map(float, re.findall(r"-?\d+(?:\.\d+)?", row["value"]))), float(row["tolerance"]))
            for row in csv.DictReader(file)
            if re.fullmatch(r"A\d+", row["id"])
        }


def one_kilogram(saponification_value: float, acid_value: float) -> tuple[Hydroxide, tuple[float, float, float]]:
    alkali = alkali_needed(demand_koh_g(1000.0, saponification_value), 0.0, 0.0)
    return alkali, tuple(products(1000.0, saponification_value - acid_value, acid_value, alkali, 0.0))  # type: ignore[return-value]


def left_open(alkali: Hydroxide, demand_koh_g: float) -> float:
    """Superfat by its definition, the share of the oils' demand that the alkali leaves: 1 - alkali / demand, as KOH."""
    return 1.0 - koh_equivalent_g(*alkali) / demand_koh_g


# Full lye for a kilogram of oils, and 5 % of fat on top.
ON_TOP, OILS_AND_LATE_FAT_KOH_G = one_kilogram(190.0, 0.0)[0], demand_koh_g(1050.0, 190.0)

# physics_check_values.csv names the source of each: CIAAW 2021 weights, JECFA limits, and sums worked out by hand.
FOUND: dict[str, tuple[float, ...]] = {
    "A1": (constant("molar_mass_naoh").value,),
    "A2": (constant("molar_mass_koh").value,),
    "A3": (alkali_needed(1.0, 0.0, 0.0).naoh_g,),
    "A4": (constant("molar_mass_glycerol").value,),
    "A5": (one_kilogram(190.0, 0.0)[0].naoh_g,),
    "A6": (one_kilogram(190.0, 0.0)[1][0],),
    "A7": (one_kilogram(190.0, 0.0)[1][2],),
    "A8": one_kilogram(190.0, 2.0)[1][:2],
    "A10": (100.0 * hydroxide_fraction(0.98, 0.005, "naoh"),),
    "A11": (100.0 * hydroxide_fraction(0.85, 0.035, "koh"),),
    "A12": (100.0 * left_open(ON_TOP, OILS_AND_LATE_FAT_KOH_G),),
    "A13": (100.0 * (ON_TOP.naoh_g / alkali_needed(OILS_AND_LATE_FAT_KOH_G, 0.05, 0.0).naoh_g - 1.0),),
}


@pytest.mark.parametrize("key", FOUND)
def test_check_value_is_met(key: str) -> None:
    expected, tolerance = check_values()[key]
    assert FOUND[key] == pytest.approx(expected, abs=tolerance), key


def test_all_thirteen_check_values_are_there() -> None:
    # A9, caustic and water for so much lye, is met by the plan of a lye in test_water.py.
    assert set(check_values()) == set(FOUND) | {"A9"} == {f"A{number}" for number in range(1, 14)}


def test_saponification_value_is_the_koh_demand_by_definition() -> None:
    # ISO 3657: mg of KOH that saponify 1 g of fat, so 190 g of KOH per kilogram at 190 mg/g (definition, from memory).
    assert alkali_needed(demand_koh_g(1000.0, 190.0), 0.0, 1.0) == pytest.approx((0.0, 190.0))


def test_pure_triolein_takes_three_molecules_of_caustic_soda() -> None:
    # Independent: 3 M(NaOH) / M(C57H104O6) with molmass.
    triolein, naoh, koh = (molmass.Formula(text).mass for text in ("C57H104O6", "NaOH", "KOH"))
    demand = demand_koh_g(1000.0, 3 * koh / triolein * 1000)
    assert alkali_needed(demand, 0.0, 0.0).naoh_g == pytest.approx(3 * naoh / triolein * 1000, rel=3e-5)


@pytest.mark.parametrize("late_oil_g", [0.0, 50.0])
def test_superfat_counts_late_fat_among_all_oils(late_oil_g: float) -> None:
    # Row A12 of physics_check_values.csv: 5 % of the base oils on top is a discount of 4.762 %, s / (1 + s) by hand.
    demand = demand_koh_g(1000.0 + late_oil_g, 190.0)
    full_lye_of_the_base = alkali_needed(demand_koh_g(1000.0, 190.0), 0.0, 0.0)
    expected = {0.0: 0.0, 50.0: 0.047619}[late_oil_g]
    assert left_open(full_lye_of_the_base, demand) == pytest.approx(expected, abs=1e-6)


def test_share_of_potash_counts_molecules_not_grams() -> None:
    # Half the equivalents each: as many moles of NaOH as of KOH, by molmass.
    naoh_g, koh_g = alkali_needed(190.0, 0.05, 0.5)
    moles = naoh_g / molmass.Formula("NaOH").mass, koh_g / molmass.Formula("KOH").mass
    assert moles[0] == pytest.approx(moles[1], rel=3e-5)
    assert koh_g == pytest.approx(190.0 * 0.95 / 2)
    assert koh_equivalent_g(naoh_g, koh_g) == pytest.approx(190.0 * 0.95)


@pytest.mark.parametrize(
    ("key", "formula", "groups"), [("citric_anhydrous", "C6H8O7", 3), ("lactic", "C3H6O3", 1), ("acetic", "C2H4O2", 1)]
)
def test_acid_takes_one_hydroxide_a_group(key: str, formula: str, groups: int) -> None:
    # Independent: groups · M(NaOH) / M(acid) with molmass.
    koh_g = acid_uptake_koh_g(additives()[key], 100.0, 0.8)
    expected_naoh_g = 80.0 * groups * molmass.Formula("NaOH").mass / molmass.Formula(formula).mass
    assert alkali_needed(0.0, 0.0, 0.0, acid_koh_g=koh_g).naoh_g == pytest.approx(expected_naoh_g, rel=6e-5)


@pytest.mark.parametrize(
    ("key", "formula", "groups"),
    [("citric_anhydrous", "C6H8O7", 3), ("citric_monohydrate", "C6H10O8", 3), ("lactic", "C3H6O3", 1), ("acetic", "C2H4O2", 1)],
)
def test_acid_makes_one_water_a_group(key: str, formula: str, groups: int) -> None:
    # Independent: R-COOH + KOH = R-COOK + H2O, so groups · M(H2O) / M(acid) with molmass; mass before is mass after.
    water_g = neutralisation_water_g(additives()[key], 100.0, 0.8)
    acid_g_per_mol = molmass.Formula(formula).mass
    assert water_g == pytest.approx(80.0 * groups * molmass.Formula("H2O").mass / acid_g_per_mol, rel=6e-5)
    salt = molmass.Formula(f"({formula})({'K' * groups})").mass - groups * molmass.Formula("H").mass
    koh_g = acid_uptake_koh_g(additives()[key], 100.0, 0.8)
    assert 80.0 + koh_g == pytest.approx(80.0 / acid_g_per_mol * salt + water_g, rel=6e-5)


def test_crystal_water_of_citric_acid_by_molmass() -> None:
    # C6H8O7·H2O: M(H2O) / M(monohydrate).
    share = molmass.Formula("H2O").mass / molmass.Formula("C6H10O8").mass
    assert additives()["citric_monohydrate"].default_water_percent == pytest.approx(100.0 * share, abs=0.01)


def test_ten_grams_of_citric_acid_take_six_grams_of_caustic_soda() -> None:
    # Rule of the trade: 6 g of NaOH for 10 g of citric acid (common practice, no source); rounded down from 6.25.
    koh_g = acid_uptake_koh_g(additives()["citric_anhydrous"], 10.0)
    assert alkali_needed(0.0, 0.0, 0.0, acid_koh_g=koh_g).naoh_g == pytest.approx(6.25, abs=0.01)


def test_acid_is_not_discounted() -> None:
    with_acid, without = (alkali_needed(100.0, 0.05, 1.0, acid_koh_g=acid).koh_g for acid in (7.0, 0.0))
    assert with_acid - without == pytest.approx(7.0)
    assert left_open(Hydroxide(0.0, without), 100.0) == pytest.approx(0.05)


@pytest.mark.parametrize("key", ["salt", "sugar", "honey", "milk", "clay", "colour", "oatmeal", "other"])
def test_what_is_no_acid_takes_nothing(key: str) -> None:
    assert acid_uptake_koh_g(additives()[key], 1000.0) == 0.0


def test_hydroxide_of_flake_without_carbonate_is_its_total_alkali() -> None:
    assert hydroxide_fraction(0.985, 0.0, "naoh") == 0.985


def test_products_conserve_mass_and_wax_gives_no_glycerol() -> None:
    alkali = alkali_needed(200.0, 0.06, 0.0)
    made = products(1000.0, 150.0, 10.0, alkali, 0.06)
    assert sum(made) == pytest.approx(1000.0 + alkali.naoh_g)
    assert products(1000.0, 0.0, 0.0, alkali, 0.06).glycerol_g == 0.0


def test_glycerol_per_kilogram_is_a_tenth_of_the_fat() -> None:
    # Textbooks put the glycerol yield of common fats at about 10 % (from memory); A8 is checked above.
    assert glycerol_g_per_kg(190.0) == pytest.approx(103.958, abs=0.01)
    assert glycerol_g_per_kg(190.0, 2.0) == pytest.approx(102.864, abs=0.01)


@pytest.mark.parametrize(
    "call",
    [
        lambda: alkali_needed(-1.0, 0.05, 0.0),
        lambda: alkali_needed(100.0, 1.0, 0.0),
        lambda: alkali_needed(100.0, -0.01, 0.0),
        lambda: alkali_needed(100.0, 0.05, 1.01),
        lambda: alkali_needed(float("nan"), 0.05, 0.0),
        lambda: hydroxide_fraction(0.01, 0.05, "koh"),
        lambda: hydroxide_fraction(1.2, 0.0, "naoh"),
        lambda: acid_uptake_koh_g(additives()["lactic"], 10.0, 88.0),
        lambda: acid_uptake_koh_g(additives()["lactic"], -1.0),
        lambda: neutralisation_water_g(additives()["lactic"], 10.0, 88.0),
    ],
)
def test_impossible_amounts_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        call()  # type: ignore[operator]
