"""What Python outside any browser answers, as the words that a page should then show."""

from __future__ import annotations

import json
from html.parser import HTMLParser

from answers.demo import BATCH_VALUES, DEMO_NOW, demo_state
from answers.door import answer

# The day by the browser's own clock, which is in the code that a sheet proposes; the hour is in none of its words.
TODAY = "new Date(Date.now() - new Date().getTimezoneOffset() * 60_000).toISOString().slice(0, 10)"


def sheet_words(day: str, **changes: str) -> str:
    """The words of the demo's batch sheet on a day (2026-11-25) with some fields changed, from the same door."""
    now = day + DEMO_NOW[len(day) :]
    asked = {"task": "batch_sheet", "values": BATCH_VALUES | changes, "state": demo_state(), "now": now}
    reply = json.loads(answer(json.dumps(asked)))
    assert reply.get("ok"), reply
    reader = _Words()
    reader.feed(reply["html"]["batch_sheet"])
    reader.close()
    return evened("".join(reader.found))


def evened(text: str) -> str:
    """Text with every run of white space as one blank, since only markup makes the difference."""
    return " ".join(text.split())


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_data(self, data: str) -> None:
        self.found.append(data)
