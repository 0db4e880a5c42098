"""What entries about selling have in common: their day, and which of them were taken back."""

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any

Event = Mapping[str, Any]


def day_of_event(event: Event, today: date) -> date:
    """The day by the clock of who told it; ValueError, KeyError or TypeError where it tells none.

    An event of the invented workshop says how many days ago it was, so that practice is never out of date.
    """
    if "days_ago" in event:
        return today - timedelta(days=int(event["days_ago"]))
    return date.fromisoformat(str(event.get("on") or event["local"])[:10])


def in_order(events: Iterable[Event]) -> list[Event]:
    """Each event once and in the order all phones agree on."""
    return sorted({str(event.get("id")): event for event in events}.values(), key=_order)


def _order(event: Event) -> tuple[str, int, str]:
    # The invented workshop's own come before all that is recorded in it, the oldest first.
    return str(event.get("at", "")), -int(event.get("days_ago", 0)), str(event.get("id", ""))
