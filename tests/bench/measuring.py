"""What the measurements share: a site served until it is stopped, fresh browser processes, a limit on the processor."""

from __future__ import annotations

import os
import stat
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect, sync_playwright

from offline.browsers import chromium
from offline.server import make_server

ROOT = Path(__file__).parents[2]
PATIENCE_S = 120
# The steps that measurements share with the tests wait as long, also where another's work has the machine.
expect.set_options(timeout=PATIENCE_S * 1000)
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
def part(name: str, limit_s: float) -> Iterator[None]:
    """One part of a measurement: where it fails its name is said, and where it does not end it is ended, program and all.

    A browser that hangs takes the library that drives it along, so no exception would get through.
    """

    def end() -> None:
        print(f"FAILED in the part {name!r}: not done after {limit_s:g} s", file=sys.stderr, flush=True)
        os._exit(1)

    clock = threading.Timer(limit_s, end)
    clock.daemon = True
    clock.start()
    try:
        yield
    except Exception as error:
        print(f"FAILED in the part {name!r}: {error}", file=sys.stderr, flush=True)
        raise SystemExit(1) from error
    finally:
        clock.cancel()


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


def wait_until(page: Page, expression: str, patience_s: float = PATIENCE_S) -> Any:
    """The expression's first truthy value. Asked seldom, so that asking doesn't disturb; the policy forbids the page's
    own waiting functions, which evaluate text inside it."""
    end = time.monotonic() + patience_s
    while time.monotonic() < end:
        try:
            if value := page.evaluate(expression):
                return value
        except Exception as error:  # the page is just being replaced
            if "context" not in str(error):
                raise
        time.sleep(0.1)
    raise RuntimeError(f"waited {patience_s} s in vain for {expression}")


def renderers_pss(profile: Path) -> float:
    """The memory [MB] of a running browser's renderers, what they share counted by its share (PSS, proc(5)); 0 where the
    system doesn't tell."""
    parents: dict[int, list[int]] = {}
    commands: dict[int, str] = {}
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            commands[int(entry.name)] = (entry / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
            # The name of the program, in parentheses, may hold blanks.
            parent = int((entry / "stat").read_text().rpartition(")")[2].split()[1])
        except OSError:  # it has just ended
            continue
        parents.setdefault(parent, []).append(int(entry.name))
    family = [process for process, command in commands.items() if f"--user-data-dir={profile}" in command]
    for process in family:
        family += [child for child in parents.get(process, []) if child not in family]
    renderers = [process for process in family if "--type=renderer" in commands[process]]
    return sum(map(_pss_kb, renderers)) / 1000


def _pss_kb(process: int) -> int:
    try:
        rolled = Path(f"/proc/{process}/smaps_rollup").read_text()
    except OSError:
        return 0
    return next(int(line.split()[1]) for line in rolled.splitlines() if line.startswith("Pss:"))


def figure(name: str, value: float, unit: str) -> None:
    shown = f"{value:.3f}" if unit == "ratio" else f"{value:.1f}".removesuffix(".0")
    print(f"{name}: {shown} {unit}".rstrip(), flush=True)
