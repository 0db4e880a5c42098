"""A copy outside the browser: all records go out in one file and come back on another phone, whole or not at all."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import PHONE
from floor import put
from playwright.sync_api import BrowserContext, Page, expect
from screens import Touch, answered, control, copies_page, form_of, issued_code, own_workshop, stored, to_sheet
from test_safety_walks import check_eyewash
from walking import begin, press, set_place, walk_page, walked

NewContext = Callable[..., BrowserContext]


@pytest.fixture
def copy(page: Page, tmp_path: Path) -> tuple[Path, str]:
    """The file made on a phone with a renamed mould and one issued batch, and that batch's code."""
    page.goto("workshop/edit/#mould/m-block")
    answered(page, "mould")
    mould = form_of(page, "mould")
    control(mould, "name").fill("Oak block")
    mould.get_by_role("button", name="Save ").tap()
    page.wait_for_url("**/workshop/")
    page.goto("batch/")
    answered(page, "batch_sheet")
    batch = form_of(page, "batch_sheet")
    control(batch, "issued_by").fill("Q")
    to_sheet(batch).tap()
    code = issued_code(page)
    copies_page(page)
    with page.expect_download() as download:
        page.locator("[data-export]").tap()
    path = tmp_path / "copy.json"
    download.value.save_as(path)
    expect(page.locator("[data-copy-status]")).to_contain_text("check that the file is where you want it")
    return path, code


def events_of(page: Page) -> list[dict[str, Any]]:
    return sorted(stored(page, "events"), key=lambda event: event["id"])


def digest(events: list[dict[str, Any]]) -> str:
    ordered = json.dumps(events, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(ordered.encode()).hexdigest()


def offer(page: Page, path: Path) -> None:
    copies_page(page)
    page.locator("[data-import]").set_input_files(path)


def test_a_copy_taken_in_on_another_phone_brings_every_record_once_and_names_what_a_later_one_replaces(
    page: Page, copy: tuple[Path, str], new_context: NewContext, tmp_path: Path, record: dict[str, Any]
) -> None:
    path, code = copy
    second = new_context(**PHONE).new_page()
    offer(second, path)
    # It says what it would add, and has changed nothing yet.
    expect(second.locator("[data-copy-status]")).to_have_text("Records to add: 2")
    expect(second.locator("[data-import-preview]")).to_contain_text("Issued batch sheets: 1")
    assert events_of(second) == []
    second.locator("[data-import-confirm]").tap()
    expect(second.locator("[data-copy-status]")).to_have_text("Records added: 2")
    second.goto("workshop/")
    expect(answered(second, "workshop")).to_contain_text("Oak block")
    assert events_of(second) == events_of(page)
    second.goto(f"batch/sheet/#{code}")
    assert issued_code(second) == code
    offer(second, path)
    expect(second.locator("[data-copy-status]")).to_contain_text("Everything in this copy is already here.")
    expect(second.locator("[data-import-confirm]")).to_be_hidden()
    # A copy of another phone, whose clock is a year ahead, with another name for the mould.
    content = json.loads(path.read_text("utf-8"))
    [saved] = [event for event in content["events"] if event["kind"] == "saved"]
    saved |= {"id": "of-another-phone", "at": "2099" + saved["at"][4:], "values": saved["values"] | {"name": "Elm block"}}
    content |= {"events": [saved], "sha256": digest([saved])}
    later = tmp_path / "later.json"
    later.write_text(json.dumps(content), "utf-8")
    offer(second, later)
    preview = second.locator("[data-import-preview]")
    expect(preview).to_contain_text("Name: Oak block → Elm block")
    expect(preview).to_contain_text("Records dated after today: 1, the last on 2099-")
    assert events_of(second) == events_of(page)
    # It says how old the copy on the first phone is; the second has none.
    copies_page(page)
    expect(page.locator("[data-copy-age-text]")).to_contain_text("Records since then: 0.")
    copies_page(second)
    expect(second.locator("[data-copy-age-text]")).to_contain_text("No copy outside this phone yet. Records here: 2.")
    # Today asks for one where none was made, and only of one's own.
    for each, own, asked in ((second, False, 0), (second, True, 1), (page, True, 0)):
        if own:
            own_workshop(each)
            copies_page(each)
            # The first copy is asked for a week after the first batch.
            put(each, [{**record, "local": "2026-01-02T09:00:00+00:00"}])
        if own and not asked:
            with each.expect_download():
                each.locator("[data-export]").tap()
            expect(each.locator("[data-copy-age-text]")).to_contain_text("Records since then: 0.")
        each.goto("")
        expect(each.locator('[data-due] li:has([data-eyewash-state="never"])')).to_have_count(int(own))
        expect(each.locator('[data-due] a[href$="records/copies/"]')).to_have_count(asked)


def test_a_copy_takes_a_workshop_s_safety_to_another_phone(page: Page, new_context: NewContext, tmp_path: Path) -> None:
    """Its place, limits and own points, walks with an open stop, eyewash checks, trainings, and whose cover a block took."""
    hands = Touch(page)
    own_workshop(page)
    walk_page(page)
    words = {"phase": "weigh", "what": "Lid", "question": "Is it on?", "stop": "It is off.", "what_es": "Tapa",
             "question_es": "¿Está puesta?", "stop_es": "No está."}  # fmt: skip
    set_place(page, flush_minutes="45", **{"lift_g": "18", "lift_g.unit": "kg"}, **{f"own.0.{part}": each for part, each in words.items()})
    walked(hands, ("weigh",), helper="Ana")
    walk_page(page)
    check_eyewash(page, "weekly")
    expect(page.locator('[data-eyewash-check="weekly"] [data-state="held over"]')).to_be_visible()
    begin(hands, phases=("tank",), helper="Bea")
    press(hands, "no")
    put(page, [{"id": "seed-trained", "at": "2026-01-02T08:00:00.000Z", "local": "2026-01-02T08:00:00+00:00", "kind": "trained",
                "subject": "block:QM-1/1", "person": "Q", "helper": "Ana", "reason": None}])  # fmt: skip
    copies_page(page)
    with page.expect_download() as download:
        page.locator("[data-export]").tap()
    path = tmp_path / "copy.json"
    download.value.save_as(path)
    second = new_context(**PHONE).new_page()
    own_workshop(second)
    offer(second, path)
    second.locator("[data-import-confirm]").tap()
    expect(second.locator("[data-copy-status]")).to_contain_text("Records added")
    assert events_of(second) == events_of(page)
    walk_page(second)
    expect(second.locator("[data-trainings] > li")).to_contain_text("Ana")
    expect(second.locator("[data-walks-in-hand]")).to_contain_text("STOPPED")
    expect(second.locator('[data-eyewash-check="weekly"] [data-state="never"]')).to_be_hidden()
    expect(second.locator('[data-limit="lift_g"] [data-said]').first).to_have_text("18\u00a0kg")
    begin(Touch(second), phases=("weigh",), helper="Cy")
    [own] = [event["own"] for event in stored(second, "events") if event.get("helper") == "Cy"]
    assert own[0]["en"]["what"] == "Lid" and own[0]["es"]["what"] == "Tapa"
    # Without another page in between the card knows it: number, address, the longer rinse.
    second.goto("emergency/")
    expect(second.locator(".call [data-fill='address']")).to_have_text("Mill Lane 3")
    second.locator('.tile[href="#eyes"]').click()
    expect(second.locator("#eyes [data-flush-left]")).to_have_text(re.compile("^4[45]:"))


def test_a_damaged_copy_is_refused_whole(copy: tuple[Path, str], new_context: NewContext, tmp_path: Path) -> None:
    path, _ = copy
    text = path.read_text("utf-8")
    changed = json.loads(text.replace("Oak block", "Elm block"))
    smuggled = json.loads(text)
    smuggled["events"] = [event for event in smuggled["events"] if event["kind"] == "saved"]
    smuggled["events"][0]["subject"] = "mould:<img src=x onerror=alert(1)>"
    smuggled["events"][0]["__proto__"] = {"values": {}}
    # With a digest that fits: what is wrong is the form itself.
    smuggled["sha256"] = digest(smuggled["events"])
    second = new_context(**PHONE).new_page()
    for said, content in {
        "This copy is damaged. Nothing was loaded from it.": json.dumps(changed),
        "This file isn’t a copy made by Tarewell.": text[: len(text) // 2],
        "This copy has something in it that Tarewell never writes": json.dumps(smuggled),
    }.items():
        bad = tmp_path / "bad.json"
        bad.write_text(content, "utf-8")
        offer(second, bad)
        expect(second.locator("[data-copy-status]")).to_contain_text(said)
        expect(second.locator("[data-import-confirm]")).to_be_hidden()
    assert events_of(second) == []
