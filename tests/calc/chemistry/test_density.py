"""Densities against handbook values, other libraries and the worked batter of the check values."""

import csv

import pytest
from absorptionlib import NaOH  # type: ignore[import-untyped]
from thermo.electrochem import Laliberte_density  # type: ignore[import-untyped]

from calc.chemistry.density import (
    SOLID_WHEN_MEASURED,
    batter_volume_ml,
    lye_density_g_per_ml,
    mixed_lye_density_g_per_ml,
    oil_density_g_per_ml,
)
from calc.shared import REFERENCE
from calc.tables.reference import density_temperatures, oils
from calc.tables.rows import Oil

with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}


@pytest.mark.parametrize(
    ("row", "alkali", "strength", "temperature"),
    [
        ("B1", "naoh", 0.50, 20.0),  # International Critical Tables by way of Perry, from memory
        ("B2", "naoh", 0.40, 20.0),  # CRC Handbook 102nd ed.
        ("B3", "naoh", 0.30, 20.0),  # CRC Handbook 102nd ed.
        ("B4", "naoh", 0.20, 20.0),  # CRC Handbook 102nd ed.
        ("B6", "naoh", 0.33, 25.0),
        ("B12", "koh", 0.30, 18.0),  # Cracow University of Technology table; between two columns of the grid
        ("B13", "koh", 0.45, 20.0),  # Laliberté 2009
    ],
)
def test_lye_density_meets_the_handbooks(row: str, alkali: str, strength: float, temperature: float) -> None:
    expected, tolerance = float(CHECKS[row]["value"]), float(CHECKS[row]["tolerance"])
    assert lye_density_g_per_ml(alkali, strength, temperature) == pytest.approx(expected, abs=tolerance)


def test_lye_density_meets_a_producer_handbook_when_hot() -> None:
    # Row B5: 32 % NaOH at 50 and 70 °C (its third value, 90 °C, lies outside our table).
    for temperature, text in zip((50.0, 70.0), CHECKS["B5"]["value"].split("/"), strict=False):
        assert lye_density_g_per_ml("naoh", 0.32, temperature) == pytest.approx(float(text), abs=0.001)


@pytest.mark.parametrize("strength", [0.05, 0.123, 0.25, 0.33, 0.412, 0.49])
def test_naoh_density_meets_olsson_1997(strength: float) -> None:
    # absorptionlib, Olsson, Jernqvist and Aly 1997: within 0.003 g/ml in its range (20-60 °C).
    for temperature in (21.0, 38.0, 52.5, 60.0):
        library = NaOH.density(strength, temperature, prevent_errors=True) / 1000.0
        assert lye_density_g_per_ml("naoh", strength, temperature) == pytest.approx(library, abs=0.003)


@pytest.mark.parametrize("strength", [0.02, 0.155, 0.30, 0.455, 0.50])
def test_koh_density_between_the_nodes_meets_laliberte_2009(strength: float) -> None:
    # thermo's Laliberté model is what the KOH grid was made from: this checks the interpolation (0.0002 g/ml).
    for temperature in (15.0, 22.5, 41.0, 80.0):
        library = Laliberte_density(temperature + 273.15, [strength], ["1310-58-3"]) / 1000.0
        assert lye_density_g_per_ml("koh", strength, temperature) == pytest.approx(library, abs=0.0002)


def test_lye_of_no_strength_is_water() -> None:
    # CRC Handbook, density of water: 0.9982 at 20 °C, 0.9971 at 25 °C, 0.9922 at 40 °C (memory).
    for temperature, water in ((20.0, 0.9982), (25.0, 0.9971), (40.0, 0.9922)):
        for alkali in ("naoh", "koh"):
            assert lye_density_g_per_ml(alkali, 0.0, temperature) == pytest.approx(water, abs=0.0002)


@pytest.mark.parametrize(
    ("strength", "temperature", "words"),
    [(0.501, 25.0, "0 to 50 %"), (-0.01, 25.0, "0 to 50 %"), (0.3, 14.9, "15 to 80 °C"), (0.3, 80.1, "15 to 80 °C")],
)
def test_outside_the_table_is_refused_and_says_where_it_holds(strength: float, temperature: float, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        lye_density_g_per_ml("naoh", strength, temperature)


def test_an_unknown_alkali_is_refused() -> None:
    with pytest.raises(ValueError, match="naoh or koh"):
        lye_density_g_per_ml("lime", 0.3, 25.0)


def test_mixed_lye_lies_between_its_two_lyes() -> None:
    # Worked by hand: half and half by mass of 30 % lyes is the harmonic mean of their densities.
    naoh, koh = (lye_density_g_per_ml(alkali, 0.30, 25.0) for alkali in ("naoh", "koh"))
    assert mixed_lye_density_g_per_ml(15.0, 15.0, 70.0, 25.0) == pytest.approx(2.0 / (1.0 / naoh + 1.0 / koh))
    assert mixed_lye_density_g_per_ml(30.0, 0.0, 70.0, 25.0) == pytest.approx(naoh)
    assert mixed_lye_density_g_per_ml(0.0, 30.0, 70.0, 25.0) == pytest.approx(koh)
    assert mixed_lye_density_g_per_ml(0.0, 0.0, 70.0, 20.0) == pytest.approx(0.9982, abs=0.0002)
    with pytest.raises(ValueError, match="not all zero"):
        mixed_lye_density_g_per_ml(0.0, 0.0, 0.0, 25.0)


def test_palm_oil_at_50_c_lies_in_its_published_density() -> None:
    # Codex CXS 210-1999 Table 2: apparent density of palm oil 0.889-0.895 g/ml at 50 °C (read; note in oils.csv).
    assert 0.889 <= oil_density_g_per_ml(oils()["palm"], 50.0) <= 0.895
    # By hand: middle of relative density 0.891-0.899 at 50/20 °C, times water at 20 °C, 0.9982 (CRC, memory): 0.8934.
    assert oil_density_g_per_ml(oils()["palm"], 50.0) == pytest.approx(0.8934, abs=0.0001)


def test_shea_butter_melted_lies_in_its_published_density() -> None:
    # Codex CXS 325R-2017: density at 40 °C 0.89-0.93 (read; note in oils.csv). Its 20 °C figure is of the solid.
    assert 0.89 <= oil_density_g_per_ml(oils()["shea_butter"], 40.0) <= 0.93


def test_high_oleic_safflower_falls_by_about_its_published_slope() -> None:
    # Codex CXS 210-1999 gives relative densities 0.913-0.919 at 20 °C and 0.910-0.916 at 25 °C: 0.0006 per K, with
    # water's own fall 0.0008; between them lies ours.
    oil = oils()["safflower_high_oleic"]
    fall = oil_density_g_per_ml(oil, 20.0) - oil_density_g_per_ml(oil, 25.0)
    assert 0.0025 < fall < 0.0045


def test_common_oils_at_40_c_lie_where_handbooks_put_them() -> None:
    # Vegetable oils at 40 °C: 0.89 to 0.92 g/ml (memory); castor 0.94 to 0.95 (memory).
    for key in ("olive", "sunflower", "rapeseed_low_erucic", "coconut", "palm_kernel", "tallow", "avocado"):
        assert 0.885 < oil_density_g_per_ml(oils()[key], 40.0) < 0.92, key
    assert 0.935 < oil_density_g_per_ml(oils()["castor"], 40.0) < 0.955


def test_an_oil_without_a_density_takes_the_default() -> None:
    # Choi and Okos for fat in food, as CoolProp gives it: 909.7 kg/m³ at 38 °C.
    nameless = Oil(
        key="own", name="own", kind="triglyceride", saponification_low=190.0, saponification_high=190.0,
        saponification_source="certificate", saponification_how="read",
    )  # fmt: skip
    assert oil_density_g_per_ml(nameless, 38.0) == pytest.approx(0.9097, abs=0.01)


def test_every_oil_measured_below_its_melting_range_is_known_as_solid() -> None:
    """Read from the table: the lower end of the melting range against the temperature of the density."""
    with (REFERENCE / "oils.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    solid = set()
    for row in rows:
        melting = row["melting_min_c"]
        measured_at = density_temperatures(row["density_reference"])[0]
        if row["relative_density_min"] and melting and measured_at is not None and float(melting) > measured_at:
            solid.add(row["key"])
    assert solid == SOLID_WHEN_MEASURED


def test_every_oil_has_a_sane_liquid_density() -> None:
    # Fats and oils melted, 15 to 80 °C: 0.82 to 0.97 g/ml (memory; castor is the heaviest).
    for oil in oils().values():
        for temperature in (15.0, 38.0, 80.0):
            assert 0.82 < oil_density_g_per_ml(oil, temperature) < 0.97, oil.key


@pytest.mark.parametrize("temperature", [14.0, 81.0])
def test_oil_density_outside_its_range_is_refused(temperature: float) -> None:
    with pytest.raises(ValueError, match="15 to 80"):
        oil_density_g_per_ml(oils()["olive"], temperature)


def test_batter_of_the_example_block_is_1_008_kg_per_litre() -> None:
    # Worked by hand, ideal mixing: 50.02 kg/(34.98/0.9097 + 15.04/1.3478) = 1.008 kg/l.
    volume = batter_volume_ml([(34_980.0, 0.9097)], 15_040.0, 1.3478)
    assert 50_020.0 / volume == pytest.approx(1.008, abs=0.0005)


def test_other_ingredients_count_at_the_batters_density() -> None:
    plain = batter_volume_ml([(700.0, 0.91)], 300.0, 1.34)
    assert batter_volume_ml([(700.0, 0.91)], 300.0, 1.34, 50.0) == pytest.approx(plain * 1.05)


@pytest.mark.parametrize(
    ("oil_rows", "lye", "density", "other"),
    [
        ([], 0.0, 1.3, 0.0),
        ([(-1.0, 0.9)], 5.0, 1.3, 0.0),
        ([(1.0, 0.0)], 5.0, 1.3, 0.0),
        ([(1.0, 0.9)], 5.0, 1.3, -1.0),
    ],
)
def test_an_impossible_batter_is_refused(
    oil_rows: list[tuple[float, float]], lye: float, density: float, other: float
) -> None:
    with pytest.raises(ValueError, match="batter needs"):
        batter_volume_ml(oil_rows, lye, density, other)
