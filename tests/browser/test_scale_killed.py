"""The browser dies while a block is weighed: what the screen had moved on from is stored, and the same step is in hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from conftest import AT_HOME, PHONE
from killing import Attack
from playwright.sync_api import Playwright
from site_server import SiteServer


def test_no_weighing_that_was_told_is_lost_when_the_browser_is_killed(
    playwright: Playwright, chromium_options: dict[str, Any], server: SiteServer, tmp_path: Path
) -> None:
    options = {**chromium_options, **AT_HOME, **PHONE, "base_url": server.url}
    tally = Attack(playwright, tmp_path / "profile", options, seed=20261125).run(5)
    assert tally.kills == 5
    assert tally.acknowledged > 0
    assert (tally.lost, tally.doubled, tally.misplaced) == (set(), set(), set())
