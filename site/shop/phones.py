"""Which phones belong to the workshop: one small file, read whole and written whole."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from shop.files import replace_file
from shop.keys import name_by_chance
from shop.limits import NAME_LENGTH, PHONES
from shop.refusals import Refused

DEVICE_LENGTH = 10


@dataclass(frozen=True)
class Phone:
    """Times are ISO texts in UTC. One that was revoked stays, since its events name it."""

    device: str
    key: str
    name: str
    owner: bool
    made: str
    # Which of the engine's accounts is its own; one that was revoked has none.
    seat: int
    seen: str | None = None
    revoked: str | None = None


class Phones:
    def __init__(self, file: Path) -> None:
        self._file = file
        self._phones: dict[str, Phone] = {}
        if file.exists():
            try:
                listed = json.loads(file.read_text(encoding="utf-8"))["phones"]
                self._phones = {each["device"]: Phone(**each) for each in listed}
            except (ValueError, KeyError, TypeError) as error:
                raise Refused(
                    f"The list of phones in {file} can't be read ({error}). Remedy: put it back from a copy of this folder; "
                    "without one, delete it and pair every phone anew."
                ) from error

    @property
    def all(self) -> tuple[Phone, ...]:
        return tuple(self._phones.values())

    @property
    def members(self) -> tuple[Phone, ...]:
        """Those that may come in."""
        return tuple(phone for phone in self.all if phone.revoked is None)

    @property
    def is_full(self) -> bool:
        return len(self.members) >= PHONES

    @property
    def owners(self) -> tuple[Phone, ...]:
        return tuple(phone for phone in self.members if phone.owner)

    def member(self, device: str) -> Phone | None:
        phone = self._phones.get(device)
        return phone if phone is not None and phone.revoked is None else None

    def named(self, name: str) -> Phone | None:
        """By the name that a person calls it, or by its id."""
        wanted = fold(name)
        return next((phone for phone in self.members if wanted in (fold(phone.name), phone.device)), None)

    def with_key(self, key: str) -> Phone | None:
        """Revoked or not: a key that was taken away never comes back."""
        return next((phone for phone in self.all if phone.key == key), None)

    def add(self, key: str, name: str) -> Phone:
        """Where nobody is owner, it is. There must be a seat left."""
        device = name_by_chance(DEVICE_LENGTH)
        while device in self._phones:
            device = name_by_chance(DEVICE_LENGTH)
        taken = {phone.seat for phone in self.members}
        seat = next(seat for seat in range(PHONES) if seat not in taken)
        phone = Phone(device, key, name, not self.owners, now_text(), seat)
        self._put(phone)
        return phone

    def revoke(self, device: str) -> None:
        self._put(replace(self._phones[device], revoked=now_text(), owner=False, seat=-1))

    def make_owner(self, device: str) -> None:
        self._put(replace(self._phones[device], owner=True))

    def seen(self, devices: Iterable[str], at: str) -> None:
        self._keep({device: replace(self._phones[device], seen=at) for device in devices})

    def _put(self, phone: Phone) -> None:
        self._keep({phone.device: phone})

    def _keep(self, changed: dict[str, Phone]) -> None:
        """On the disk first: what can't be written there, where it is full, holds nowhere."""
        phones = self._phones | changed
        listed = {"phones": [asdict(phone) for phone in phones.values()]}
        replace_file(self._file, json.dumps(listed, ensure_ascii=False, indent=1).encode())
        self._phones = phones


def tidy_name(name: object) -> str | None:
    """The name that a person gave a phone, fit to be shown in a terminal too; None where nothing is left of it."""
    if not isinstance(name, str):
        return None
    shown = " ".join("".join(letter if letter.isprintable() else " " for letter in name).split())
    return shown if 0 < len(shown) <= NAME_LENGTH else None


def fold(name: str) -> str:
    return " ".join(name.casefold().split())


def as_text(at: datetime) -> str:
    """An instant in UTC, as events have it."""
    return at.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def now_text() -> str:
    return as_text(datetime.now(UTC))
