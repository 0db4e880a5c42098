"""The service worker keeps a whole build or nothing; offline is proved by killing the server's process."""

from __future__ import annotations

import gzip
import hashlib
import re
from pathlib import Path

import keeping
import pytest
from keeping import MakeSite, NewContext, caches_of, look_for_update
from other_build import MARK, another, build_name, listed
from playwright.sync_api import expect
from screens import answered, kept_offline, until

# Address -> its heading, and a region that holds a live answer.
PAGES = {
    "": ("Weigh every block of soap right.", ""),
    "records/": ("Batch log", ""),
    "records/stock/": ("Stock and cost", "stock"),
    "records/trace/": ("Trace", ""),
    "workshop/upkeep/": ("Upkeep", ""),
    "records/copies/": ("Copies", ""),
    "formula/": ("Formula", "formula_list"),
    "formula/edit/": ("Edit a formula", "formula"),
    "batch/": ("Batch sheet", "batch_sheet"),
    "batch/sheet/": ("Batch", ""),
    "cut/": ("Cut plan", "cut_plan"),
    "scale/": ("At the scale", ""),
    "fragrance/": ("Fragrance", "fragrance"),
    "workshop/": ("Workshop", "workshop"),
    "workshop/edit/": ("Edit the workshop", "shop"),
    "workshop/setup/": ("Set up my workshop", ""),
    "sources/": ("Sources", ""),
    "emergency/": ("Emergency card", ""),
    "safety/": ("Safety walk", ""),
    "safety/labels/": ("Container labels", ""),
}
# One of each kind of file, each with another way of going wrong, and the first and last of the list.
SPOILED = [
    ("", "html"),
    ("404.html", "500"),
    ("batch/", "flipped"),
    ("static/js/pages/form.mjs", "cut"),
    ("static/practice.json", "short"),
    ("static/sheets/every.css", "html"),
    ("static/fonts/atkinson-hyperlegible-latin-400-normal.woff2", "flipped"),
    ("runtime/snapshot", "truncated"),
    ("runtime/app", "500"),
    ("workshop/edit/", "truncated"),
]

faulty = keeping.faulty


def path_of(files: dict[str, str], shown: str) -> str:
    """The listed address for one whose digest or build is left out."""
    if shown in files:
        return shown
    pattern = re.escape(shown).replace("static/", r"static\.\w+/") + r"(\.\w+\.\w+)?"
    (found,) = [path for path in files if re.fullmatch(pattern, path)]
    return found


def test_every_file_kept_is_the_builds_own(faulty: MakeSite, new_context: NewContext, site_folder: Path) -> None:
    site = faulty()
    page = new_context(site).new_page()
    page.goto("batch/")
    kept_offline(page)
    kept = caches_of(page)
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
            content = path.read_bytes()
            # The snapshot alone travels packed and is kept unpacked.
            kept_content = gzip.decompress(content) if name.startswith("runtime/snapshot.") else content
            assert expected.pop(site.url + address) == hashlib.sha256(kept_content).hexdigest()
    assert not expected


def test_with_the_server_dead_every_page_of_a_sub_path_opens_in_a_new_tab_and_answers(
    faulty: MakeSite, new_context: NewContext
) -> None:
    site = faulty("/shop/tarewell/")
    context = new_context(site)
    page = context.new_page()
    page.goto("batch/")
    kept_offline(page)
    site.kill()
    page.reload()
    answered(page, "batch_sheet")
    page.close()
    for path, (heading, region) in PAGES.items():
        tab = context.new_page()
        tab.goto(path)
        expect(tab.locator("h1")).to_contain_text(heading, use_inner_text=True)
        expect(tab.locator("html")).to_have_attribute("data-offline", "ready")
        if region:
            answered(tab, region)
        tab.close()


def test_offline_addresses(faulty: MakeSite, new_context: NewContext) -> None:
    """Query and hash change nothing; a missing slash and index.html lead to the page; the rest to the 404 page."""
    site = faulty("/shop/tarewell/")
    context = new_context(site)
    page = context.new_page()
    page.goto("")
    kept_offline(page)
    site.kill()
    for address in ("batch/?from=homescreen", "batch/?a=1&b=2#f-reed-lavender", "batch", "batch/index.html"):
        page.goto("sources/")
        page.goto(address)
        expect(page.locator("h1")).to_have_text("Batch sheet")
        answered(page, "batch_sheet")
    page.goto("batch/?x=1#f-reed-lavender")
    expect(page.locator("#f-formula")).to_have_value("f-reed-lavender")
    # What is no page of this build is asked of the server first: another app may live inside our folder.
    context.watch.allow("ERR_CONNECTION_REFUSED")
    for address in ("no/such/page/", "formulas", "batch/sheet/QM-1.html"):
        page.goto(address)
        expect(page.locator("h1")).to_have_text("There’s no page at this address")
    page.get_by_role("link", name="Go to the first page").click()
    expect(page).to_have_url(re.compile(r"/shop/tarewell/$"))
    # As it is shown: where something is recorded, the same heading reads Today.
    expect(page.locator("h1")).to_have_text(PAGES[""][0], use_inner_text=True)


def test_two_installations_of_one_origin_leave_each_other_alone(
    faulty: MakeSite, new_context: NewContext, site_folder: Path, tmp_path: Path
) -> None:
    both = tmp_path / "both"
    another(site_folder, both / "shop", "aaaaaaaaaaaa")
    another(site_folder, both / "market", "bbbbbbbbbbbb")
    site = faulty("/", both)
    context = new_context(site)
    first, second = context.new_page(), context.new_page()
    first.goto("shop/")
    kept_offline(first)
    second.goto("market/")
    kept_offline(second)
    assert sorted(second.evaluate("caches.keys()")) == ["tarewell /market/ bbbbbbbbbbbb", "tarewell /shop/ aaaaaaaaaaaa"]
    # Two more builds of the second: the tidying up of its oldest touches nothing of the first.
    for name in ("cccccccccccc", "dddddddddddd"):
        (both / "market").rename(tmp_path / f"before-{name}")
        another(site_folder, both / "market", name)
        assert look_for_update(second) == "installed"
        second.locator("#update-bar button").click()
        expect(second.locator(f'script[src*="static.{name}"]').first).to_be_attached()
    until(second, "caches.keys().then((names) => names.length === 3)", "the oldest build to go")
    assert sorted(second.evaluate("caches.keys()")) == [
        "tarewell /market/ cccccccccccc",
        "tarewell /market/ dddddddddddd",
        "tarewell /shop/ aaaaaaaaaaaa",
    ]
    site.kill()
    for page, prefix, name in ((first, "shop", "aaaaaaaaaaaa"), (second, "market", "dddddddddddd")):
        page.goto(f"{prefix}/sources/")
        expect(page.locator(f'script[src*="static.{name}"]').first).to_be_attached()


def test_an_installation_inside_anothers_folder(
    faulty: MakeSite, new_context: NewContext, site_folder: Path, tmp_path: Path
) -> None:
    both = tmp_path / "both"
    another(site_folder, both, "aaaaaaaaaaaa")
    another(site_folder, both / "trial", "bbbbbbbbbbbb")
    site = faulty("/", both)
    page = new_context(site).new_page()
    page.goto("")
    kept_offline(page)
    page.goto("trial/batch/")
    expect(page.locator("h1")).to_have_text("Batch sheet")
    kept_offline(page)
    assert sorted(page.evaluate("caches.keys()")) == ["tarewell / aaaaaaaaaaaa", "tarewell /trial/ bbbbbbbbbbbb"]
    site.kill()
    page.reload()
    expect(page.locator('script[src*="static.bbbbbbbbbbbb"]').first).to_be_attached()
    answered(page, "batch_sheet")


def test_a_build_with_one_bad_file_never_replaces_the_one_that_works(
    faulty: MakeSite, new_context: NewContext, site_folder: Path, tmp_path: Path
) -> None:
    first = build_name(site_folder)

    def other_runtime(folder: Path) -> None:
        # Else the new build would take these from the old one's cache, and the server's fault would never show.
        for path in (folder / "runtime").rglob("*.*"):
            content = path.read_bytes()
            packed = path.name.startswith("snapshot.")
            path.write_bytes(gzip.compress(gzip.decompress(content) + b"\n") if packed else content + b"\n")

    second = another(site_folder, tmp_path / "second", "bbbbbbbbbbbb", other_runtime)
    files = listed(second)
    site = faulty()
    context = new_context(site)
    context.watch.allow("service-worker", "Failed to load resource", "request failed")
    page = context.new_page()
    page.goto("batch/")
    kept_offline(page)
    kept = caches_of(page)
    for shown, fault in SPOILED:
        path = path_of(files, shown)
        site.tell({path: fault}, second)
        assert look_for_update(page) == "redundant", (path, fault)
        assert page.evaluate("() => caches.keys()") == [f"tarewell / {first}"], (path, fault)
        expect(page.locator("#update-bar")).to_be_hidden()
    assert caches_of(page) == kept
    site.kill()
    page.reload()
    answered(page, "batch_sheet")
    page.goto("sources/")
    expect(page.get_by_text(MARK)).to_have_count(0)


def test_a_first_visit_that_cannot_be_kept_whole_says_so_and_works_online(
    faulty: MakeSite, new_context: NewContext, site_folder: Path
) -> None:
    site = faulty()
    site.tell({"404.html": "flipped"})
    context = new_context(site)
    context.watch.allow("service-worker", "404.html")
    page = context.new_page()
    page.goto("batch/")
    answered(page, "batch_sheet")
    expect(page.locator("html")).to_have_attribute("data-offline", "off", timeout=10_000)
    expect(page.locator(".offline-off")).to_be_visible()
    assert page.evaluate("caches.keys()") == []
    # The next visit, when the host is well again, makes it whole.
    site.tell()
    page.reload()
    kept_offline(page)
    site.kill()
    page.goto("sources/")
    expect(page.locator("h1")).to_have_text("Sources")


@pytest.mark.parametrize("megabytes", [1, 12])
def test_no_room_for_the_copy_is_said_and_the_app_works_online(
    faulty: MakeSite, new_context: NewContext, megabytes: int
) -> None:
    site = faulty()
    context = new_context(site)
    context.watch.allow("service-worker", "Quota")
    page = context.new_page()
    devtools = page.context.new_cdp_session(page)
    devtools.send("Storage.overrideQuotaForOrigin", {"origin": site.origin, "quotaSize": megabytes * 10**6})
    page.goto("batch/")
    answered(page, "batch_sheet")
    expect(page.locator("html")).to_have_attribute("data-offline", "off", timeout=10_000)
    expect(page.locator(".offline-off")).to_be_visible()
    page.goto("workshop/")
    answered(page, "workshop")


def test_an_update_without_room_leaves_the_old_build_whole(
    faulty: MakeSite, new_context: NewContext, site_folder: Path, tmp_path: Path
) -> None:
    site = faulty()
    context = new_context(site)
    context.watch.allow("service-worker", "Quota", "ERR_CONNECTION_REFUSED")
    page = context.new_page()
    page.goto("batch/")
    kept_offline(page)
    kept = caches_of(page)
    devtools = page.context.new_cdp_session(page)
    used = page.evaluate("navigator.storage.estimate().then((room) => room.usage)")
    devtools.send("Storage.overrideQuotaForOrigin", {"origin": site.origin, "quotaSize": used + 200_000})
    site.tell(folder=another(site_folder, tmp_path / "second", "bbbbbbbbbbbb"))
    assert look_for_update(page) == "redundant"
    assert caches_of(page) == kept
    site.kill()
    page.reload()
    answered(page, "batch_sheet")
