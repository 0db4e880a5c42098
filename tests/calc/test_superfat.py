"""The superfat interval against the example block's check values, the `uncertainties` library and a Monte Carlo run."""

import csv
import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from calc.reference import FOLDER
from calc.superfat import AcidAmount, AlkaliAmount, OilAmount, superfat_interval

with (FOLDER / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}

PP = 0.01  # a percentage point
DRAWS = 1_000_000
# The example block of rows D1 to D9: Codex ranges, Handbook 44 maintenance limits on a 20 g scale.
OILS = (
    OilAmount("olive", 15_740.0, 190.0, 184.0, 196.0, 40.0, 20.0),
    OilAmount("palm", 10_500.0, 199.5, 190.0, 209.0, 40.0, 20.0),
    OilAmount("coconut", 8_740.0, 256.5, 248.0, 265.0, 20.0, 20.0),
)
STRENGTH_HALF_WIDTHS = (0.00097, 0.00062, 0.00097)  # hydrometer, thermometer, table: mass fraction at 33 %
LYE = AlkaliAmount(
    "lye", 15_040.0, 0.33, "naoh",
    (*(("strength", half / 0.33) for half in STRENGTH_HALF_WIDTHS), ("purity", 0.005)), 40.0, 20.0,
)  # fmt: skip
RATIO = 0.71289  # M(NaOH)/M(KOH), row A3


def numbers(row: str) -> list[float]:
    return [float(part) for part in CHECKS[row]["value"].replace("..", "/").split("/")]


def tolerance(row: str) -> float:
    return float(CHECKS[row]["tolerance"])


def rectangle(rng: np.random.Generator, half_width: float) -> NDArray[np.float64]:
    return rng.uniform(-half_width, half_width, DRAWS)


def net_mass(rng: np.random.Generator, mass: float, limit: float, division: float) -> NDArray[np.float64]:
    """Limit of error, and half a division for each of the two readings."""
    return mass + rectangle(rng, limit) + rectangle(rng, division / 2.0) + rectangle(rng, division / 2.0)


def monte_carlo(oils: tuple[OilAmount, ...], lye: AlkaliAmount, triangular: bool = False) -> NDArray[np.float64]:
    """JCGM 101: the model itself, drawn; fixed seed."""
    rng = np.random.default_rng(20261125)
    demand = np.zeros(DRAWS)
    for oil in oils:
        if triangular:
            sv = rng.triangular(oil.sv_low, (oil.sv_low + oil.sv_high) / 2.0, oil.sv_high, DRAWS)
        else:
            sv = rng.uniform(oil.sv_low, oil.sv_high, DRAWS)
        demand += net_mass(rng, oil.mass_g, oil.mass_limit_g, oil.division_g) * sv / 1000.0
    fraction = np.full(DRAWS, lye.hydroxide_fraction)
    strength = sum((rectangle(rng, half) for half in STRENGTH_HALF_WIDTHS), np.zeros(DRAWS))
    fraction = (fraction + strength) * (1.0 + rectangle(rng, 0.005))
    supplied = net_mass(rng, lye.mass_g, lye.mass_limit_g, lye.division_g) * fraction / RATIO
    return 1.0 - supplied / demand


def test_superfat_of_the_example_block() -> None:
    # Row D3: 1 - 15040·0.33/(r·7327.16), printed as 4.9822 %.
    found = superfat_interval(OILS, [LYE])
    assert found.value / PP == pytest.approx(numbers("D3")[0], abs=tolerance("D3"))


def test_standard_uncertainty_and_interval_of_the_example_block() -> None:
    # Rows D4 and D5: linear GUM first, then the rows' own Monte Carlo run of 10^6.
    found = superfat_interval(OILS, [LYE])
    for expected in numbers("D4"):
        assert found.standard_uncertainty / PP == pytest.approx(expected, abs=tolerance("D4"))
    gum_low, gum_high = numbers("D5")[:2]
    assert found.low / PP == pytest.approx(gum_low, abs=tolerance("D5"))
    assert found.high / PP == pytest.approx(gum_high, abs=tolerance("D5"))


def test_interval_agrees_with_a_monte_carlo_run() -> None:
    found = superfat_interval(OILS, [LYE])
    drawn = monte_carlo(OILS, LYE)
    assert found.standard_uncertainty / PP == pytest.approx(float(np.std(drawn)) / PP, abs=tolerance("D4"))
    low, high = np.quantile(drawn, (0.025, 0.975)) / PP
    mc_low, mc_high = numbers("D5")[2:]
    assert (low, high) == pytest.approx((mc_low, mc_high), abs=tolerance("D5"))
    # The linear interval is symmetric and normal: up to 0.1 points wide of the drawn one (row D5: 2.55 and 2.53,
    # 7.41 and 7.33).
    assert (found.low / PP, found.high / PP) == pytest.approx((low, high), abs=0.1)


def test_triangular_ranges_narrow_to_the_checked_value() -> None:
    # Row D6, first: triangular a/√6 equals a rectangle of half width a/√2.
    narrowed = tuple(
        replace(
            oil,
            sv_low=oil.saponification_value - (oil.sv_high - oil.sv_low) / 2.0 / math.sqrt(2.0),
            sv_high=oil.saponification_value + (oil.sv_high - oil.sv_low) / 2.0 / math.sqrt(2.0),
        )
        for oil in OILS
    )
    found = superfat_interval(narrowed, [LYE]).standard_uncertainty / PP
    assert found == pytest.approx(numbers("D6")[0], abs=tolerance("D6"))
    assert found == pytest.approx(float(np.std(monte_carlo(OILS, LYE, triangular=True))) / PP, abs=tolerance("D6"))


def certified(oil: OilAmount) -> OilAmount:
    return replace(oil, sv_low=oil.saponification_value * 0.99, sv_high=oil.saponification_value * 1.01)


def test_certificates_of_one_percent_narrow_to_the_checked_value() -> None:
    # Row D6, second.
    found = superfat_interval([certified(oil) for oil in OILS], [LYE])
    assert found.standard_uncertainty / PP == pytest.approx(numbers("D6")[1], abs=tolerance("D6"))


def test_weighing_alone() -> None:
    # Row D7: all but the masses taken as exact.
    exact = [replace(oil, sv_low=oil.saponification_value, sv_high=oil.saponification_value) for oil in OILS]
    found = superfat_interval(exact, [replace(LYE, relative_half_widths=())])
    assert found.standard_uncertainty / PP == pytest.approx(numbers("D7")[0], abs=tolerance("D7"))
    assert found.best_question is None


def test_what_20_g_and_1_g_of_lye_change() -> None:
    # Row D8: m·w/(r·K), in points.
    value = superfat_interval(OILS, [LYE]).value
    for grams, expected in zip((20.0, 1.0), numbers("D8"), strict=True):
        less = superfat_interval(OILS, [replace(LYE, mass_g=LYE.mass_g - grams)]).value
        assert (less - value) / PP == pytest.approx(expected, abs=tolerance("D8"))


def test_buoyancy_is_small_enough_to_leave_out() -> None:
    # Row D9: air 1.2 kg/m³, oil +0.117 %, lye +0.074 % (by hand: 0.0012·(1/rho - 1/8)); below a quarter of the weighing's own share.
    buoyant = [replace(oil, mass_g=oil.mass_g * 1.00117) for oil in OILS]
    shift = superfat_interval(buoyant, [replace(LYE, mass_g=LYE.mass_g * 1.00074)]).value
    shift -= superfat_interval(OILS, [LYE]).value
    assert shift / PP == pytest.approx(numbers("D9")[0], abs=tolerance("D9"))


def test_contributions_of_the_example_block() -> None:
    # By hand, (1 - S)·f·(a/SV)/√3 with f = m·SV/sum: palm 0.9502·0.2859·(9.5/199.5)/√3 = 0.747 points and so on;
    # purity 0.9502·0.005/√3; strength 0.9502·√(0.097² + 0.062² + 0.097²)/33/√3; lye 0.9502·24.495/15040.
    found = superfat_interval(OILS, [LYE])
    listed = {(part.name, part.what): part for part in found.contributions}
    for key, points, share in (
        (("palm", "saponification value"), 0.747, 0.36),
        (("olive", "saponification value"), 0.707, 0.33),
        (("coconut", "saponification value"), 0.556, 0.20),
        (("lye", "purity"), 0.274, 0.05),
        (("lye", "strength"), 0.250, 0.04),
        (("lye", "mass"), 0.155, 0.016),
    ):
        assert listed[key].uncertainty_fraction / PP == pytest.approx(points, abs=0.0006)
        assert listed[key].share_of_variance == pytest.approx(share, abs=0.006)
    oil_masses = math.hypot(*(listed[oil.name, "mass"].uncertainty_fraction for oil in OILS))
    assert oil_masses / PP == pytest.approx(0.099, abs=0.0006)
    assert [part.name for part in found.contributions[:3]] == ["palm", "olive", "coconut"]


def test_the_best_question_is_the_palm_oil_certificate() -> None:
    # By hand from the table: palm's 0.747 falls to f·(1-S)·1 %/√3 with f = 10.5·199.5/7327.16 = 0.2859: 0.1568;
    # √(1.240² - 0.747² + 0.1568²) = 1.002, times 1.96 = 1.964 points, 0.808 of 2.430.
    found = superfat_interval(OILS, [LYE])
    best = found.best_question
    assert best is not None
    assert best.name == "palm"
    assert best.factor == pytest.approx(0.808, abs=0.001)
    assert best.new_half_width_fraction / PP == pytest.approx(1.964, abs=0.003)
    again = superfat_interval([certified(oil) if oil.name == "palm" else oil for oil in OILS], [LYE])
    assert best.new_half_width_fraction == pytest.approx((again.high - again.low) / 2.0, rel=1e-9)


def test_chance_of_excess_agrees_with_a_monte_carlo_run_at_low_superfat() -> None:
    # 15.58, 15.70 and 15.80 kg of lye leave 1.57, 0.81 and 0.18 %. Three rectangles make most of the spread, so the
    # draw is flatter than the normal distribution: within 1.5 percentage points of chance.
    for mass in (15_580.0, 15_700.0, 15_800.0):
        lye = replace(LYE, mass_g=mass)
        found = superfat_interval(OILS, [lye])
        drawn = float(np.mean(monte_carlo(OILS, lye) < 0.0))
        assert found.chance_of_excess == pytest.approx(drawn, abs=0.015)
    assert superfat_interval(OILS, [LYE]).chance_of_excess < 1e-4  # no draw of 10^6 falls below zero


def test_both_alkalis_and_an_acid_as_worked_by_hand() -> None:
    # By hand, in g KOH: demand 1000·190/1000 = 190; NaOH 100·0.98/0.71289 = 137.469; KOH 40·0.9 = 36; citric acid
    # 3 groups · 56.105/192.12 g/mol (memory) = 876.1 mg/g, 10 g take 8.761. S = 1 - (173.469 - 8.761)/190 = 13.311 %.
    oil = OilAmount("oil", 1000.0, 190.0, 190.0, 190.0)
    alkalis = [AlkaliAmount("soda", 100.0, 0.98, "naoh"), AlkaliAmount("potash", 40.0, 0.90, "koh")]
    acid = AcidAmount("citric acid", 10.0, 3 * 56.105 / 192.12 * 1000.0)
    found = superfat_interval([oil], alkalis, [acid])
    assert found.value / PP == pytest.approx(13.311, abs=0.002)
    assert (found.standard_uncertainty, found.low, found.chance_of_excess) == (0.0, found.value, 0.0)
    half = superfat_interval([oil], alkalis, [replace(acid, mass_g=20.0, strength_fraction=0.5)])
    assert half.value == pytest.approx(found.value)


def test_an_asymmetric_range_counts_by_its_full_width() -> None:
    # JCGM 100:2008 4.3.8 (memory): u = (a+ + a-)/√12 = 12/√12 mg/g whichever value in the range is used; of 190
    # mg/g at S = 0 that is 1.823 %.
    demand_g = 1000.0 * 190.0 / 1000.0
    lye = AlkaliAmount("potash", demand_g, 1.0, "koh")
    found = superfat_interval([OilAmount("oil", 1000.0, 190.0, 188.0, 200.0)], [lye])
    assert found.standard_uncertainty == pytest.approx(12.0 / math.sqrt(12.0) / 190.0)


def test_two_pours_of_one_oil_share_their_saponification_value() -> None:
    # One value, one error: 600 g and 400 g of an oil are as uncertain as 1000 g; two oils of that name apart would
    # give √(0.6² + 0.4²) of it.
    lye = AlkaliAmount("potash", 190.0, 0.95, "koh")
    oil = OilAmount("oil", 1000.0, 190.0, 184.0, 196.0)
    whole = superfat_interval([oil], [lye])
    parts = superfat_interval([replace(oil, mass_g=600.0), replace(oil, mass_g=400.0)], [lye])
    assert parts.standard_uncertainty == pytest.approx(whole.standard_uncertainty, rel=1e-12)
    assert parts.best_question == whole.best_question


def test_certain_excess_and_certain_safety() -> None:
    oil = OilAmount("oil", 1000.0, 190.0, 190.0, 190.0)
    assert superfat_interval([oil], [AlkaliAmount("potash", 200.0, 1.0, "koh")]).chance_of_excess == 1.0
    assert superfat_interval([oil], [AlkaliAmount("potash", 180.0, 1.0, "koh")]).chance_of_excess == 0.0


@pytest.mark.parametrize(
    ("oils", "alkalis", "acids"),
    [
        ([], [LYE], []),
        ([replace(OILS[0], mass_g=0.0)], [LYE], []),
        ([replace(OILS[0], mass_g=-1.0)], [LYE], []),
        ([replace(OILS[0], saponification_value=200.0)], [LYE], []),
        (OILS, [replace(LYE, alkali="lime")], []),
        (OILS, [replace(LYE, hydroxide_fraction=1.2)], []),
        (OILS, [replace(LYE, mass_g=-1.0)], []),
        (OILS, [replace(LYE, relative_half_widths=(("strength", -0.1),))], []),
        (OILS, [replace(LYE, mass_limit_g=-1.0)], []),
        (OILS, [LYE], [AcidAmount("acid", -1.0, 876.0)]),
        (OILS, [LYE], [AcidAmount("acid", 1.0, 876.0, strength_fraction=1.5)]),
    ],
)
def test_impossible_amounts_are_refused(
    oils: list[OilAmount], alkalis: list[AlkaliAmount], acids: list[AcidAmount]
) -> None:
    with pytest.raises(ValueError, match=r"must|Without oils"):
        superfat_interval(oils, alkalis, acids)
