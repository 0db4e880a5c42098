"""Whose training covered the lye of a block, and how the eyewash stood then, as the block's record tells it."""

from collections.abc import Mapping, Sequence
from typing import Any

from calc.entry.language import later

EYEWASH_CHECKS = {"weekly": later("weekly run"), "yearly": later("yearly inspection")}
EYEWASH_STATES = {"never": later("no check recorded"), "faulty": later("found not in order"), "over": later("overdue")}


def trained(events: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Each answer to the question, as stored.

    `stopped`: whether a stop of the safety walk was open, of who gave it or of the place; `eyewash`: what did not hold on that day, empty where
    nothing is known; `unchecked`: whether the daily check was missing, as far as it was asked for.
    """
    return [
        {
            "helper": event.get("helper"),
            "until": event.get("until"),
            "reason": event.get("reason"),
            "stopped": bool(event.get("stopped")),
            "unchecked": event.get("daily") == "missing",
            "person": str(event["person"]),
            "at": str(event["local"])[:16].replace("T", " "),
            "eyewash": {
                which: state
                for which, state in (event.get("eyewash") or {}).items()
                if which in EYEWASH_CHECKS and state in EYEWASH_STATES
            },
        }
        for event in events
        if event["kind"] == "trained"
    ]
