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
# Whose mailbox was lost, where it isn't a shop's.
HUB = "hub"
_AGAIN = "again"
SHOP_ID = re.compile(r"[a-z2-7]{8}")


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
    # How often its mailbox was lost and made anew.
    lost: int = 0

    @property
    def domain(self) -> str:
        return _domain(self.id, self.lost)


@dataclass(frozen=True)
class Facts:
    servers: tuple[Server, ...]
    shops: tuple[JoinedShop, ...]
    # How often the hub's own stream was lost and made anew.
    lost: int = 0

    @property
    def domain(self) -> str:
        return _domain(HUB, self.lost)

    def shop(self, shop: str) -> JoinedShop:
        return next(each for each in self.shops if each.id == shop)

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


def _domain(name: str, lost: int) -> str:
    """Under which its engine answers. Who copies from a stream goes on behind the last number that it has of it; under another
    name it begins at the first again. (Numbers that begin higher up would do too, but nats-server 2.15.1 then copies from the
    first of several sources only.)"""
    return f"{name}-{lost}" if lost else name


def read(file: Path) -> Facts:
    try:
        told = json.loads(file.read_text(encoding="utf-8"))
        servers = tuple(Server(**each) for each in told["servers"])
        return Facts(servers, tuple(JoinedShop(**each) for each in told["shops"]), told["lost"])
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise Refused(f"{file} can't be read ({error}). Remedy: put it there anew: python3 build.py shop hub writes it.") from error


def write(file: Path, facts: Facts) -> None:
    replace_file(file, json.dumps(asdict(facts), indent=1).encode())


def made_anew(marker: Path, lost: int, *, created: bool) -> bool:
    """Whether the stream that stands here took the place of one under the same name: whoever copied from that one would skip
    as many of this one's events as it had, and must be told."""
    was = marker.read_text() if marker.exists() else ""
    now = str(lost)
    if was.split()[:1] == [now]:
        now = f"{lost} {_AGAIN}" if created else was
    if now != was:
        replace_file(marker, now.encode())
    return now == f"{lost} {_AGAIN}"


def lost_words(whose: str) -> str:
    who = "The hub" if whose == HUB else "This shop"
    return (
        f"{who} has a mailbox that was made anew, and the others may miss what comes next. Remedy: where the hub's files lie, "
        f"python3 build.py shop hub --to DIR --lost {whose}; then carry hub.json of each folder to its place again, and start all anew."
    )


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
