"""Blocks weighed in a real browser that is killed (SIGKILL) again and again. Prints `figure: value unit` lines.

Two of five kills come at any moment, the others just after a tap that stores. Ends with 1 if anything that the screen
had told is lost or stored twice, or if another step is in hand after the restart.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

from measuring import ROOT, figure
from playwright.sync_api import sync_playwright

from offline.browsers import chromium

sys.path.append(str(ROOT / "tests" / "browser"))
from conftest import CHROMIUM_ARGUMENTS, PHONE
from killing import Attack
from site_server import SiteServer

SEED = 20261125


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=200, help="kills")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--site", type=Path, default=ROOT / ".build" / "site")
    given = parser.parse_args()
    started = time.monotonic()
    with sync_playwright() as playwright, SiteServer(given.site) as server, tempfile.TemporaryDirectory() as held:
        options = {**PHONE, "executable_path": chromium(), "args": CHROMIUM_ARGUMENTS, "base_url": server.url}
        tally = Attack(playwright, Path(held) / "profile", options, given.seed).run(given.runs)
    figure("seed", given.seed, "")
    figure("kills", tally.kills, "")
    figure("blocks weighed to the end", tally.blocks, "")
    figure("acknowledged", tally.acknowledged, "events")
    figure("stored in the moment of the kill, told after it", tally.untold, "events")
    figure("lost", len(tally.lost), "events")
    figure("stored twice", len(tally.doubled), "events")
    figure("restarts at another step", len(tally.misplaced), "")
    figure("time", time.monotonic() - started, "s")
    failures = sorted(tally.lost | tally.doubled | tally.misplaced)
    for each in failures:
        print(f"# {each}", flush=True)
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
