"""The invented workshop that a new visitor finds, and the requests its pages show answers to before any script runs."""

import json
from functools import cache
from pathlib import Path
from typing import Any

STATE_PATH = Path(__file__).resolve().parents[2] / "shared" / "demo" / "workshop.json"

# Fixed, so that two builds of one commit are alike; only a batch code is made from it.
DEMO_NOW = "2026-11-25T08:00:00+00:00"

BATCH_VALUES = {
    "formula": "f-marsh-plain",
    "mould": "m-block",
    "scale_to": "blocks",
    "blocks": "2",
    "vessel": "v-tilting",
    "naoh_lot": "a-tank",
    "cutter": "c-frames",
}


@cache
def demo_state() -> dict[str, Any]:
    """The demo workshop as a request carries it."""
    loaded: dict[str, Any] = json.loads(STATE_PATH.read_text(encoding="utf-8"))
    return loaded


def stored_values(kind: str, id_: str) -> dict[str, str]:
    """What was typed for one demo item."""
    values: dict[str, str] = next(entry["values"] for entry in demo_state()[kind] if entry["id"] == id_)
    return values


def demo_requests() -> tuple[dict[str, Any], ...]:
    """One request for each answer that a page shows at build time."""
    asked: list[tuple[str, dict[str, str]]] = [
        ("formula_list", {}),
        ("formula", stored_values("formula", "f-marsh-plain")),
        ("batch_sheet", BATCH_VALUES),
        ("issue_batch", BATCH_VALUES | {"issued_by": "Q"}),
        ("workshop", {}),
        ("mould", stored_values("mould", "m-block")),
    ]
    return tuple(
        {"task": task, "values": values, "state": demo_state(), "now": DEMO_NOW} for task, values in asked
    )
