"""The programs that the server starts: each in a group of its own, and none of them outlives it."""

from __future__ import annotations

import asyncio
import ctypes
import os
import signal
import sys
from asyncio.subprocess import Process
from contextlib import suppress
from pathlib import Path

_PATIENCE_S = 10


async def start(
    *command: str | Path, folder: Path, environment: dict[str, str] | None = None, inherits: tuple[int, ...] = ()
) -> Process:
    """Ctrl-C reaches the server alone, which ends them in turn."""
    return await asyncio.create_subprocess_exec(
        *map(str, command),
        stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.DEVNULL,
        stderr=asyncio.subprocess.DEVNULL,
        cwd=folder,
        env={**os.environ, **(environment or {})},
        start_new_session=True,
        pass_fds=inherits,
        preexec_fn=_end_with_parent if sys.platform == "linux" else None,
    )


async def end(process: Process) -> None:
    with suppress(ProcessLookupError):
        process.terminate()
    try:
        await asyncio.wait_for(process.wait(), _PATIENCE_S)
    except TimeoutError:
        with suppress(ProcessLookupError):
            process.kill()
        await process.wait()


def _end_with_parent() -> None:
    """Where the server itself is killed, nothing could end what it started: Linux does it then (prctl, PR_SET_PDEATHSIG)."""
    ctypes.CDLL(None).prctl(1, signal.SIGTERM)
