"""First paint of the emergency card against Today's: offline, in a fresh browser process each time. Prints `figure: value unit`.

Both are visited in turn in the same run, so that the machine's moods fall on both alike; medians.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
from pathlib import Path

from measuring import ROOT, Site, browser_with, figure, wait_until

FIRST_PAINT = "performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? 0"
PAGES = ("", "emergency/")
# The card may not be slower than the page it is tapped from, but for noise.
LIMIT = 1.2
WARM_UPS = 2


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=9)
    parser.add_argument("--site", type=Path, default=ROOT / ".build" / "site")
    options = parser.parse_args()
    taken: dict[str, list[float]] = {page: [] for page in PAGES}
    with tempfile.TemporaryDirectory() as held:
        site = Site(options.site, Path(held) / "profile", "", "snapshot")
        with browser_with(site) as page:
            page.goto(site.url)
            wait_until(page, "document.documentElement.dataset.offline === 'ready'")
        site.stop()
        for turn in range(options.runs + WARM_UPS):
            for path in PAGES if turn % 2 else reversed(PAGES):
                with browser_with(site) as page:
                    page.goto(site.address + path, wait_until="commit")
                    taken[path].append(wait_until(page, FIRST_PAINT))
    today, card = (statistics.median(taken[path][WARM_UPS:]) for path in PAGES)
    figure("offline, first paint of Today", today, "ms")
    figure("offline, first paint of the emergency card", card, "ms")
    figure("emergency card to Today", card / today, "ratio")
    return 0 if card / today <= LIMIT else 1


if __name__ == "__main__":
    sys.exit(main())
