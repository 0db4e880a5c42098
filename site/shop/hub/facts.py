"""What one has to know to join shops: their ids, their keys, and where the hub's servers are. All files are made of it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

from shop.files import replace_file
from shop.refusals import Refused

FACTS, AUTHORITY, CERTIFICATE, KEY, LEAF, NUMBER = "hub.json", "ca.crt", "server.crt", "server.key", "leaf.nk", "number"
# Where shops reach a server of the hub, and where its servers reach each other: the engine's usual ports.
SHOPS_PORT, SERVERS_PORT = 7422, 6222
SHOP_ID = re.compile(r"[a-z2-7]{8}")
# Above all sequence numbers that a stream made before can have reached, at a thousand events a second.
_STEPS_A_SECOND = 1000
_SINCE = 1_577_836_800  # 2020-01-01


@dataclass(frozen=True)
class Server:
    """One of the hub's servers, as shops and the others reach it: one or three of them."""

    address: str
    port: int = SHOPS_PORT
    servers_port: int = SERVERS_PORT


@dataclass(frozen=True)
class JoinedShop:
    id: str
    # Public nkey of its engine's user.
    key: str


@dataclass(frozen=True)
class Facts:
    servers: tuple[Server, ...]
    shops: tuple[JoinedShop, ...]

    @property
    def copies(self) -> int:
        """How many servers have each event before it counts."""
        return len(self.servers)


@dataclass(frozen=True)
class Joined:
    """A shop that belongs to a hub: the facts, and the folder with its own key and the hub's authority."""

    facts: Facts
    folder: Path


def server(text: str) -> Server:
    """ADDRESS, ADDRESS:PORT or ADDRESS:PORT:SERVERS_PORT, as typed."""
    address, *ports = text.strip().split(":")
    if not re.fullmatch(r"[A-Za-z0-9.-]+", address) or len(ports) > 2 or not all(port.isdigit() and 0 < int(port) < 65536 for port in ports):
        raise Refused(f"{text!r} is no address. Remedy: a name or a number of the network, with its port behind a colon if it is not {SHOPS_PORT}.")
    return Server(address, *map(int, ports))


def first_sequence(now_s: float) -> int:
    """Where a stream that is made now begins. Who copies from it goes on behind the last number it has: one that was lost and
    made anew must stand above all of those, or what comes next would be skipped."""
    return int(now_s - _SINCE) * _STEPS_A_SECOND


def read(file: Path) -> Facts:
    try:
        told = json.loads(file.read_text(encoding="utf-8"))
        servers = tuple(Server(**each) for each in told["servers"])
        return Facts(servers, tuple(JoinedShop(**each) for each in told["shops"]))
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise Refused(f"{file} can't be read ({error}). Remedy: put it there anew: python3 build.py shop hub writes it.") from error


def write(file: Path, facts: Facts) -> None:
    replace_file(file, json.dumps(asdict(facts), indent=1).encode())


def joined(folder: Path) -> Joined | None:
    """Whether this shop belongs to a hub: its folder then has the one that was made for it."""
    return Joined(read(folder / FACTS), folder) if folder.is_dir() else None


def look(servers: Iterable[Server], shops: Iterable[str]) -> None:
    """Refuses what no engine would take, or what would join nothing."""
    servers, shops = list(servers), list(shops)
    if len(servers) not in (1, 3):
        raise Refused(
            f"A hub has one server, or three, so that two agree where one is gone; these are {len(servers)}. Remedy: --servers ADDRESS or --servers A,B,C"
        )
    if len({(each.address, each.port) for each in servers}) != len(servers):
        raise Refused("Two of the hub's servers have the same address. Remedy: name each once.")
    for shop in shops:
        if not SHOP_ID.fullmatch(shop):
            raise Refused(f"{shop!r} is no shop's id. Remedy: python3 build.py shop status tells it: eight letters and digits.")
    if len(shops) < 2 or len(set(shops)) != len(shops):
        raise Refused("A hub joins at least two shops, each named once. Remedy: --shops ID,ID")
