"""The heat of lye against rows C of the check values, a textbook's exercise, and two libraries.

absorptionlib holds the enthalpy of Olsson, Jernqvist and Aly 1997; its zero is another, so that only differences compare.
"""

import csv

import pytest
from absorptionlib import NaOH  # type: ignore[import-untyped]
from CoolProp.CoolProp import PropsSI  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq  # type: ignore[import-untyped]
from thermo.electrochem import Laliberte_heat_capacity  # type: ignore[import-untyped]

from calc.chemistry.enthalpy import (
    Part,
    boiling_c,
    end_temperature_c,
    koh_end_at_most_c,
    lye_enthalpy,
    part_enthalpy,
    together,
)
from calc.chemistry.heat import fat_heat_capacity
from calc.shared import REFERENCE
from calc.tables.reference import constant

with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}


def dissolved(strength: float, at_c: float) -> list[Part]:
    return [Part(1000.0 * (1.0 - strength), 0.0, at_c), Part(1000.0 * strength, 1.0, at_c, solid=True)]


def heat_per_mol(strength: float) -> float:
    """What dissolving takes up at 25 °C, where water and solid hold none [kJ/mol]."""
    return lye_enthalpy(strength, 25.0) / (1000.0 * strength / constant("molar_mass_naoh").value)


@pytest.mark.parametrize(("row", "strength", "at_c"), [("C4", 0.33, 20.0), ("C5", 0.50, 20.0), ("C6", 0.33, 5.0)])
def test_the_adiabatic_end_is_that_of_the_check_values(row: str, strength: float, at_c: float) -> None:
    # Rows C4 to C6: full enthalpy balance worked out apart; the row's own tolerance is wider than this.
    assert end_temperature_c(dissolved(strength, at_c)) == pytest.approx(float(CHECKS[row]["value"]), abs=0.5)


def test_every_adiabatic_end_of_the_thermal_table_is_met() -> None:
    """Columns Tadiab_from_* of naoh_thermal.csv were worked out by another program from Olsson's enthalpy."""
    with (REFERENCE / "naoh_thermal.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        for start in (5, 10, 15, 20, 25, 30):
            found = end_temperature_c(dissolved(float(row["w_pct_NaOH"]) / 100.0, float(start)))
            assert found == pytest.approx(float(row[f"Tadiab_from_{start}C"]), abs=0.5)


def test_the_textbook_exercise_ends_within_a_degree() -> None:
    # Row C7: 6.50 g NaOH in 100.0 g water from 21.6 °C reach 37.8 °C in a general chemistry textbook's calorimetry exercise,
    # which leaves the calorimeter's own heat out; the model's 38.7 °C is within 1 K of it.
    found = end_temperature_c([Part(100.0, 0.0, 21.6), Part(6.50, 1.0, 21.6, solid=True)])
    assert found == pytest.approx(37.8, abs=float(CHECKS["C7"]["tolerance"]))


def test_heats_of_solution_meet_the_handbooks() -> None:
    # Row C1: CRC, Parker 1965. Rows C2 and C3: n = 5 mol of water (30.76 %), and 33 %.
    naoh, koh = (float(part) for part in CHECKS["C1"]["value"].split(" / "))
    assert (constant("heat_of_solution_naoh").value, constant("heat_of_solution_koh").value) == (naoh, koh)
    assert heat_per_mol(39.997 / (39.997 + 5 * 18.015)) == pytest.approx(float(CHECKS["C2"]["value"]), abs=0.5)
    assert heat_per_mol(0.33) == pytest.approx(float(CHECKS["C3"]["value"]), abs=0.7)
    # Row C8: 313.6 kJ per kg of 33 %.
    assert -lye_enthalpy(0.33, 25.0) == pytest.approx(float(CHECKS["C8"]["value"]), abs=6.0)


def test_thinning_ends_where_the_check_values_say() -> None:
    # Row C9: 50 % to 33 % with water, all at 30 °C.
    found = end_temperature_c([Part(660.0, 0.50, 30.0), Part(340.0, 0.0, 30.0)])
    assert found == pytest.approx(float(CHECKS["C9"]["value"]), abs=0.5)


@pytest.mark.parametrize(("strong", "weak"), [(0.45, 0.06), (0.45, 0.20), (0.40, 0.20), (0.33, 0.10), (0.30, 0.06)])
@pytest.mark.parametrize("at_c", [20.0, 25.0])
def test_two_lyes_put_together_end_as_olssons_enthalpy_says(strong: float, weak: float, at_c: float) -> None:
    # absorptionlib in its range (15 to 26 °C up to 46 %, warmer further); half and half, the end found by scipy's brentq.
    half = 0.5 * (strong + weak)
    heat = 0.5 * (NaOH.enthalpy(strong, at_c) + NaOH.enthalpy(weak, at_c))
    end_c = brentq(lambda t: NaOH.enthalpy(half, t) - heat, 20.0, 100.0)
    assert end_temperature_c([Part(500.0, strong, at_c), Part(500.0, weak, at_c)]) == pytest.approx(end_c, abs=0.5)


@pytest.mark.parametrize("strength", [0.06, 0.2, 0.33, 0.45])
def test_warming_a_lye_takes_what_olssons_enthalpy_says(strength: float) -> None:
    for low_c, high_c in ((20.0, 60.0), (25.0, 80.0)):
        library = NaOH.enthalpy(strength, high_c) - NaOH.enthalpy(strength, low_c)
        assert lye_enthalpy(strength, high_c) - lye_enthalpy(strength, low_c) == pytest.approx(library, rel=0.005)


def test_weak_lye_warms_as_laliberte_says() -> None:
    # thermo, Laliberté 2009, fitted up to 30 %: the columns of naoh_thermal.csv stand 3.698 beside 3.622 at 20 %, 2.1 % apart, the farthest.
    for strength in (0.02, 0.1, 0.2, 0.29):
        library = Laliberte_heat_capacity(298.15, [strength], ["1310-73-2"]) / 1000.0
        assert lye_enthalpy(strength, 26.0) - lye_enthalpy(strength, 25.0) == pytest.approx(library, rel=0.025)


def test_strong_lye_boils_where_the_library_and_a_producer_say() -> None:
    # Row C10, its tolerance 1.5 K; water at 1 atm boils at 100 °C.
    low, high = (float(part) for part in CHECKS["C10"]["value"].split(" / "))
    assert (boiling_c(0.33), boiling_c(0.50)) == pytest.approx((low, high), abs=1.5)
    assert boiling_c(0.0) == 100.0
    # The library takes pascals; 1 atm.
    assert boiling_c(0.275) == pytest.approx(NaOH.saturation_temperature(0.275, 101_325.0), abs=1.5)


@pytest.mark.parametrize("at_c", [5.0, 15.0, 40.0, 60.0, 80.0])
def test_water_holds_the_heat_that_iapws_gives_it(at_c: float) -> None:
    # CoolProp, IAPWS-95, between 25 °C and that temperature; the capacity is one rounded figure, 4.18: within 0.3 %.
    library = (PropsSI("H", "T", at_c + 273.15, "P", 101_325, "Water") - PropsSI("H", "T", 298.15, "P", 101_325, "Water")) / 1000.0
    assert lye_enthalpy(0.0, at_c) == pytest.approx(library, rel=0.003)


@pytest.mark.parametrize("at_c", [5.0, 25.0, 40.0, 60.0, 90.0])
def test_fat_takes_the_heat_that_coolprop_gives_it(at_c: float) -> None:
    # INCOMP::FoodFat, Choi and Okos 1986: the same polynomial.
    assert fat_heat_capacity(at_c) == pytest.approx(PropsSI("C", "T", at_c + 273.15, "P", 101_325, "INCOMP::FoodFat") / 1000.0, rel=1e-9)


def test_water_at_sixty_fahrenheit_is_as_dense_as_iapws_gives_it() -> None:
    library = PropsSI("D", "T", (60.0 - 32.0) / 1.8 + 273.15, "P", 101_325, "Water") / 1000.0
    assert constant("water_density_60f").value == pytest.approx(library, abs=0.00002)


def test_impure_flake_gives_heat_by_its_hydroxide() -> None:
    # physics.md C: impure flake, multiply the rise by its purity. 300 g of 90 % flake: 270 g hydroxide in a kilogram.
    pure = end_temperature_c(dissolved(0.27, 25.0)) - 25.0
    flake = end_temperature_c([Part(700.0, 0.0, 25.0), Part(300.0, 0.9, 25.0, solid=True)]) - 25.0
    assert flake == pytest.approx(pure, abs=1e-4)


def test_a_kilojoule_a_mole_moves_the_end_by_two_and_a_third_degrees() -> None:
    # physics.md C: plus or minus 1 kJ/mol moves 33 % from 20 °C by 2.3 K.
    more = end_temperature_c(dissolved(0.33, 20.0), 330.0 / 39.997) - end_temperature_c(dissolved(0.33, 20.0))
    assert more == pytest.approx(2.3, abs=0.05)


def test_potash_has_a_bound_only() -> None:
    # By hand, 30 %: 5.347 mol/kg · 57.61 kJ/mol / 2.968 kJ/(kg K) = 103.8 K.
    assert koh_end_at_most_c(0.30, 20.0) == pytest.approx(20.0 + 103.8, abs=0.1)
    with pytest.raises(ValueError, match="0 to 46 %"):
        koh_end_at_most_c(0.47, 20.0)


@pytest.mark.parametrize("strength", [0.05, 0.15, 0.30, 0.45])
def test_heat_capacity_of_potash_lye_is_lalibertes(strength: float) -> None:
    library = Laliberte_heat_capacity(298.15, [strength], ["1310-58-3"]) / 1000.0
    rise = koh_end_at_most_c(strength, 0.0)
    assert 1000.0 * strength / 56.1053 * 57.61 / rise == pytest.approx(library, rel=0.002)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="0 to 50 %"):
        end_temperature_c([Part(400.0, 0.0, 20.0), Part(600.0, 1.0, 20.0, solid=True)])
    with pytest.raises(ValueError, match="not all zero"):
        end_temperature_c([Part(0.0, 0.0, 20.0)])
    with pytest.raises(ValueError, match="hotter"):
        end_temperature_c([Part(1.0, 0.0, 2000.0)])


parts = st.lists(
    st.builds(Part, st.floats(1.0, 1e5), st.floats(0.0, 0.5), st.floats(5.0, 60.0)), min_size=1, max_size=4
)


@given(parts)
def test_the_balance_closes(given_parts: list[Part]) -> None:
    mass_g, strength = together(given_parts)
    end_c = end_temperature_c(given_parts)
    before = sum(map(part_enthalpy, given_parts))
    assert part_enthalpy(Part(mass_g, strength, end_c)) == pytest.approx(before, abs=1e-5 * mass_g)


@given(st.floats(0.01, 0.5), st.floats(5.0, 40.0), st.floats(0.1, 20.0))
def test_warmer_water_ends_warmer(strength: float, at_c: float, warmer: float) -> None:
    assert end_temperature_c(dissolved(strength, at_c + warmer)) > end_temperature_c(dissolved(strength, at_c))
