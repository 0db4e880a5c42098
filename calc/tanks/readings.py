"""The temperatures that were read of one fill of a tank, as its entries tell them."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import datetime
from typing import Any, NamedTuple

from calc.tanks.fold import subject_of

# What makes it another fill: then a temperature from before says nothing of what is in it now.
CHANGES = ("tank_loaded", "tank_drawn", "tank_emptied")

# What an infrared thermometer reads is the skin, which says nothing of what is below.
SKIN = "infrared"


class Read(NamedTuple):
    """One temperature [°C] and when it was read, on the clock of where it was."""

    at: datetime
    temperature_c: float


def readings(events: Sequence[Mapping[str, Any]], tank: str) -> tuple[Read, ...]:
    """The temperatures of what is in a tank now, oldest first; what was taken back is left out, and what nobody can read.

    What blocks weighed out does not count as a change: less of the same cools a little faster, which the caller may tell.
    """
    gone = {str(event.get("takes")) for event in events if event.get("kind") == "tank_taken_back"}
    own = [event for event in events if event.get("subject") == subject_of(tank) and str(event.get("id")) not in gone and "at" in event]
    found: list[Read] = []
    for event in sorted(own, key=lambda each: str(each["at"])):
        if event.get("kind") in CHANGES:
            found = []
        elif event.get("kind") == "tank_temperature" and event.get("instrument") != SKIN:
            with suppress(KeyError, TypeError, ValueError):
                found.append(Read(datetime.fromisoformat(str(event["local"])[:16]), float(event["temperature_c"])))
    return tuple(found)
