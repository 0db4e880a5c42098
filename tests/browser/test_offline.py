"""The service worker keeps a whole build or nothing; offline is proved by killing the server's process."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from faulty_server import FaultySite
from other_build import MARK, another, build_name, listed
from playwright.sync_api import BrowserContext, Page, expect

NewContext = Callable[..., BrowserContext]
MakeSite = Callable[..., FaultySite]

HEADINGS = {
    "": "From a formula to a batch sheet",
    "formula/": "Formula",
    "formula/edit/": "Edit a formula",
    "batch/": "Batch sheet",
    "batch/sheet/": "Batch",
    "workshop/": "Workshop",
    "workshop/edit/": "Edit the workshop",
    "sources/": "Sources",
}
# One of each kind of file, each with another way of going wrong, and the first and last of the list.
SPOILED = [
    ("", "html"),
    ("404.html", "500"),
    ("batch/", "flipped"),
    ("static/js/page/main.mjs", "cut"),
    ("static/demo.json", "short"),
    ("static/css/base.css", "html"),
    ("static/fonts/atkinson-hyperlegible-latin-400-normal.woff2", "flipped"),
    ("runtime/snapshot", "truncated"),
    ("runtime/app", "500"),
    ("workshop/edit/", "truncated"),
]

CACHED = """async () => {
  const found = {};
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    found[name] = {};
    for (const request of await cache.keys()) {
      const bytes = await (await cache.match(request, {ignoreVary: true})).arrayBuffer();
      const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
      found[name][request.url] = [...digest].map((byte) => byte.toString(16).padStart(2, '0')).join('');
    }
  }
  return found;
}"""
# Looks for an update, and tells how that build's worker ended: "installed" or "redundant".
UPDATE = """async () => {
  const registration = await navigator.serviceWorker.getRegistration();
  const found = new Promise((resolve) => registration.addEventListener('updatefound', () => {
    const worker = registration.installing;
    worker.addEventListener('statechange', () => resolve(worker.state));
  }, {once: true}));
  await registration.update();
  return await found;
}"""


@pytest.fixture
def faulty(site_folder: Path, tmp_path: Path) -> Iterator[MakeSite]:
    made: list[FaultySite] = []

    def make(prefix: str = "/", folder: Path = site_folder) -> FaultySite:
        made.append(FaultySite(folder, tmp_path / f"server-{len(made)}", prefix))
        return made[-1]

    yield make
    for each in made:
        each.kill()


def stored(page: Page) -> None:
    """The app has said that it works without the server."""
    expect(page.locator("html")).to_have_attribute("data-offline", "ready", timeout=30_000)


def live(page: Page) -> None:
    expect(page.locator("[data-answer][data-live]:not([aria-busy])").first).to_be_attached(timeout=30_000)


def path_of(files: dict[str, str], shown: str) -> str:
    """The listed address for one whose digest or build is left out."""
    if shown in files:
        return shown
    pattern = re.escape(shown).replace("static/", r"static\.\w+/") + r"(\.\w+\.\w+)?"
    (found,) = [path for path in files if re.fullmatch(pattern, path)]
    return found


def test_every_file_kept_is_the_builds_own(new_context: NewContext, faulty: MakeSite, site_folder: Path) -> None:
    site = faulty()
    page = new_context(served=site).new_page()
    page.goto("batch/")
    stored(page)
    kept = page.evaluate(CACHED)
    assert list(kept) == [f"tarewell / {build_name(site_folder)}"]
    (kept_files,) = kept.values()
    expected = {site.url + path: digest for path, digest in listed(site_folder).items()}
    assert kept_files == expected
    # The list itself against the folder, read here anew: all files but those a host alone reads.
    unlisted = {"service-worker.js", "service-worker.kill.js", "_headers"}
    for path in site_folder.rglob("*"):
        name = path.relative_to(site_folder).as_posix()
        if path.is_file() and name not in unlisted:
            address = re.sub(r"(^|/)index\.html$", r"\1", name)
            assert expected.pop(site.url + address) == hashlib.sha256(path.read_bytes()).hexdigest()
    assert not expected


@pytest.mark.parametrize("prefix", ["/", "/shop/tarewell/"])
def test_with_the_server_dead_every_page_opens_in_a_new_tab_and_answers(
    new_context: NewContext, faulty: MakeSite, prefix: str
) -> None:
    site = faulty(prefix)
    context = new_context(served=site)
    page = context.new_page()
    page.goto("batch/")
    stored(page)
    site.kill()
    page.reload()
    live(page)
    page.close()
    for path, heading in HEADINGS.items():
        tab = context.new_page()
        tab.goto(path)
        expect(tab.locator("h1")).to_contain_text(heading)
        expect(tab.locator("html")).to_have_attribute("data-offline", "ready")
        if path in ("formula/", "formula/edit/", "batch/", "workshop/", "workshop/edit/"):
            live(tab)
        tab.close()


def test_offline_addresses(new_context: NewContext, faulty: MakeSite, watches: list[Any]) -> None:
    """Query and hash change nothing; a missing slash and index.html lead to the page; the rest to the 404 page."""
    site = faulty("/shop/tarewell/")
    page = new_context(served=site).new_page()
    page.goto("")
    stored(page)
    site.kill()
    for address in ("batch/?from=homescreen", "batch/?a=1&b=2#f-reed-lavender", "batch", "batch/index.html"):
        page.goto("sources/")
        page.goto(address)
        expect(page.locator("h1")).to_have_text("Batch sheet")
        live(page)
    page.goto("batch/?x=1#f-reed-lavender")
    expect(page.locator("#f-formula")).to_have_value("f-reed-lavender")
    # What is no page of this build is asked of the server first: another app may live inside our folder.
    watches[-1].allow("ERR_CONNECTION_REFUSED")
    for address in ("no/such/page/", "formulas", "batch/sheet/QM-1.html"):
        page.goto(address)
        expect(page.locator("h1")).to_have_text("There is no page at this address")
    page.get_by_role("link", name="Go to the first page").click()
    expect(page).to_have_url(re.compile(r"/shop/tarewell/$"))
    expect(page.locator("h1")).to_contain_text(HEADINGS[""])


def test_two_installations_of_one_origin_leave_each_other_alone(
    new_context: NewContext, watches: list[Any], faulty: MakeSite, site_folder: Path, tmp_path: Path
) -> None:
    """Two folders under one origin, the second inside the first's scope: own caches, own pages."""
    both = tmp_path / "both"
    another(site_folder, both / "shop", "aaaaaaaaaaaa")
    another(site_folder, both / "shop" / "tarewell", "bbbbbbbbbbbb")
    site = faulty("/", both)
    context = new_context(served=site)
    first, second = context.new_page(), context.new_page()
    first.goto("shop/")
    stored(first)
    second.goto("shop/tarewell/batch/")
    stored(second)
    assert set(second.evaluate("() => caches.keys()")) == {
        "tarewell /shop/ aaaaaaaaaaaa",
        "tarewell /shop/tarewell/ bbbbbbbbbbbb",
    }
    # The second's next build tidies up its own caches only.
    another(site_folder, tmp_path / "next", "cccccccccccc")
    (both / "shop" / "tarewell").rename(tmp_path / "old")
    (tmp_path / "next").rename(both / "shop" / "tarewell")
    assert second.evaluate(UPDATE) == "installed"
    second.locator("#update-bar button").click()
    expect(second.locator("html")).to_have_attribute("data-offline", "ready")
    expect(second.locator('script[src*="static.cccccccccccc"]').first).to_be_attached()
    site.kill()
    first.reload()
    expect(first.locator('script[src*="static.aaaaaaaaaaaa"]').first).to_be_attached()
    first.goto("shop/sources/")
    expect(first.locator('script[src*="static.aaaaaaaaaaaa"]').first).to_be_attached()
    second.goto("shop/tarewell/sources/")
    expect(second.locator('script[src*="static.cccccccccccc"]').first).to_be_attached()


def test_a_build_with_one_bad_file_never_replaces_the_one_that_works(
    new_context: NewContext, watches: list[Any], faulty: MakeSite, site_folder: Path, tmp_path: Path
) -> None:
    first = build_name(site_folder)

    def other_runtime(folder: Path) -> None:
        # Else the new build would take these from the old one's cache, and the server's fault would never show.
        for path in (folder / "runtime").rglob("*.*"):
            path.write_bytes(path.read_bytes() + b"\n")

    second = another(site_folder, tmp_path / "second", "bbbbbbbbbbbb", other_runtime)
    files = listed(second)
    site = faulty()
    page = new_context(served=site).new_page()
    watches[-1].allow("service-worker", "Failed to load resource", "request failed")
    page.goto("batch/")
    stored(page)
    kept = page.evaluate(CACHED)
    for shown, fault in SPOILED:
        path = path_of(files, shown)
        site.tell({path: fault}, second)
        assert page.evaluate(UPDATE) == "redundant", (path, fault)
        assert page.evaluate("() => caches.keys()") == [f"tarewell / {first}"], (path, fault)
        expect(page.locator("#update-bar")).to_be_hidden()
    assert page.evaluate(CACHED) == kept
    site.kill()
    page.reload()
    live(page)
    page.goto("sources/")
    expect(page.get_by_text(MARK)).to_have_count(0)
