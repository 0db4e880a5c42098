"""Which entries stand, and which somebody took back."""

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

E = TypeVar("E", bound=Mapping[str, Any])

_TAKES = "_taken_back"


def standing(events: Iterable[E]) -> list[E]:
    """What nobody took back, without the taking back itself, in the order given.

    Whatever its kind, it names the one entry that it takes; rules/taken_back.mjs has the same rule.
    """
    events = list(events)
    gone = {str(event["takes"]) for event in events if takes_back(event) and event.get("takes")}
    return [event for event in events if not takes_back(event) and str(event.get("id")) not in gone]


def takes_back(event: Mapping[str, Any]) -> bool:
    """Whether an entry takes another one back."""
    return str(event.get("kind")).endswith(_TAKES)
