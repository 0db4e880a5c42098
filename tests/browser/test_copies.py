"""A copy outside the browser: all records go out in one file and come back on another phone, whole or not at all."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import PHONE
from playwright.sync_api import BrowserContext, Page, expect
from screens import answered, control, form_of, issued_code, stored

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
    batch.locator("[data-issue]").tap()
    code = issued_code(page)
    page.goto("workshop/")
    with page.expect_download() as download:
        page.locator("[data-export]").tap()
    path = tmp_path / "copy.json"
    download.value.save_as(path)
    expect(page.locator("[data-copy-status]")).to_contain_text("check that the file is where you want it")
    return path, code


def events_of(page: Page) -> list[dict[str, Any]]:
    return sorted(stored(page, "events"), key=lambda event: event["id"])


def offer(page: Page, path: Path) -> None:
    page.goto("workshop/")
    answered(page, "workshop")
    page.locator("[data-import]").set_input_files(path)


def test_a_copy_taken_in_on_another_phone_brings_every_record_once(
    page: Page, copy: tuple[Path, str], new_context: NewContext
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
    expect(answered(second, "workshop")).to_contain_text("Oak block")
    assert events_of(second) == events_of(page)
    second.goto(f"batch/sheet/#{code}")
    assert issued_code(second) == code
    offer(second, path)
    expect(second.locator("[data-copy-status]")).to_have_text("Everything in this copy is here already.")
    expect(second.locator("[data-import-confirm]")).to_be_hidden()


def test_a_damaged_copy_is_refused_whole(copy: tuple[Path, str], new_context: NewContext, tmp_path: Path) -> None:
    path, _ = copy
    text = path.read_text("utf-8")
    changed = json.loads(text.replace("Oak block", "Elm block"))
    smuggled = json.loads(text)
    smuggled["events"] = [event for event in smuggled["events"] if event["kind"] == "saved"]
    smuggled["events"][0]["subject"] = "mould:<img src=x onerror=alert(1)>"
    smuggled["events"][0]["__proto__"] = {"values": {}}
    # With a digest that fits: what is wrong is the form itself.
    ordered = json.dumps(smuggled["events"], sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    smuggled["sha256"] = hashlib.sha256(ordered.encode()).hexdigest()
    second = new_context(**PHONE).new_page()
    for said, content in {
        "This copy is damaged. Nothing was taken from it.": json.dumps(changed),
        "This file is no copy made by Tarewell.": text[: len(text) // 2],
        "This copy has a form that this version does not know.": json.dumps(smuggled),
    }.items():
        bad = tmp_path / "bad.json"
        bad.write_text(content, "utf-8")
        offer(second, bad)
        expect(second.locator("[data-copy-status]")).to_contain_text(said)
        expect(second.locator("[data-import-confirm]")).to_be_hidden()
    assert events_of(second) == []
