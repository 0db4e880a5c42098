"""Switch-ons of tanks: kept for a time of day, then done or dropped. `rules/switches.mjs` has the same rules for the scripts."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import date, datetime
from typing import Any

from calc.tanks.drawn import in_time
from calc.tanks.fold import BEGINS

Event = Mapping[str, Any]


def kept(events: Sequence[Event]) -> dict[str, datetime]:
    """By the tank's id, when it is to be switched on: the newest that was kept, where it is neither done nor dropped."""
    told = in_time(events)
    over = {str(event.get("takes")) for event in told if event.get("kind") in ("tank_switched_on", "tank_switch_dropped")}
    newest = {str(event.get("subject")).removeprefix(BEGINS): event for event in told if event.get("kind") == "tank_switch_kept"}
    found = {}
    for tank, event in newest.items():
        if str(event.get("id")) not in over:
            with suppress(KeyError, ValueError):
                found[tank] = datetime.fromisoformat(str(event["switch_at"])[:16])
    return found


def switched_on(events: Sequence[Event], on: date) -> dict[str, datetime]:
    """By the tank's id, when it was switched on that day, as somebody tapped; the last time of several."""
    found = {}
    for event in in_time(events):
        if event.get("kind") == "tank_switched_on":
            with suppress(KeyError, ValueError):
                at = datetime.fromisoformat(str(event["local"])[:16])
                if at.date() == on:
                    found[str(event.get("subject")).removeprefix(BEGINS)] = at
    return found
