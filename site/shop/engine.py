"""The engine's configuration: who may send what where. NATS with JetStream reads it as JSON, which is part of its own syntax.

A phone's words go through services only, and out of an account of its own. Within one account the engine checks what a
client publishes, but not the subject it asks a reply on: there a phone could have its own event answered into another's
name, or to all others as a reading of the scale.

- STORE has the stream and our service.
- PHONE0, PHONE1, … have one paired phone each, known by its key.
- JOIN has one user while a secret for pairing holds.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from shop import limits
from shop.files import replace_file
from shop.hub.facts import Joined
from shop.hub.leaf import ANY_SHOPS_EVENTS, leaf, sources

STREAM = "EVENTS"
HOST = "127.0.0.1"
# Users that programs of this computer are, each with a password of its own for one run of the engine.
SERVICE, CONTROL, WATCH, JOIN = "service", "control", "watch", "join"


class Member(Protocol):
    """A phone that belongs to the workshop."""

    @property
    def device(self) -> str: ...

    @property
    def key(self) -> str:
        """Its public nkey, U…"""

    @property
    def seat(self) -> int:
        """Which of the accounts is its own, from 0."""


@dataclass(frozen=True)
class Run:
    """What one run of the engine is told: fixed until it ends."""

    shop: str
    folder: Path
    origin: str
    client_port: int
    websocket_port: int
    # Of SERVICE, CONTROL and WATCH.
    passwords: Mapping[str, str]
    # Where the shop belongs to a hub.
    joined: Joined | None = None


@dataclass(frozen=True)
class Subjects:
    """Every subject of a shop, by what it is for."""

    shop: str

    def of(self, rest: str) -> str:
        return f"tarewell.{self.shop}.{rest}"

    @property
    def all_events(self) -> str:
        return self.of("events.*")

    @property
    def new(self) -> str:
        return self.of("new")

    @property
    def info(self) -> str:
        return self.of("info")

    @property
    def get(self) -> str:
        return self.of("get")

    @property
    def phones(self) -> str:
        return self.of("phones")

    @property
    def told(self) -> str:
        return self.of("told")

    @property
    def join(self) -> str:
        return self.of("join")

    @property
    def control(self) -> str:
        return self.of("control")

    @property
    def all_deeds(self) -> str:
        return self.of("deed.*")

    def scale(self, token: str) -> str:
        return self.of(f"scale.{token}")

    @property
    def all_scales(self) -> str:
        return self.of("scale.*")

    def events(self, device: str) -> str:
        return self.of(f"events.{device}")

    def deed(self, device: str) -> str:
        return self.of(f"deed.{device}")


def stream(shop: str, joined: Joined | None = None) -> dict[str, Any]:
    """The stream as the engine's own interface takes it. It drops nothing, and nobody can take anything out of it."""
    subjects = Subjects(shop)
    copied = {"sources": sources(joined, shop)} if joined else {}
    return {
        "name": STREAM,
        "subjects": [subjects.all_events],
        "storage": "file",
        "retention": "limits",
        "discard": "new",
        "discard_new_per_subject": True,
        "max_msgs_per_subject": limits.EVENTS_PER_PHONE,
        "max_bytes": limits.STREAM_BYTES,
        "max_msg_size": limits.MAX_PAYLOAD,
        "max_age": 0,
        "num_replicas": 1,
        "duplicate_window": limits.DUPLICATES_WITHIN_S * 1_000_000_000,
        "deny_delete": True,
        "deny_purge": True,
        "allow_direct": True,
        # What is new is only told of: a phone reads on from where it was, and so misses nothing.
        "republish": {"src": ANY_SHOPS_EVENTS, "dest": subjects.new, "headers_only": True},
        **copied,
    }


def config(run: Run, members: Iterable[Member], secret: str | None = None) -> dict[str, Any]:
    """`secret` is the password of who comes to be paired, while one holds."""
    subjects = Subjects(run.shop)
    # Under a name of its own a shop's engine is told from the hub's.
    domain = {"domain": run.joined.facts.shop(run.shop).domain} if run.joined else {}
    line = {"leafnodes": leaf(run.joined, run.shop)} if run.joined else {}
    return {
        **line,
        "server_name": f"tarewell-{run.shop}",
        "host": HOST,
        "port": run.client_port,
        "max_payload": limits.MAX_PAYLOAD,
        "max_connections": limits.CONNECTIONS,
        "max_subscriptions": limits.SUBSCRIPTIONS,
        "max_pending": limits.PENDING,
        "authorization": {"timeout": limits.GREETING_WITHIN_S},
        "ping_interval": f"{limits.PING_EVERY_S}s",
        "ping_max": 2,
        "log_file": (run.folder / "engine.log").as_posix(),
        "logfile_size_limit": 4 * limits.MIB,
        "logfile_max_num": 2,
        "jetstream": {
            "store_dir": (run.folder / "js").as_posix(),
            # Each event is on the disk before the phone hears so: without it a power cut took nine in ten of them.
            "sync_interval": "always",
            # Beyond the stream's own limit, which is reserved whole.
            "max_file_store": 2 * limits.STREAM_BYTES,
            "max_memory_store": 64 * limits.MIB,
            **domain,
        },
        "websocket": {
            "host": HOST,
            "port": run.websocket_port,
            # The door in front has the certificate.
            "no_tls": True,
            "allowed_origins": [run.origin],
            "handshake_timeout": "10s",
            "authorization": {"timeout": limits.GREETING_WITHIN_S},
        },
        "system_account": "SYS",
        "accounts": {
            "SYS": {"users": [{"user": WATCH, "password": run.passwords[WATCH]}]},
            "STORE": _store(subjects, run),
            **_phones(subjects, members),
            "JOIN": _join(subjects, secret),
        },
    }


def _store(subjects: Subjects, run: Run) -> dict[str, Any]:
    phones = [account(seat) for seat in range(limits.PHONES)]
    control = {"publish": {"allow": [subjects.control]}, "subscribe": {"allow": ["_INBOX.control.>"]}}
    return {
        "jetstream": "enabled",
        "users": [
            {"user": SERVICE, "password": run.passwords[SERVICE]},
            {"user": CONTROL, "password": run.passwords[CONTROL], "permissions": control},
        ],
        "exports": [
            {"service": subjects.all_events, "accounts": phones},
            {"service": f"$JS.API.STREAM.INFO.{STREAM}", "accounts": phones},
            {"service": f"$JS.API.DIRECT.GET.{STREAM}", "response_type": "stream", "accounts": phones},
            {"service": subjects.phones, "accounts": phones},
            {"service": subjects.all_deeds, "accounts": phones},
            {"stream": subjects.new, "accounts": phones},
            {"stream": subjects.told, "accounts": phones},
            {"stream": subjects.all_scales, "accounts": phones},
            # Its one answer comes when the maker has confirmed; by itself the engine forgets who asked after two minutes.
            {"service": subjects.join, "response_threshold": f"{limits.SECRET_HOLDS_S + 60}s", "accounts": ["JOIN"]},
        ],
    }


def account(seat: int) -> str:
    return f"PHONE{seat}"


def _phones(subjects: Subjects, members: Iterable[Member]) -> dict[str, Any]:
    """All of them stand there from the start: to an account that comes by a reload, nobody answers (nats-server 2.15.1)."""
    there = {member.seat: member for member in members}
    return {account(seat): _phone(subjects, there.get(seat)) for seat in range(limits.PHONES)}


def _phone(subjects: Subjects, member: Member | None) -> dict[str, Any]:
    services = (subjects.all_events, subjects.phones)
    streams = (subjects.new, subjects.told, subjects.all_scales)
    return {
        "imports": [
            *({"service": {"account": "STORE", "subject": subject}} for subject in services),
            # The engine adds who asks: see `asked_by`.
            {"service": {"account": "STORE", "subject": subjects.all_deeds}, "share": True},
            # Under names of its own: an account without JetStream answers for the engine's own names itself.
            {"service": {"account": "STORE", "subject": f"$JS.API.STREAM.INFO.{STREAM}"}, "to": subjects.info},
            {"service": {"account": "STORE", "subject": f"$JS.API.DIRECT.GET.{STREAM}"}, "to": subjects.get},
            *({"stream": {"account": "STORE", "subject": subject}} for subject in streams),
        ],
        "limits": {"max_connections": limits.CONNECTIONS_EACH},
        "users": [{"nkey": member.key, "permissions": permissions(subjects, member.device)}] if member else [],
    }


def asked_by(headers: Mapping[str, str] | None) -> str | None:
    """The public key of the phone that asks for a deed, as the engine itself says in a header that no client can set.

    A subject alone would not do: an answer that a phone asks for on another's subject may be taken for a question there.
    """
    try:
        told = json.loads((headers or {})["Nats-Request-Info"])
        return str(told["user"])
    except (KeyError, ValueError, TypeError):
        return None


def permissions(subjects: Subjects, device: str) -> dict[str, Any]:
    """What a paired phone may: send in its own name, read, ask, and hear what is new."""
    sends = [subjects.events(device), subjects.info, subjects.get, subjects.phones, subjects.deed(device)]
    hears = [f"_INBOX.{device}.>", subjects.new, subjects.told, subjects.all_scales]
    return {"publish": {"allow": sends}, "subscribe": {"allow": hears}}


def _join(subjects: Subjects, secret: str | None) -> dict[str, Any]:
    may = {"publish": {"allow": [subjects.join]}, "subscribe": {"allow": ["_INBOX.join.>"]}}
    users = [] if secret is None else [{"user": JOIN, "password": secret, "permissions": may}]
    return {
        "imports": [{"service": {"account": "STORE", "subject": subjects.join}}],
        "limits": {"max_connections": limits.CONNECTIONS_EACH},
        "users": users,
    }


def write(file: Path, told: Mapping[str, Any]) -> None:
    """The configuration as a file that its owner alone can read, whole or not at all."""
    text = json.dumps(told, ensure_ascii=False, indent=1)
    replace_file(file, text.encode())
