"""Constants against general chemistry libraries and published figures."""

import ast
import re
from pathlib import Path

import molmass
import periodictable
import pytest

from calc.chemistry.oils import acid_molar_mass
from calc.tables.reference import additives, constant, fatty_acid_names

ROOT = Path(__file__).resolve().parents[2]
FORMULAS = {
    "atomic_mass_hydrogen": "H",
    "atomic_mass_carbon": "C",
    "atomic_mass_oxygen": "O",
    "atomic_mass_iodine": "I",
    "molar_mass_naoh": "NaOH",
    "molar_mass_koh": "KOH",
    "molar_mass_water": "H2O",
    "molar_mass_glycerol": "C3H8O3",
    "molar_mass_na2co3": "Na2CO3",
    "molar_mass_k2co3": "K2CO3",
    "molar_mass_co2": "CO2",
}
ACIDS = {
    "citric_anhydrous": ("C6H8O7", 3),
    "citric_monohydrate": ("C6H10O8", 3),
    "lactic": ("C3H6O3", 1),
    "acetic": ("C2H4O2", 1),
}


@pytest.mark.parametrize(("key", "formula"), FORMULAS.items())
def test_molar_mass_agrees_with_two_libraries(key: str, formula: str) -> None:
    # The libraries and the conventional weights differ by up to 6e-5 of the value, because H, C and O are intervals
    # in the CIAAW table now.
    value = constant(key).value
    assert value == pytest.approx(molmass.Formula(formula).mass, rel=6e-5)
    assert value == pytest.approx(periodictable.formula(formula).mass, rel=6e-5)


@pytest.mark.parametrize(("key", "formula", "basicity"), [(k, *v) for k, v in ACIDS.items()])
def test_acid_agrees_with_two_libraries(key: str, formula: str, basicity: int) -> None:
    # Acid groups: citric has three carboxyl groups, lactic and acetic one (textbook chemistry, from memory).
    acid = additives()[key]
    assert acid.molar_mass_g_per_mol == pytest.approx(molmass.Formula(formula).mass, rel=6e-5)
    assert acid.molar_mass_g_per_mol == pytest.approx(periodictable.formula(formula).mass, rel=6e-5)
    assert acid.basicity == basicity


def test_crystal_water_of_citric_acid_is_one_molecule() -> None:
    water = additives()["citric_monohydrate"].default_water_percent
    assert water is not None
    # 18.015 / 210.138; limit 7.5 to 9.0 % water in the pharmacopoeial monohydrate (from memory).
    assert water == pytest.approx(100 * molmass.Formula("H2O").mass / molmass.Formula("C6H10O8").mass, abs=0.01)
    assert 7.5 <= water <= 9.0


@pytest.mark.parametrize("acid", list(fatty_acid_names()))
def test_fatty_acid_molar_mass_agrees_with_molmass(acid: str) -> None:
    found = re.match(r"C(\d+):(\d+)", acid)
    assert found
    carbons, bonds = int(found[1]), int(found[2])
    # CnH(2n+1)COOH less two hydrogens a double bond; ricinoleic acid has one oxygen more.
    formula = f"C{carbons}H{2 * carbons - 2 * bonds}O{3 if acid.endswith('-OH') else 2}"
    assert acid_molar_mass(acid) == pytest.approx(molmass.Formula(formula).mass, rel=1e-4)


def test_koh_solubility_is_that_of_the_encyclopedia() -> None:
    # Great Soviet Encyclopedia, potassium hydroxide (read): 97 g at 0 °C and 112 g at 20 °C per 100 g of water.
    assert constant("koh_solubility_0c").value == pytest.approx(97 / 197, abs=1e-4)
    assert constant("koh_solubility_20c").value == pytest.approx(112 / 212, abs=1e-4)


def test_oil_expansion_lies_between_two_published_slopes() -> None:
    # Choi and Okos 1986, fat: 0.41757 kg/m3 per K (from memory). Codex CXS 210 high-oleic safflower, middle of the
    # ranges at 20 and 25 °C: 0.916 and 0.913 (read). Soya oil 0.68 kg/m3 per K in engineering tables (from memory).
    assert 0.00041757 < constant("oil_density_per_k").value < 0.00068
    assert (0.916 - 0.913) / 5 == pytest.approx(constant("oil_density_per_k").value, rel=0.1)


def test_a_habit_of_the_trade_is_a_row_and_no_bare_number_in_code() -> None:
    habit = re.compile(r"^#.*common practice.*\n(?:#.*\n)*[A-Z_]+ = [\w(]*\(?\"?[\d.]", re.IGNORECASE | re.MULTILINE)
    assert habit.search("# As usual; common practice, no source.\nNEAR_FRACTION = 0.5\n")
    found = {path.relative_to(ROOT).as_posix() for path in (ROOT / "calc").rglob("*.py") if habit.search(path.read_text("utf-8"))}
    assert found == set()


def test_no_sentence_of_the_code_that_says_what_is_usual_has_a_figure_of_its_own() -> None:
    usual = re.compile(r"usual|common practice", re.IGNORECASE)
    found = [
        (path.name, node.value)
        for path in (ROOT / "calc").rglob("*.py")
        for node in words_said(ast.parse(path.read_text("utf-8")))
        if usual.search(node.value) and re.search("[1-9]", node.value)
    ]
    assert found == []


def words_said(tree: ast.AST) -> list[ast.Constant]:
    """Every text of the code that is no docstring."""
    docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    return [n for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str) and id(n) not in docs]
