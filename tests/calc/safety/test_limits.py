"""Where a limit that a workshop may hold more strictly is shown."""

from calc.safety import cards, limits, points
from calc.workshop.safety_place import LIMITS


def test_a_limit_is_shown_at_each_point_that_names_its_figure_and_takes_no_point_away() -> None:
    walk = [point for phase in points.phases() for point in phase.checks]
    shown = {point.key: [limit.key for limit in limits.limits_of(point)] for point in walk}
    assert shown["dissolve-heat"] == ["hottest_lye_c"]
    assert shown["mix-pour"] == ["lift_g"] and shown["cut-air"] == ["air_psi"] and shown["close-vessels"] == ["waste_ph"]
    assert shown["tank-clear"] == ["coldest_tank_c"]
    assert {"reach_seconds", "tepid_low_c", "tepid_high_c", "eyewash_days"} <= {*shown["before-eyewash"]}
    seen = {key for keys in shown.values() for key in keys}
    # The months stand with the facts about the eyewash.
    assert seen | {limit.key for fact in cards.facts() for limit in limits.limits_with(fact)} == {*LIMITS}
