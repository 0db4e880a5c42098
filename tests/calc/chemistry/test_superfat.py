"""The superfat interval against the example block's check values and against draws of every unknown (JCGM 101:2008).

All 200 random formulas with a million draws each are `python3 build.py bench cover`; here are fewer of both.
"""

import csv
import math
from dataclasses import replace

import numpy as np
import pytest
from drawn import cover, drawn_superfat, random_formula
from numpy.typing import NDArray

from calc.chemistry.oils import saponification_used, surely_taken
from calc.chemistry.superfat import AcidAmount, AlkaliAmount, OilAmount, best_question, superfat_interval
from calc.shared import REFERENCE
from calc.tables.reference import oils as table_oils

with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
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
    # Row D4: linear GUM, then Monte Carlo; row D5: its last two are the ends of the rows' own Monte Carlo run of 10^6.
    found = superfat_interval(OILS, [LYE])
    for expected in numbers("D4"):
        assert found.standard_uncertainty / PP == pytest.approx(expected, abs=tolerance("D4"))
    low, high = numbers("D5")[2:]
    assert found.low / PP == pytest.approx(low, abs=tolerance("D5"))
    assert found.high / PP == pytest.approx(high, abs=tolerance("D5"))


def test_interval_and_mean_agree_with_a_monte_carlo_run() -> None:
    found = superfat_interval(OILS, [LYE])
    drawn = monte_carlo(OILS, LYE)
    assert found.standard_uncertainty / PP == pytest.approx(float(np.std(drawn)) / PP, abs=tolerance("D4"))
    low, high = np.quantile(drawn, (0.025, 0.975)) / PP
    assert (found.low / PP, found.high / PP) == pytest.approx((low, high), abs=0.02)
    assert found.mean / PP == pytest.approx(float(np.mean(drawn)) / PP, abs=0.01)


@pytest.mark.parametrize("key", ["mango_kernel", "almond", "walnut", "lard"])
def test_one_oil_without_a_certificate_is_covered_as_often_as_stated(key: str) -> None:
    # Exact: between two values of a rectangle lies the share of it that they span, and the superfat falls with 1/SV.
    oil = table_oils()[key]
    used = saponification_used(oil)
    lye = AlkaliAmount("potash", 0.95 * used.used, 1.0, "koh")
    found = superfat_interval([OilAmount(oil.name, 1000.0, used.used, used.low, used.high)], [lye])
    width = used.high - used.low
    ends = [1.0 - lye.mass_g / (used.low + share * width) for share in (0.025, 0.975)]
    assert (found.low, found.high) == pytest.approx(ends, abs=1e-5)
    mean = 1.0 - lye.mass_g * math.log(used.high / used.low) / width
    assert found.mean / PP == pytest.approx(mean / PP, abs=0.002)
    assert found.mean >= found.value


@pytest.mark.parametrize("seed", range(24))
def test_each_end_of_a_random_formula_leaves_out_2_5_percent_of_the_draws(seed: int) -> None:
    # 200 000 draws: the share beyond an end has a standard error of 0.035 %; four of them are let go by.
    formula = random_formula(seed)
    found = superfat_interval(*formula)
    drawn = drawn_superfat(formula, 200_000, seed)
    assert float(np.mean(drawn < found.low)) == pytest.approx(0.025, abs=0.0014)
    assert float(np.mean(drawn > found.high)) == pytest.approx(0.025, abs=0.0014)
    assert cover(drawn, (found.low, found.high)) == pytest.approx(0.95, abs=0.002)
    assert found.mean / PP == pytest.approx(float(np.mean(drawn)) / PP, abs=0.03)
    assert found.chance_of_excess == pytest.approx(float(np.mean(drawn < 0.0)), abs=0.0045)
    assert found.standard_uncertainty == pytest.approx(float(np.std(drawn)), rel=0.02)


def jojoba_in_olive() -> tuple[list[OilAmount], list[AlkaliAmount]]:
    oils = []
    for key, mass_g in (("olive", 900.0), ("jojoba", 100.0)):
        oil = table_oils()[key]
        used = saponification_used(oil)
        oils.append(OilAmount(key, mass_g, used.used, used.low, used.high, acid_value=surely_taken(oil)))
    # 5 % of 900·190 + 100·95 = 180.5 g KOH left out, as whole jojoba would take it.
    return oils, [AlkaliAmount("potash", 0.95 * 180.5, 1.0, "koh")]


def test_jojoba_that_does_not_react_leaves_olive_below_zero() -> None:
    # By hand: 900 g of olive take 171 g KOH, 100 g of jojoba by their acid value of 0.32 (Merck Index) 0.032 g:
    # 1 - 171.475/171.032 = -0.259 %. With an acid value of 1 it would be -0.22, with none -0.28.
    found = superfat_interval(*jojoba_in_olive())
    assert found.value / PP == pytest.approx(5.0, abs=1e-6)
    assert found.without_waxes is not None
    assert found.without_waxes / PP == pytest.approx(-0.259, abs=0.001)
    assert found.low < found.without_waxes


def test_the_low_end_is_for_wax_that_does_not_react_and_the_high_end_for_wax_that_does() -> None:
    oils, lye = jojoba_in_olive()
    found = superfat_interval(oils, lye)
    none, whole = (
        drawn_superfat((oils, lye, []), DRAWS, 7, {"jojoba": ends}) for ends in ((0.32, 0.32), (80.0, 110.0))
    )
    assert found.low / PP == pytest.approx(float(np.quantile(none, 0.025)) / PP, abs=0.02)
    assert found.high / PP == pytest.approx(float(np.quantile(whole, 0.975)) / PP, abs=0.02)
    assert found.chance_of_excess == pytest.approx(float(np.mean(none < 0.0)), abs=0.002)
    between = drawn_superfat((oils, lye, []), DRAWS, 7, {"jojoba": (0.32, 110.0)})
    assert found.mean / PP == pytest.approx(float(np.mean(between)) / PP, abs=0.02)


def test_wax_alone_that_need_not_react_is_all_free_lye_in_words_that_stay_finite() -> None:
    wax = OilAmount("wool fat", 1000.0, 98.0, 90.0, 106.0, acid_value=0.0)
    found = superfat_interval([wax], [AlkaliAmount("potash", 90.0, 1.0, "koh")])
    assert math.isfinite(found.low)
    assert found.low < -1.0
    assert found.chance_of_excess == 1.0
    assert best_question([wax], [AlkaliAmount("potash", 90.0, 1.0, "koh")]) is None


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
    assert best_question(exact, [replace(LYE, relative_half_widths=())]) is None


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
    # Against draws: with palm at 199.5 ± 1 % the interval is narrower than with another oil so, and as narrow as told.
    best = best_question(OILS, [LYE])
    assert best is not None
    assert best.name == "palm"
    halves = {}
    for asked in OILS:
        rows = tuple(certified(oil) if oil is asked else oil for oil in OILS)
        low, high = np.quantile(monte_carlo(rows, LYE), (0.025, 0.975))
        halves[asked.name] = float(high - low) / 2.0
    assert min(halves, key=lambda name: halves[name]) == "palm"
    assert best.new_half_width_fraction / PP == pytest.approx(halves["palm"] / PP, abs=0.01)
    low, high = np.quantile(monte_carlo(OILS, LYE), (0.025, 0.975))
    assert best.factor == pytest.approx(halves["palm"] / (float(high - low) / 2.0), abs=0.005)


def test_chance_of_excess_agrees_with_a_monte_carlo_run_at_low_superfat() -> None:
    # 15.58, 15.70 and 15.80 kg of lye leave 1.57, 0.81 and 0.18 %.
    for mass in (15_580.0, 15_700.0, 15_800.0):
        lye = replace(LYE, mass_g=mass)
        found = superfat_interval(OILS, [lye])
        drawn = float(np.mean(monte_carlo(OILS, lye) < 0.0))
        assert found.chance_of_excess == pytest.approx(drawn, abs=0.002)
    assert superfat_interval(OILS, [LYE]).chance_of_excess < 1e-4  # no draw of 10^6 falls below zero


def test_both_alkalis_and_an_acid_as_worked_by_hand() -> None:
    # By hand, in g KOH: demand 1000·190/1000 = 190; NaOH 100·0.98/0.71289 = 137.469; KOH 40·0.9 = 36; citric acid
    # 3 groups · 56.105/192.12 g/mol (memory) = 876.1 mg/g, 10 g take 8.761. S = 1 - (173.469 - 8.761)/190 = 13.311 %.
    oil = OilAmount("oil", 1000.0, 190.0, 190.0, 190.0)
    alkalis = [AlkaliAmount("soda", 100.0, 0.98, "naoh"), AlkaliAmount("potash", 40.0, 0.90, "koh")]
    acid = AcidAmount("citric acid", 10.0, 3 * 56.105 / 192.12 * 1000.0)
    found = superfat_interval([oil], alkalis, [acid])
    assert found.value / PP == pytest.approx(13.311, abs=0.002)
    assert (found.standard_uncertainty, found.chance_of_excess) == (0.0, 0.0)
    assert (found.low, found.high, found.mean) == pytest.approx((found.value,) * 3)
    half = superfat_interval([oil], alkalis, [replace(acid, mass_g=20.0, strength_fraction=0.5)])
    assert half.value == pytest.approx(found.value)


def test_an_asymmetric_range_counts_by_its_full_width() -> None:
    # JCGM 101:2008 6.4.2 (memory): a rectangle about the middle of its limits, 194 mg/g, with u = 12/√12 mg/g whichever
    # value in the range is used; S = 1 - 190/SV changes by 190/194² for each of them.
    demand_g = 1000.0 * 190.0 / 1000.0
    lye = AlkaliAmount("potash", demand_g, 1.0, "koh")
    found = superfat_interval([OilAmount("oil", 1000.0, 190.0, 188.0, 200.0)], [lye])
    assert found.standard_uncertainty == pytest.approx(12.0 / math.sqrt(12.0) * 190.0 / 194.0**2)
    assert found.value == pytest.approx(0.0)
    assert found.mean == pytest.approx(1.0 - 190.0 * math.log(200.0 / 188.0) / 12.0, abs=1e-5)


def test_two_pours_of_one_oil_share_their_saponification_value() -> None:
    # One value, one error: 600 g and 400 g of an oil are as uncertain as 1000 g; two oils of that name apart would
    # give √(0.6² + 0.4²) of it.
    lye = AlkaliAmount("potash", 190.0, 0.95, "koh")
    oil = OilAmount("oil", 1000.0, 190.0, 184.0, 196.0)
    whole = superfat_interval([oil], [lye])
    parts = superfat_interval([replace(oil, mass_g=600.0), replace(oil, mass_g=400.0)], [lye])
    assert parts.standard_uncertainty == pytest.approx(whole.standard_uncertainty, rel=1e-12)
    assert best_question([replace(oil, mass_g=600.0), replace(oil, mass_g=400.0)], [lye]) == best_question([oil], [lye])


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
        ([replace(OILS[0], acid_value=185.0)], [LYE], []),
        ([replace(OILS[0], acid_value=-1.0)], [LYE], []),
        (OILS, [LYE], [AcidAmount("acid", -1.0, 876.0)]),
        (OILS, [LYE], [AcidAmount("acid", 1.0, 876.0, strength_fraction=1.5)]),
    ],
)
def test_impossible_amounts_are_refused(
    oils: list[OilAmount], alkalis: list[AlkaliAmount], acids: list[AcidAmount]
) -> None:
    with pytest.raises(ValueError, match=r"must|Without oils"):
        superfat_interval(oils, alkalis, acids)
