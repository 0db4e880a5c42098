"""What the terminal says once the files are written: what goes where."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from shop.hub.facts import Facts


def lines(facts: Facts, to: Path) -> Iterator[str]:
    yield f"Written into {to}:"
    for n, server in enumerate(facts.servers):
        yield f"  hub-{n + 1}: carry it to the computer at {server.address}, and start it there: python3 build.py shop hub --data hub-{n + 1}"
    for shop in facts.shops:
        yield f"  shop-{shop.id}: carry it to that shop's server, into its own folder as “hub”, then start the server again"
    yield "Both hold secret keys: carry them by hand, and delete these here once all runs. Keep hub.json and ca.crt: more shops are added by them."
    yield "Open at the hub: " + ", ".join(f"{server.address} port {server.port}" for server in facts.servers) + (
        " for shops, and between its servers " + ", ".join(str(server.servers_port) for server in facts.servers) if len(facts.servers) > 1 else ""
    )
