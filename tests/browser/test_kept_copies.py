"""A copy that the app handed out in the past, taken in by this build: its blocks go on where they were, its sheets open."""

from __future__ import annotations

import gzip
from pathlib import Path

from floor import PATIENCE, Floor
from kept_copies import FOLDER, blocks, sheets, state_of
from playwright.sync_api import Page, expect
from screens import Touch, copies_page, issued_code, own_workshop

NAME = "rules-3-scale"


def test_a_kept_copy_is_taken_in_its_blocks_are_in_hand_at_their_steps_and_its_sheets_open(page: Page, tmp_path: Path) -> None:
    path = tmp_path / "copy.json"
    path.write_bytes(gzip.decompress((FOLDER / f"{NAME}.json.gz").read_bytes()))
    own_workshop(page)
    copies_page(page)
    page.locator("[data-import]").set_input_files(path)
    page.locator("[data-import-confirm]").tap()
    expect(page.locator("[data-copy-status]")).to_contain_text("Records added")

    # Frozen when the copy was made.
    shown = state_of(NAME)
    page.goto("scale/")
    expect(page.locator('[data-list="batches"] > li')).to_have_count(len(sheets(NAME)), timeout=PATIENCE)
    expect(page.locator('[data-list="in-hand"] > li')).to_have_count(len(shown["in_hand"]))
    subject, sheet, _ = next(each for each in blocks(NAME) if each[0] in shown["in_hand"] and not shown["blocks"][each[0]]["pending"])
    floor = Floor(Touch(page), sheet["code"], int(subject.rpartition("/")[2]))
    floor.open()
    floor.sign("Q")
    if floor.at() == "ready":
        # Asked anew on another day than the copy's.
        floor.step()
    current = shown["blocks"][subject]["current"]
    decided = [step for _, _, events in blocks(NAME) for event in events for step in event.get("steps", [])]
    titles = {step["key"]: step["title"] for step in [*decided, *sheet["steps"]]}
    floor.titled(titles[current])

    page.goto(f"batch/sheet/#{sheet['code']}")
    assert issued_code(page) == sheet["code"]
    for pour in sheet["pours"]:
        expect(page.locator("[data-sheet]")).to_contain_text(pour["name"])
