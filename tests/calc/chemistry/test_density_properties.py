"""Density falls with warmth and rises with strength, everywhere in the table."""

from hypothesis import given
from hypothesis import strategies as st

from calc.chemistry.density import (
    batter_volume_ml,
    lye_density_g_per_ml,
    mixed_lye_density_g_per_ml,
    oil_density_g_per_ml,
)
from calc.tables.reference import oils

ALKALIS = st.sampled_from(["naoh", "koh"])
STRENGTHS = st.floats(0.0, 0.5)
TEMPERATURES = st.floats(15.0, 80.0)
MASSES = st.floats(0.0, 1e6)


@given(ALKALIS, STRENGTHS, STRENGTHS, TEMPERATURES)
def test_stronger_lye_is_never_lighter(alkali: str, one: float, other: float, temperature: float) -> None:
    weak, strong = sorted((one, other))
    assert lye_density_g_per_ml(alkali, weak, temperature) <= lye_density_g_per_ml(alkali, strong, temperature)


@given(ALKALIS, STRENGTHS, TEMPERATURES, TEMPERATURES)
def test_warmer_lye_is_never_heavier(alkali: str, strength: float, one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    assert lye_density_g_per_ml(alkali, strength, cold) >= lye_density_g_per_ml(alkali, strength, warm)


@given(st.floats(0.0, 100.0), st.floats(0.0, 100.0), st.floats(200.0, 1000.0), TEMPERATURES)
def test_mixed_lye_lies_between_the_two(naoh: float, koh: float, water: float, temperature: float) -> None:
    strength = (naoh + koh) / (naoh + koh + water)
    ends = sorted(lye_density_g_per_ml(alkali, strength, temperature) for alkali in ("naoh", "koh"))
    assert ends[0] - 1e-12 <= mixed_lye_density_g_per_ml(naoh, koh, water, temperature) <= ends[1] + 1e-12


@given(st.sampled_from(sorted(oils())), TEMPERATURES, TEMPERATURES)
def test_warmer_oil_is_never_heavier(key: str, one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    assert oil_density_g_per_ml(oils()[key], cold) >= oil_density_g_per_ml(oils()[key], warm)


@given(st.floats(1.0, 1e6), MASSES, MASSES, st.floats(0.0, 1000.0))
def test_more_of_anything_never_takes_less_room(oil: float, lye: float, other: float, more: float) -> None:
    volume = batter_volume_ml([(oil, 0.91)], lye, 1.35, other)
    limit = volume * (1.0 - 1e-12)
    assert batter_volume_ml([(oil, 0.91)], lye, 1.35, other + more) >= limit
    assert batter_volume_ml([(oil, 0.91), (more, 0.93)], lye, 1.35, 0.0) >= batter_volume_ml([(oil, 0.91)], lye, 1.35)
    assert batter_volume_ml([(oil, 0.91)], lye + more, 1.35, 0.0) >= batter_volume_ml([(oil, 0.91)], lye, 1.35)
