"""What the tests of the offline copy share: servers that answer wrongly, and what the browser keeps."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from faulty_server import FaultySite
from playwright.sync_api import BrowserContext, Page

NewContext = Callable[..., BrowserContext]
MakeSite = Callable[..., FaultySite]

CACHED = """async () => {
  const found = {};
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    found[name] = {};
    for (const request of await cache.keys()) {
      // The mark of the build whose pages are shown, no file.
      if (request.url.endsWith('/?shown')) continue;
      const bytes = await (await cache.match(request, {ignoreVary: true})).arrayBuffer();
      const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
      found[name][request.url] = [...digest].map((byte) => byte.toString(16).padStart(2, '0')).join('');
    }
  }
  return found;
}"""
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
    """Makes servers. Named before `new_context` in a test, they outlive its browser, which so has nothing to complain of."""
    made: list[FaultySite] = []

    def make(prefix: str = "/", folder: Path = site_folder) -> FaultySite:
        made.append(FaultySite(folder, tmp_path / f"server-{len(made)}", prefix))
        return made[-1]

    yield make
    for each in made:
        each.kill()


def caches_of(page: Page) -> dict[str, dict[str, str]]:
    """Every cache of the origin: its name -> address -> SHA-256 of what it holds."""
    found: dict[str, dict[str, str]] = page.evaluate(CACHED)
    return found


def look_for_update(page: Page) -> str:
    """Has the browser ask the server for a new build, and tells how that one ended: installed or redundant."""
    return str(page.evaluate(UPDATE))
