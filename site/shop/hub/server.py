"""What a server of the hub is told: it has one stream, which copies each shop's events, and from which each shop copies the others'."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from shop import limits
from shop.engine import HOST, STREAM
from shop.hub.facts import AUTHORITY, CERTIFICATE, KEY, Facts, JoinedShop
from shop.hub.leaf import ALL, deliveries, events_of

# Its own program, and who looks at it.
OPERATOR, WATCH = "operator", "watch"


@dataclass(frozen=True)
class HubRun:
    """One run of one of its servers, counted from 0; its certificate and key lie in the folder."""

    facts: Facts
    number: int
    folder: Path
    client_port: int
    # Of OPERATOR and WATCH.
    passwords: Mapping[str, str]
    # What it listens on for shops and for the other servers: all of this computer's addresses.
    host: str = "0.0.0.0"


def config(run: HubRun) -> dict[str, Any]:
    own = run.facts.servers[run.number]
    tls = {
        "cert_file": (run.folder / CERTIFICATE).as_posix(),
        "key_file": (run.folder / KEY).as_posix(),
        "ca_file": (run.folder / AUTHORITY).as_posix(),
        "timeout": 10,
    }
    told = {
        "server_name": f"hub-{run.number + 1}",
        "host": HOST,
        "port": run.client_port,
        "max_payload": limits.MAX_PAYLOAD,
        "log_file": (run.folder / "engine.log").as_posix(),
        "logfile_size_limit": 4 * limits.MIB,
        "logfile_max_num": 2,
        "jetstream": {"store_dir": (run.folder / "js").as_posix(), "domain": run.facts.domain, "sync_interval": "always"},
        "leafnodes": {"host": run.host, "port": own.port, "tls": tls},
        "system_account": "SYS",
        "accounts": {
            "SYS": {"users": [{"user": WATCH, "password": run.passwords[WATCH]}]},
            "HUB": {
                "jetstream": "enabled",
                "users": [
                    {"user": OPERATOR, "password": run.passwords[OPERATOR]},
                    *({"nkey": shop.key, "permissions": permissions(run.facts, shop)} for shop in run.facts.shops),
                ],
            },
        },
    }
    if len(run.facts.servers) > 1:
        told["cluster"] = {
            "name": "hub",
            "host": run.host,
            "port": own.servers_port,
            "advertise": f"{own.address}:{own.servers_port}",
            # Each shows the other that its certificate is of the hub's authority.
            "tls": {**tls, "verify": True},
            "routes": [f"tls://{each.address}:{each.servers_port}" for each in run.facts.servers],
        }
    return told


def permissions(facts: Facts, shop: JoinedShop) -> dict[str, Any]:
    """What a shop's line may carry: asking for copies, the copies, and how fast they may come. `$JSC.R` is where the engine wants its answers."""
    hub, own = facts.domain, shop.domain
    sends = [f"$JS.{hub}.API.CONSUMER.CREATE.{ALL}.>", f"{deliveries(hub, own)}.>", f"$JS.FC.{ALL}.>", "$JSC.R.>"]
    hears = [f"$JS.{own}.API.CONSUMER.CREATE.{STREAM}.>", f"{deliveries(own, hub)}.>", f"$JS.FC.{STREAM}.>", "$JSC.R.>"]
    return {"publish": {"allow": sends}, "subscribe": {"allow": hears}}


def stream(facts: Facts) -> dict[str, Any]:
    return {
        "name": ALL,
        "storage": "file",
        "retention": "limits",
        "discard": "new",
        "max_msg_size": limits.MAX_PAYLOAD,
        "num_replicas": facts.copies,
        "deny_delete": True,
        "deny_purge": True,
        "allow_direct": True,
        "sources": [
            {
                "name": STREAM,
                "filter_subject": events_of(shop.id),
                "external": {"api": f"$JS.{shop.domain}.API", "deliver": deliveries(facts.domain, shop.domain)},
            }
            for shop in facts.shops
        ],
    }
