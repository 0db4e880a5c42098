"""One engine over one mailbox: two of them would write into the same files."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from shop.refusals import Refused


@contextmanager
def locked(folder: Path) -> Iterator[tuple[int, ...]]:
    """Gives what the engine is to inherit: so the lock stays as long as the engine does, even where we were killed."""
    if sys.platform == "win32":
        # There the ports alone keep a second one from starting.
        yield ()
        return
    import fcntl

    descriptor = os.open(folder / "lock", os.O_RDWR | os.O_CREAT, 0o600)
    try:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            raise Refused(
                f"A program has the shop's mailbox in {folder} open already. Remedy: end the shop server that runs (Ctrl+C where "
                "it was started, or systemctl stop), then try again."
            ) from error
        yield (descriptor,)
    finally:
        os.close(descriptor)
