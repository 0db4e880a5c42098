"""From phone to phone: a formula in a code, taken in by a link and never saved unasked; a sheet in a file; markup that stays text."""

from __future__ import annotations

import base64
import hashlib
import json
import zlib
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from codes import read
from conftest import NARROW, PHONE
from PIL import Image
from playwright.sync_api import BrowserContext, Page, expect
from screens import answered, control, form_of, own_workshop, stored, there
from site_server import SiteServer

NewContext = Callable[..., BrowserContext]
LONG = 40_000
AT = "2026-11-25T08:00:00"


def saved(subject: str, values: dict[str, str], **more: Any) -> dict[str, Any]:
    return {"id": f"seed-{subject.replace(':', '-')}", "at": f"{AT}.000Z", "local": f"{AT}+00:00", "kind": "saved", "subject": subject,
            "values": values, **more}  # fmt: skip


def link_part(events: list[dict[str, Any]]) -> str:
    """What stands behind "#", put together here: RFC 1951 by Python's zlib, RFC 4648 by its base64."""
    def ordered(value: Any) -> str:
        return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    copy = {"events": events, "format": "tarewell-records", "sha256": hashlib.sha256(ordered(events).encode()).hexdigest(), "version": 1}
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    packed = packer.compress(ordered(copy).encode()) + packer.flush()
    return "1." + base64.urlsafe_b64encode(packed).decode().rstrip("=")


def squares(page: Page) -> int:
    """Squares on a side of the code that is shown, its margin included."""
    box = there(page, "[data-hand-code] svg.qr", 40).get_attribute("viewBox")
    assert box is not None
    return int(box.split()[2])


@pytest.fixture
def formula(new_context: NewContext, server: SiteServer) -> Page:
    """A phone with a formula of one's own, at the form."""
    page = new_context(server, **PHONE).new_page()
    own_workshop(page)
    page.goto("formula/edit/#new")
    form = form_of(page, "formula")
    there(page, 'form[data-task="formula"][data-filled]')
    page.locator("#f-oils_text").fill("olive 45, palm 30, coconut 25")
    for name, text in (("name", "Reed Lavender"), ("superfat_fraction", "6"), ("lye_strength_fraction", "32")):
        control(form, name).fill(text)
    answered(page, "formula")
    form.get_by_role("button", name="Save", exact=True).tap()
    page.wait_for_url("**/formula/")
    page.get_by_role("link", name="Reed Lavender").first.tap()
    return page


def test_a_formula_goes_from_a_code_to_another_phone_and_is_saved_at_a_tap_alone(
    formula: Page, new_context: NewContext, server: SiteServer, tmp_path: Path
) -> None:
    formula.get_by_role("link", name="Hand to another phone").tap()
    # Seen from arm's length: half a millimeter a square at 160 px to the inch would be 3.1 px; a screen's picture is sharper than print.
    sides = squares(formula)
    box = formula.locator("svg.qr").bounding_box()
    assert box and box["width"] / sides >= 3 and box["y"] + box["height"] <= 844
    with formula.expect_download() as download:
        formula.get_by_role("button", name="Hand it over as a file").tap()
    path = tmp_path / download.value.suggested_filename
    download.value.save_as(path)
    events = json.loads(path.read_text(encoding="utf-8"))["events"]
    assert [event["kind"] for event in events] == ["saved"]
    # The other phone has never opened the app. Its camera is a reader from outside, which sees the screen; the code holds what the file holds.
    (link,) = read(np.asarray(Image.open(BytesIO(formula.screenshot())).convert("L")))
    assert link.startswith(f"{server.url}take/#1.")
    other = new_context(server, **PHONE).new_page()
    other.goto(link)
    item = other.locator("[data-take-list] > li")
    expect(item).to_contain_text("Formula: Reed Lavender", timeout=LONG)
    expect(item).to_contain_text("New on this phone")
    expect(item.locator("tr", has_text="Olive oil")).to_contain_text("45")
    expect(other.locator("[data-take-from-link]")).to_contain_text("This came from a link.")
    assert stored(other, "events") == []
    other.get_by_role("button", name="Save it on this phone").tap()
    expect(other.locator("[data-take-status]")).to_have_text("Records added: 1")
    assert stored(other, "events") == events
    other.reload()
    expect(other.locator("[data-take-status]")).to_have_text("All of it is here already. Nothing to add.")
    expect(other.get_by_role("button", name="Save it on this phone")).to_have_count(0)
    # Both change it: the one who takes it sees both, side by side, and which one counts then.
    theirs = {**events[0], "id": "theirs", "at": "2099-11-25T08:00:00.000Z", "values": {**events[0]["values"], "superfat_fraction": "8"}}
    other.goto(f"take/#{link_part([theirs])}")
    other.reload()
    expect(item).to_contain_text("Changed on both phones: compare before you save it", timeout=LONG)
    expect(item.locator("tbody tr")).to_have_count(1)
    assert item.locator("tbody tr td").all_text_contents() == ["6 %", "8 %"]
    expect(item).to_contain_text("Once saved, the one from the other phone counts.")
    assert stored(other, "events") == events


def test_a_bad_link_says_so_and_markup_in_a_name_stays_text(new_context: NewContext, server: SiteServer) -> None:
    page = new_context(server, **NARROW).new_page()
    own_workshop(page)
    name = "<img src=x onerror=\"document.title='struck'\"><script>document.title='struck'</script>" + "w" * 60
    values = {"name": name, "oils.0.oil": "<b>olive</b>", "oils.0.share_fraction": "100", "notes": "<svg onload=alert(1)>"}
    page.goto(f"take/#{link_part([saved('formula:f-1', values, revision=1)])}")
    expect(page.locator("[data-take-list] h2")).to_contain_text("<img src=x", timeout=LONG)
    assert page.locator("[data-take-list] :is(img, script, svg, b)").count() == 0
    assert "struck" not in page.title()
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    # A sheet that would stand in for the page's own controls, dated after today.
    hooks = ("data-take-confirm", "data-take-status", 'data-do="yes"', 'id="take-file"', 'href="/formula/" class="button"')
    sheet = {"id": "s-1", "at": "2031-01-01T08:00:00.000Z", "local": "2031-01-01T08:00:00+00:00", "kind": "issued", "subject": "batch:QM-1",
             "code": "QM-1", "html": "".join(f"<p><a {hook}>Tap here</a></p>" for hook in hooks)}  # fmt: skip
    page.goto(f"take/#{link_part([sheet])}")
    page.get_by_text("The sheet as it was issued").tap()
    for text in page.get_by_text("Tap here").all():
        text.tap()
    expect(page.locator("[data-take-future]")).to_contain_text("the last on 2031-01-01")
    expect(page.locator("[data-take-status]")).to_have_text("")
    expect(page.get_by_role("button", name="Save it on this phone")).to_be_visible()
    assert stored(page, "events") == [] and "/take/" in page.url
    good = link_part([saved("formula:f-1", {"name": "Plain"}, revision=1)])
    for part, said in (
        (good[:-9], "incomplete or damaged"),
        ("2" + good[1:], "A newer version of Tarewell made this link."),
        (link_part([saved("person:p-1", {"name": "Q"})]), "records that only a copy may bring"),
        ("1." + base64.urlsafe_b64encode(zlib.compress(b" " * 30_000_000, 9)[2:-4]).decode().rstrip("="), "more than any link"),
    ):
        page.goto(f"take/#{part}")
        page.reload()
        expect(page.locator("[data-take-status]")).to_contain_text(said, timeout=LONG)
        expect(page.get_by_role("button", name="Save it on this phone")).to_have_count(0)
    assert stored(page, "events") == []


def test_a_sheet_is_too_much_for_a_code_and_goes_as_a_file(record: dict[str, Any], new_context: NewContext, server: SiteServer, tmp_path: Path) -> None:
    page = new_context(server, **PHONE).new_page()
    own_workshop(page)
    path = tmp_path / "sheet.json"
    ordered = json.dumps([record], sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    copy = {"events": [record], "format": "tarewell-records", "sha256": hashlib.sha256(ordered.encode()).hexdigest(), "version": 1}
    path.write_text(json.dumps(copy, sort_keys=True, separators=(",", ":"), ensure_ascii=False), encoding="utf-8")
    page.goto("take/")
    page.locator("[data-take-file]").set_input_files(path)
    item = page.locator("[data-take-list] > li")
    expect(item).to_contain_text(f"Batch sheet {record['code']}", timeout=LONG)
    page.get_by_role("button", name="Save it on this phone").tap()
    expect(page.locator("[data-take-status]")).to_have_text("Records added: 1")
    page.goto(f"batch/sheet/#{record['code']}")
    page.get_by_role("link", name="Hand to another phone").tap()
    expect(page.locator("[data-hand-large]")).to_be_visible(timeout=LONG)
    expect(page.locator("svg.qr")).to_have_count(0)
    with page.expect_download() as download:
        page.get_by_role("button", name="Hand it over as a file").tap()
    assert json.loads(Path(download.value.path()).read_text(encoding="utf-8"))["events"] == [record]
