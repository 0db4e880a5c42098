"""Takes README's picture anew from the app as it is built: three phone screens side by side. Prints `figure: value unit` lines.

A batch sheet, a pour at the scale, and the ways on after a pour went over; the demo workshop's, so that nothing is anybody's.
"""

from __future__ import annotations

import argparse
import base64
import sys
import tempfile
from pathlib import Path

from measuring import ROOT, Site, figure
from playwright.sync_api import Page, expect, sync_playwright

from offline.browsers import chromium

sys.path.append(str(ROOT / "tests" / "browser"))
from floor import PATIENCE, STAGE, begun, issue, record_of, step_of
from screens import Touch, answered

PHONE = {"width": 390, "height": 844}
# As sharp as a page that shows three of them side by side can use.
SHARP = 1.5
# Between two screens. [px]
GAP = 16
GROUND = "#c9d4cf"
# Divisions by which the reading misses its target: far outside the band, and still a slip that happens.
OVER = 30


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--site", type=Path, default=ROOT / ".build" / "site")
    parser.add_argument("--out", type=Path, default=ROOT / ".pictures" / "batch-sheet-and-scale.png")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as held, sync_playwright() as playwright:
        site = Site(options.site, Path(held) / "profile", "", "snapshot")
        browser = playwright.chromium.launch(executable_path=chromium() or playwright.chromium.executable_path)
        look = {"viewport": PHONE, "device_scale_factor": SHARP, "has_touch": True, "is_mobile": True, "locale": "en-GB"}
        context = browser.new_context(base_url=site.address, service_workers="block", reduced_motion="reduce", **look)
        picture = side_by_side(context.new_page(), taken(context.new_page()))
        browser.close()
        site.stop()
    options.out.write_bytes(picture)
    figure("picture", len(picture) / 1000, "kB")
    return 0


def taken(page: Page) -> list[bytes]:
    """The three screens, each as soon as it says what it is taken for."""
    page.goto("batch/")
    answered(page, "batch_sheet").evaluate("(sheet) => sheet.scrollIntoView()")
    shots = [page.screenshot()]
    record = record_of(page, issue(page))
    begun(Touch(page), record, "oil:0").titled(step_of(record, "oil:0")["title"])
    shots.append(page.screenshot())
    oil = step_of(record, "oil:0")
    begun(Touch(page), record, "oil:1", oil_0=oil["target"] + OVER * oil["division"])
    # The ways on are reckoned, which needs Python.
    expect(page.locator(f"{STAGE} [data-decide]").first).to_be_visible(timeout=PATIENCE)
    shots.append(page.screenshot())
    return shots


def side_by_side(page: Page, shots: list[bytes]) -> bytes:
    """One picture of several."""
    page.set_viewport_size({"width": len(shots) * PHONE["width"] + (len(shots) - 1) * GAP, "height": PHONE["height"]})
    images = "".join(f'<img src="data:image/png;base64,{base64.b64encode(shot).decode()}">' for shot in shots)
    style = f"body {{ display: flex; gap: {GAP}px; margin: 0; background: {GROUND} }} img {{ width: {PHONE['width']}px }}"
    page.set_content(f"<style>{style}</style>{images}")
    return page.screenshot()


if __name__ == "__main__":
    sys.exit(main())
