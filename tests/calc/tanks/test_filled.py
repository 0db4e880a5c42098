"""How warm lye was before each portion of a fill, in stories that the scripts' fold is asked too (tests/site_js/rules/fill.test.mjs)."""

import json
from pathlib import Path

import pytest

from calc.tanks.filled import read_fill

TOLD = json.loads((Path(__file__).resolve().parents[2] / "fixtures" / "stories" / "fill.json").read_text("utf-8"))
POURS = [{"key": "water", "name": "Water", "grams": 15_920.0}, {"key": "lye:naoh", "name": "Caustic soda", "grams": 11_940.0, "alkali": "naoh"}]


def put_in(key):
    """A step that a decision put in, by its key: a wait, or the same question anew."""
    if key.startswith("wait:"):
        return {"key": key, "kind": "timer", "seconds": 300}
    return {**next(step for step in TOLD["steps"] if key.startswith(f"{step['key']}:")), "key": key}


def events_of(story):
    found = []
    for n, (kind, fields) in enumerate([*TOLD["begun"], *story["events"]], 1):
        at = f"2026-11-25T08:00:{n:02}.000Z"
        event = {"id": f"e{n:02}", "at": at, "local": at, "kind": f"fill_{kind}", "person": "Q", **({"replaced": {}} if kind == "decided" else {}), **fields}
        found.append(event | ({"steps": [put_in(key) for key in fields["steps"]]} if "steps" in fields else {}))
    return found


@pytest.mark.parametrize("story", TOLD["stories"], ids=[story["name"] for story in TOLD["stories"]])
def test_stories_of_both_folds(story):
    expected = story["expected"]
    for events in (events_of(story), events_of(story)[::-1]):
        fill = read_fill({"tank": "t-lye", "steps": TOLD["steps"], "pours": POURS}, events)
        gates = fill.gates()
        assert [[gate.step["key"], gate.warmth, gate.inside, gate.choice and gate.choice["choice"]] for gate in gates] == expected["gates"]
        assert next((gate.step["key"] for gate in gates if gate.open), None) == expected["open"]
        assert fill.events.current == expected["current"]
        if "steps" in expected:
            assert [step["key"] for step in fill.events.steps][4:] == expected["steps"]
