"""Strength, ratio and share are one quantity, and water poured plus water brought is the water stated."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.chemistry.lye import Hydroxide
from calc.chemistry.water import (
    AlkaliSource,
    crystallisation_c,
    lye_plan,
    ratio_from_strength,
    share_from_strength,
    strength_from_ratio,
    strength_from_share,
)
from calc.entry.problems import InputProblems

strengths = st.floats(0.05, 0.55)
masses = st.floats(1.0, 1e6)


@given(strengths)
def test_strength_and_ratio_round_trip(strength: float) -> None:
    assert strength_from_ratio(ratio_from_strength(strength)) == pytest.approx(strength)


@given(strengths, masses, masses)
def test_strength_and_share_round_trip(strength: float, oils: float, hydroxide: float) -> None:
    share = share_from_strength(strength, oils, hydroxide)
    assert strength_from_share(share, oils, hydroxide) == pytest.approx(strength)


@given(st.floats(0.0, 1.0))
def test_crystallisation_stays_within_the_curve(strength: float) -> None:
    assert -28.0 <= crystallisation_c(strength) <= 133.3  # lowest and highest point of the digitised curve


@given(masses, st.floats(0.0, 1e6), st.floats(0.1, 0.5), st.floats(0.2, 1.0), st.floats(0.2, 1.0), st.floats(0.0, 1e6))
def test_plan_keeps_its_promise_or_says_why_not(
    naoh: float, koh: float, strength: float, naoh_assay: float, koh_assay: float, additive_water: float
) -> None:
    needed = Hydroxide(naoh, koh)
    sources = {"naoh": AlkaliSource("premixed", naoh_assay), "koh": AlkaliSource("solid", koh_assay)}
    try:
        plan = lye_plan(needed, strength, sources, additive_water_g=additive_water, working_temperature_c=40.0)
    except InputProblems as refusal:
        (problem,) = refusal.problems
        brought, wanted = naoh / naoh_assay + koh / koh_assay - naoh - koh, (naoh + koh) * (1 - strength) / strength
        if problem.code == "premix-too-weak":
            assert brought > wanted
        else:
            assert problem.code == "lye-short-of-water"
            assert max(wanted - additive_water, brought) < (naoh + koh) * (1 + 1e-6)  # stronger than half and half
        return
    assert plan.water_to_add_g >= 0.0
    assert plan.strength_fraction <= strength * (1 + 1e-9)
    if plan.water_to_add_g > 0.0:
        assert plan.strength_fraction == pytest.approx(strength)
    assert (naoh + koh) / (naoh + koh + plan.water_g) == pytest.approx(plan.strength_fraction)
    assert plan.lye_g + plan.additive_water_g == pytest.approx((naoh + koh) / plan.strength_fraction)
    assert plan.strength_fraction * (1 - 1e-9) <= plan.mixed_strength_fraction <= 0.5 + 1e-6


@given(masses, strengths, st.floats(0.01, 100.0))
def test_plan_scales_with_the_hydroxide(hydroxide: float, strength: float, factor: float) -> None:
    sources = {"naoh": AlkaliSource("solid", 0.98)}
    once, scaled = (
        lye_plan(Hydroxide(mass, 0.0), strength, sources, working_temperature_c=40.0)
        for mass in (hydroxide, hydroxide * factor)
    )
    assert scaled.naoh_source_g == pytest.approx(once.naoh_source_g * factor)
    assert scaled.water_to_add_g == pytest.approx(once.water_to_add_g * factor)
