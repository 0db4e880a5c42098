"""The snapshot travels packed and is kept unpacked, whatever the host or the browser makes of it."""

from __future__ import annotations

import gzip
import hashlib
from pathlib import Path

import keeping
from keeping import MakeSite, NewContext, caches_of, look_for_update
from other_build import another, listed
from playwright.sync_api import Page
from screens import answered, kept_offline

faulty = keeping.faulty

WAY = "performance.getEntriesByName('tarewell-python-ready').map((mark) => mark.detail)"
UNABLE = "delete globalThis.DecompressionStream;\n"


def snapshot_of(folder: Path) -> Path:
    (found,) = (folder / "runtime").glob("snapshot.*")
    return found


def kept_snapshot(page: Page, folder: Path) -> str:
    """The digest of what the newest build's cache holds of it."""
    name = snapshot_of(folder).relative_to(folder).as_posix()
    return next(digest for url, digest in list(caches_of(page).values())[-1].items() if url.endswith(name))


def digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def starts_from_it(page: Page) -> None:
    page.reload()
    answered(page, "batch_sheet")
    assert page.evaluate(WAY) == ["snapshot"]


def test_a_host_that_unpacks_it_on_the_way_does_no_harm(
    faulty: MakeSite, new_context: NewContext, site_folder: Path, tmp_path: Path
) -> None:
    """As one does that takes the packed form for a way of sending: the browser then sees the plain content."""
    unpacking = another(site_folder, tmp_path / "unpacking", "bbbbbbbbbbbb")
    plain = gzip.decompress(snapshot_of(unpacking).read_bytes())
    snapshot_of(unpacking).write_bytes(plain)
    site = faulty(folder=unpacking)
    page = new_context(site).new_page()
    page.goto("batch/")
    answered(page, "batch_sheet")
    assert page.evaluate(WAY) == ["snapshot"]
    kept_offline(page)
    assert kept_snapshot(page, unpacking) == digest(plain)
    site.kill()
    starts_from_it(page)


def test_what_an_older_build_has_kept_unpacked_is_taken_over(
    faulty: MakeSite, new_context: NewContext, site_folder: Path, tmp_path: Path
) -> None:
    """Builds before this form sent it plain, under the same name: the update must not want it again."""
    older = another(site_folder, tmp_path / "older", "aaaaaaaaaaaa")
    plain = gzip.decompress(snapshot_of(older).read_bytes())
    snapshot_of(older).write_bytes(plain)
    site = faulty(folder=older)
    context = new_context(site)
    context.watch.allow("ERR_CONNECTION")
    page = context.new_page()
    page.goto("batch/")
    kept_offline(page)
    newer = another(site_folder, tmp_path / "newer", "bbbbbbbbbbbb")
    site.tell({snapshot_of(newer).relative_to(newer).as_posix(): "500"}, newer)
    assert look_for_update(page) == "installed"
    assert kept_snapshot(page, newer) == digest(plain)
    site.kill()
    starts_from_it(page)


def test_a_browser_that_cannot_unpack_calculates_the_other_way_until_it_can(
    faulty: MakeSite, new_context: NewContext, site_folder: Path, tmp_path: Path
) -> None:
    def unable(folder: Path) -> None:
        for worker in folder.glob("static.*/js/worker/*.mjs"):
            worker.write_text(UNABLE + worker.read_text("utf-8"), "utf-8")

    lame = another(site_folder, tmp_path / "lame", "aaaaaaaaaaaa", unable)
    script = lame / "service-worker.js"
    script.write_text(UNABLE + script.read_text("utf-8"), "utf-8")
    site = faulty(folder=lame)
    context = new_context(site)
    context.watch.allow("ERR_CONNECTION")
    page = context.new_page()
    page.goto("batch/")
    answered(page, "batch_sheet")
    assert page.evaluate(WAY) == ["fallback"]
    kept_offline(page)
    packed = snapshot_of(lame).read_bytes()
    assert kept_snapshot(page, lame) == digest(packed)
    site.kill()
    page.reload()
    answered(page, "batch_sheet")
    # The browser has become a newer one by the next build.
    able = another(site_folder, tmp_path / "able", "bbbbbbbbbbbb")
    site.tell(folder=able)
    site.start()
    assert look_for_update(page) == "installed"
    assert kept_snapshot(page, able) == digest(gzip.decompress(packed)) == listed(able)[snapshot_of(able).relative_to(able).as_posix()]
