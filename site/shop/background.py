"""Work that goes on beside what is asked: none of it gets lost, and what goes wrong in it is told."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from typing import Any


class Background:
    def __init__(self, trouble: Callable[[str], None]) -> None:
        self._trouble = trouble
        # asyncio itself holds a task by a weak reference only.
        self._tasks: set[asyncio.Task[None]] = set()

    def begin(self, work: Coroutine[Any, Any, None]) -> None:
        task = asyncio.get_running_loop().create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._went)

    async def stop(self) -> None:
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)

    def _went(self, task: asyncio.Task[None]) -> None:
        self._tasks.discard(task)
        if not task.cancelled() and (error := task.exception()):
            self._trouble(f"Something went wrong in the shop server: {error!r}")
