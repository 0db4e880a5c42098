"""Practice and one's own: two workshops of one browser, of which neither ever holds, shows or counts what is the other's."""

from __future__ import annotations

from itertools import takewhile
from pathlib import Path
from typing import Any

import pytest
from floor import STAGE, Floor, block_events, done, issue, put
from playwright.sync_api import Page, expect
from screens import (
    ALL,
    OWN,
    PRACTICE,
    RECORDS,
    Touch,
    answered,
    control,
    copies_page,
    draft_kept,
    form_of,
    issued_code,
    stored,
    until,
)
from walking import put_walk, walk_page

BAR = ".practice-bar"


def held(page: Page, database: str, store: str = "events") -> list[dict[str, Any]]:
    """Everything in one store of one of the two databases, read past the app."""
    found: list[dict[str, Any]] = page.evaluate(f"({ALL.replace(RECORDS, repr(database))})({store!r})")
    return found


def save_mould(page: Page, name: str) -> None:
    page.goto("workshop/edit/#mould/new")
    form = form_of(page, "mould")
    expect(control(form, "name")).to_have_value("")
    for field, text in {"name": name, "length_mm": "300", "width_mm": "250", "height_mm": "90", "fill_height_mm": "80"}.items():
        control(form, field).fill(text)
    form.get_by_role("button", name="Save ").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")


def to_own(page: Page) -> None:
    page.locator(BAR).get_by_role("link", name="My workshop").tap()
    until(page, "document.documentElement.dataset.mode === 'own'", "one's own workshop")
    expect(page.locator(BAR)).to_be_hidden()


def copy_of(page: Page, path: Path) -> Path:
    copies_page(page)
    with page.expect_download() as download:
        page.locator("[data-export]").tap()
    download.value.save_as(path)
    return path


def refused(page: Page, path: Path, words: str) -> None:
    copies_page(page)
    page.locator("[data-import]").set_input_files(path)
    expect(page.locator("[data-copy-status]")).to_contain_text(words)
    expect(page.locator("[data-import-confirm]")).to_be_hidden()


def test_practice_and_one_s_own_never_mix_neither_in_lists_nor_in_stores_nor_by_a_copy(page: Page, tmp_path: Path) -> None:
    # Nobody has chosen: Today is no practice yet, every page that shows the invented workshop says so.
    page.goto("")
    expect(page.locator(BAR)).to_be_hidden()
    code = issue(page)
    expect(page.locator(BAR)).to_contain_text("Practice: nothing here counts")
    save_mould(page, "Tried mould")
    in_practice = copy_of(page, tmp_path / "practice.json")
    assert in_practice.read_text("utf-8").count('"tarewell-practice-records"') == 1
    page.goto("")
    expect(page.locator(BAR)).to_be_visible()
    page.goto("records/")
    expect(page.locator("[data-log-list]")).to_contain_text(code)
    to_own(page)
    page.goto("records/")
    expect(page.locator("[data-log-list] li")).to_have_count(0)
    for place in ("workshop", "formula"):
        page.goto(f"{place}/")
        answer = answered(page, {"formula": "formula_list"}.get(place, place))
        for words in ("Quillmarsh", "Marsh Plain", "Tried mould"):
            expect(answer).not_to_contain_text(words)
    page.goto("batch/")
    lacks = page.locator("[data-lacks] li").filter(visible=True)
    expect(lacks).to_have_text(["Workshop", "Mold", "Vessel", "Scale", "Alkali lot", "Formula"], use_inner_text=True)
    save_mould(page, "Oak mould")
    page.goto("batch/")
    expect(lacks).to_have_text(["Workshop", "Vessel", "Scale", "Alkali lot", "Formula"], use_inner_text=True)
    assert [event["values"]["name"] for event in held(page, OWN)] == ["Oak mould"]
    assert sorted(event["kind"] for event in held(page, PRACTICE)) == ["issued", "saved"]
    assert [page.evaluate("(key) => localStorage.getItem(key)", f"{name}-kept") for name in (OWN, PRACTICE)] == ["1", "2"]
    own = copy_of(page, tmp_path / "own.json")
    refused(page, in_practice, "This copy was made in practice")
    page.goto("scale/#/practice")
    expect(page.locator(BAR)).to_be_visible()
    page.goto("workshop/")
    expect(answered(page, "workshop")).to_contain_text("Tried mould")
    expect(answered(page, "workshop")).not_to_contain_text("Oak mould")
    refused(page, own, "Tap “My workshop”")


def test_a_tab_that_was_opened_in_practice_goes_on_writing_there_whatever_another_one_chooses(page: Page) -> None:
    page.goto("workshop/edit/#mould/new")
    form = form_of(page, "mould")
    control(form, "name").fill("Tried")
    draft_kept(page, "Tried")
    other = page.context.new_page()
    other.goto("workshop/")
    to_own(other)
    other.goto("workshop/edit/#mould/new")
    # Neither the text of the other mode stands here, nor does its tab hold this one.
    expect(control(form_of(other, "mould"), "name")).to_be_enabled()
    expect(control(form_of(other, "mould"), "name")).to_have_value("")
    control(form_of(other, "mould"), "name").fill("Own")
    draft_kept(other, "Own")
    for name, text in {"length_mm": "300", "width_mm": "250", "height_mm": "90", "fill_height_mm": "80"}.items():
        control(form, name).fill(text)
    form.get_by_role("button", name="Save ").tap()
    page.wait_for_url("**/workshop/")
    assert [event["values"]["name"] for event in held(page, PRACTICE)] == ["Tried"]
    assert held(page, OWN) == []
    assert [draft["values"]["name"] for draft in held(page, OWN, "drafts")] == ["Own"]
    # What is opened from now on follows what was chosen last.
    expect(page.locator(BAR)).to_be_hidden()


def test_a_batch_waits_in_practice_is_weighed_without_python_and_comes_anew_once_it_is_done(bare_page: Page) -> None:
    page = bare_page
    page.goto("scale/")
    page.get_by_role("link", name="Practice a block").tap()
    page.wait_for_url("**/scale/#PRACTICE-1/1")
    floor = Floor(Touch(page), "PRACTICE-1")
    floor.sign("Ana")
    floor.comes("ready")
    # Nobody has walked Ana through anything yet: practice shows what a real day asks and goes on at one tap, for no reason.
    expect(page.locator(STAGE)).to_contain_text("No signed safety walk covers it today.")
    expect(page.locator(STAGE)).to_contain_text("This is practice: nothing here has to be done first.")
    assert page.locator(f'{STAGE} [name="why"], {STAGE} [name="reason"]').count() == 0
    floor.do("ready")
    [said] = [event for event in stored(page, "events") if event["kind"] == "trained"]
    assert (said["person"], said["helper"], said["daily"], said["reason"]) == ("Ana", None, "missing", "it was practice")
    floor.step()
    # All that is looked over before the first reading stands on one screen, and each of it is stored by itself.
    [record] = [event for event in stored(page, "events") if event["kind"] == "issued"]
    before = [step["key"] for step in takewhile(lambda step: step["kind"] not in ("temperature", "weigh"), record["steps"])]
    checked = [event for event in block_events(page, "PRACTICE-1") if event["kind"] == "checked"]
    assert before
    assert [(event["step"], event["person"]) for event in checked] == [(key, "Ana") for key in before]
    expect(page.locator(BAR)).to_be_visible()
    page.emulate_media(media="print")
    expect(page.locator(f"{BAR} p")).to_be_visible()
    page.emulate_media(media="screen")
    # Every block of it poured: the same batch waits under another code, which its sheet shows.
    for block in range(1, record["blocks"] + 1):
        closed = {**done(record, block=block)[-1], "id": f"seed-closed-{block}", "kind": "closed", "outcome": "poured", "reason": ""}
        put(page, [closed], None)
    page.goto("sources/")
    page.goto("scale/#/practice")
    page.wait_for_url("**/scale/#PRACTICE-2/1")
    # Once a day it is shown, as on a real one.
    Floor(Touch(page), "PRACTICE-2").comes("checks")
    page.goto("batch/sheet/#PRACTICE-2")
    assert issued_code(page) == "PRACTICE-2"
    expect(page.locator("[data-sheet]")).to_contain_text("PRACTICE-2")
    expect(page.locator("[data-sheet]")).not_to_contain_text("PRACTICE-1")
    assert held(page, OWN) == []


@pytest.mark.parametrize("counted", [True, False])
def test_records_from_before_there_was_practice_open_as_one_s_own_and_nothing_else_stands_among_them(
    page: Page, record: dict[str, Any], counted: bool
) -> None:
    page.goto("sources/")
    at = "2026-01-01T08:00:00"
    own = [record, {"id": "seed-m", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": "saved", "subject": "mould:m-own",
                    "values": {"name": "Oak mould"}}]  # fmt: skip
    page.evaluate("document.documentElement.dataset.mode = 'own'")
    put(page, own)
    if counted:
        page.evaluate("localStorage.setItem('tarewell-kept', '2')")
    page.goto("workshop/")
    expect(answered(page, "workshop")).to_contain_text("Oak mould")
    expect(answered(page, "workshop")).not_to_contain_text("Quillmarsh")
    expect(page.locator(BAR)).to_be_hidden()
    page.goto(f"batch/sheet/#{record['code']}")
    assert issued_code(page) == record["code"]
    assert held(page, PRACTICE) == []


def test_in_one_s_own_no_figure_of_the_invented_workshop_is_seen_before_the_records_are_read(bare_page: Page) -> None:
    page = bare_page
    page.context.watch.allow("ERR_FAILED")  # type: ignore[attr-defined]
    page.route("**/*.mjs", lambda route: route.abort())
    page.goto("batch/")
    expect(page.locator("[data-answer]").first).to_be_visible()
    page.evaluate("localStorage.setItem('tarewell-mode', 'own')")
    for path in ("batch/", "formula/", "formula/edit/", "workshop/", "workshop/setup/", "workshop/edit/", "fragrance/"):
        page.goto(path)
        expect(page.locator("h1").first).to_be_visible()
        expect(page.locator("main :is([data-answer], input, select, textarea):not([data-import])").filter(visible=True)).to_have_count(0)
        expect(page.locator(BAR)).to_be_hidden()


def test_a_walk_of_practice_trains_nobody_and_its_address_stands_on_no_card(bare_page: Page) -> None:
    page = bare_page
    walk_page(page)
    put_walk(page, ("weigh",), helper="Ana")
    at = "2026-01-01T08:00:00"
    put(page, [{"id": "seed-place", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": "saved", "subject": "safety:safety",
                "values": {"emergency_number": "999", "address": "Mill Lane 3", "training_months": "12"}}], None)  # fmt: skip
    walk_page(page)
    expect(page.locator("[data-trainings] > li")).to_contain_text("Ana")
    page.goto("emergency/")
    # The card is real, and so is the form that it leads to.
    expect(page.locator(BAR)).to_have_count(0)
    expect(page.locator('[data-filled="address"]').first).to_be_hidden()
    page.locator('a[href$="#safety"]').first.tap()
    until(page, "document.documentElement.dataset.mode === 'own'", "one's own workshop")
    walk_page(page)
    expect(page.locator("[data-trainings] > li")).to_have_count(0)
