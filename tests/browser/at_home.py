"""Where the phone of the tests is: somewhere it is morning. Who is at the scale is asked once a day, and no test shall run into midnight."""

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

# The sign of these names is reversed: Etc/GMT-3 is three hours east (IANA time zone database, file etcetera).
_HOURS_EAST = (9 - datetime.now(UTC).hour + 11) % 24 - 11
AT_HOME: dict[str, Any] = {"locale": "en-GB", "timezone_id": f"Etc/GMT{-_HOURS_EAST:+d}"}


def stamp(at: datetime) -> dict[str, str]:
    """When an event was, as that phone would store it: the instant, and what its clock showed."""
    instant = at.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", ".000Z")
    return {"at": instant, "local": at.astimezone(timezone(timedelta(hours=_HOURS_EAST))).isoformat(timespec="seconds")}
