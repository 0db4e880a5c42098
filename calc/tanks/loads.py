"""Which of the entries about tanks stand, and where in time a load does that a fill came to."""

from collections.abc import Iterable, Mapping
from typing import Any

from calc.entry.taken_back import standing

Event = Mapping[str, Any]


def that_stand(events: Iterable[Event]) -> list[Event]:
    """What nobody took back.

    Of loads that one fill came to the newest counts, as put in when the first of them was: putting a reading right moves nothing
    that blocks have drawn since, and two phones that both close a fill have filled the tank once. rules/tanks.mjs has it too.
    """
    events = list(events)
    left = standing(events)
    stands = {str(event.get("id")) for event in left}
    of_fills: dict[str, list[Event]] = {}
    for event in sorted((each for each in events if _of_fill(each)), key=lambda each: (str(each["at"]), str(each.get("id")))):
        of_fills.setdefault(str(event["fill"]), []).append(event)
    placed: dict[str, Event] = {}
    for loads in of_fills.values():
        newest = next((each for each in reversed(loads) if str(each.get("id")) in stands), None)
        if newest is not None:
            placed[str(newest.get("id"))] = {**newest, **{name: loads[0][name] for name in ("at", "local") if name in loads[0]}}
    found = [(str(event.get("id")), event) for event in left]
    return [placed[id_] if _of_fill(event) else event for id_, event in found if id_ in placed or not _of_fill(event)]


def _of_fill(event: Event) -> bool:
    return event.get("kind") == "tank_loaded" and bool(event.get("fill")) and "at" in event
