"""Chromium, the served build, and the watch that every test ends with: nothing complained, nothing left this site.

`build.py test` sets TAREWELL_SITE (the built folder) and TAREWELL_CHROMIUM (a browser of this machine, may be empty).
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from at_home import AT_HOME
from floor import issue, record_of
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect, sync_playwright
from screens import answered, kept_offline, until
from site_server import SiteServer

# A busy machine is no fault of the code.
expect.set_options(timeout=20_000)

# Also keeps Chromium's own traffic away; the resolver rule makes any request to another host fail, and so be seen.
CHROMIUM_ARGUMENTS = [
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
]
PHONE: dict[str, Any] = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
NARROW: dict[str, Any] = {"viewport": {"width": 320, "height": 640}, "has_touch": True, "is_mobile": True}

# The mark of a build whose stored copy was exercised once (`offline.mjs`).
EXERCISED = "tarewell-exercised"


class Watch:
    """What went wrong in a browser context. A test that provokes a failure says so with `allow`."""

    def __init__(self, origin: str) -> None:
        self.origin = origin
        self.complaints: list[str] = []
        self._allowed: list[str] = []

    def over(self, context: BrowserContext) -> Callable[[], None]:
        """Starts watching, pages opened later included; gives what ends it."""
        heard: dict[str, Callable[[Any], None]] = {
            "console": lambda message: self._console(message.type, message.text),
            "weberror": lambda error: self.complaints.append(f"page error: {error.error}"),
            "request": lambda request: self._asked(request.url),
            "requestfailed": lambda request: self._failed(request.url, request.failure or ""),
        }
        for name, hear in heard.items():
            context.on(name, hear)  # type: ignore[call-overload]

        def end() -> None:
            for name, hear in heard.items():
                context.remove_listener(name, hear)

        return end

    def allow(self, *parts: str) -> None:
        """Complaints that hold one of these texts are expected, since this test provokes them."""
        self._allowed.extend(parts)

    def left(self) -> list[str]:
        """Complaints nobody expected."""
        return [each for each in self.complaints if not any(part in each for part in self._allowed)]

    def _console(self, kind: str, text: str) -> None:
        if kind in ("error", "warning"):
            self.complaints.append(f"console {kind}: {text}")

    def _asked(self, url: str) -> None:
        if not url.startswith((self.origin, "blob:", "data:")):
            self.complaints.append(f"request to another origin: {url}")

    def _failed(self, url: str, why: str) -> None:
        # A page that is left drops what it was still loading, in Chromium's words and in Firefox': no failure of the site.
        if "ERR_ABORTED" not in why and "NS_BINDING_ABORTED" not in why:
            self.complaints.append(f"request failed: {url} {why}")


@pytest.fixture(scope="session")
def site_folder() -> Path:
    """The built site."""
    named = os.environ.get("TAREWELL_SITE", "")
    if not named or not (Path(named) / "index.html").exists():
        pytest.skip("no built site: run these through `python3 build.py test tests/browser`")
    return Path(named)


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="session")
def chromium_options() -> dict[str, Any]:
    """How Chromium is launched, for `launch` and `launch_persistent_context` alike."""
    return {"executable_path": os.environ.get("TAREWELL_CHROMIUM") or None, "args": CHROMIUM_ARGUMENTS}


@pytest.fixture(scope="session")
def chromium(playwright: Playwright, chromium_options: dict[str, Any]) -> Iterator[Browser]:
    browser = playwright.chromium.launch(**chromium_options)
    yield browser
    browser.close()


@pytest.fixture(scope="session")
def server(site_folder: Path) -> Iterator[SiteServer]:
    """One server for all tests that leave it alone: each browser context has its own storage anyway."""
    with SiteServer(site_folder) as running:
        yield running


@pytest.fixture(scope="session")
def record(chromium: Browser, server: SiteServer) -> Iterator[dict[str, Any]]:
    """The demo's batch, issued once by the page itself; tests at the scale take it in as from another device."""
    context = chromium.new_context(base_url=server.url, **AT_HOME, **PHONE)
    page = context.new_page()
    yield record_of(page, issue(page))
    context.close()


@pytest.fixture
def mortal_server(site_folder: Path) -> Iterator[Callable[..., SiteServer]]:
    """Makes servers that this test may kill: `mortal_server("/sub/path/")`."""
    made: list[SiteServer] = []

    def make(prefix: str = "/", **options: Any) -> SiteServer:
        made.append(SiteServer(site_folder, prefix, **options))
        return made[-1]

    yield make
    for each in made:
        each.kill()


@pytest.fixture
def offline_phone(new_context: Callable[..., BrowserContext], mortal_server: Callable[..., SiteServer]) -> Callable[[str], Page]:
    """Opens a page on a phone that has stored the whole build, and goes on once its server is dead."""

    def opened(path: str) -> Page:
        server = mortal_server()
        page = new_context(server, **PHONE).new_page()
        page.goto(path)
        kept_offline(page)
        server.kill()
        page.reload()
        return page

    return opened


@pytest.fixture
def watches() -> Iterator[list[Watch]]:
    """Every watch of this test; its end is the claim that nothing complained."""
    started: list[Watch] = []
    yield started
    complaints = [each for watch in started for each in watch.left()]
    assert not complaints, "\n".join(complaints)


@pytest.fixture
def new_context(chromium: Browser, server: SiteServer, watches: list[Watch]) -> Iterator[Callable[..., BrowserContext]]:
    """Makes watched contexts, each with its own storage: `new_context(**PHONE, color_scheme="dark")`.

    `served` is another server than the shared one; relative addresses start at it. The watch is `context.watch`.
    """
    made: list[BrowserContext] = []

    def make(served: SiteServer = server, **options: Any) -> BrowserContext:
        context = chromium.new_context(base_url=served.url, **{**AT_HOME, **options})
        context.set_default_timeout(15_000)
        made.append(context)
        watches.append(Watch(served.origin))
        watches[-1].over(context)
        context.watch = watches[-1]
        return context

    yield make
    for each in made:
        each.close()


@pytest.fixture(scope="session")
def phone(chromium: Browser, server: SiteServer) -> Iterator[BrowserContext]:
    """A phone that has visited: the build is stored on it, and the exercise of its compiled code counts as done."""
    context = chromium.new_context(base_url=server.url, **AT_HOME, **PHONE)
    context.set_default_timeout(15_000)
    page = context.new_page()
    page.goto("batch/")
    kept_offline(page)
    page.reload()
    answered(page, "batch_sheet")
    until(page, f"localStorage.getItem({EXERCISED!r})", "the stored copy to be exercised")
    build = page.evaluate(f"localStorage.getItem({EXERCISED!r})")
    context.add_init_script(f"if (location.origin === {server.origin!r}) localStorage.setItem({EXERCISED!r}, {build!r})")
    page.close()
    yield context
    context.close()


@pytest.fixture
def page(phone: BrowserContext, server: SiteServer, watches: list[Watch]) -> Iterator[Page]:
    """A page on that phone, with nothing of the tests before it in its records. A first visit is a `new_context`,
    and so is a test that sets the clock: it would stay set for all tests after it."""
    watch = Watch(server.origin)
    watches.append(watch)
    page = phone.new_page()
    devtools = phone.new_cdp_session(page)
    devtools.send("Storage.clearDataForOrigin", {"origin": server.origin, "storageTypes": "indexeddb,local_storage,cookies"})
    end = watch.over(phone)
    phone.watch = watch
    yield page
    for each in phone.pages:
        each.close()
    end()


@pytest.fixture
def bare_page(new_context: Callable[..., BrowserContext]) -> Page:
    """A page of its own with neither a stored copy nor Python: for clocks and for answered requests where scripts alone count."""
    context = new_context(**PHONE, service_workers="block")
    context.watch.allow("Service Worker registration blocked by Playwright")
    context.add_init_script("if (location.origin !== 'null') sessionStorage.setItem('tarewell-runtime', 'none')")
    return context.new_page()


class LameSite:
    """The built site, whose Python can be taken away."""

    def __init__(self, folder: Path, built: Path) -> None:
        folder.mkdir()
        for each in built.iterdir():
            (folder / each.name).symlink_to(each)
        self.runtime = folder / "runtime"
        self.server = SiteServer(folder)

    def take_python_away(self) -> None:
        self.runtime.unlink(missing_ok=True)


@pytest.fixture
def lame_site(site_folder: Path, tmp_path: Path) -> Iterator[LameSite]:
    site = LameSite(tmp_path / "lame", site_folder)
    yield site
    site.server.kill()


def visitor(new_context: Callable[..., BrowserContext], site: LameSite) -> Page:
    """A page without an offline copy, which would have Python too."""
    context = new_context(site.server, **PHONE, service_workers="block")
    context.watch.allow("404", "Service Worker registration blocked by Playwright")
    return context.new_page()


@pytest.fixture
def without_python(new_context: Callable[..., BrowserContext], lame_site: LameSite) -> Page:
    """A page of a browser in which Python never starts."""
    lame_site.take_python_away()
    return visitor(new_context, lame_site)
