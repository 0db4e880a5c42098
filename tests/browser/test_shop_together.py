"""Two phones and their shop's server: what is done on one stands on the other a moment later, and after any time apart."""

from __future__ import annotations

import asyncio
import base64
import binascii
import hashlib
from collections.abc import Callable, Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from conftest import CHROMIUM_ARGUMENTS, PHONE
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, PublicFormat
from cryptography.x509 import load_pem_x509_certificate
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect
from running_shop import Running
from screens import control, form_of, kept_offline, own_workshop, stored, until

from shop.authority import INTERMEDIATE

NewContext = Callable[..., BrowserContext]
# The engine's client leaves a connection that was refused or cut to the collector.
pytestmark = pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning")
STANDS = "JSON.parse(localStorage.getItem('tarewell-shop') ?? '{}').state"
# How many WebSockets this page has opened.
COUNT_SOCKETS = """{
  const Real = WebSocket;
  globalThis.sockets = 0;
  globalThis.WebSocket = class extends Real { constructor(...how) { super(...how); globalThis.sockets += 1; } };
}"""
PUT = """(entries) => new Promise((resolve, reject) => {
  const opening = indexedDB.open("tarewell");
  opening.onsuccess = () => {
    const writing = opening.result.transaction("drafts", "readwrite");
    for (const entry of entries) writing.objectStore("drafts").put({ values: {}, base: null, at: "2026-12-01T08:00:00.000Z", ...entry });
    writing.oncomplete = () => { opening.result.close(); resolve(); };
    writing.onabort = () => reject(writing.error);
  };
})"""


@dataclass(frozen=True)
class Served:
    """As `new_context` wants to know it."""

    origin: str

    @property
    def url(self) -> str:
        return self.origin + "/"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, site_folder: Path) -> Iterator[Running]:
    running = Running(tmp_path_factory.mktemp("shop"), site_folder).start()
    yield running
    if running.process and running.process.poll() is None:
        running.end()


@pytest.fixture(scope="module")
def served(shop: Running) -> Served:
    return Served(f"https://tarewell.local:{shop.port}")


@pytest.fixture(scope="module")
def chromium(playwright: Playwright, chromium_options: dict[str, Any], shop: Running) -> Iterator[Browser]:
    """One that finds the shop by its name and takes its authority for good: no other error is let through."""
    authority = load_pem_x509_certificate((shop.data / "ca" / INTERMEDIATE).read_bytes())
    key = hashlib.sha256(authority.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)).digest()
    own = [each for each in CHROMIUM_ARGUMENTS if "resolver" not in each]
    own += ["--host-resolver-rules=MAP tarewell.local 127.0.0.1 , MAP * ~NOTFOUND , EXCLUDE 127.0.0.1"]
    own += [f"--ignore-certificate-errors-spki-list={base64.b64encode(key).decode()}"]
    browser = playwright.chromium.launch(**{**chromium_options, "args": own})
    yield browser
    browser.close()


def apart(work: Coroutine[Any, Any, Any]) -> Any:
    """Beside the browser library, which has this thread's loop."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


def seed_of(key: Ed25519PrivateKey) -> str:
    """A user's secret key as nkeys write it (github.com/nats-io/nkeys, "Encoded keys"; from memory)."""
    raw = bytes([(18 << 3) | ((20 << 3) >> 5), ((20 << 3) & 31) << 3]) + key.private_bytes(Encoding.Raw, PrivateFormat.Raw, NoEncryption())
    return base64.b32encode(raw + binascii.crc_hqx(raw, 0).to_bytes(2, "little")).decode().rstrip("=")


@dataclass
class Paired:
    page: Page
    device: str


@pytest.fixture
def paired(new_context: NewContext, served: Served, shop: Running) -> Callable[[str], Paired]:
    """A phone that is one of the shop's, at the list of its workshop."""

    def make(name: str) -> Paired:
        key, answer = apart(shop.paired(name))
        context = new_context(served, **PHONE)
        # What a browser says of a server that is down.
        context.watch.allow("WebSocket connection to", "ERR_CONNECTION_REFUSED")
        page = context.new_page()
        own_workshop(page)
        page.add_init_script(COUNT_SOCKETS)
        page.goto("workshop/")
        kept_offline(page)
        phone = {"seed": seed_of(key), "device": answer["device"], "shop": shop.shop, "name": "tarewell.local", "called": name}
        page.evaluate(PUT, [{"key": "shop:phone", "shop": {"phone": phone}}, {"key": "shop:marking", "shop": {"marked": ""}}])
        page.reload()
        until(page, f"{STANDS} === 'together'", "the phone and the server together", 40)
        return Paired(page, answer["device"])

    return make


def save(page: Page, name: str) -> None:
    page.goto("workshop/edit/#mould/new")
    form = form_of(page, "mould")
    expect(control(form, "name")).to_have_value("")
    for field, text in {"name": name, "length_mm": "300", "width_mm": "250", "height_mm": "90", "fill_height_mm": "80"}.items():
        control(form, field).fill(text)
    form.get_by_role("button", name="Save ").tap()
    expect(page.locator("[data-notice]")).to_have_text("Saved.")


def test_what_is_saved_on_one_phone_stands_on_the_other_with_the_server_killed_between_and_not_on_one_that_was_thrown_out(
    paired: Callable[[str], Paired], shop: Running
) -> None:
    mine, theirs = paired("Phone of Q"), paired("Phone of J")
    save(mine.page, "Mold of Q")
    # Nobody touches the other phone.
    expect(theirs.page.get_by_text("Mold of Q").first).to_be_visible()
    (event,) = [each for each in stored(theirs.page, "events") if each["values"].get("name") == "Mold of Q"]
    assert event["device"] == mine.device
    assert stored(mine.page, "events") == stored(theirs.page, "events")
    # Behind the stored copy of the app the server's own word of itself still is the server's.
    assert theirs.page.evaluate("fetch('/shop.json').then((answer) => answer.json()).then(({ shop }) => shop)") == shop.shop

    shop.end()
    until(mine.page, f"{STANDS} === 'unreachable'", "the server to be missed")
    save(mine.page, "Mold of the storm")
    assert "Mold of the storm" not in str(stored(theirs.page, "events"))
    shop.start()
    expect(theirs.page.get_by_text("Mold of the storm").first).to_be_visible(timeout=60_000)

    apart(shop.asked(do="revoke", device=theirs.device))
    until(theirs.page, f"{STANDS} === 'revoked'", "the other to be thrown out")
    before = stored(theirs.page, "events")
    save(mine.page, "Mold for Q alone")
    until(mine.page, f"({WAITING})().then((n) => n === 0)", "it to go out")
    assert stored(theirs.page, "events") == before and len(before) == 2


WAITING = """() => new Promise((resolve) => {
  const opening = indexedDB.open("tarewell");
  opening.onsuccess = () => {
    const counting = opening.result.transaction("drafts").objectStore("drafts").count(IDBKeyRange.bound("shop:out:", "shop:out;"));
    counting.onsuccess = () => { opening.result.close(); resolve(counting.result); };
  };
})"""


def test_of_two_tabs_one_has_the_connection_for_both_and_the_other_takes_it_over_when_that_one_is_closed(
    paired: Callable[[str], Paired],
) -> None:
    mine, theirs = paired("Phone with tabs"), paired("Phone that looks on")
    second = mine.page.context.new_page()
    own_workshop(second)
    second.add_init_script(COUNT_SOCKETS)
    save(second, "Mold of the second tab")
    expect(theirs.page.get_by_text("Mold of the second tab").first).to_be_visible()
    assert second.evaluate("sockets") == 0
    mine.page.close()
    until(second, "sockets === 1", "the second tab to take over")
    save(second, "Mold of the last tab")
    expect(theirs.page.get_by_text("Mold of the last tab").first).to_be_visible()
