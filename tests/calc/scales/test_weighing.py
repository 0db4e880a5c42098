"""Limits of error, minimum loads and roundings against the printed tables of OIML R 76 and NIST Handbook 44."""

import csv

import pytest

from calc.entry.problems import InputProblems
from calc.scales.weighing import (
    Scale,
    ScaleChoice,
    choose_scale,
    limit_of_error_g,
    mass_uncertainty_g,
    minimum_load_g,
    resolution_uncertainty_g,
)
from calc.shared import REFERENCE

with (REFERENCE / "physics_check_values.csv").open(encoding="utf-8", newline="") as file:
    CHECKS = {row["id"]: row for row in csv.DictReader(file)}

FLOOR = Scale("Floor scale", 150_000.0, 20.0)
BENCH = Scale("Bench scale", 6_000.0, 1.0)
FRAGRANCE = Scale("Fragrance scale", 600.0, 0.1)
SHOP = (BENCH, FLOOR, FRAGRANCE)
LB, OZ = 453.59237, 28.349523125  # g, by definition (NIST SP 811 B.8)


def test_limits_at_15_04_kg_in_both_schemes() -> None:
    # Rows D1 (Handbook 44 class III, maintenance: 752 d, 2 d) and D2 (R 76 class III in service: 2 x 1 e).
    hb44 = Scale("Floor scale", 150_000.0, 20.0, scheme="HB44")
    assert limit_of_error_g(hb44, 15_040.0) == float(CHECKS["D1"]["value"])
    assert limit_of_error_g(FLOOR, 15_040.0) == float(CHECKS["D2"]["value"])


@pytest.mark.parametrize(
    ("scheme", "accuracy_class", "in_use", "intervals", "limit"),
    [
        # OIML R 76-1, as UK SI 1995/1907 Schedule 2 paragraph 4 (read): initial verification
        ("R76", "II", False, 5_000, 0.5),
        ("R76", "II", False, 20_000, 1.0),
        ("R76", "II", False, 100_000, 1.5),
        ("R76", "III", False, 500, 0.5),
        ("R76", "III", False, 501, 1.0),
        ("R76", "III", False, 2_000, 1.0),
        ("R76", "III", False, 10_000, 1.5),
        ("R76", "IIII", False, 50, 0.5),
        ("R76", "IIII", False, 200, 1.0),
        ("R76", "IIII", False, 1_000, 1.5),
        # the same, paragraph 4.2 (read): twice that in service
        ("R76", "II", True, 5_001, 2.0),
        ("R76", "III", True, 500, 1.0),
        ("R76", "III", True, 501, 2.0),
        ("R76", "III", True, 2_001, 3.0),
        ("R76", "IIII", True, 201, 3.0),
        # NIST Handbook 44 section 2.20 Table 6, maintenance, class III (memory; the row to 4 000 d was read)
        ("HB44", "III", True, 500, 1.0),
        ("HB44", "III", True, 2_000, 2.0),
        ("HB44", "III", True, 4_000, 3.0),
        ("HB44", "III", True, 4_001, 5.0),
        # the same, class II (memory)
        ("HB44", "II", True, 5_000, 1.0),
        ("HB44", "II", True, 20_000, 2.0),
        ("HB44", "II", True, 20_001, 3.0),
        # acceptance, half of maintenance (read: 1 000 d -> 1 d, 3 000 d -> 1.5 d, full load -> 2.5 d)
        ("HB44", "III", False, 1_000, 1.0),
        ("HB44", "III", False, 3_000, 1.5),
        ("HB44", "III", False, 10_000, 2.5),
    ],
)
def test_limits_of_the_published_tables(
    scheme: str, accuracy_class: str, in_use: bool, intervals: int, limit: float
) -> None:
    most = {"II": 100_000, "III": 10_000, "IIII": 1_000}[accuracy_class]
    for division in (0.1, 20.0, 0.05 * LB):
        scale = Scale("Scale", most * division, division, scheme, accuracy_class, in_use)
        assert limit_of_error_g(scale, intervals * division) == pytest.approx(limit * division, rel=1e-12)


def test_the_example_blocks_oils_have_limits_of_2_2_and_1_divisions() -> None:
    # By hand from the printed steps, 20 g scale: 787 and 525 intervals take 2, 437 take 1; both schemes agree.
    for scheme in ("R76", "HB44"):
        scale = Scale("Floor scale", 150_000.0, 20.0, scheme)
        assert [limit_of_error_g(scale, load) for load in (15_740.0, 10_500.0, 8_740.0)] == [40.0, 40.0, 20.0]


def test_minimum_loads() -> None:
    # UK SI 1995/1907 Schedule 2 (read): class III 20 e; d = e = 20 g gives 0.4 kg.
    assert minimum_load_g(FLOOR) == pytest.approx(400.0)
    # OIML R 76-1 Table 3 (memory): class II 50 e, 20 e when e is 50 mg or less; class IIII 10 e.
    assert minimum_load_g(Scale("Fine", 600.0, 0.1, accuracy_class="II")) == pytest.approx(5.0)
    assert minimum_load_g(Scale("Fine", 600.0, 0.01, accuracy_class="II")) == pytest.approx(0.2)
    assert minimum_load_g(Scale("Coarse", 100_000.0, 200.0, accuracy_class="IIII")) == pytest.approx(2_000.0)


def test_a_verification_interval_coarser_than_the_display_decides() -> None:
    # R 76-1 states limits in e: class II, d = 0.01 g, e = 0.1 g; 100 g = 1 000 e, in service 1 e.
    scale = Scale("Fine", 600.0, 0.01, accuracy_class="II", verification_interval_g=0.1)
    assert limit_of_error_g(scale, 100.0) == pytest.approx(0.1)


def test_a_display_finer_than_its_class_allows_is_judged_as_coarse_as_the_class() -> None:
    # R 76-1: class III has at most 10 000 intervals; 30 kg x 1 g would be 30 000, so e counts as 3 g.
    scale = Scale("Kitchen scale", 30_000.0, 1.0)
    assert scale.interval_g == pytest.approx(3.0)
    assert limit_of_error_g(scale, 30_000.0) == pytest.approx(9.0)


@pytest.mark.parametrize(
    ("mass", "division", "unit", "shown"),
    [
        (15_037.2, 20.0, "kg", "15.04"),  # the exact lye of the example block: 751.86 divisions
        (15_029.9, 20.0, "kg", "15.02"),
        (15_030.0, 20.0, "g", "15040"),  # half goes up
        (0.30000000000000004, 0.1, "g", "0.3"),
        (0.35, 0.1, "g", "0.4"),  # 0.35/0.1 is 3.4999999999999996 in floats; by hand it is a half
        (2.675, 0.01, "g", "2.68"),
        (1.005, 0.01, "g", "1.01"),  # the float lies under the half that was typed
        (9.0, 20.0, "g", "0"),
        (0.0, 20.0, "g", "0"),
        # By hand: 16.61 lb at 0.05 lb is 16.60 lb = 332 divisions; 3.27 oz at 0.1 oz is 3.3 oz; half goes up.
        (16.61 * LB, 0.05 * LB, "lb", "16.60"),
        (16.625 * LB, 0.05 * LB, "lb", "16.65"),
        (3.27 * OZ, 0.1 * OZ, "oz", "3.3"),
    ],
)
def test_rounding_to_what_a_display_shows(mass: float, division: float, unit: str, shown: str) -> None:
    display = Scale("Scale", 200_000.0, division, unit=unit).display
    assert display.text(display.counts(mass)) == shown


def test_resolution_of_a_net_mass_from_two_readings() -> None:
    # JCGM 100:2008 4.3.7 (memory), by hand: two rectangles of ±10 g, √(2 · 10²/3) = 8.165 g.
    assert resolution_uncertainty_g(20.0) == pytest.approx(8.165, abs=0.0005)
    # By hand: 40/√3 = 23.094; √(23.094² + 8.165²) = 24.495.
    assert mass_uncertainty_g(40.0, 20.0) == pytest.approx(24.495, abs=0.001)


def choose(mass: float, already_on: float = 11_400.0, *, in_vessel: bool = True, allowed: float = 0.01) -> ScaleChoice:
    return choose_scale(
        SHOP, mass, in_vessel=in_vessel, already_on_g=already_on, allowed_error_fraction=allowed, field="oils.0"
    )


def test_a_large_pour_goes_into_the_vessel_on_its_scale() -> None:
    found = choose(15_737.0)
    assert (found.scale, found.pour_g, found.apart, found.limit_of_error_g) == (FLOOR, 15_740.0, False, 40.0)
    assert found.cautions == ()


def test_a_pour_under_the_minimum_load_is_weighed_apart_on_the_finest_scale_that_holds_it() -> None:
    found = choose(250.04, allowed=0.5)
    assert (found.scale, found.pour_g, found.apart) == (FRAGRANCE, 250.0, True)
    assert found.cautions == ()


def test_a_pour_with_too_large_a_limit_of_error_is_weighed_apart() -> None:
    # By hand: 1.5 kg is 75 e, limit 20 g = 1.3 %, over the 1 % allowed; the 600 g scale is too small.
    found = choose(1_500.0)
    assert (found.scale, found.apart) == (BENCH, True)


def test_scent_is_weighed_apart_without_being_asked_for_in_the_vessel() -> None:
    found = choose(212.34, in_vessel=False)
    assert (found.scale, found.pour_g, found.apart) == (FRAGRANCE, 212.3, True)


def test_what_is_weighed_apart_leaves_room_for_its_jug() -> None:
    # A jug as heavy as what is in it (common practice, no source): 1024.7 g are too much for 600 g.
    found = choose(512.34, in_vessel=False)
    assert (found.scale, found.pour_g, found.apart) == (BENCH, 512.0, True)
    # With no room for it anywhere, the largest that holds the amount.
    alone = choose_scale([FRAGRANCE], 512.34, in_vessel=False, allowed_error_fraction=0.01)
    assert (alone.scale, alone.pour_g) == (FRAGRANCE, 512.3)


def test_too_little_even_for_the_finest_scale_is_said() -> None:
    # By hand: minimum load 20 · 0.1 g = 2 g; limit 0.1 g of 1 g is 10 %.
    found = choose(1.0)
    assert found.scale == FRAGRANCE
    assert [(caution.code, caution.field) for caution in found.cautions] == [
        ("under-minimum-load", "oils.0"), ("error-too-large", "oils.0")]  # fmt: skip
    assert "10 %" in found.cautions[1].message


def test_a_lone_coarse_scale_keeps_the_pour_in_the_vessel_and_warns() -> None:
    found = choose_scale([FLOOR], 300.0, in_vessel=True, already_on_g=11_400.0, allowed_error_fraction=0.01)
    assert (found.scale, found.apart, found.pour_g) == (FLOOR, False, 300.0)
    assert [caution.code for caution in found.cautions] == ["under-minimum-load", "error-too-large"]


def test_a_pound_scale_chooses_as_a_metric_one_does() -> None:
    scales = (Scale("Floor", 300 * LB, 0.05 * LB, "HB44", unit="lb"), Scale("Bench", 15 * LB, 0.05 * OZ, "HB44", unit="oz"))
    found = choose_scale(scales, 34.71 * LB, in_vessel=True, already_on_g=25 * LB, allowed_error_fraction=0.01)
    assert found.scale.name == "Floor"
    assert found.pour_g / LB == pytest.approx(34.70)
    assert choose_scale(scales, 5.02 * OZ, in_vessel=True, allowed_error_fraction=0.01).scale.name == "Bench"


def caustic(mass: float, scales: tuple[Scale, ...] = SHOP) -> ScaleChoice:
    return choose_scale(
        scales, mass, in_vessel=False, allowed_error_fraction=0.01, field="lye:naoh", down=True, most_portions=2
    )


def test_caustic_too_much_for_the_finest_scale_at_once_is_weighed_on_it_in_two_portions() -> None:
    # By hand: 4437.8 g and as much of a jug are more than 6 kg, half of it is not: 2218 and 2219 g, never 4438.
    found = caustic(4_437.8)
    assert (found.scale, found.counts, found.pour_g, found.apart) == (BENCH, (2218, 2219), 4_437.0, True)
    # The limit at 2218 g is 3 e (R 76 class III in service, over 2 000 e), and both portions may err alike.
    assert found.limit_of_error_g == 6.0
    # Half of 6.2 kg leaves no room for a jug on the bench scale.
    assert (caustic(6_200.0).scale, caustic(6_200.0).counts) == (FLOOR, (310 * 20,))
    # 200.05 g and their jug fit on the fine scale at once.
    assert (caustic(200.05).scale, caustic(200.05).counts) == (FRAGRANCE, (2000,))


def test_nothing_but_caustic_is_parted() -> None:
    assert choose(4_437.8, in_vessel=False).counts == (4440,)
    assert choose(4_437.8, in_vessel=False).scale == FLOOR


def test_caustic_is_rounded_down_on_every_display() -> None:
    # By hand: 999.99 g of 0.01 lb (4.5359 g) are 220.46 divisions, 220 of them 2.20 lb.
    pounds = Scale("Pounds", 50 * LB, 0.01 * LB, unit="lb")
    assert (caustic(999.99, (pounds,)).counts, pounds.display.said(220)) == ((220,), "2.20 lb")
    assert caustic(19_999.9, (FLOOR,)).pour_g == 19_980.0
    with pytest.raises(InputProblems) as faults:
        caustic(19.9, (FLOOR,))
    assert faults.value.problems[0].code == "below-division"


def problem_code(scales: tuple[Scale, ...], mass: float, already_on: float, *, in_vessel: bool) -> str:
    with pytest.raises(InputProblems) as caught:
        choose_scale(
            scales, mass, in_vessel=in_vessel, already_on_g=already_on, allowed_error_fraction=0.01, field="vessel"
        )
    (problem,) = caught.value.problems
    assert problem.field == "vessel"
    return problem.code


def test_what_no_scale_can_weigh_is_a_problem() -> None:
    assert problem_code((), 100.0, 0.0, in_vessel=False) == "no-scale"
    assert problem_code(SHOP, 10_000.0, 145_000.0, in_vessel=True) == "over-capacity"
    assert problem_code(SHOP, 151_000.0, 0.0, in_vessel=False) == "over-capacity"
    assert problem_code((FLOOR,), 9.0, 11_400.0, in_vessel=True) == "below-division"


def test_a_pour_that_rounding_would_lift_over_the_capacity_is_a_problem() -> None:
    # By hand: 10 × 3 g = 30 g > 29 g; 28.6 g rounds to 30 g.
    scale = Scale("Odd scale", 29.0, 3.0, accuracy_class="IIII")
    assert problem_code((scale,), 28.6, 0.0, in_vessel=False) == "over-capacity"


def test_impossible_scales_and_loads_are_refused() -> None:
    with pytest.raises(ValueError, match="at most the capacity"):
        Scale("Scale", 10.0, 20.0)
    with pytest.raises(ValueError, match="at most the capacity"):
        Scale("Scale", 10.0, 0.0)
    with pytest.raises(ValueError, match="never finer"):
        Scale("Scale", 100.0, 1.0, verification_interval_g=0.1)
    with pytest.raises(ValueError, match="no limits are known"):
        Scale("Scale", 100.0, 1.0, accuracy_class="V")
    with pytest.raises(ValueError, match="no limits are known"):
        Scale("Scale", 100.0, 1.0, scheme="house")
    with pytest.raises(ValueError, match="carries from 0 to 6000 g"):
        limit_of_error_g(BENCH, 6_001.0)
    with pytest.raises(ValueError, match="zero or more"):
        mass_uncertainty_g(-1.0, 0.0)
    with pytest.raises(ValueError, match="above zero"):
        choose(0.0)
