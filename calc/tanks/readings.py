"""The temperatures that were read of one fill of a tank, as its entries tell them."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import date, datetime, timedelta
from typing import Any, NamedTuple

from calc.tanks.fold import subject_of
from calc.tanks.loads import that_stand

# What makes it another fill: then a temperature from before says nothing of what is in it now.
CHANGES = ("tank_loaded", "tank_drawn", "tank_emptied")

# What an infrared thermometer reads is the skin, which says nothing of what is below.
SKIN = "infrared"


class Read(NamedTuple):
    """One temperature [°C] and when it was read, on the clock of where it was."""

    at: datetime
    temperature_c: float


def readings(events: Sequence[Mapping[str, Any]], tank: str, today: date | None = None) -> tuple[Read, ...]:
    """The temperatures of what is in a tank now, oldest first; what was taken back is left out, and what nobody can read.

    What blocks weighed out does not count as a change: less of the same cools a little faster, which the caller may tell.
    today: then those of the invented workshop count too, which say a day and no time: as read when that day began.
    """
    own = [event for event in that_stand(events) if event.get("subject") == subject_of(tank)]
    found: list[Read] = []
    # The invented workshop's own come before all that is recorded in it.
    for event in sorted((each for each in own if "at" in each or (today and "days_ago" in each)), key=lambda each: str(each.get("at", ""))):
        if event.get("kind") in CHANGES:
            found = []
        elif event.get("kind") == "tank_temperature" and event.get("instrument") != SKIN:
            with suppress(KeyError, OverflowError, TypeError, ValueError):
                found.append(Read(_read_at(event, today), float(event["temperature_c"])))
    return tuple(found)


def _read_at(event: Mapping[str, Any], today: date | None) -> datetime:
    if today is not None and "days_ago" in event:
        return datetime(today.year, today.month, today.day) - timedelta(days=int(event["days_ago"]))
    return datetime.fromisoformat(str(event["local"])[:16])
