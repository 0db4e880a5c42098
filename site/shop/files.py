"""Small files that are replaced as a whole."""

from __future__ import annotations

import os
from pathlib import Path


def replace_file(file: Path, content: bytes, mode: int = 0o600) -> None:
    """Written beside, onto the disk, then put in its place: after a power cut there is the old one or the new one."""
    beside = file.with_name(f"{file.name}.new")
    with open(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode), "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    beside.replace(file)
