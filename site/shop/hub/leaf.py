"""What a shop's engine is told where it belongs to a hub. It dials out: nothing more listens in the shop.

The hub may take copies of the shop's events, which is all it needs, and can neither delete nor change them: what a stream
denies to clients (`deny_delete`, `deny_purge`) doesn't keep who may use the engine's own interface from deleting it whole.
"""

from __future__ import annotations

from typing import Any

from shop.hub.facts import AUTHORITY, LEAF, Joined

# The hub's stream.
ALL = "ALL"
ANY_SHOPS_EVENTS = "tarewell.*.events.*"


def events_of(shop: str) -> str:
    return f"tarewell.{shop}.events.*"


def deliveries(to: str, of: str) -> str:
    """Where the copies of one's events come in at the other."""
    return f"$JS.S.{to}.{of}"


def leaf(joined: Joined, shop: str) -> dict[str, Any]:
    api = f"$JS.{joined.facts.shop(shop).domain}.API"
    remote = {
        "urls": [f"tls://{each.address}:{each.port}" for each in joined.facts.servers],
        # Only those that stand here: a hub can't send its shops elsewhere.
        "ignore_discovered_servers": True,
        "account": "STORE",
        # The seed itself: the engine takes no file here.
        "nkey": (joined.folder / LEAF).read_text(encoding="ascii"),
        "tls": {"ca_file": (joined.folder / AUTHORITY).as_posix(), "timeout": 10},
        # What comes from the hub may ask to copy (CONSUMER.CREATE) and bring copies, and nothing else.
        "deny_imports": [
            "tarewell.>",
            "$SYS.>",
            "$JS.API.>",
            *(f"{api}.{rest}.>" for rest in ("STREAM", "DIRECT", "ACCOUNT", "META", "SERVER")),
            *(f"{api}.CONSUMER.{rest}.>" for rest in ("DELETE", "MSG", "NAMES", "LIST", "INFO", "PAUSE", "UNPIN", "RESET", "DURABLE", "LEADER")),
            f"{api}.INFO",
        ],
        # What goes on in the shop is its own: the hub gets events as copies only.
        "deny_exports": ["tarewell.>", "$SYS.>", "$JS.API.>"],
    }
    return {"remotes": [remote], "reconnect": "2s"}


def sources(joined: Joined, shop: str) -> list[dict[str, Any]]:
    """The other shops' events, copied from the hub under their own subjects."""
    facts = joined.facts
    external = {"api": f"$JS.{facts.domain}.API", "deliver": deliveries(facts.shop(shop).domain, facts.domain)}
    others = [each.id for each in facts.shops if each.id != shop]
    return [{"name": ALL, "filter_subject": events_of(other), "external": external} for other in others]
