"""Whether an issued record and the events of a block have the form that the work at the scale reads.

A store holds what the app wrote and what copies brought, which may be damaged or foreign. Only what a block can't do
without is asked for: records older than a field stay good. Anything else they hold is not looked at.
"""

from collections.abc import Mapping
from typing import Any, TypeGuard

from calc.block.declared import COMMON, GROUPS, check_of, event_check
from calc.scales.weighing import KINDS as TOLERANCES
from calc.steps.frozen import FrozenRecord

SCHEMES = {scheme for scheme, _ in TOLERANCES}

_any_event = check_of({"type": "object", "required": ["id", "kind"], "properties": COMMON})


def can_be_weighed(record: object, events: object) -> TypeGuard[FrozenRecord]:
    """Whether a block can be read from these two, just as the store gives them."""
    if not (event_check("issued")(record) and isinstance(events, (list, tuple)) and all(map(_is_event, events))):
        return False
    assert isinstance(record, Mapping)
    pours, scales = {pour["key"] for pour in record["pours"]}, {scale["name"] for scale in record["scales"]}
    named = [part["pour"] for kind in ("oils", "alkalis", "acids", "soaps") for part in record["chemistry"].get(kind, ())]
    alkalis = {alkali["pour"] for alkali in record["chemistry"]["alkalis"]}
    steps = [*record["steps"], *(step for event in events for step in _steps_in(event))]
    return (
        set(named) <= pours
        and {step["pour"] for step in steps} <= {None, *pours}
        and {step["scale"] for step in steps if step["kind"] == "weigh"} <= scales
        and any(pour["exact_g"] > 0.0 for pour in record["pours"] if pour["key"] in alkalis)
        and {shop["tolerance_scheme"] for shop in record["inputs"]["shop"].values() if "tolerance_scheme" in shop} <= SCHEMES
    )


def _is_event(value: Any) -> bool:
    """Whether it is an event. One of a block's own kinds must also have the fields that a block is reckoned by."""
    kind = value["kind"] if _any_event(value) else None
    return kind is not None and (kind not in GROUPS["block"]["kinds"] or event_check(kind)(value))


def _steps_in(event: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """The steps that a decision puts in or changes."""
    return [] if event["kind"] != "decided" else [*(event.get("steps") or ()), *(event.get("replaced") or {}).values()]
