"""Copies of all events that the mailbox holds, in the app's own format: a phone without anything loads one like its own.

One a day, three kept. None with fewer records than the last one takes its place: a mailbox that was lost fills again from
the phones, and until then the old copies are worth more.
"""

from __future__ import annotations

import json
import re
import shutil
import tempfile
from collections.abc import AsyncIterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from runtime.node import run_node
from shop.files import replace_file
from shop.limits import COPIES_KEPT
from shop.mailbox import Message

WRITE = Path(__file__).with_name("write_copy.mjs")
# The day, the shop, how many records: as the app names those that it writes into a folder.
_NAME = re.compile(r"tarewell-records-\d{4}-\d\d-\d\d-\d{6}-[a-z2-7]+-(\d+)\.json")
# Says when the mailbox was last looked through, also where nothing was new.
LOOKED = "looked.json"


@dataclass(frozen=True)
class Copied:
    """What came of it: `same` is all that the newest one holds; `fewer` and `empty` were written nowhere."""

    outcome: Literal["written", "same", "fewer", "empty"]
    file: Path | None
    records: int
    # Messages that are no record, or came under another's number; they lie in a file beside the copy.
    left_out: int
    had: int


def newest(folder: Path) -> tuple[Path, int] | None:
    """The copy with the most records, and how many: a clock may be set back, records only grow."""
    found = [
        (int(match[1]), path.name, path) for path in folder.glob("*.json") if (match := _NAME.fullmatch(path.name))
    ]
    return (max(found)[2], max(found)[0]) if found else None


def looked_at(folder: Path) -> str | None:
    """When the newest copy was last found to hold all that the mailbox has."""
    try:
        told: str = json.loads((folder / LOOKED).read_text(encoding="utf-8"))["at"]
    except (OSError, ValueError, KeyError):
        return None
    return told


async def spool(messages: AsyncIterable[Message], file: Path) -> None:
    """The messages as lines. What is no text at all is one too, with marks in the place of what can't be read."""
    with file.open("w", encoding="utf-8") as out:
        async for message in messages:
            text = message.payload.decode("utf-8", "backslashreplace")
            out.write(json.dumps({"from": message.device, "text": text}) + "\n")


def write(spooled: Path, folder: Path, shop: str, *, rotate: bool) -> Copied:
    """One copy into a folder. `rotate`: one of the daily ones, which replace each other and are never fewer."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder, prefix=".writing-") as made:
        copy, left = Path(made) / "copy", Path(made) / "left"
        done = json.loads(run_node(WRITE, spooled, copy, left, cwd=folder))
        records, left_out = done["records"], done["left_out"]
        before = newest(folder)
        had = before[1] if before else 0
        if rotate and records < had:
            return Copied("fewer", None, records, left_out, had)
        if records == 0:
            return Copied("empty", None, records, left_out, had)
        if rotate and before and records == had and _digest_of(before[0]) == done["sha256"]:
            _looked(folder)
            return Copied("same", before[0], records, left_out, had)
        now = datetime.now(UTC)
        target = folder / f"tarewell-records-{now:%Y-%m-%d-%H%M%S}-{shop}-{records}.json"
        if left_out:
            shutil.move(left, target.with_suffix(".left-out.jsonl"))
        copy.replace(target)
        if rotate:
            _looked(folder)
            _let_go(folder)
        return Copied("written", target, records, left_out, had)


def _looked(folder: Path) -> None:
    at = datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    replace_file(folder / LOOKED, json.dumps({"at": at}).encode())


def _digest_of(copy: Path) -> str | None:
    """As it stands at the end of the file."""
    with copy.open("rb") as file:
        file.seek(max(0, copy.stat().st_size - 200))
        found = re.search(rb'"sha256":"([0-9a-f]{64})"', file.read())
    return found[1].decode() if found else None


def _let_go(folder: Path) -> None:
    """The oldest of more than three, with what was left out of it."""
    kept = sorted(
        (int(match[1]), path.name, path) for path in folder.glob("*.json") if (match := _NAME.fullmatch(path.name))
    )
    for _, _, path in kept[:-COPIES_KEPT]:
        path.unlink()
        path.with_suffix(".left-out.jsonl").unlink(missing_ok=True)
