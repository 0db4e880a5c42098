"""Strength against handbooks, a library and the check values; its doubt against `uncertainties` and a Monte Carlo run.

Rows B of physics_check_values.csv; the conversions of hydrometer scales by Simmons and Appleton, Handbook of Soap
Manufacture, 1908, Appendix A (read).
"""

import csv
import math

import numpy as np
import pytest
from absorptionlib import NaOH  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st
from thermo.electrochem import Laliberte_density  # type: ignore[import-untyped]
from uncertainties import ufloat, wrap  # type: ignore[import-untyped]

from calc.chemistry.density import lye_density_g_per_ml, strength_from_density
from calc.shared import REFERENCE
from calc.tables.reference import lye_density_grid
from calc.tanks.strength import (
    CAUSES,
    SIXTY_F_C,
    Instrument,
    Measured,
    OutsideTable,
    Weighed,
    by_hydrometer,
    by_jug,
    by_jug_of_water,
    by_titration,
    carbonate_reads_as,
    hydrometer_density,
)

with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}
with (REFERENCE / "alkali_density_nodes.csv").open(encoding="utf-8", newline="") as file:
    NODES = [row for row in csv.DictReader(file) if row["how"] == "read" and 15.0 <= float(row["t_C"]) <= 80.0]

DENSITY, GRAVITY, TWADDELL = Instrument("density"), Instrument("gravity"), Instrument("twaddell")
US, RATIONAL = Instrument("baume", "145"), Instrument("baume", "144.3")


def plain(instrument: Instrument, reading: float, at_c: float) -> float:
    return by_hydrometer("naoh", instrument, reading, 0.001, at_c, 1.0).fraction


@pytest.mark.parametrize("node", [row for row in NODES if row["solute"] == "NaOH"], ids=lambda row: f"{row['w_pct']}-{row['t_C']}")
def test_published_densities_give_their_strength(node: dict[str, str]) -> None:
    # Nodes that were read: CRC Handbook, a producer's handbook, a table by molality. A tenth of a percent is the table's own doubt.
    found = strength_from_density("naoh", float(node["rho_g_cm3"]), float(node["t_C"]))
    assert 100.0 * found == pytest.approx(float(node["w_pct"]), abs=0.1)


@pytest.mark.parametrize("strength", [0.05, 0.15, 0.25, 0.33, 0.41, 0.49])
@pytest.mark.parametrize("at_c", [20.0, 40.0, 60.0])
def test_olssons_densities_give_their_strength(strength: float, at_c: float) -> None:
    # absorptionlib in its range: its densities lie within 0.0028 g/ml of the reference, that is 0.3 %.
    density = NaOH.density(strength, at_c, prevent_errors=True) / 1000.0
    assert strength_from_density("naoh", density, at_c) == pytest.approx(strength, abs=0.003)


@pytest.mark.parametrize("strength", [0.1, 0.3, 0.45, 0.49])
def test_lalibertes_densities_of_potash_give_their_strength(strength: float) -> None:
    # thermo, Laliberté 2009: to the interpolation's 0.0002 g/ml, that is 0.02 %.
    for at_c in (16.0, 41.0, 80.0):
        density = Laliberte_density(at_c + 273.15, [strength], ["1310-58-3"]) / 1000.0
        assert strength_from_density("koh", density, at_c) == pytest.approx(strength, abs=0.0002)


@pytest.mark.parametrize("alkali", ["naoh", "koh"])
def test_density_and_temperature_come_back_from_strength_over_the_whole_table(alkali: str) -> None:
    """To 0.02 % by mass, at the nodes and between them."""
    grid = lye_density_grid(alkali)
    for percent in np.arange(0.0, 50.01, 0.5):
        for at_c in np.arange(grid.temperatures_c[0], grid.temperatures_c[-1] + 0.1, 2.5):
            density = lye_density_g_per_ml(alkali, percent / 100.0, at_c)
            found = strength_from_density(alkali, density, at_c)
            assert 100.0 * found == pytest.approx(percent, abs=0.02)
            assert lye_density_g_per_ml(alkali, found, at_c) == pytest.approx(density, abs=1e-9)


def test_a_reading_and_what_forgetting_its_temperature_makes_of_it() -> None:
    # Rows B7 and B8, taken there as true density: the glass is left out.
    assert 100.0 * strength_from_density("naoh", 1.3450, 42.0) == pytest.approx(float(CHECKS["B7"]["value"]), abs=0.1)
    assert 100.0 * strength_from_density("naoh", 1.3450, 20.0) == pytest.approx(float(CHECKS["B8"]["value"]), abs=0.1)


def test_a_thousandth_and_a_degree_move_it_as_the_check_values_say() -> None:
    # Row B9: 33 % at 25 °C, 0.097 % for +0.001 g/ml and 0.062 % for +1 K, within 0.003.
    density = lye_density_g_per_ml("naoh", 0.33, 25.0)
    assert 100.0 * (strength_from_density("naoh", density + 0.001, 25.0) - 0.33) == pytest.approx(0.097, abs=0.003)
    assert 100.0 * (strength_from_density("naoh", density, 26.0) - 0.33) == pytest.approx(0.062, abs=0.003)


def test_gravity_baume_and_twaddell_of_strong_lye_are_those_of_the_check_values() -> None:
    # Rows B10 (a last digit less: the table ends at 50 %) and B11 at 60 °F, where the glass needs no correction.
    for percent, gravity, baume in ((50.0, 1.5300, 50.22), (33.0, 1.3634, 38.65)):
        assert 100.0 * plain(GRAVITY, gravity, SIXTY_F_C) == pytest.approx(percent, abs=0.03)
        assert 100.0 * plain(US, baume, SIXTY_F_C) == pytest.approx(percent, abs=0.03)
    assert 100.0 * plain(TWADDELL, 72.7, SIXTY_F_C) == pytest.approx(33.0, abs=0.03)


@pytest.mark.parametrize(("twaddell", "gravity", "rational", "us"), [(20, 1.1, 13.12, 13.18), (60, 1.3, 33.30, 33.46), (80, 1.4, 41.23, 41.43), (100, 1.5, 48.10, 48.33)])
def test_the_scales_agree_as_the_handbook_of_1908_has_them(twaddell: float, gravity: float, rational: float, us: float) -> None:
    # hydrometer.md, check values after Simmons and Appleton; a hundredth of a degree Baumé is 0.00013.
    wanted = hydrometer_density(GRAVITY, gravity, SIXTY_F_C)
    assert hydrometer_density(TWADDELL, twaddell, SIXTY_F_C) == pytest.approx(wanted, abs=1e-9)
    assert hydrometer_density(US, us, SIXTY_F_C) == pytest.approx(wanted, abs=0.0002)
    # The rational scale's water is that of 15 °C, 0.0001 heavier.
    assert hydrometer_density(RATIONAL, rational, 15.0) == pytest.approx(wanted, abs=0.0003)


def test_the_modulus_printed_on_it_matters() -> None:
    # hydrometer.md: 38 °Bé is 1.3551 or 1.3575; NaOH 32.20 or 32.43 %.
    assert 100.0 * plain(US, 38.0, SIXTY_F_C) == pytest.approx(32.20, abs=0.03)
    assert 100.0 * plain(RATIONAL, 38.0, SIXTY_F_C) == pytest.approx(32.43, abs=0.03)
    unknown = by_hydrometer("naoh", Instrument("baume", "none"), 38.0, 0.1, SIXTY_F_C, 1.0)
    assert 100.0 * unknown.fraction == pytest.approx(0.5 * (32.20 + 32.43), abs=0.03)
    assert unknown.half_width_fraction > by_hydrometer("naoh", US, 38.0, 0.1, SIXTY_F_C, 1.0).half_width_fraction
    assert "modulus" in [cause.key for cause in unknown.causes]


def test_warm_glass_is_corrected() -> None:
    # hydrometer.md: reading 1.3500 of a 20 °C instrument at 40 °C is 1.34933.
    assert hydrometer_density(DENSITY, 1.35, 40.0) == pytest.approx(1.34933, abs=0.00001)
    assert hydrometer_density(DENSITY, 1.35, 40.0, glass=False) == 1.35
    # 38 °Bé (145) at 30 °C: 33.03 %; with the glass ignored 33.08, so the correction is -0.05; temperature ignored 32.20.
    found = by_hydrometer("naoh", US, 38.0, 0.1, 30.0, 1.0)
    assert 100.0 * found.fraction == pytest.approx(33.03, abs=0.02)
    assert 100.0 * found.glass_fraction == pytest.approx(-0.05, abs=0.01)


def test_the_doubt_of_a_usual_reading_is_that_of_the_sheet() -> None:
    # physics.md B: hydrometer 0.001, thermometer 1 °C, table 0.001, rectangular: u = 0.087 % at 33 %.
    found = by_hydrometer("naoh", DENSITY, 1.3562, 0.001, 25.0, 1.0)
    u = math.sqrt(sum(cause.half_width_fraction**2 for cause in found.causes) / 3.0)
    assert 100.0 * u == pytest.approx(0.087, abs=0.002)
    assert sum(cause.share for cause in found.causes) == pytest.approx(1.0)
    assert {cause.key for cause in found.causes} <= set(CAUSES)


def rectangle(half_width: float) -> float:
    """Standard uncertainty of a rectangle (JCGM 100:2008 4.3.7)."""
    return half_width / math.sqrt(3.0)


def standard(found: Measured) -> float:
    return math.sqrt(sum(cause.half_width_fraction**2 for cause in found.causes) / 3.0)


@pytest.mark.parametrize(("instrument", "reading", "within"), [(DENSITY, 1.3453, 0.001), (US, 37.4, 0.2), (TWADDELL, 69.7, 0.3)])
def test_the_split_doubt_is_that_of_uncertainties(instrument: Instrument, reading: float, within: float) -> None:
    """The library carries standard uncertainties through the same model by its own derivatives."""
    found = by_hydrometer("naoh", instrument, reading, within, 41.3, 1.5)
    of = wrap(lambda shown, at_c, off: strength_from_density("naoh", hydrometer_density(instrument, shown, at_c) + off, at_c))
    library = of(ufloat(reading, rectangle(within)), ufloat(41.3, rectangle(1.5)), ufloat(0.0, rectangle(0.001)))
    assert found.fraction == pytest.approx(library.nominal_value)
    assert standard(found) == pytest.approx(library.std_dev, rel=0.02)


def test_the_doubt_of_a_weighed_pitcher_and_a_titration_are_those_of_uncertainties() -> None:
    jug = by_jug("naoh", Weighed(1348.0, 2.0, 1.0), 1000.0, 3.0, 30.0, 1.0)
    of = wrap(lambda mass, volume, at_c, off: strength_from_density("naoh", 0.0012 + mass * (1.0 - 0.0012 / 8.0) / volume + off, at_c))
    mass = ufloat(1348.0, rectangle(2.0)) + ufloat(0.0, rectangle(0.5)) + ufloat(0.0, rectangle(0.5))
    library = of(mass, ufloat(1000.0, rectangle(3.0)), ufloat(30.0, rectangle(1.0)), ufloat(0.0, rectangle(0.001)))
    assert (jug.fraction, standard(jug)) == (pytest.approx(library.nominal_value), pytest.approx(library.std_dev, rel=0.02))
    titrated = by_titration("naoh", Weighed(1.502, 0.0, 0.001), 24.80, 0.5)
    sample = 1.502 + ufloat(0.0, rectangle(0.0005)) + ufloat(0.0, rectangle(0.0005))
    found = ufloat(24.80, rectangle(0.05)) / 1000 * ufloat(0.5, rectangle(0.0025)) * 39.99677 / sample
    assert (titrated.fraction, standard(titrated)) == (pytest.approx(found.nominal_value), pytest.approx(found.std_dev, rel=0.001))


def test_the_interval_holds_what_a_monte_carlo_run_leaves_in_the_middle() -> None:
    """JCGM 101: 200,000 draws of all three causes at once; the table's rows are looked up by numpy."""
    draw = np.random.default_rng(14)
    n = 200_000
    shown = 38.0 + draw.uniform(-0.2, 0.2, n)
    at_c = 31.0 + draw.uniform(-1.5, 1.5, n)
    gravity = 145.0 / (145.0 - shown) * 0.99902 * (1.0 - 25e-6 * (at_c - SIXTY_F_C)) + draw.uniform(-0.001, 0.001, n)
    grid = lye_density_grid("naoh")
    rows = np.array(grid.density_g_per_ml)
    # The table at 31 °C and its slope there; the draws move the temperature by little.
    nodes = list(grid.temperatures_c)
    below = nodes.index(30.0)
    at_31 = rows[:, below] + 0.2 * (rows[:, below + 1] - rows[:, below])
    strength = np.interp(gravity, at_31, grid.strengths_percent)
    fall = np.interp(strength, grid.strengths_percent, (rows[:, below + 1] - rows[:, below - 1]) / 10.0)
    strength = np.interp(gravity - fall * (at_c - 31.0), at_31, grid.strengths_percent)
    low, high = np.quantile(strength, [0.025, 0.975])
    found = by_hydrometer("naoh", US, 38.0, 0.2, 31.0, 1.5)
    assert 100.0 * found.low_fraction == pytest.approx(low, abs=0.01)
    assert 100.0 * found.high_fraction == pytest.approx(high, abs=0.01)


def test_a_pitcher_weighed_in_air_is_put_right_for_buoyancy() -> None:
    # physics.md D: true over indicated is (1 - 0.0012/8)/(1 - 0.0012/rho), +0.074 % for 33 % lye. A liter at 25 °C, 1356.2 g.
    indicated = 1356.2 / 1.00074
    assert 100.0 * by_jug("naoh", Weighed(indicated, 1.0, 1.0), 1000.0, 1.0, 25.0, 1.0).fraction == pytest.approx(33.0, abs=0.02)


def test_a_pitcher_known_by_its_water_needs_no_mark() -> None:
    # By hand: water 0.9971 and 33 % lye 1.3562 g/ml at 25 °C, each less the air it displaces: 1.3550/0.9959 = 1.36058.
    found = by_jug_of_water("naoh", Weighed(1360.6, 1.0, 1.0), Weighed(1000.0, 1.0, 1.0), 25.0, 25.0, 1.0)
    assert 100.0 * found.fraction == pytest.approx(33.0, abs=0.02)
    assert next(cause.key for cause in found.causes) == "scale"


def test_a_titration_counts_hydroxide_alone_where_both_changes_are_read() -> None:
    # By hand: 1.000 g that holds 30 % NaOH (7.5006 mmol) and 2 % Na2CO3 (0.18870 mmol) takes, of 0.5 mol/L,
    # 15.379 mL to the first change (hydroxide and half of the carbonate) and 15.756 mL to the second (Warder).
    both = by_titration("naoh", Weighed(1.0, 0.0, 0.001), 15.379, 0.5, 15.756)
    assert 100.0 * both.fraction == pytest.approx(30.0, abs=0.02)
    assert both.carbonate_fraction is not None and 100.0 * both.carbonate_fraction == pytest.approx(2.0, abs=0.02)
    first = by_titration("naoh", Weighed(1.0, 0.0, 0.001), 15.379, 0.5)
    # Half of the carbonate is counted with it: 0.1887 mmol, 0.75 %.
    assert 100.0 * (first.fraction - both.fraction) == pytest.approx(0.75, abs=0.03)
    assert first.carbonate_fraction is None


def test_carbonate_passes_for_lye_to_a_hydrometer() -> None:
    # CRC Handbook, 20 °C (read): 10 % Na2CO3 1.1029, 10 % NaOH 1.1089, water 0.9982: 0.1047/0.1107.
    assert carbonate_reads_as() == pytest.approx(0.1047 / 0.1107, abs=0.002)


@pytest.mark.parametrize(("instrument", "reading", "light"), [(DENSITY, 0.95, True), (DENSITY, 1.6, False), (US, 55.0, False), (GRAVITY, 0.99, True)])
def test_what_no_lye_of_the_table_weighs_is_refused(instrument: Instrument, reading: float, light: bool) -> None:
    with pytest.raises(OutsideTable) as refused:
        by_hydrometer("naoh", instrument, reading, 0.001, 25.0, 1.0)
    assert refused.value.light == light


@pytest.mark.parametrize("at_c", [14.9, 80.1])
def test_temperatures_outside_the_table_are_refused(at_c: float) -> None:
    with pytest.raises(ValueError, match="15 to 80"):
        by_hydrometer("naoh", DENSITY, 1.3, 0.001, at_c, 1.0)


def test_what_is_no_reading_is_refused() -> None:
    with pytest.raises(ValueError, match="Baumé"):
        hydrometer_density(US, 145.0, 20.0)
    with pytest.raises(ValueError, match="above zero"):
        by_jug("naoh", Weighed(0.0, 1.0, 1.0), 1000.0, 1.0, 25.0, 1.0)
    with pytest.raises(ValueError, match="above zero"):
        by_jug_of_water("naoh", Weighed(1.0, 1.0, 1.0), Weighed(0.0, 1.0, 1.0), 25.0, 25.0, 1.0)
    with pytest.raises(ValueError, match="above zero"):
        by_titration("naoh", Weighed(1.0, 0.1, 0.1), 0.0, 0.5)
    with pytest.raises(ValueError, match="second change"):
        by_titration("naoh", Weighed(1.0, 0.1, 0.1), 10.0, 0.5, 21.0)


@given(st.floats(0.02, 0.48), st.floats(15.0, 80.0), st.floats(0.0001, 0.005), st.floats(0.1, 3.0))
def test_any_reading_lies_in_its_interval_and_a_coarser_one_is_less_sure(strength: float, at_c: float, within: float, off_c: float) -> None:
    shown = lye_density_g_per_ml("naoh", strength, at_c) / (1.0 - 25e-6 * (at_c - 20.0))
    found = by_hydrometer("naoh", DENSITY, shown, within, at_c, off_c)
    assert found.fraction == pytest.approx(strength, abs=1e-6)
    assert found.low_fraction <= found.fraction <= found.high_fraction
    coarser = by_hydrometer("naoh", DENSITY, shown, 2.0 * within, at_c, off_c)
    assert coarser.half_width_fraction >= found.half_width_fraction * 0.999
