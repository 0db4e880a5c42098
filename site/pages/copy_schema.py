"""The published JSON Schema of a copy: what `shared/records` declares, written out for any program that reads JSON.

Made of the same declaration that the app asks a copy by (rules/schema.mjs), so it can't say otherwise. Three things no
schema can say, and a reader has to look after them: that the digest fits, that no id comes twice, and what stands in a
`$comment`.
"""

import json
from collections.abc import Mapping
from typing import Any

from calc.block.declared import GROUPS, SHAPES, Shape

VERSION = 1
PATH = "/records/copies/copy.schema.json"

# How an event's own fields look; store/backup.mjs asks the same of them.
COMMON: Mapping[str, Any] = {
    "id": {"type": "string", "pattern": "^[A-Za-z0-9_-]{1,64}$"},
    "at": {
        "$comment": "The instant, by the clock of the device, in UTC. Events are put in order by it, and by id where it is the same.",
        "type": "string",
        "pattern": "^(?:19|20)[0-9]{2}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\\.[0-9]{3}Z$",
    },
    "local": {
        "$comment": "The same instant as the clock on the wall had it.",
        "type": "string",
        "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}[+-][0-9]{2}:[0-9]{2}$",
    },
}
MAY: Mapping[str, Any] = {
    "device": {
        "$comment": "Which phone it was stored on, where that one was paired with a shop server.",
        "type": "string",
        "pattern": "^[a-z2-7]{10}$",
    },
}
# What the declaration's own formats mean, where a schema can say it.
FORMATS: Mapping[str, Mapping[str, Any]] = {
    "date": {"format": "date", "pattern": "^[0-9]{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12][0-9]|3[01])$"},
    "by-own-key": {"$comment": "Each stands under its own key."},
    "questions-in-each-language": {"$comment": "Where es is there, it has as many questions."},
}
# Read alike by every engine of regular expressions: what \w, \d and \P{Cc} mean in a script is not so elsewhere.
ALIKE = (("\\P{Cc}", "[^\\u0000-\\u001f\\u007f-\\u009f]"), ("[\\w-]", "[A-Za-z0-9_-]"), ("\\d", "[0-9]"))


def copy_schema() -> dict[str, Any]:
    """JSON Schema, draft 2020-12, of the file that "Make a copy" writes."""
    kinds = {kind: _event(group, kind, said) for group in GROUPS.values() for kind, said in group["kinds"].items()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:tarewell:records:{VERSION}",
        "title": "Tarewell: a copy of the records",
        "description": (
            "All events that a device holds, in order. sha256 is the SHA-256 of the list of events as it stands in the file: "
            "UTF-8, keys in the order of their code units, no white space. An event is never changed; two copies are joined by "
            "their events' ids."
        ),
        "type": "object",
        "required": ["events", "format", "sha256", "version"],
        "properties": {
            "format": {"enum": ["tarewell-records", "tarewell-practice-records"]},
            "version": {"const": VERSION},
            "sha256": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
            "events": {"type": "array", "items": {"$ref": "#/$defs/event"}},
        },
        "additionalProperties": False,
        "$defs": {
            "event": {
                "type": "object",
                "required": ["kind"],
                "properties": {"kind": {"enum": list(kinds)}},
                "allOf": [
                    {"if": {"properties": {"kind": {"const": kind}}}, "then": {"$ref": f"#/$defs/event.{kind}"}} for kind in kinds
                ],
            },
            **{f"event.{kind}": schema for kind, schema in kinds.items()},
            **{name: _schema(shape) for name, shape in SHAPES.items()},
        },
    }


def as_file() -> str:
    """The schema as it is served."""
    return json.dumps(copy_schema(), ensure_ascii=False, indent=1)


def _event(group: Mapping[str, Any], kind: str, said: Mapping[str, Any]) -> dict[str, Any]:
    fields = {**said["must"], **said["may"]}
    named_by = f", which stands in {group['named_by']} again" if "named_by" in group else ""
    subject = {
        "$comment": f"What it is about{named_by}.",
        "type": "string",
        "pattern": _alike(f"^(?:{'|'.join(group['begins'])}):(?:{group['goes_on']})$"),
    }
    return {
        "type": "object",
        "required": [*COMMON, "kind", "subject", *said["must"]],
        "properties": {
            **COMMON,
            **MAY,
            "kind": {"const": kind},
            "subject": subject,
            **{field: _schema(shape) for field, shape in fields.items()},
        },
        "additionalProperties": False,
    }


def _schema(shape: Shape) -> dict[str, Any]:
    """One shape with what is asked of copies; what the scale asks besides is left out."""
    if isinstance(shape, str):
        named = {"$ref": f"#/$defs/{shape.removesuffix('?')}"}
        return {"anyOf": [named, {"type": "null"}]} if shape.endswith("?") else named
    own = {keyword: said for keyword, said in shape.items() if keyword not in ("copy", "scale")}
    copy = shape.get("copy", {})
    whole = {**own, **copy}
    if "required" in own and "required" in copy:
        whole["required"] = [*own["required"], *copy["required"]]
    if "properties" in own and "properties" in copy:
        whole["properties"] = {**own["properties"], **copy["properties"]}
    made: dict[str, Any] = {}
    for keyword, said in whole.items():
        if keyword == "format":
            made |= FORMATS[said]
        elif keyword == "pattern":
            made[keyword] = _alike(said)
        elif keyword == "properties":
            made[keyword] = {name: _schema(each) for name, each in said.items()}
        elif keyword in ("anyOf", "prefixItems"):
            made[keyword] = [_schema(each) for each in said]
        elif keyword in ("items", "propertyNames") or (keyword == "additionalProperties" and said is not False):
            made[keyword] = _schema(said)
        else:
            made[keyword] = said
    return made


def _alike(pattern: str) -> str:
    for ours, everywhere in ALIKE:
        pattern = pattern.replace(ours, everywhere)
    return pattern
