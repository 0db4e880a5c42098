"""Copies beside the plain one: kept at the closing of a block, in a folder by themselves, locked, and as tables."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from conftest import PHONE
from floor import PATIENCE, Floor, begun, put
from playwright.sync_api import BrowserContext, Page, expect
from screens import OWN, Touch, copies_page, own_workshop, stored

NewContext = Callable[..., BrowserContext]

PHRASE = "heron reeds at low water"
# A folder of the browser's own in place of one that a person would pick: the same interface, without the question.
PICKED = """
globalThis.showDirectoryPicker = async () => (await navigator.storage.getDirectory()).getDirectoryHandle("Copies", { create: true });
"""
LISTED = """async () => {
  const folder = await (await navigator.storage.getDirectory()).getDirectoryHandle("Copies", { create: true });
  const found = {};
  for await (const [name, handle] of folder.entries()) found[name] = await (await handle.getFile()).text();
  return found;
}"""


def by_id(events: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return sorted(events, key=lambda event: event["id"])


def close(floor: Floor) -> None:
    floor.comes("closing")
    floor.do("close")
    floor.comes("closed")


def folder_of(page: Page, copies: int) -> dict[str, str]:
    """The files in the folder, once so many copies are there; by their names, oldest first."""
    for _ in range(100):
        found: dict[str, str] = page.evaluate(LISTED)
        if len(found) == copies and all(found.values()):
            return dict(sorted(found.items()))
        page.wait_for_timeout(100)
    raise AssertionError(f"{len(found)} files: {sorted(found)}")


def test_a_closed_block_goes_into_the_folder_by_itself_or_out_at_one_tap(page: Page, record: dict[str, Any]) -> None:
    page.add_init_script(PICKED)
    own_workshop(page)
    floor = begun(Touch(page), record)
    close(floor)
    # No folder yet: one tap hands the file over, and the age of the copy stands beside it.
    age = page.locator("[data-copy-age]")
    expect(age).to_contain_text("No copy outside this phone yet.")
    expect(age).to_contain_text("Blocks closed since then: 1.")
    floor.at()
    with page.expect_download() as download:
        page.locator('[data-do="copy"]').tap()
    events = json.loads(Path(download.value.path()).read_text("utf-8"))["events"]
    assert by_id(events) == by_id(stored(page, "events"))
    expect(age).to_contain_text("Records since then: 0.")
    # A folder, picked once: it has a copy at once, and one more with each block that is closed.
    copies_page(page)
    page.locator("[data-folder-pick]").tap()
    expect(page.locator("[data-copy-status]")).to_have_text("A new copy is in the folder Copies.")
    [(first, text)] = folder_of(page, 1).items()
    assert by_id(json.loads(text)["events"]) == by_id(stored(page, "events"))
    floor = begun(Touch(page), {**record, "id": "i2", "code": "QM-2", "subject": "batch:QM-2"})
    close(floor)
    expect(page.locator("[data-copy-status]")).to_have_text("A new copy is in the folder Copies.", timeout=PATIENCE)
    both = folder_of(page, 2)
    assert both[first] == text
    newest = next(text for name, text in both.items() if name != first)
    assert by_id(json.loads(newest)["events"]) == by_id(stored(page, "events"))
    # Nothing is new: nothing is written. The browser wants to be asked again: it is said, and no copy is claimed.
    copies_page(page)
    page.locator("[data-folder-now]").tap()
    expect(page.locator("[data-copy-status]")).to_have_text("The newest copy in the folder Copies already has everything.")
    page.evaluate("""() => {
      FileSystemHandle.prototype.queryPermission = async () => "prompt";
      FileSystemHandle.prototype.requestPermission = async () => "denied";
    }""")
    page.locator("[data-folder-now]").tap()
    expect(page.locator("[data-copy-status]")).to_contain_text("the browser wants your permission again")
    assert folder_of(page, 2) == both
    # The browser loses all records: nothing is written, and the copies are as they were.
    page.goto("records/copies/")
    page.evaluate(f"""() => new Promise((resolve) => {{
      const opening = indexedDB.open("{OWN}");
      opening.onsuccess = () => {{
        const writing = opening.result.transaction(["events", "drafts"], "readwrite");
        writing.objectStore("events").clear();
        writing.objectStore("drafts").delete("records:kept");
        writing.oncomplete = () => {{ opening.result.close(); resolve(); }};
      }};
    }})""")
    # What was put there past the app was not counted; had the app stored it, it would know how many there were.
    page.evaluate("localStorage.setItem('tarewell-kept', '40')")
    copies_page(page)
    page.locator("[data-folder-now]").tap()
    expect(page.locator("[data-copy-status]")).to_contain_text("Records are missing on this device, so no copy was written")
    assert folder_of(page, 2) == both
    page.goto("")
    expect(page.locator("[data-unread-copy]")).to_contain_text("Your last copy is of ")
    # It brings back all of it.
    copies_page(page)
    page.locator("[data-import]").set_input_files({"name": "copy.json", "mimeType": "application/json", "buffer": newest.encode()})
    page.locator("[data-import-confirm]").tap()
    expect(page.locator("[data-copy-status]")).to_contain_text("Records added: ")
    assert by_id(stored(page, "events")) == by_id(json.loads(newest)["events"])


def test_a_locked_copy_opens_on_another_phone_with_its_passphrase_alone(
    page: Page, new_context: NewContext, record: dict[str, Any], tmp_path: Path
) -> None:
    own_workshop(page)
    page.goto("scale/")
    Floor(Touch(page), "").comes("lists")
    put(page, [record])
    copies_page(page)
    page.get_by_text("Lock a copy with a passphrase").tap()
    first, again = page.locator("#passphrase"), page.locator("#passphrase-again")
    status = page.locator("[data-copy-status]")
    for one, other, said in (("too short", "too short", "too short"), (PHRASE, f"{PHRASE}s", "differ")):
        first.fill(one)
        again.fill(other)
        page.locator("[data-export-locked]").tap()
        expect(status).to_contain_text(said)
    again.fill(PHRASE)
    with page.expect_download() as download:
        page.locator("[data-export-locked]").tap()
        # The passphrase takes its time by design: where it took too long for one tap, the page asks for a second.
        expect(status).to_contain_text(re.compile("press again|check that the file"))
        if "press again" in status.inner_text():
            page.locator("[data-export-locked]").tap()
    path = tmp_path / download.value.suggested_filename
    download.value.save_as(path)
    assert path.name.endswith(".json.locked") and b"html" not in path.read_bytes()
    # A new phone: the first screen leads to where a copy is loaded, as one's own.
    second = new_context(**PHONE).new_page()
    second.goto("")
    second.get_by_role("link", name="New phone, or records gone? Load a copy").tap()
    second.wait_for_url("**/records/copies/")
    expect(second.locator("html")).to_have_attribute("data-mode", "own")
    second.locator("[data-import]").set_input_files(path)
    said = second.locator("[data-copy-status]")
    expect(said).to_have_text("This copy is locked. Type its passphrase.")
    field = second.locator("#import-passphrase")
    field.fill("heron reeds at high water")
    second.get_by_role("button", name="Open the copy").tap()
    expect(said).to_contain_text("That passphrase doesn’t open this copy.")
    expect(second.locator("[data-import-confirm]")).to_be_hidden()
    field.fill(PHRASE)
    second.get_by_role("button", name="Open the copy").tap()
    expect(said).to_have_text("Records to add: 1")
    second.locator("[data-import-confirm]").tap()
    expect(said).to_have_text("Records added: 1")
    assert stored(second, "events") == stored(page, "events")
    # The passphrase was right; one bit of what it locks was not.
    damaged = bytearray(path.read_bytes())
    damaged[-20] ^= 1
    second.locator("[data-import]").set_input_files({"name": "x.locked", "mimeType": "", "buffer": bytes(damaged)})
    field.fill(PHRASE)
    second.get_by_role("button", name="Open the copy").tap()
    expect(said).to_contain_text("This copy is damaged.")


def test_the_tables_hold_each_record_and_run_no_formula_and_markup_in_a_copy_is_text(page: Page, record: dict[str, Any]) -> None:
    own_workshop(page)
    page.goto("scale/")
    Floor(Touch(page), "").comes("lists")
    times = {"at": "2026-11-30T08:00:00.000Z", "local": "2026-11-30T08:00:00+00:00"}
    bad = '=HYPERLINK("http://x","<img src=x onerror=alert(1)>")'
    mould = {"id": "m1", **times, "kind": "saved", "subject": "mould:m-1", "values": {"name": bad, "note": "Düne, ½"}}
    put(page, [record, mould])
    copies_page(page)
    page.get_by_text("Tables for a spreadsheet").tap()
    with page.expect_download() as download:
        page.locator("[data-export-tables]").tap()
    with zipfile.ZipFile(download.value.path()) as packed:
        assert packed.testzip() is None
        tables = {name: list(csv.DictReader(io.StringIO(packed.read(name).decode("utf-8-sig")))) for name in packed.namelist()}
    [row] = tables["saved.mould.csv"]
    assert (row["values.name"], row["values.note"], row["id"]) == (f"'{bad}", "Düne, ½", "m1")
    [sheet] = tables["issued.csv"]
    assert sheet["code"] == record["code"]
    assert [row["key"] for row in tables["issued.pours.csv"]] == [pour["key"] for pour in record["pours"]]
    # The same name out of a copy, on the screen that shows what would change.
    with page.expect_download() as copied:
        page.locator("[data-export]").tap()
    content = json.loads(Path(copied.value.path()).read_text("utf-8"))
    [again] = [event for event in content["events"] if event["id"] == "m1"]
    again |= {"id": "m2", "at": "2026-11-30T09:00:00.000Z", "values": {"name": "<b>Elm</b>"}}
    events = json.dumps([again], sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    digest = page.evaluate(
        "async (text) => [...new Uint8Array(await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text)))]"
        ".map((byte) => byte.toString(16).padStart(2, '0')).join('')", events)  # fmt: skip
    bundle = f'{{"events":{events},"format":"tarewell-records","sha256":"{digest}","version":1}}'
    page.locator("[data-import]").set_input_files({"name": "x.json", "mimeType": "application/json", "buffer": bundle.encode()})
    expect(page.locator("[data-import-preview]")).to_contain_text(f"{bad} → <b>Elm</b>")
    assert page.locator("[data-import-preview] :is(img, b)").count() == 0
