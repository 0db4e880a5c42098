"""Blocks told by their events, in stories that the scripts' fold is asked too (tests/site_js/rules/block_of_stories.test.mjs)."""

import json
from pathlib import Path

import pytest

from calc.block.events import fold, fold_after

TOLD = json.loads((Path(__file__).resolve().parents[2] / "fixtures" / "stories" / "block.json").read_text("utf-8"))
STORIES = {story["name"]: story for story in TOLD["stories"]}


def events_of(story):
    """Its events as a store would hold them."""
    found = []
    for number, (kind, fields) in enumerate(story["events"], 1):
        at = f"2026-11-25T08:00:{number:02}.000Z"
        event = {"id": f"e{number:02}", "at": at, "local": at, "kind": kind, "subject": "block:QM-1/1", "person": "Q", **fields}
        found.append(event | ({"asked": TOLD["shapes"][fields["asked"]]} if "asked" in fields else {}))
    return found


def state(events):
    """All that a story may expect of a block."""
    block = fold(TOLD["steps"], events)
    return {
        "steps": [step["key"] for step in block.steps],
        "targets": {step["key"]: step["target"] for step in block.steps if "target" in step},
        "done": {key: done.event["id"] for key, done in block.done.items()},
        "read": {key: done.reading for key, done in block.done.items() if done.step["kind"] in ("weigh", "temperature")},
        "in_hand": block.current,
        "waits": block.pending,
        "decided": [decision["id"] for decision in block.decisions],
        "lots": dict(block.lots),
        "begun": sorted(block.started),
        "closed": block.closed and [block.closed["id"], block.closed["outcome"]],
        "set_back": sorted(block.set_back),
        "after": after_pour(events),
    }


def after_pour(events):
    """What is told of the work after the pour."""
    after = fold_after(TOLD["after"], events)
    return {
        "done": {key: done.event["id"] for key, done in after.done.items()},
        "in_hand": after.current,
        "read": {key: done.reading for key, done in after.done.items() if done.event["kind"] == "measured"},
        "ended": after.ended and after.ended["id"],
    }


def expect(story, events):
    found = state(events)
    assert {part: found[part] for part in story["expected"]} == story["expected"]


@pytest.mark.parametrize("name", STORIES)
def test_the_block_is_as_the_story_ends(name):
    expect(STORIES[name], events_of(STORIES[name]))


@pytest.mark.parametrize("name", STORIES)
def test_in_another_order_and_with_doubles_the_story_ends_alike(name):
    events = events_of(STORIES[name])
    for others in (events[::-1], [*events[1::2], *events[::2]], [*events, *events[::-1]]):
        expect(STORIES[name], others)


@pytest.mark.parametrize("name", [name for name, story in STORIES.items() if "in_hand_after" in story or "waits_after" in story])
def test_after_each_event_the_block_is_where_the_story_says(name):
    story = STORIES[name]
    events = events_of(story)
    states = [state(events[: n + 1]) for n in range(len(events))]
    for part in ("in_hand", "waits"):
        if f"{part}_after" in story:
            assert [each[part] for each in states] == story[f"{part}_after"]
