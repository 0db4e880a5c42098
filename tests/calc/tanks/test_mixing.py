"""What oils and lye come to, both ways, against rows C14 and C15 of physics_check_values.csv; and which fats may set in it."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.tables.reference import oils
from calc.tables.rows import Oil
from calc.tanks.mixing import Mixed, fats_that_set, heat_shares, mixed
from calc.tanks.spread import Spread, even_shares, exactly

BLOCK = Mixed(34_980.0, 15_040.0, 0.33)


def test_the_example_block_mixes_at_the_check_value():
    # Row C14: 34.98 kg of oil at 40 °C and 15.04 kg of 33 % lye at 30 °C.
    found = mixed(BLOCK, "batter", (40.0, 30.0))
    assert found.used == pytest.approx(35.69, abs=0.05)
    # Both thermometers off by 1 °C the same way move it by 1 °C, and nothing moves it further than that and a little.
    assert 0.5 < found.used - found.low < 1.1 and 0.5 < found.high - found.used < 1.1


def test_the_oils_for_a_batter_are_the_check_value():
    # Row C15: a batter of 38 °C with lye of 30 °C needs oils of 44.06 °C.
    assert mixed(BLOCK, "oils", (30.0, 38.0)).used == pytest.approx(44.06, abs=0.05)


@settings(max_examples=60)
@given(st.floats(1000.0, 1e6), st.floats(0.2, 0.8), st.floats(0.2, 0.5), st.floats(25.0, 70.0), st.floats(15.0, 60.0))
def test_both_ways_back_lead_to_where_they_began(oils_g, ratio, strength, oils_c, lye_c):
    mix = Mixed(oils_g, oils_g * ratio, strength)
    batter_c = mix.batter_c(oils_c, lye_c)
    assert min(oils_c, lye_c) - 1e-9 <= batter_c <= max(oils_c, lye_c) + 1e-9
    assert mixed(mix, "oils", (lye_c, batter_c)).used == pytest.approx(oils_c, abs=1e-5)
    assert mixed(mix, "lye", (oils_c, batter_c)).used == pytest.approx(lye_c, abs=1e-5)


def test_the_range_is_that_of_chance():
    """Nine in ten of 4,000 blocks whose thermometers and heat capacities are off by chance (seeded), rectangular."""
    chance = random.Random(3)
    met = sorted(
        Mixed(34_980.0 * chance.uniform(0.95, 1.05), 15_040.0 * chance.uniform(0.98, 1.02), 0.33).batter_c(
            40.0 + chance.uniform(-1.0, 1.0), 30.0 + chance.uniform(-1.0, 1.0)
        )
        for _ in range(4000)
    )
    found = mixed(BLOCK, "batter", (40.0, 30.0))
    assert found.low == pytest.approx(met[200], abs=0.06)
    assert found.high == pytest.approx(met[3800], abs=0.06)


def test_a_batter_that_no_temperature_gives_is_none():
    # By hand: with oils at 20 °C, lye of 100 °C makes 100 · 0.43 + 20 · 0.57 = 54 °C.
    assert mixed(BLOCK, "lye", (20.0, 60.0)) is None
    assert mixed(BLOCK, "oils", (60.0, 20.0)) is None


def test_a_degree_of_the_oils_moves_the_batter_by_their_share_of_its_heat():
    # By hand: 34.98 · 2.0355 to 15.04 · 3.576.
    oil, lye = 34.98 * 2.0355, 15.04 * 3.576
    assert heat_shares(BLOCK, 40.0, 30.0) == (pytest.approx(oil / (oil + lye), abs=1e-3), pytest.approx(lye / (oil + lye), abs=1e-3))


def states(keys: list[str], batter_c: float) -> dict[str, str]:
    table = oils()
    return {each.oil.key: each.state for each in fats_that_set([table[key] for key in keys], Spread(batter_c - 1.0, batter_c, batter_c + 1.0))}


def test_what_may_set_is_told_by_the_published_melting_ranges():
    # oils.csv: palm 33 to 39 °C (PORAM, read), beeswax 61 to 66 (Ph. Eur., read), coconut 23 to 26 (handbook, memory).
    assert states(["olive", "palm", "coconut", "beeswax"], 36.0) == {"palm": "may", "beeswax": "sets"}
    assert states(["palm", "coconut"], 45.0) == {}
    assert states(["palm", "coconut"], 24.0) == {"palm": "sets", "coconut": "may"}
    # Palm stearin is stated with a lower end alone: above it, nobody says where it is clear.
    assert states(["palm_stearin"], 60.0) == {"palm_stearin": "may"}
    assert states(["palm_stearin"], 40.0) == {"palm_stearin": "sets"}


def test_a_fat_without_a_melting_range_is_not_known_and_a_liquid_oil_is_nothing_to_tell():
    assert states(["neem", "olive", "sunflower", "castor", "cottonseed"], 36.0) == {"neem": "unknown"}
    nameless = Oil(
        key="own", name="own", kind="triglyceride", saponification_low=190.0, saponification_high=190.0,
        saponification_source="certificate", saponification_how="read",
    )  # fmt: skip
    assert [each.state for each in fats_that_set([nameless], exactly(36.0))] == ["unknown"]


@pytest.mark.parametrize("kinds", [1, 4, 8])
def test_the_cases_lie_evenly(kinds):
    cases = even_shares(kinds)
    for place in range(kinds):
        shares = sorted(case[place] for case in cases)
        # A tenth of the cases within each tenth of a range, give or take.
        counts = [sum(low <= share < low + 0.1 for share in shares) for low in (place / 10 for place in range(10))]
        assert min(counts) >= 0.6 * len(cases) / 10 and max(counts) <= 1.4 * len(cases) / 10
