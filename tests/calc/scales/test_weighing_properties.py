"""What must hold for any amount and any scale."""

from hypothesis import assume, given
from hypothesis import strategies as st

from calc.entry.problems import InputProblems
from calc.scales.weighing import Scale, choose_scale, limit_of_error_g, minimum_load_g

DIVISIONS = st.sampled_from(
    [0.01, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 20.0, 50.0, 22.6796185, 1.41747615625, 2.8349523125, 453.59237]
)
CLASSES = st.sampled_from(["II", "III", "IIII"])
SCALES = st.builds(
    lambda steps, division, accuracy_class: Scale(
        f"{division} g", steps * division, division, accuracy_class=accuracy_class
    ),
    st.integers(100, 100_000),
    DIVISIONS,
    CLASSES,
)


@given(SCALES, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_larger_load_never_has_a_smaller_limit(scale: Scale, one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert limit_of_error_g(scale, less * scale.capacity_g) <= limit_of_error_g(scale, more * scale.capacity_g)


@given(SCALES, st.floats(0.0, 1.0))
def test_limits_lie_between_one_and_three_intervals_in_service(scale: Scale, share: float) -> None:
    # OIML R 76-1: 0.5 to 1.5 e at verification, twice that in service.
    limit = limit_of_error_g(scale, share * scale.capacity_g) / scale.interval_g
    assert 1.0 - 1e-9 <= limit <= 3.0 + 1e-9


@given(st.lists(SCALES, min_size=1, max_size=4), st.floats(0.01, 100_000.0), st.floats(0.0, 50_000.0), st.booleans())
def test_a_chosen_pour_never_exceeds_the_scale_and_every_weakness_is_said(
    scales: list[Scale], mass: float, already_on: float, in_vessel: bool
) -> None:
    try:
        found = choose_scale(scales, mass, in_vessel=in_vessel, already_on_g=already_on, allowed_error_fraction=0.01)
    except InputProblems as problems:
        assert {problem.code for problem in problems.problems} <= {"over-capacity", "below-division"}
        return
    on_scale = found.pour_g + (0.0 if found.apart else already_on)
    assert 0.0 < on_scale <= found.scale.capacity_g * (1.0 + 1e-9)
    # A division that is no short decimal in the display's unit counts there as the next 1, 2 or 5, which may be twice it.
    assert abs(found.pour_g - mass) <= found.scale.division_g + 2e-9 * (mass + found.scale.division_g)
    codes = {caution.code for caution in found.cautions}
    assert ("under-minimum-load" in codes) == (found.pour_g < minimum_load_g(found.scale) * (1.0 - 1e-9))
    assert ("error-too-large" in codes) == (found.limit_of_error_g > found.pour_g * 0.01 * (1.0 + 1e-9))


@given(SCALES, SCALES, st.floats(0.01, 100_000.0))
def test_apart_no_finer_scale_would_have_held_it(one: Scale, other: Scale, mass: float) -> None:
    assume(one.division_g != other.division_g)
    try:
        found = choose_scale([one, other], mass, in_vessel=False, allowed_error_fraction=0.01)
    except InputProblems:
        return
    for scale in (one, other):
        if scale.division_g < found.scale.division_g:
            assert 2.0 * mass > scale.capacity_g
