"""Switch-ons of tanks: kept for a time of day, then done or dropped; what is done may be taken back, and ends as it is switched off.

`rules/switches.mjs` has the same rules for the scripts.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import date, datetime
from typing import Any, NamedTuple

from calc.entry.taken_back import standing
from calc.tanks.drawn import in_time
from calc.tanks.fold import BEGINS

Event = Mapping[str, Any]


class Kept(NamedTuple):
    """When a tank is to be switched on, and the day that this is for: it is ready on that one, and may be switched on the evening before."""

    at: datetime
    day: date


class SwitchedOn(NamedTuple):
    """When a tank was switched on, by whom, the day that this was for, the event that tells it, and whether it is off again."""

    at: datetime
    day: date
    person: str
    id: str
    off: bool


def kept(events: Sequence[Event]) -> dict[str, Kept]:
    """By the tank's id, when it is to be switched on: the newest that was kept, where it is neither done nor dropped."""
    told = standing(in_time(events))
    over = {str(event.get("takes")) for event in told if event.get("kind") in ("tank_switched_on", "tank_switch_dropped")}
    newest = {_tank(event): event for event in told if event.get("kind") == "tank_switch_kept"}
    found = {}
    for tank, event in newest.items():
        if str(event.get("id")) not in over:
            with suppress(KeyError, ValueError):
                found[tank] = Kept(datetime.fromisoformat(str(event["switch_at"])[:16]), _day_of(event))
    return found


def switched_on(events: Sequence[Event], on: date) -> dict[str, SwitchedOn]:
    """By the tank's id, when it was switched on for a day, as somebody tapped; the last time of several."""
    return {tank: each for tank, each in _switched_on(events) if each.day == on}


def running(events: Sequence[Event], today: date) -> dict[str, SwitchedOn]:
    """By the tank's id, which are on: switched on for today or a later day, and not off since."""
    newest = dict(_switched_on(events))
    return {tank: each for tank, each in newest.items() if each.day >= today and not each.off}


def _switched_on(events: Sequence[Event]) -> Iterator[tuple[str, SwitchedOn]]:
    told = standing(in_time(events))
    by_id = {str(event.get("id")): event for event in told}
    off = {str(event.get("takes")) for event in told if event.get("kind") == "tank_switched_off"}
    for event in told:
        if event.get("kind") == "tank_switched_on":
            with suppress(KeyError, ValueError):
                at = datetime.fromisoformat(str(event["local"])[:16])
                meant = by_id.get(str(event.get("takes")))
                day = at.date() if meant is None else _day_of(meant)
                yield _tank(event), SwitchedOn(at, day, str(event.get("person") or ""), str(event.get("id")), str(event.get("id")) in off)


def _tank(event: Event) -> str:
    return str(event.get("subject")).removeprefix(BEGINS)


def _day_of(event: Event) -> date:
    """The day that a switch-on is for. Of one from before that was kept it is the day on which it is switched on."""
    return date.fromisoformat(str(event.get("ready_at") or event["switch_at"])[:10])
