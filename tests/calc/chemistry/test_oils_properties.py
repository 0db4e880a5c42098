"""What must hold for any oil and any blend."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.chemistry.oils import (
    Certificate,
    iodine_value_of,
    oils_together,
    saponification_used,
    saponification_value_of,
)
from calc.tables.reference import fatty_acid_names, oils

oil_keys = st.sampled_from(sorted(oils()))
compositions = st.dictionaries(st.sampled_from(sorted(fatty_acid_names())), st.floats(0.1, 100.0), min_size=1)
formulas = st.lists(st.tuples(oil_keys, st.floats(0.1, 100.0)), min_size=1, max_size=8)


@given(oil_keys)
def test_the_default_never_leans_to_lye_excess(key: str) -> None:
    used = saponification_used(oils()[key])
    assert used.low <= used.used <= (used.low + used.high) / 2


@given(oil_keys, st.floats(60.0, 300.0), st.floats(0.0, 5.0))
def test_certificate_is_used_as_it_stands(key: str, value: float, plus_minus: float) -> None:
    used = saponification_used(oils()[key], Certificate(value, plus_minus))
    assert used.used == value
    assert used.high - used.low == pytest.approx(2 * plus_minus)


@given(compositions, st.floats(0.01, 100.0))
def test_only_the_proportions_of_a_composition_matter(composition: dict[str, float], factor: float) -> None:
    scaled = {acid: share * factor for acid, share in composition.items()}
    assert saponification_value_of(scaled) == pytest.approx(saponification_value_of(composition))
    assert iodine_value_of(scaled) == pytest.approx(iodine_value_of(composition))


@given(compositions)
def test_mixture_lies_between_its_pure_parts(composition: dict[str, float]) -> None:
    for value_of in (saponification_value_of, iodine_value_of):
        pure = [value_of({acid: 1.0}) for acid in composition]
        assert min(pure) - 1e-9 <= value_of(composition) <= max(pure) + 1e-9


@given(formulas, st.floats(0.01, 100.0))
def test_blend_is_of_proportions_and_lies_between_its_oils(formula: list[tuple[str, float]], factor: float) -> None:
    parts = [(oils()[key], mass) for key, mass in formula]
    mixed = oils_together(parts)
    used = [saponification_used(oil).used for oil, _ in parts]
    assert min(used) - 1e-9 <= mixed.saponification.used <= max(used) + 1e-9
    assert mixed.saponification.low <= mixed.saponification.used <= mixed.saponification.high
    scaled = oils_together([(oil, mass * factor) for oil, mass in parts])
    assert scaled.saponification.used == pytest.approx(mixed.saponification.used)
    assert scaled.glycerol_g_per_kg == pytest.approx(mixed.glycerol_g_per_kg)


@given(formulas)
def test_typical_acids_and_the_unknown_share_make_the_whole(formula: list[tuple[str, float]]) -> None:
    mixed = oils_together([(oils()[key], mass) for key, mass in formula])
    known = sum(acid.typical for acid in mixed.fatty_acids)
    assert known + 100 * mixed.not_known_fraction == pytest.approx(100.0)
    for acid in mixed.fatty_acids:
        assert 0.0 <= acid.low <= acid.typical * (1 + 1e-9) + 1e-12
        assert acid.typical <= acid.high * (1 + 1e-9) + 1e-12
