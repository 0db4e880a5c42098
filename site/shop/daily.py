"""The copy that is made by itself, once a day while the shop is open."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime
from pathlib import Path

from shop import copies
from shop.limits import COPY_EVERY_S

# After one that came to nothing: with the first records comes the first copy.
_AGAIN_S = 600
# A computer that slept finds out by then what time it is.
_LOOK_EVERY_S = 3600


class Daily:
    def __init__(self, folder: Path, copy: Callable[[], Awaitable[copies.Copied]]) -> None:
        self._folder, self._copy = folder, copy
        # Why there is no new one, for the status.
        self.trouble: str | None = None

    async def go_on(self) -> None:
        while True:
            await asyncio.sleep(await self._made() if (due := self.seconds_left()) <= 0 else min(due, _LOOK_EVERY_S))

    async def _made(self) -> float:
        """How long to wait then."""
        self.trouble = None
        try:
            copied = await self._copy()
        except (RuntimeError, OSError, TimeoutError) as error:
            self.trouble = f"The daily copy could not be written: {error}"
            return _AGAIN_S
        if copied.outcome == "fewer":
            self.trouble = (
                f"No new copy: the last one has {copied.had:,} records, and the mailbox {copied.records:,}. "
                "Phones send the rest again."
            )
        return _AGAIN_S if copied.outcome in ("fewer", "empty") else _LOOK_EVERY_S

    def seconds_left(self) -> float:
        looked = copies.looked_at(self._folder)
        if looked is None:
            return 0.0
        age = (datetime.now(UTC) - datetime.fromisoformat(looked)).total_seconds()
        # Where the clock was set back the last one seems still to come; a new one does no harm.
        return COPY_EVERY_S - age if age >= 0 else 0.0
