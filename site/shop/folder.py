"""What the shop server keeps, in one folder that can be copied and carried to another computer."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from shop import refusals
from shop.files import replace_file
from shop.keys import name_by_chance
from shop.phones import as_text
from shop.refusals import Refused

NAME, PORT = "tarewell.local", 8443
ID_LENGTH = 8


def usual_folder() -> Path:
    return Path.home() / "tarewell-shop"


@dataclass(frozen=True)
class Shop:
    """Name and port are for ever: a phone's browser keeps the records of another address apart."""

    id: str
    name: str
    port: int
    made: str
    # The date of the newest build that was served from here: no clock of this computer can be right that is before it.
    build_date: str

    @property
    def origin(self) -> str:
        """As browsers write it: the port that goes without saying is left out."""
        return f"https://{self.name}" if self.port == 443 else f"https://{self.name}:{self.port}"

    def join_address(self, secret: str) -> str:
        return f"{self.origin}/workshop/phones/#join={secret}"


@dataclass(frozen=True)
class Folder:
    """Where each thing lies in it."""

    path: Path

    @property
    def shop(self) -> Path:
        return self.path / "shop.json"

    @property
    def phones(self) -> Path:
        return self.path / "phones.json"

    @property
    def scales(self) -> Path:
        """Which scale hangs at which port of this computer; there once one does."""
        return self.path / "scales.json"

    @property
    def authority(self) -> Path:
        return self.path / "ca"

    @property
    def engine(self) -> Path:
        return self.path / "engine"

    @property
    def door(self) -> Path:
        return self.path / "caddy"

    @property
    def hub(self) -> Path:
        """There where the shop belongs to a hub: what was made for it (`shop/hub/made.py`)."""
        return self.path / "hub"

    @property
    def hub_made(self) -> Path:
        """Outside that, which is replaced when the hub's files are carried anew."""
        return self.path / "hub_made"

    @property
    def copies(self) -> Path:
        return self.path / "copies"

    @property
    def control(self) -> Path:
        """How commands on this computer reach the server that runs; there while one does."""
        return self.path / "control.json"

    @property
    def trust(self) -> Path:
        """What is served without a certificate: how to come to trust it."""
        return self.path / "trust"


def read_shop(folder: Folder) -> Shop | None:
    """The shop whose folder it is; None in an empty or a new one."""
    if not folder.shop.exists():
        strangers = [each.name for each in folder.path.iterdir()] if folder.path.is_dir() else []
        if strangers:
            raise Refused(
                f"{folder.path} holds something that is no shop server's ({min(strangers)}). "
                "Remedy: name an empty or a new folder with --data."
            )
        return None
    try:
        return Shop(**json.loads(folder.shop.read_text(encoding="utf-8")))
    except (ValueError, TypeError) as error:
        raise Refused(
            f"{folder.shop} can't be read ({error}). Remedy: put it back from a copy of this folder; without one, name a new "
            "folder with --data, and pair the phones anew: they have all records."
        ) from error


def find_shop(
    folder: Folder, name: str | None, port: int | None, built: datetime, now: datetime | None = None
) -> tuple[Shop, bool]:
    """The folder's shop, or a new one for an empty folder; also whether it is new. Nothing is written yet: `keep_shop`."""
    now = now or datetime.now(UTC)
    found = read_shop(folder)
    latest = max(built, datetime.fromisoformat(found.build_date)) if found else built
    refusals.clock(latest, now)
    if found is None:
        new = Shop(name_by_chance(ID_LENGTH), name or NAME, port or PORT, as_text(now), as_text(latest))
        refusals.host_name(new.name)
        return new, True
    wanted = (name or found.name, port or found.port)
    if wanted != (found.name, found.port):
        raise Refused(
            f"{folder.path} is the shop at {found.origin}, not at {wanted[0]}:{wanted[1]}. Phones keep their records by that "
            "address, so it stays as it is. Remedy: start it without --name and --port; for another shop, name another "
            "folder with --data."
        )
    return replace(found, build_date=as_text(latest)), False


def keep_shop(folder: Folder, shop: Shop) -> None:
    """From here on its name and port stay."""
    replace_file(folder.shop, json.dumps(asdict(shop), indent=1).encode())
