"""Which codes are under recall."""

from collections.abc import Mapping, Sequence
from typing import Any

from calc.workshop.lot_codes import lot_key


def under_recall(events: Sequence[Mapping[str, Any]]) -> frozenset[str]:
    """The keys of codes whose recall was begun and hasn't ended since. events: what was told after the sale."""
    open_: set[str] = set()
    for event in sorted(events, key=lambda each: (str(each.get("local") or each.get("at") or ""), str(each.get("id")))):
        # What ended names what it is about in its form alone.
        about = lot_key(str(event.get("about") or (event.get("values") or {}).get("about") or ""))
        if event.get("kind") == "recall_begun" and about:
            open_.add(about)
        elif event.get("kind") == "recall_done":
            open_.discard(about)
    return frozenset(open_)
