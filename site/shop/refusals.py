"""Why the shop server doesn't start, each with its remedy."""

from __future__ import annotations

import os
import re
import shutil
import socket
import tempfile
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

from shop.limits import DISK_LEAST, MIB

HOST_NAME = re.compile(r"(?=.{4,100}$)[a-z0-9]([a-z0-9-]*[a-z0-9])?(\.[a-z0-9]([a-z0-9-]*[a-z0-9])?)+")


class Refused(RuntimeError):
    """It doesn't start, or doesn't do what was asked; its words say why, and what to do."""


def built_on(root: Path) -> datetime:
    """When the newest of the files that the app is made of came onto this disk. What each start writes anew tells nothing of that."""
    newest = max(
        path.stat().st_mtime
        for folder in ("calc", "site", "shared")
        for path in (root / folder).rglob("*")
        if path.is_file() and path.suffix not in (".mo", ".pyc")
    )
    return datetime.fromtimestamp(newest, UTC)


def clock(built: datetime, now: datetime) -> None:
    """A small computer without a battery for its clock wakes up years back, and its certificates wouldn't hold yet."""
    # What was unpacked on a machine in another zone may be hours ahead.
    if (built - now).total_seconds() > 24 * 3600:
        raise Refused(
            f"This computer's clock says {now:%Y-%m-%d %H:%M} UTC, and what it is to serve is from {built:%Y-%m-%d %H:%M}. "
            "Remedy: set the clock (on Linux: sudo timedatectl set-time 'YYYY-MM-DD HH:MM:SS'), then start again."
        )


def disk(folder: Path, least: int = DISK_LEAST) -> None:
    free = shutil.disk_usage(folder).free
    if free < least:
        raise Refused(
            f"The disk that holds {folder} is nearly full: {free // MIB} MB are free, and at least {least // MIB} MB are needed. "
            "Remedy: make room, or name a folder on another disk with --data."
        )


def writable(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        with tempfile.TemporaryFile(dir=folder) as file:
            file.write(b"can be written")
    except OSError as error:
        raise Refused(
            f"Nothing can be written into {folder} ({error.strerror}). "
            "Remedy: let this user write there, or name another folder with --data."
        ) from error


def host_name(name: str) -> None:
    if not HOST_NAME.fullmatch(name) or name.rpartition(".")[2].isdigit():
        raise Refused(
            f"{name!r} can't be the shop's name: phones keep their records by it, so it must be a fixed name of small letters, "
            "digits and dots, never a number of the network. Remedy: --name tarewell.local, or a name of your own network."
        )


def ports(wanted: Iterable[tuple[int, str]]) -> None:
    """Each with the option that names another one."""
    for port, remedy in wanted:
        try:
            with socket.socket() as trial:
                if os.name != "nt":
                    # As the door itself does it: a port that was left a minute ago is free.
                    trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                trial.bind(("", port))
        except (OSError, OverflowError) as error:
            why = getattr(error, "strerror", None) or error
            raise Refused(
                f"Port {port} can't be used ({why}). Is this shop's server running already? Then end that one first. Remedy: {remedy}"
            ) from error


def free_port() -> int:
    """One that nothing on this machine listens on, for programs that only this machine reaches."""
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port: int = trial.getsockname()[1]
        return port
