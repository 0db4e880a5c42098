"""What Python gives the floor to store (every way on after a mis-pour, the record of a block) comes back from a copy."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import PHONE
from floor import done, put
from playwright.sync_api import BrowserContext, Page, expect
from screens import copies_page, stored

from answers.demo import BATCH_VALUES, DEMO_NOW, demo_state
from answers.door import answer

NewContext = Callable[..., BrowserContext]

STAMP = {"at": "2026-11-25T09:50:00.000Z", "local": "2026-11-25T09:50:00+00:00", "person": "Q"}


def door(task: str, values: dict[str, str], state: dict[str, Any]) -> dict[str, Any]:
    reply: dict[str, Any] = json.loads(answer(json.dumps({"task": task, "values": values, "state": state, "now": DEMO_NOW})))
    assert reply["ok"], reply
    return reply


@pytest.fixture(scope="module")
def record() -> dict[str, Any]:
    issued: dict[str, Any] = door("issue_batch", BATCH_VALUES | {"issued_by": "Q"}, demo_state())["record"]
    subject = f"batch:{issued['code']}"
    return {**issued, **{name: STAMP[name] for name in ("at", "local")}, "id": "i", "kind": "issued", "subject": subject}


def asked(record: dict[str, Any], events: list[dict[str, Any]]) -> dict[str, Any]:
    bare = {name: part for name, part in record.items() if name != "html"}
    state = demo_state() | {"record": bare, "events": events}
    return door("at_the_scale", {"batch": record["code"], "block": "1"}, state)


def decisions(record: dict[str, Any]) -> list[dict[str, Any]]:
    """Every choice after too little and too much of each pour, as the page stores it."""
    found = []
    for step, following in zip(record["steps"], record["steps"][1:], strict=False):
        if step["kind"] != "weigh":
            continue
        for share in (0.5, 0.97, 1.03, 1.6):
            named = {step["key"].replace(":", "_").replace("-", "_"): round(step["target"] * share)}
            events = done(record, following["key"], **named)
            for key, choice in asked(record, events)["record"]["choices"].items():
                fields = {name: choice[name] for name in ("text", "steps", "replaced")}
                found.append({**STAMP, **fields, "id": f"d{len(found)}", "kind": "decided", "choice": key, "reason": "Spilt",
                              "step": step["key"], "subject": events[0]["subject"]})  # fmt: skip
    return found


def test_every_decision_and_the_record_of_a_block_come_back_from_a_copy(
    page: Page, new_context: NewContext, record: dict[str, Any], tmp_path: Path
) -> None:
    block = done(record)
    reply = asked(record, block)
    closed = {**STAMP, "id": "c", "kind": "closed", "subject": block[0]["subject"], "outcome": "poured", "reason": "",
              "record": reply["record"]["closing"], "html": reply["html"]["scale_record"]}  # fmt: skip
    assert closed["record"]["amounts"]
    made = decisions(record)
    assert len({event["choice"] for event in made}) >= 4
    events = [record, *block, *made, closed]
    copies_page(page)
    put(page, events)
    with page.expect_download() as download:
        page.locator("[data-export]").tap()
    download.value.save_as(tmp_path / "copy.json")
    second = new_context(**PHONE).new_page()
    copies_page(second)
    second.locator("[data-import]").set_input_files(tmp_path / "copy.json")
    expect(second.locator("[data-copy-status]")).to_have_text(f"Records to add: {len(events)}")
    second.locator("[data-import-confirm]").tap()
    expect(second.locator("[data-copy-status]")).to_have_text(f"Records added: {len(events)}")
    assert {event["id"]: event for event in stored(second, "events")} == {event["id"]: event for event in events}
    # The block is closed, so no list has it in hand.
    assert stored(second, "blocks") == []
