"""The linear uncertainty for any batch, against the `uncertainties` library, and what must never narrow or widen it."""

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import nominal_value, std_dev, ufloat  # type: ignore[import-untyped]

from calc.chemistry.superfat import AcidAmount, AlkaliAmount, OilAmount, best_question, superfat_interval
from calc.tables.reference import constant

SLACK = 1.0 + 1e-9
SHARES = st.floats(0.0, 0.05)
LIMITS = st.floats(0.0, 100.0)
DIVISIONS = st.sampled_from([0.0, 0.1, 1.0, 20.0])
OILS = st.builds(
    lambda mass, sv, below, above, limit, division: OilAmount("", mass, sv, sv - below, sv + above, limit, division),
    st.floats(100.0, 50_000.0), st.floats(80.0, 300.0), st.floats(0.0, 20.0), st.floats(0.0, 20.0), LIMITS, DIVISIONS,
)  # fmt: skip
ALKALIS = st.builds(
    AlkaliAmount, st.just(""), st.floats(10.0, 20_000.0), st.floats(0.1, 1.0), st.sampled_from(["naoh", "koh"]),
    st.tuples(st.tuples(st.just("strength"), SHARES), st.tuples(st.just("purity"), SHARES)), LIMITS, DIVISIONS,
)  # fmt: skip
ACIDS = st.builds(
    AcidAmount, st.just(""), st.floats(1.0, 500.0), st.floats(100.0, 900.0), st.floats(0.1, 1.0),
    st.tuples(st.tuples(st.just("strength"), SHARES)), LIMITS, DIVISIONS,
)  # fmt: skip
Batch = tuple[list[OilAmount], list[AlkaliAmount], list[AcidAmount]]


@st.composite
def batches(draw: st.DrawFn) -> Batch:
    """A batch whose ingredients have each their own name."""
    oils = [replace(oil, name=f"oil {n}") for n, oil in enumerate(draw(st.lists(OILS, min_size=1, max_size=5)))]
    alkalis = [replace(alkali, name=f"alkali {n}") for n, alkali in enumerate(draw(st.lists(ALKALIS, max_size=2)))]
    acids = [replace(acid, name=f"acid {n}") for n, acid in enumerate(draw(st.lists(ACIDS, max_size=2)))]
    return oils, alkalis, acids


def _rectangle(value: float, half_width: float) -> Any:
    """A value known to within a half width (JCGM 100 4.3.7, memory); the library warns at an uncertainty of zero."""
    return ufloat(value, half_width / math.sqrt(3.0)) if half_width > 0.0 else value


def _mass(amount: OilAmount | AlkaliAmount | AcidAmount) -> Any:
    """Limit of error, and half a division for each of the two readings."""
    half = amount.division_g / 2.0
    return _rectangle(amount.mass_g, amount.mass_limit_g) + _rectangle(0.0, half) + _rectangle(0.0, half)


@given(batches())
def test_value_and_uncertainty_equal_the_uncertainties_library(batch: Batch) -> None:
    oils, alkalis, acids = batch
    ratio = constant("molar_mass_naoh").value / constant("molar_mass_koh").value
    # The range counts about its middle, wherever in it the value lies (JCGM 101 6.4.2, memory).
    demand = sum(
        _mass(oil) * _rectangle((oil.sv_high + oil.sv_low) / 2.0, (oil.sv_high - oil.sv_low) / 2.0) / 1000.0
        for oil in oils
    )
    net: Any = 0.0
    for alkali in alkalis:
        part = _mass(alkali) * alkali.hydroxide_fraction / (ratio if alkali.alkali == "naoh" else 1.0)
        for _, half_width in alkali.relative_half_widths:
            part *= _rectangle(1.0, half_width)
        net += part
    for acid in acids:
        part = _mass(acid) * acid.strength_fraction * acid.acid_value / 1000.0
        for _, half_width in acid.relative_half_widths:
            part *= _rectangle(1.0, half_width)
        net -= part
    expected = 1.0 - net / demand
    found = superfat_interval(oils, alkalis, acids)
    used = sum(oil.mass_g * oil.saponification_value / 1000.0 for oil in oils)
    assert found.value == pytest.approx(1.0 - nominal_value(net) / used, rel=1e-9, abs=1e-9)
    assert found.standard_uncertainty == pytest.approx(std_dev(expected), rel=1e-9, abs=1e-12)


@given(batches())
def test_contributions_add_up_and_come_largest_first(batch: Batch) -> None:
    found = superfat_interval(*batch)
    squares = math.fsum(part.uncertainty_fraction**2 for part in found.contributions)
    assert math.isclose(math.sqrt(squares), found.standard_uncertainty, rel_tol=1e-9, abs_tol=1e-15)
    if found.standard_uncertainty > 0.0:
        assert math.fsum(part.share_of_variance for part in found.contributions) == pytest.approx(1.0)
    sizes = [part.uncertainty_fraction for part in found.contributions]
    assert sizes == sorted(sizes, reverse=True)
    assert found.low <= found.high
    assert 0.0 <= found.chance_of_excess <= 1.0


@given(batches(), st.floats(0.0, 10.0))
def test_any_wider_half_width_never_narrows(batch: Batch, more: float) -> None:
    oils, alkalis, acids = batch
    now = superfat_interval(oils, alkalis, acids).standard_uncertainty
    first = oils[0]
    wider = [
        # About its middle: a range that grows to one side moves what all shares are of.
        ([replace(first, sv_low=first.sv_low - more, sv_high=first.sv_high + more), *oils[1:]], alkalis, acids),
        ([replace(first, mass_limit_g=first.mass_limit_g + more), *oils[1:]], alkalis, acids),
        ([replace(first, division_g=first.division_g + more), *oils[1:]], alkalis, acids),
    ]
    if alkalis:
        doubt = (*alkalis[0].relative_half_widths, ("carbonate", more / 100.0))
        wider.append((oils, [replace(alkalis[0], relative_half_widths=doubt), *alkalis[1:]], acids))
        limit = alkalis[0].mass_limit_g + more
        wider.append((oils, [replace(alkalis[0], mass_limit_g=limit), *alkalis[1:]], acids))
    if acids:
        wider.append((oils, alkalis, [replace(acids[0], mass_limit_g=acids[0].mass_limit_g + more), *acids[1:]]))
    for changed in wider:
        assert superfat_interval(*changed).standard_uncertainty * SLACK >= now


@given(batches(), st.floats(0.0, 1.0))
def test_a_more_certain_saponification_value_never_widens(batch: Batch, share: float) -> None:
    oils, alkalis, acids = batch
    narrowed = []
    for oil in oils:
        middle, half = (oil.sv_low + oil.sv_high) / 2.0, (oil.sv_high - oil.sv_low) / 2.0
        ends = {"sv_low": middle - share * half, "sv_high": middle + share * half}
        narrowed.append(replace(oil, saponification_value=middle, **ends))
    now = superfat_interval(oils, alkalis, acids).standard_uncertainty
    assert superfat_interval(narrowed, alkalis, acids).standard_uncertainty <= now * SLACK


@given(batches())
def test_the_best_question_narrows_and_no_other_certificate_narrows_clearly_more(batch: Batch) -> None:
    oils, alkalis, acids = batch
    now = superfat_interval(oils, alkalis, acids)
    half_width = constant("certificate_half_width").value
    asked = [
        superfat_interval(
            [
                replace(
                    oil,
                    sv_low=oil.saponification_value * (1.0 - half_width),
                    sv_high=oil.saponification_value * (1.0 + half_width),
                )
                if oil.name == name
                else oil
                for oil in oils
            ],
            alkalis,
            acids,
        )
        for name in (oil.name for oil in oils)
    ]
    narrowest = min(found.half_width for found in asked)
    best = best_question(oils, alkalis, acids)
    told = now.half_width if best is None else best.new_half_width_fraction
    # A certificate moves the middle too, so that one of two near each other may be told.
    assert told <= narrowest * 1.05 + 1e-12
    if best is not None:
        assert best.factor < 1.0
        (same,) = [found for found, oil in zip(asked, oils, strict=True) if oil.name == best.name]
        assert best.new_half_width_fraction == pytest.approx(same.half_width, rel=1e-9)


@given(batches(), st.floats(0.001, 1000.0))
def test_a_batch_twice_as_large_with_errors_to_match_has_the_same_interval(batch: Batch, factor: float) -> None:
    def scaled(amount: OilAmount | AlkaliAmount | AcidAmount) -> dict[str, Any]:
        return {
            "mass_g": amount.mass_g * factor,
            "mass_limit_g": amount.mass_limit_g * factor,
            "division_g": amount.division_g * factor,
        }

    oils, alkalis, acids = batch
    now = superfat_interval(oils, alkalis, acids)
    then = superfat_interval(
        [replace(oil, **scaled(oil)) for oil in oils],
        [replace(alkali, **scaled(alkali)) for alkali in alkalis],
        [replace(acid, **scaled(acid)) for acid in acids],
    )
    assert then.value == pytest.approx(now.value, rel=1e-9, abs=1e-9)
    assert then.standard_uncertainty == pytest.approx(now.standard_uncertainty, rel=1e-9, abs=1e-12)
