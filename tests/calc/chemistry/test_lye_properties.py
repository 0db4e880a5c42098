"""What must hold for lye whatever the formula: derived from mass balance and from what superfat means."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.chemistry.lye import (
    acid_uptake_koh_g,
    alkali_needed,
    koh_equivalent_g,
    products,
)
from calc.tables.reference import additives

demands = st.floats(1.0, 1e6)
superfats = st.floats(0.0, 0.5)
shares = st.floats(0.0, 1.0)
acid_demands = st.floats(0.0, 1e4)


@given(demands, superfats, superfats, shares)
def test_more_superfat_never_means_more_lye(demand: float, one: float, other: float, share: float) -> None:
    less, more = sorted((one, other))
    for with_less, with_more in zip(
        alkali_needed(demand, less, share), alkali_needed(demand, more, share), strict=True
    ):
        assert with_more <= with_less


@given(demands, superfats, shares, acid_demands)
def test_superfat_comes_back_from_the_amounts(demand: float, superfat: float, share: float, acid: float) -> None:
    alkali = alkali_needed(demand, superfat, share, acid_koh_g=acid)
    # An acid that takes far more alkali than the oils costs digits of the difference.
    # Superfat by its definition: the share of the oils' demand that what the acids leave of the alkali doesn't meet.
    left_open = 1.0 - (koh_equivalent_g(*alkali) - acid) / demand
    assert left_open == pytest.approx(superfat, abs=1e-9 * (1 + acid / demand))


@given(demands, superfats, shares, st.floats(0.01, 100.0))
def test_lye_scales_with_the_oils(demand: float, superfat: float, share: float, factor: float) -> None:
    scaled = [mass * factor for mass in alkali_needed(demand, superfat, share)]
    assert alkali_needed(demand * factor, superfat, share) == pytest.approx(scaled)


@given(demands, superfats, shares, shares)
def test_potash_share_leaves_the_equivalents_alone(demand: float, superfat: float, one: float, other: float) -> None:
    first, second = (koh_equivalent_g(*alkali_needed(demand, superfat, share)) for share in (one, other))
    assert first == pytest.approx(second)


@given(st.sampled_from(sorted(additives())), st.floats(0.0, 1e4), st.floats(0.0, 1.0), demands, superfats, shares)
def test_additives_only_ever_raise_lye(
    key: str, mass: float, strength: float, demand: float, superfat: float, share: float
) -> None:
    uptake = acid_uptake_koh_g(additives()[key], mass, strength)
    assert uptake >= 0.0
    without, with_it = (alkali_needed(demand, superfat, share, acid_koh_g=acid) for acid in (0.0, uptake))
    assert with_it.naoh_g >= without.naoh_g
    assert with_it.koh_g >= without.koh_g


@given(st.floats(1.0, 1e6), st.floats(50.0, 300.0), st.floats(0.0, 1.0), superfats, shares)
def test_saponification_conserves_mass(
    oils: float, value: float, free_share: float, superfat: float, share: float
) -> None:
    demand = oils * value / 1000
    alkali = alkali_needed(demand, superfat, share)
    made = products(oils, demand * (1 - free_share), demand * free_share, alkali, superfat)
    assert sum(made) == pytest.approx(oils + sum(alkali))
    assert min(made) >= 0.0
