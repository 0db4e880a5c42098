"""The browsers that tests and measurements run in: found on this machine, or brought."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable
from pathlib import Path

# The same engine without windows of its own: a new page costs it half. Playwright's own download is of this kind too.
SHELL = "chromium-headless-shell"
CHROMIUM_NAMES = (SHELL, "chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
# Debian's packages of the other two engines, and the program each brings.
OTHERS = {
    "firefox": ("firefox-esr", ("firefox-esr",)),
    "webkit": ("WebKitWebDriver", ("webkit2gtk-driver", "xvfb")),
}


def chromium() -> str | None:
    """A Chromium of this machine; None when Playwright's own is to be used."""
    return next((path for path in map(shutil.which, CHROMIUM_NAMES) if path), None)


def bring_all(say: Callable[[str], None]) -> None:
    """Chromium must be there afterwards, else RuntimeError; the other engines are asked for and their lack is said."""
    if chromium() is None and not _playwright_has_one():
        say("no Chromium on this machine: fetching Playwright's own")
        fetched = subprocess.run([sys.executable, "-m", "playwright", "install", "--with-deps", "chromium"])
        if fetched.returncode:
            fetched = subprocess.run([sys.executable, "-m", "playwright", "install", "chromium"])
        if fetched.returncode and not _apt(["chromium"], say):
            raise RuntimeError("No Chromium could be brought. Remedy: install one (Debian: apt install chromium).")
    elif shutil.which("chromium") and shutil.which(SHELL) is None:
        _apt([SHELL], say)
    for engine, (program, packages) in OTHERS.items():
        if shutil.which(program) is None and not _apt(packages, say):
            say(f"NO {engine.upper()}: its tests are skipped. To run them: apt install {' '.join(packages)}")


def _playwright_has_one() -> bool:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        return Path(playwright.chromium.executable_path).exists()


def _apt(packages: Iterable[str], say: Callable[[str], None]) -> bool:
    apt = shutil.which("apt-get")
    if apt is None or not hasattr(os, "geteuid") or os.geteuid() != 0:
        return False
    say(f"installing {' '.join(packages)} with apt")
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    install = [apt, "install", "-y", "-q", "--no-install-recommends", *packages]
    if subprocess.run(install, env=environment, stdout=subprocess.DEVNULL).returncode == 0:
        return True
    subprocess.run([apt, "update", "-q"], env=environment, stdout=subprocess.DEVNULL)
    return subprocess.run(install, env=environment, stdout=subprocess.DEVNULL).returncode == 0
