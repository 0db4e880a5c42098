"""Which entries stand: the stories that the scripts' rule is asked too."""

import json
from pathlib import Path

import pytest

from calc.entry.taken_back import standing

STORIES = json.loads((Path(__file__).parents[2] / "fixtures/stories/taken_back.json").read_text(encoding="utf-8"))["stories"]


@pytest.mark.parametrize("story", STORIES, ids=[story["name"] for story in STORIES])
def test_what_was_taken_back_is_gone(story):
    assert [event["id"] for event in standing(story["events"])] == story["stand"]
