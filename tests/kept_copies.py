"""Copies that the app handed out in the past, and what it told of them then, for the tests that open them again.

`NAME.json.gz` is a copy just as the app's button made it, `NAME.state.json` what its scripts made of it then,
`NAME.told.json` the words of the answers about it. Run by itself with a name, this prints the last one, for the day on which
a new copy is added; that of a copy which is kept already is never made anew.
"""

import gzip
import html
import json
import re
import sys
from functools import cache
from pathlib import Path
from typing import Any

from answers.door import answer

FOLDER = Path(__file__).resolve().parent / "fixtures" / "copies"
NAMES = sorted(path.name.removesuffix(".json.gz") for path in FOLDER.glob("*.json.gz"))
# After every event of the copies.
NOW = "2026-12-01T08:00:00+00:00"

Event = dict[str, Any]


@cache
def events_of(name: str) -> list[Event]:
    events: list[Event] = json.loads(gzip.decompress((FOLDER / f"{name}.json.gz").read_bytes()))["events"]
    return events


def state_of(name: str) -> dict[str, Any]:
    state: dict[str, Any] = json.loads((FOLDER / f"{name}.state.json").read_text(encoding="utf-8"))
    return state


def told_of(name: str) -> dict[str, Any]:
    told: dict[str, Any] = json.loads((FOLDER / f"{name}.told.json").read_text(encoding="utf-8"))
    return told


def sheets(name: str) -> list[Event]:
    """Every issued sheet of a copy."""
    return [event for event in events_of(name) if event["kind"] == "issued"]


def blocks(name: str) -> list[tuple[str, Event, list[Event]]]:
    """Every block of a copy: its subject, its sheet, its events in the order of the file."""
    by_code = {sheet["code"]: sheet for sheet in sheets(name)}
    subjects = sorted({event["subject"] for event in events_of(name) if event["subject"].startswith("block:")})
    of_subject = {subject: [event for event in events_of(name) if event["subject"] == subject] for subject in subjects}
    return [(subject, by_code[subject.removeprefix("block:").rpartition("/")[0]], of_subject[subject]) for subject in subjects]


def asked_of(task: str, values: dict[str, str], state: dict[str, Any], language: str = "en") -> dict[str, Any]:
    """The door's reply to a task."""
    request = {"task": task, "values": values, "state": state, "now": NOW, "language": language}
    reply: dict[str, Any] = json.loads(answer(json.dumps(request)))
    return reply


def asked(sheet: Event, events: list[Event], language: str = "en") -> dict[str, Any]:
    """The door's reply about one block; the workshop around it is empty, for a sheet is weighed by itself alone."""
    state = {"units": "metric", "record": sheet, "events": events}
    return asked_of("at_the_scale", {"batch": sheet["code"], "block": "1"}, state, language)


def turns(events: list[Event]) -> list[list[Event]]:
    """The block not begun, before and after each correction and decision, and at its end."""
    at = [n for n, event in enumerate(events) if event["kind"] in ("corrected", "decided")]
    return [events[:n] for n in sorted({0, *at, *(n + 1 for n in at), len(events)})]


def words(markup: str) -> str:
    """What a person reads of an answer."""
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", markup)).split())


def told(name: str) -> dict[str, dict[str, Any]]:
    """The words about each block of a copy at its end, in both languages, and the ways on that were offered last.

    Whatever is asked about its turns on the way there has an answer, else this raises.
    """
    found = {}
    for subject, sheet, events in blocks(name):
        on_the_way = [asked(sheet, stood) for stood in turns(events)]
        faults = [reply for reply in on_the_way if not reply.get("ok")]
        if faults:
            raise ValueError(f"{subject}: {faults}")
        ways = [reply for reply in on_the_way if reply["record"]["choices"]]
        found[subject] = {
            "en": _words_of(on_the_way[-1]),
            "es": _words_of(asked(sheet, events, "es")),
            "ways": _ways_of(ways[-1]["record"]["choices"]) if ways else {},
            "ways_told": words(ways[-1]["html"]["scale_recovery"]) if ways else "",
        }
    return found


def _words_of(reply: dict[str, Any]) -> dict[str, str]:
    return {region: words(markup) for region, markup in reply["html"].items()}


def _ways_of(choices: dict[str, Any]) -> dict[str, Any]:
    """What each way on asks for: its title, the steps that it puts in and the targets that it changes."""
    return {
        key: {
            "text": choice["text"],
            "outcome": choice["outcome"],
            "steps": [_asked_for(step) for step in choice["steps"]],
            "replaced": [_asked_for(step) for _, step in sorted(choice["replaced"].items())],
        }
        for key, choice in choices.items()
    }


def _asked_for(step: dict[str, Any]) -> str:
    asked_for = ("key", "target", "low", "high", "decimals", "unit")
    return ", ".join(f"{name} {step[name]}" for name in asked_for if step[name] is not None)


if __name__ == "__main__":
    print(json.dumps(told(sys.argv[1]), ensure_ascii=False, indent=1, sort_keys=True))
