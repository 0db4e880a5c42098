"""What the measurements share: a site served until it is stopped, fresh browser processes, a limit on the processor."""

from __future__ import annotations

import os
import stat
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, sync_playwright

from offline.browsers import chromium
from offline.server import make_server

ROOT = Path(__file__).parents[2]
PATIENCE_S = 120
# A browser that has just closed is still writing to disk.
SETTLE_S = 1.5


class Site:
    """A folder served under a sub-path, and the browser profile that visits it."""

    def __init__(self, folder: Path, profile: Path, page: str, way: str) -> None:
        self.profile = profile
        self.way = way
        # A bare folder asks for no policy of ours; the pages carry their own.
        self.server = make_server(folder, "127.0.0.1", 0, "/app/", plain=way == "")
        threading.Thread(target=self.server.serve_forever, daemon=True).start()
        self.address = f"http://localhost:{self.server.server_address[1]}/app/"
        self.url = self.address + page

    def stop(self) -> None:
        self.server.shutdown()
        self.server.server_close()


class Quota:
    """A share of the machine's processor time for a whole browser, by the kernel's control groups."""

    PERIOD_US = 10_000

    def __init__(self, share: float | None) -> None:
        self.share = share
        self.folder: Path | None = None
        self.why_not = ""
        if share is not None:
            try:
                self.folder = self._make(int(self.PERIOD_US * share * (os.cpu_count() or 1)))
            except OSError as error:
                self.why_not = f"this machine lets us make no control group ({error.strerror})"

    @property
    def possible(self) -> bool:
        return self.folder is not None

    def _make(self, quota_us: int) -> Path:
        top = Path("/sys/fs/cgroup")
        old = (top / "cpu" / "cpu.cfs_quota_us").exists() or (top / "cpu" / "tasks").exists()
        folder = (top / "cpu" if old else top) / "tarewell-bench"
        folder.mkdir(exist_ok=True)
        if old:
            (folder / "cpu.cfs_period_us").write_text(str(self.PERIOD_US))
            (folder / "cpu.cfs_quota_us").write_text(str(quota_us))
        else:
            (folder / "cpu.max").write_text(f"{quota_us} {self.PERIOD_US}")
        return folder

    def wrapped(self, program: str, place: Path) -> str:
        """A script that puts itself under the limit and then becomes the program."""
        if self.folder is None:
            return program
        script = place / "limited-browser"
        script.write_text(f'#!/bin/sh\necho $$ > {self.folder}/cgroup.procs\nexec "{program}" "$@"\n')
        script.chmod(script.stat().st_mode | stat.S_IXUSR)
        return str(script)


@contextmanager
def browser_with(site: Site, quota: Quota | None = None) -> Iterator[Page]:
    """A fresh browser process with the site's profile; its one page."""
    time.sleep(SETTLE_S)
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as place:
        program = chromium() or playwright.chromium.executable_path
        if quota:
            program = quota.wrapped(program, Path(place))
        context = playwright.chromium.launch_persistent_context(site.profile, executable_path=program, base_url=site.address)
        if site.way:
            context.add_init_script(f"sessionStorage.setItem('tarewell-runtime', '{site.way}')")
        yield context.pages[0]
        context.close()


def wait_until(page: Page, expression: str) -> Any:
    """The expression's first truthy value. Asked seldom, so that asking doesn't disturb; the policy forbids the page's
    own waiting functions, which evaluate text inside it."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        try:
            if value := page.evaluate(expression):
                return value
        except Exception as error:  # the page is just being replaced
            if "context" not in str(error):
                raise
        time.sleep(0.1)
    raise RuntimeError(f"waited {PATIENCE_S} s in vain for {expression}")


def figure(name: str, value: float, unit: str) -> None:
    shown = f"{value:.3f}" if unit == "ratio" else f"{value:.1f}".removesuffix(".0")
    print(f"{name}: {shown} {unit}".rstrip(), flush=True)
