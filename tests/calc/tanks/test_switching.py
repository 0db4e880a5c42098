"""Switch-ons of tanks by their events. The same cases are asked of the scripts (tests/site_js/rules/switches.test.mjs)."""

from datetime import date, datetime
from typing import Any

from calc.tanks.switching import Kept, kept, running, switched_on


def event(id_: str, kind: str, tank: str = "t-oil", **more: Any) -> dict[str, Any]:
    return {"id": id_, "at": f"2026-12-01T08:00:0{id_}Z", "local": f"2026-12-01T04:0{id_}:00-04:00", "kind": kind, "subject": f"contents:{tank}", **more}


KEEP = event("1", "tank_switch_kept", switch_at="2026-12-01T05:10", name="Oil tank")
LATER = event("2", "tank_switch_kept", switch_at="2026-12-01T05:40", name="Oil tank")
OTHER = event("3", "tank_switch_kept", "t-lye", switch_at="2026-12-01T06:00", name="Lye tank")
FIRST = date(2026, 12, 1)
OIL, LYE = Kept(datetime(2026, 12, 1, 5, 40), FIRST), Kept(datetime(2026, 12, 1, 6, 0), FIRST)


def test_of_one_tank_the_newest_counts_until_it_is_done_or_dropped() -> None:
    assert kept([]) == {}
    assert kept([OTHER, LATER, KEEP]) == {"t-oil": OIL, "t-lye": LYE}
    assert kept([KEEP, LATER, OTHER, event("4", "tank_switched_on", takes="2")]) == {"t-lye": LYE}
    assert kept([KEEP, LATER, OTHER, event("4", "tank_switch_dropped", "t-lye", takes="3")]) == {"t-oil": OIL}
    # Ending an older one ends no newer one.
    assert kept([KEEP, LATER, event("4", "tank_switch_dropped", takes="1")]) == {"t-oil": OIL}


def test_a_tank_was_switched_on_when_somebody_tapped_it_that_day() -> None:
    events = [KEEP, event("4", "tank_switched_on", takes="1", person="J")]
    found = switched_on(events, FIRST)["t-oil"]
    assert (found.at, found.person, found.id, found.off) == (datetime(2026, 12, 1, 4, 4), "J", "4", False)
    assert switched_on(events, date(2026, 12, 2)) == {} and switched_on([KEEP], FIRST) == {}


def test_a_switch_on_counts_for_the_day_that_it_is_for() -> None:
    # Kept in the evening for the next day's seven o'clock, and switched on before midnight.
    late = event("1", "tank_switch_kept", switch_at="2026-12-01T23:40", ready_at="2026-12-02T07:00", name="Oil tank")
    assert kept([late]) == {"t-oil": Kept(datetime(2026, 12, 1, 23, 40), date(2026, 12, 2))}
    events = [late, event("4", "tank_switched_on", takes="1")]
    assert switched_on(events, FIRST) == {} and set(switched_on(events, date(2026, 12, 2))) == {"t-oil"}
    assert set(running(events, FIRST)) == {"t-oil"} and set(running(events, date(2026, 12, 2))) == {"t-oil"}
    assert running(events, date(2026, 12, 3)) == {}


def test_what_was_on_may_be_taken_back_and_ends_as_it_is_switched_off() -> None:
    events = [KEEP, event("4", "tank_switched_on", takes="1")]
    assert set(running(events, FIRST)) == {"t-oil"}
    # It never was on: what was kept stands again.
    back = [*events, event("5", "tank_taken_back", takes="4")]
    assert running(back, FIRST) == {} and switched_on(back, FIRST) == {} and set(kept(back)) == {"t-oil"}
    # Off, it was on that day all the same.
    off = [*events, event("5", "tank_switched_off", takes="4")]
    assert running(off, FIRST) == {} and set(switched_on(off, FIRST)) == {"t-oil"} and kept(off) == {}
    # Who says by mistake that it is off takes that back too.
    assert set(running([*off, event("6", "tank_taken_back", takes="5")], FIRST)) == {"t-oil"}


def test_what_nobody_can_read_is_passed_over() -> None:
    assert kept([event("1", "tank_switch_kept"), event("2", "tank_switch_kept", "t-lye", switch_at="soon")]) == {}
    assert switched_on([{"kind": "tank_switched_on", "id": "x", "subject": "contents:t"}], date(2026, 12, 1)) == {}
