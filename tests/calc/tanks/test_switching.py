"""Switch-ons of tanks by their events. The same cases are asked of the scripts (tests/site_js/rules/switches.test.mjs)."""

from datetime import date, datetime
from typing import Any

from calc.tanks.switching import kept, switched_on


def event(id_: str, kind: str, tank: str = "t-oil", **more: Any) -> dict[str, Any]:
    return {"id": id_, "at": f"2026-12-01T08:00:0{id_}Z", "local": f"2026-12-01T04:0{id_}:00-04:00", "kind": kind, "subject": f"contents:{tank}", **more}


KEEP = event("1", "tank_switch_kept", switch_at="2026-12-01T05:10", name="Oil tank")
LATER = event("2", "tank_switch_kept", switch_at="2026-12-01T05:40", name="Oil tank")
OTHER = event("3", "tank_switch_kept", "t-lye", switch_at="2026-12-01T06:00", name="Lye tank")
OIL, LYE = datetime(2026, 12, 1, 5, 40), datetime(2026, 12, 1, 6, 0)


def test_of_one_tank_the_newest_counts_until_it_is_done_or_dropped() -> None:
    assert kept([]) == {}
    assert kept([OTHER, LATER, KEEP]) == {"t-oil": OIL, "t-lye": LYE}
    assert kept([KEEP, LATER, OTHER, event("4", "tank_switched_on", takes="2")]) == {"t-lye": LYE}
    assert kept([KEEP, LATER, OTHER, event("4", "tank_switch_dropped", "t-lye", takes="3")]) == {"t-oil": OIL}
    # Ending an older one ends no newer one.
    assert kept([KEEP, LATER, event("4", "tank_switch_dropped", takes="1")]) == {"t-oil": OIL}


def test_a_tank_was_switched_on_when_somebody_tapped_it_that_day() -> None:
    events = [KEEP, event("4", "tank_switched_on", takes="1")]
    assert switched_on(events, date(2026, 12, 1)) == {"t-oil": datetime(2026, 12, 1, 4, 4)}
    assert switched_on(events, date(2026, 12, 2)) == {} and switched_on([KEEP], date(2026, 12, 1)) == {}


def test_what_nobody_can_read_is_passed_over() -> None:
    assert kept([event("1", "tank_switch_kept"), event("2", "tank_switch_kept", "t-lye", switch_at="soon")]) == {}
    assert switched_on([{"kind": "tank_switched_on", "id": "x", "subject": "contents:t"}], date(2026, 12, 1)) == {}
