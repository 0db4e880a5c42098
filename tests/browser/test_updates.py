"""A new build waits for a tap, takes nothing from a page that is at work, and can be called back; records stay as they are."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import keeping
import pytest
from conftest import PHONE
from keeping import MakeSite, NewContext, caches_of, look_for_update
from other_build import MARK, another, build_name, listed
from playwright.sync_api import Page, expect
from screens import OWN, PAGES, PRACTICE, answered, control, draft_kept, form_of, kept_offline, stored, until

faulty = keeping.faulty

# The list of blocks in hand, by itself: what it is made from is tested elsewhere.
IN_HAND = """([database, put]) => new Promise((resolve, reject) => {
  const opening = indexedDB.open(database);
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const writing = opening.result.transaction('blocks', 'readwrite');
    const entry = {subject: 'block:QM-1/1', code: 'QM-1', block: 1, at: '2026-01-02T08:00:00.000Z'};
    if (put) writing.objectStore('blocks').put(entry);
    else writing.objectStore('blocks').delete(entry.subject);
    writing.oncomplete = () => { opening.result.close(); resolve(); };
  };
})"""

# Chromium's word for a server that is gone, when it looks for a new build.
SERVER_GONE = "ERR_CONNECTION"


@pytest.fixture
def second(site_folder: Path, tmp_path: Path) -> Path:
    """The build that comes after the one under test."""
    return another(site_folder, tmp_path / "second", "bbbbbbbbbbbb")


def save_a_mould(page: Page, name: str) -> None:
    page.goto("workshop/edit/#mould/m-block")
    answered(page, "mould")
    control(form_of(page, "mould"), "name").fill(name)
    form_of(page, "mould").get_by_role("button", name="Save this").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")


def records(page: Page) -> str:
    """All records, as one text, so that any difference is seen."""
    return json.dumps([stored(page, name) for name in ("events", "batches")], sort_keys=True)


def back_to_practice(page: Page) -> None:
    """One of all pages is the set-up, which is of one's own workshop and chooses it; the work of these tests is in practice."""
    page.evaluate("localStorage.setItem('tarewell-mode', 'practice')")


# The error of a database that the browser can't read just now (Indexed Database API, "UnknownError").
FAILS_ONCE = """(() => {
  const real = IDBFactory.prototype.open;
  IDBFactory.prototype.open = () => {
    IDBFactory.prototype.open = real;
    throw new DOMException("for a test", "UnknownError");
  };
})()"""


def build_shown(page: Page) -> str:
    """The build whose files the page uses."""
    address = page.locator('script[src*="static."]').first.get_attribute("src") or ""
    return address.split("static.")[1].split("/")[0]


def test_a_new_build_waits_for_the_tap_and_leaves_work_alone(
    faulty: MakeSite, new_context: NewContext, site_folder: Path, second: Path
) -> None:
    first = build_name(site_folder)
    site = faulty()
    context = new_context(site, **PHONE)
    context.watch.allow(SERVER_GONE)
    work = context.new_page()
    work.goto("")
    kept_offline(work)
    save_a_mould(work, "Old oak mould")
    # Half-typed work in one tab; a second tab that only looks.
    work.goto("batch/")
    answered(work, "batch_sheet")
    control(form_of(work, "batch_sheet"), "blocks").fill("3")
    draft_kept(work, "3")
    work.evaluate("globalThis.stillThisPage = true")
    looking = context.new_page()
    looking.goto("sources/")
    kept_offline(looking)
    before = records(work)

    site.tell(folder=second)
    assert look_for_update(looking) == "installed"
    site.kill()

    # Nothing changes: every page of the first build still opens, in a new tab too.
    expect(looking.locator("#update-bar")).to_be_visible()
    expect(work.locator("#update-bar")).to_be_hidden()
    tab = context.new_page()
    for path in PAGES:
        tab.goto(path)
        expect(tab.locator("h1")).to_be_visible()
        assert build_shown(tab) == first, path
        expect(tab.get_by_text(MARK)).to_have_count(0)
    back_to_practice(tab)
    tab.close()

    # The tap holds also where the store does not answer the first time.
    looking.evaluate(FAILS_ONCE)
    looking.locator("#update-bar button").tap()
    expect(looking.get_by_text(MARK)).to_be_visible(timeout=60_000)
    assert build_shown(looking) == "bbbbbbbbbbbb"

    # The page at work is the same page, calculates on, and still gets its own build's files.
    assert work.evaluate("globalThis.stillThisPage") is True
    assert build_shown(work) == first
    control(form_of(work, "batch_sheet"), "blocks").fill("4")
    expect(answered(work, "batch_sheet")).to_contain_text("All 4 blocks")
    own = [path for path in listed(site_folder) if path.startswith(f"static.{first}/")]
    assert own
    got = work.evaluate(
        "(urls) => Promise.all(urls.map((url) => fetch(url).then((response) => response.status)))",
        [site.url + path for path in own],
    )
    assert set(got) == {200}
    draft_kept(work, "4")

    # Opened again it is the new build, with what was typed.
    work.reload()
    assert build_shown(work) == "bbbbbbbbbbbb"
    expect(control(form_of(work, "batch_sheet"), "blocks")).to_have_value("4")
    expect(answered(work, "batch_sheet")).to_contain_text("All 4 blocks")
    assert records(work) == before
    work.goto("workshop/")
    expect(answered(work, "workshop")).to_contain_text("Old oak mould")


def test_a_page_finds_the_new_build_by_itself_and_offers_it_once_the_work_is_done(
    faulty: MakeSite, new_context: NewContext, site_folder: Path, second: Path
) -> None:
    first = build_name(site_folder)
    site = faulty()
    page = new_context(site, **PHONE).new_page()
    page.goto("batch/")
    kept_offline(page)
    control(form_of(page, "batch_sheet"), "blocks").fill("5")
    draft_kept(page, "5")
    site.tell(folder=second)
    page.reload()
    expect(page.locator("html")).to_have_attribute("data-busy", "")
    until(page, "navigator.serviceWorker.getRegistration().then((found) => found.waiting !== null)", "the new build")
    expect(page.locator("#update-bar")).to_be_hidden()
    assert build_shown(page) == first
    page.locator("[data-discard-draft]").tap()
    expect(page.locator("#update-bar")).to_be_visible()
    assert build_shown(page) == first
    # A request that nobody answers: as long as it runs, Chromium keeps the old worker in its place.
    site.tell({"batch/held-open": "hang"}, second)
    page.evaluate("void fetch('held-open')")
    page.locator("#update-bar button").tap()
    expect(page.get_by_text(MARK)).to_be_visible()
    expect(page.locator("#update-bar")).to_be_hidden()
    page.reload()
    expect(page.get_by_text(MARK)).to_be_visible()
    kept_offline(page)
    expect(page.locator("#update-bar")).to_be_hidden()


def test_a_new_build_waits_for_its_tap_also_where_the_app_was_closed_meanwhile_with_a_block_in_hand(
    faulty: MakeSite, new_context: NewContext, site_folder: Path, second: Path
) -> None:
    """A browser starts a waiting worker when the last page is closed; the pages stay the old build's, and no text is lost."""
    first = build_name(site_folder)
    site = faulty()
    context = new_context(site, **PHONE)
    context.watch.allow(SERVER_GONE)
    page = context.new_page()
    page.goto("workshop/edit/#mould/m-block")
    kept_offline(page)
    control(form_of(page, "mould"), "name").fill("Half-typed name")
    draft_kept(page, "Half-typed name")
    # These pages are in practice; a block of one's own may be weighed in another tab.
    for database in (PRACTICE, OWN):
        page.evaluate(IN_HAND, [database, True])
    site.tell(folder=second)
    assert look_for_update(page) == "installed"
    site.kill()
    page.close()
    again = context.new_page()
    again.goto("sources/")
    # Chromium does it by itself only half a minute after the last page was closed.
    inspector = context.new_cdp_session(again)
    inspector.send("ServiceWorker.enable")
    inspector.send("ServiceWorker.skipWaiting", {"scopeURL": site.url})
    until(again, "navigator.serviceWorker.getRegistration().then((found) => found.waiting === null)", "the new worker to run", 60)
    for path in PAGES:
        again.goto(path)
        assert build_shown(again) == first, path
    back_to_practice(again)
    expect(again.locator("#update-bar")).to_be_hidden()
    # The block is closed: now the tap may decide.
    again.goto("workshop/edit/#mould/m-block")
    answered(again, "mould")
    expect(control(form_of(again, "mould"), "name")).to_have_value("Half-typed name")
    for database in (PRACTICE, OWN):
        expect(again.locator("#update-bar")).to_be_hidden()
        again.evaluate(IN_HAND, [database, False])
        again.goto("sources/")
        kept_offline(again)
    expect(again.locator("#update-bar")).to_be_visible()
    assert build_shown(again) == first
    again.locator("#update-bar button").tap()
    expect(again.get_by_text(MARK)).to_be_visible()
    assert build_shown(again) == "bbbbbbbbbbbb"
    expect(again.locator("#update-bar")).to_be_hidden()


def test_the_kill_switch_takes_the_copy_away_and_a_good_build_brings_it_back(
    faulty: MakeSite, new_context: NewContext, site_folder: Path, second: Path, tmp_path: Path
) -> None:
    site = faulty()
    context = new_context(site, **PHONE)
    context.watch.allow(SERVER_GONE)
    page = context.new_page()
    page.goto("")
    kept_offline(page)
    save_a_mould(page, "Old oak mould")
    page.goto("batch/")
    answered(page, "batch_sheet")
    control(form_of(page, "batch_sheet"), "blocks").fill("3")
    draft_kept(page, "3")
    before = records(page)
    drafts = stored(page, "drafts")

    switched_off = tmp_path / "switched-off"
    shutil.copytree(site_folder, switched_off)
    shutil.copyfile(switched_off / "service-worker.kill.js", switched_off / "service-worker.js")
    site.tell(folder=switched_off)
    page.evaluate("navigator.serviceWorker.getRegistration().then((found) => { found.update() })")
    until(page, "navigator.serviceWorker.getRegistrations().then((found) => found.length === 0)", "the worker to go")
    assert page.evaluate("caches.keys()") == []
    assert records(page) == before
    assert stored(page, "drafts") == drafts

    # The app works from the server and says so; opening it again brings no copy back.
    page.reload()
    expect(control(form_of(page, "batch_sheet"), "blocks")).to_have_value("3")
    expect(answered(page, "batch_sheet")).to_contain_text("All 3 blocks")
    expect(page.locator("html")).to_have_attribute("data-offline", "off")
    assert page.evaluate("caches.keys()") == []

    # Newer than the switch: our server goes by the time of the file.
    (second / "service-worker.js").touch()
    site.tell(folder=second)
    page.reload()
    kept_offline(page)
    (kept,) = caches_of(page).values()
    assert kept == {site.url + path: digest for path, digest in listed(second).items()}
    site.kill()
    page.reload()
    expect(page.get_by_text(MARK)).to_be_visible()
    expect(control(form_of(page, "batch_sheet"), "blocks")).to_have_value("3")
    assert records(page) == before
