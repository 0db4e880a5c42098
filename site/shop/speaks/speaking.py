"""Tells the phones what the scales show: the newest, and at most ten times a second; nothing of it is stored."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import Awaitable, Callable, Iterable
from dataclasses import asdict
from datetime import UTC, datetime

from shop.phones import as_text
from shop.speaks.frames import Reading
from shop.speaks.kept import Kept
from shop.speaks.line import Line

_EVERY_S = 0.1

# What a subject is told.
Publish = Callable[[str, bytes], Awaitable[None]]


class Speaking:
    def __init__(self, scales: Iterable[Kept], publish: Publish, say: Callable[[str], None]) -> None:
        """publish: under a part of the subject. say: in the terminal."""
        self._each = [_One(kept, publish, say) for kept in scales]

    def start(self) -> None:
        for one in self._each:
            one.start()

    async def stop(self) -> None:
        await asyncio.gather(*(one.stop() for one in self._each))


class _One:
    def __init__(self, kept: Kept, publish: Publish, say: Callable[[str], None]) -> None:
        self._kept, self._publish, self._say = kept, publish, say
        self._new: Reading | None = None
        self._lock = threading.Lock()
        self._loop = asyncio.get_running_loop()
        self._line = Line(kept, self._heard, self._trouble)
        self._telling: asyncio.Task[None] | None = None

    def start(self) -> None:
        self._line.start()
        self._telling = self._loop.create_task(self._tell())

    async def stop(self) -> None:
        if self._telling is None:
            return
        self._line.end()
        self._telling.cancel()
        await asyncio.gather(self._telling, return_exceptions=True)
        await asyncio.to_thread(self._line.join, 2)

    def _heard(self, reading: Reading) -> None:
        """In the line's own thread: what the loop hasn't told by then is old."""
        with self._lock:
            self._new = reading

    def _trouble(self, why: str) -> None:
        """In the line's own thread."""
        self._loop.call_soon_threadsafe(self._tell_terminal, why)

    async def _tell(self) -> None:
        while True:
            with self._lock:
                reading, self._new = self._new, None
            if reading:
                told = {"name": self._kept.name, "at": as_text(datetime.now(UTC)), **asdict(reading)}
                await self._publish(self._kept.token, json.dumps(told).encode())
            await asyncio.sleep(_EVERY_S)

    def _tell_terminal(self, why: str) -> None:
        name = self._kept.name
        if why:
            self._say(f"\nThe scale “{name}” isn't heard: {why}")
        else:
            self._say(f"\nThe scale “{name}” is heard. Phones show it at steps on the workshop's scale of that name.")
