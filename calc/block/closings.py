"""Which closing of a block counts: the first, or the one that renews it. site/static/js/rules/closing.mjs has the same rule."""

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

T = TypeVar("T", bound=Mapping[str, Any])


def closing_of(events: Iterable[T]) -> T | None:
    """Of one block, in order. Two phones may both close it; a reading that is put right later makes its record anew."""
    counts: T | None = None
    for event in events:
        if event.get("kind") == "closed" and (counts is None or event.get("renews") == counts.get("id")):
            counts = event
    return counts
