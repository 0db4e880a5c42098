"""`shop status`: who belongs, who is there, how much lies in the mailbox, how old the newest copy is."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from shop import copies
from shop.folder import Folder, Shop
from shop.limits import DISK_LEAST, MIB
from shop.phones import Phones


def lines(folder: Folder, shop: Shop, running: dict[str, Any] | None, now: datetime | None = None) -> Iterator[str]:
    """`running` is what the server says; None where none runs, and what lies on the disk is told."""
    now = now or datetime.now(UTC)
    yield f"{shop.origin}/ is {'open' if running else 'closed'}. The shop's id: {shop.id}"
    phones = running["phones"] if running else [asdict(phone) for phone in Phones(folder.phones).all]
    yield f"\nPhones: {sum(phone['revoked'] is None for phone in phones)}"
    for phone in phones:
        yield f"  {_phone(phone, now)}"
    for ask in running["joining"] if running else ():
        yield f"  {ask['name']}: asks to come in (python3 build.py shop pair)"
    yield ""
    if running:
        yield f"Records in the mailbox: {running['events']:,} messages, {_size(running['bytes'])}"
    yield f"On the disk: {_size(_size_of(folder.path))}"
    free = shutil.disk_usage(folder.path).free
    yield f"Free: {_size(free)}{'. That is too little: make room.' if free < DISK_LEAST else ''}"
    yield _copy(folder, now)
    if running and running["copy_trouble"]:
        yield running["copy_trouble"]


def _phone(phone: dict[str, Any], now: datetime) -> str:
    who = f"{phone['name']} ({phone['device']}){', owner' if phone['owner'] else ''}"
    if phone["revoked"]:
        return f"{who}: turned out {_ago(phone['revoked'], now)}"
    if phone.get("connected"):
        return f"{who}: here now"
    return f"{who}: last seen {_ago(phone['seen'], now)}" if phone["seen"] else f"{who}: not seen since it was paired"


def _copy(folder: Folder, now: datetime) -> str:
    newest = copies.newest(folder.copies)
    looked = copies.looked_at(folder.copies)
    if newest is None or looked is None:
        return "No copy yet. One is made each day while the shop is open, or by: python3 build.py shop copy --to DIR"
    return f"Newest copy: {newest[1]:,} records, all there was {_ago(looked, now)}: {newest[0]}"


def _ago(at: str, now: datetime) -> str:
    seconds = (now - datetime.fromisoformat(at)).total_seconds()
    for unit, long in (("day", 86400), ("hour", 3600), ("minute", 60)):
        n = int(seconds // long)
        if n >= 1:
            return f"{n} {unit}{'' if n == 1 else 's'} ago"
    return "just now"


def _size(n: float) -> str:
    return f"{n / MIB / 1024:.1f} GB" if n >= 1024 * MIB else f"{n / MIB:.1f} MB"


def _size_of(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
