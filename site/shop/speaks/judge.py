"""What of the readings that come is told: pure, by a clock that it is given."""

from __future__ import annotations

from dataclasses import replace

from shop.speaks.frames import SETTLES_S, SILENT_S, Reading, gone


class Judge:
    """Of one scale, from when its port was opened."""

    def __init__(self, now: float) -> None:
        self._read_at = self._heard_at = now
        self._same: tuple[str | None, str | None] = (None, None)
        self._since = now

    def heard(self, reading: Reading, now: float, *, tells_rest: bool) -> Reading | None:
        """What phones are told of it, None for nothing. tells_rest: its line says by itself whether the display has settled."""
        self._heard_at = now
        if reading.status == "garbage":
            # One broken line among good ones says nothing about the scale.
            return reading if now - self._read_at > SILENT_S else None
        self._read_at = now
        shown = (reading.count, reading.unit)
        if shown != self._same:
            self._same, self._since = shown, now
        settled = tells_rest or now - self._since >= SETTLES_S
        return reading if settled or reading.status != "stable" else replace(reading, status="moving")

    def silent(self, now: float) -> Reading | None:
        """Nothing came just now: gone, once that has lasted. What it showed last is no reading any more."""
        return gone() if now - self._heard_at > SILENT_S else None
