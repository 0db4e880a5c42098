"""What blocks took out of tanks, by their weighings.

A correction replaces a reading. What was weighed anew went back first, what was poured on counts with the second reading, and
what was ladled out of the vessel was drawn all the same: `calc/block/events.py` has the same rules for what is in the vessel.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from calc.entry.units import convert
from calc.steps.keys import AGAIN, ON, is_blend, is_ladled

Event = Mapping[str, Any]
# Weighed ahead in a cup: they stand in no vessel yet when lye is poured.
IN_A_CUP = ("scent", "additive:")


@dataclass(frozen=True)
class Drawn:
    """One weighing of a block: how much [g] of which lot, or of the blend of all oils."""

    at: str
    id: str
    code: str
    block: int
    lot: str | None
    blend: bool
    grams: float


def drawn(events: Sequence[Event], tares_g: Mapping[str, float]) -> tuple[tuple[Drawn, ...], int]:
    """Every weighing among the events, in the order of time, and how many could not be read.

    tares_g: by batch code, the empty vessel [g]: where nobody tares, the display begins with it.
    """
    corrected = {event.get("corrects"): event for event in in_time(events) if event.get("kind") == "corrected"}
    blocks: dict[str, dict[str, Event]] = {}
    for event in in_time(events):
        if event.get("kind") == "weighed":
            # Of two phones' weighings of one step the first counts.
            blocks.setdefault(str(event.get("subject")), {}).setdefault(str(event.get("step")), event)
    found: list[Drawn] = []
    unread = 0
    for subject, weighed in blocks.items():
        code, _, block = subject.removeprefix("block:").rpartition("/")
        try:
            found.extend(_of_block(code, int(block), weighed, corrected, tares_g))
        except (KeyError, TypeError, ValueError):
            unread += 1
    return tuple(sorted(found, key=lambda each: (each.at, each.id))), unread


def in_time(events: Sequence[Event]) -> list[Event]:
    """Each event once, in the order all phones agree on."""
    once = {str(event.get("id")): event for event in events}
    return sorted(once.values(), key=lambda event: (str(event.get("at", "")), str(event.get("id", ""))))


def _of_block(
    code: str, block: int, weighed: Mapping[str, Event], corrected: Mapping[Any, Event], tares_g: Mapping[str, float]
) -> Iterator[Drawn]:
    on_g: float | None = tares_g.get(code)
    for key, event in weighed.items():
        read_g = _grams(event, corrected.get(event.get("id")))
        gross = event.get("mode") == "gross"
        if gross and on_g is None:
            raise ValueError("a display that was never tared, and no weight of the vessel")
        net_g = read_g - on_g if gross and on_g is not None else read_g
        if is_ladled(key):
            on_g = read_g if gross else on_g
        elif ON + key not in weighed and AGAIN + key not in weighed:
            if on_g is not None and (gross or not key.startswith(IN_A_CUP)):
                on_g += net_g
            lot = event.get("lot")
            yield Drawn(str(event["at"]), str(event["id"]), code, block, None if lot is None else str(lot), is_blend(key), net_g)


def _grams(event: Event, correction: Event | None) -> float:
    last = event if correction is None else correction
    unit = last.get("unit") or event["unit"]
    return convert(float(str(last["reading"]).replace(",", ".")), str(unit), "g")
