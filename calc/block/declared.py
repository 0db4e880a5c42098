"""The shapes of stored events as the reckoning at the scale asks for them: `shared/records`, which the scripts read too.

Shapes are written in words of JSON Schema (draft 2020-12); a text in the place of a schema names another shape, with "?"
at its end None will do too. What stands under "scale" counts here besides. What stands under "copy" is asked of copies
from outside alone (site/static/js/rules/schema.mjs): lengths, forms of a text, and that nothing else is there.
"""

import json
import math
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from calc.shared import RECORDS

Check = Callable[[Any], bool]
Shape = str | Mapping[str, Any]

MOST_COUNT = 2**53 - 1  # whole numbers that a script can compare

GROUPS: Mapping[str, Mapping[str, Any]] = json.loads((RECORDS / "kinds.json").read_text("utf-8"))
SHAPES: Mapping[str, Shape] = json.loads((RECORDS / "shapes.json").read_text("utf-8"))

EVENTS: Mapping[str, Mapping[str, Any]] = {kind: said for group in GROUPS.values() for kind, said in group["kinds"].items()}
# The event that completes a step of each kind: step -> event.
COMPLETING = {step: kind for kind, said in GROUPS["block"]["kinds"].items() for step in said.get("completes", ())}
# Of what every event has, what is looked at.
COMMON = {"id": "text", "kind": "text", "local": "text"}


@cache
def event_check(kind: str) -> Check:
    """Whether an event of a kind, or an issued record, has what is counted by. kind: one that says what the scale asks of it."""
    asked, declared = EVENTS[kind]["at_scale"], {**COMMON, **EVENTS[kind]["must"], **EVENTS[kind]["may"]}
    # What can't be done without is no None, and what can is as well not there as None.
    fields = {field: declared[field].rstrip("?") for field in asked["must"]}
    fields |= {field: declared[field].rstrip("?") + "?" for field in asked["may"]}
    return check_of({"type": "object", "required": asked["must"], "properties": fields})


def check_of(shape: Shape) -> Check:
    """What says whether a value has a shape."""
    if isinstance(shape, str):
        return _named(shape)
    own = {keyword: said for keyword, said in shape.items() if keyword not in ("copy", "scale")}
    more = shape.get("scale", {})
    whole = {
        **own,
        **more,
        "required": [*own.get("required", ()), *more.get("required", ())],
        "properties": {**own.get("properties", {}), **more.get("properties", {})},
    }
    checks = [made(whole[keyword], whole) for keyword, made in _KEYWORDS.items() if keyword in whole]
    return lambda value: all(check(value) for check in checks)


@cache
def _named(name: str) -> Check:
    check = check_of(SHAPES[name.removesuffix("?")])
    return (lambda value: value is None or check(value)) if name.endswith("?") else check


def _items(shape: Shape) -> Check:
    check = check_of(shape)
    return lambda value: all(map(check, value))


def _prefix_items(shapes: list[Shape]) -> Check:
    checks = [check_of(shape) for shape in shapes]
    return lambda value: all(check(held) for check, held in zip(checks, value, strict=False))


def _properties(shapes: Mapping[str, Shape]) -> Check:
    checks = {key: check_of(shape) for key, shape in shapes.items()}
    return lambda value: all(check(value[key]) for key, check in checks.items() if key in value)


def _any_of(shapes: list[Shape]) -> Check:
    checks = [check_of(shape) for shape in shapes]
    return lambda value: any(check(value) for check in checks)


def _other_properties(shape: Shape, known: Mapping[str, Shape]) -> Check:
    check = check_of(shape)
    return lambda value: all(check(held) for key, held in value.items() if key not in known)


_TYPES: Mapping[str, Check] = {
    "string": lambda value: isinstance(value, str),
    "boolean": lambda value: isinstance(value, bool),
    "number": lambda value: isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value),
    "integer": lambda value: isinstance(value, int) and not isinstance(value, bool) and abs(value) <= MOST_COUNT,
    "array": lambda value: isinstance(value, (list, tuple)),
    "object": lambda value: isinstance(value, Mapping),
}
# In the order in which they are asked: what comes later may count on what came before.
_KEYWORDS: Mapping[str, Callable[[Any, Mapping[str, Any]], Check]] = {
    "type": lambda said, _: _TYPES[said],
    "enum": lambda said, _: lambda value: any(value == one and type(value) is type(one) for one in said),
    "minimum": lambda said, _: lambda value: bool(value >= said),
    "maximum": lambda said, _: lambda value: bool(value <= said),
    "exclusiveMinimum": lambda said, _: lambda value: bool(value > said),
    "minItems": lambda said, _: lambda value: len(value) >= said,
    "maxItems": lambda said, _: lambda value: len(value) <= said,
    "items": lambda said, _: _items(said),
    "prefixItems": lambda said, _: _prefix_items(said),
    "required": lambda said, _: lambda value: all(key in value for key in said),
    "properties": lambda said, _: _properties(said),
    "additionalProperties": lambda said, whole: _other_properties(said, whole["properties"]),
    "anyOf": lambda said, _: _any_of(said),
}
