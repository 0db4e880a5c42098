"""What a job costs a finger: taps, digits, screens and scrolls, walked on a phone of 390 x 844. Prints `figure: value unit`.

One function a walk, in WALKS with what its counts may at most be. A tap is each time a finger comes down, digits of a keypad
and letters typed included; a screen is each heading, or each second reading, that is shown; a scroll is each time that what
is pressed next was not in view. Ends with 1 where a walk costs more than it may.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from measuring import ROOT, figure
from playwright.sync_api import Browser, Locator, Page, sync_playwright

from offline.browsers import chromium

sys.path.append(str(ROOT / "tests" / "browser"))
from conftest import AT_HOME, CHROMIUM_ARGUMENTS, PHONE
from cutter import Cutter, all_racked, poured, told
from floor import STAGE, Floor, put, reading
from screens import Touch, until
from site_server import SiteServer
from test_scale_recovery import issued
from walking import PLACE, _stamped, _yes, put_walk, walk_page

# Counted where it happens, over every page of a walk; nothing of the app is asked for it.
COUNTING = """
if (location.origin !== "null") {
  const told = () => JSON.parse(sessionStorage.getItem("counted") ?? '{"taps": 0, "keys": 0, "screens": 0, "last": ""}');
  const tell = (change) => sessionStorage.setItem("counted", JSON.stringify({...told(), ...change}));
  addEventListener("pointerdown", (event) => {
    if (!event.isTrusted) return;
    const key = event.target.closest?.('[data-do="key"]');
    tell({taps: told().taps + 1, keys: told().keys + (key ? 1 : 0)});
  }, true);
  addEventListener("input", (event) => {
    const typed = event.isTrusted && event.data ? event.data.length : 0;
    if (typed) tell({taps: told().taps + typed, keys: told().keys + typed});
  }, true);
  const look = () => {
    const stage = document.querySelector("[data-stage]");
    const shown = [location.pathname, (stage ?? document).querySelector("h2, h1")?.textContent, stage?.dataset.shown,
                   stage?.querySelector(".again")?.textContent].join("|");
    // What is there for the moment in which records are read asks for nothing.
    if (stage?.dataset.shown !== "ready-looking" && shown !== told().last) tell({screens: told().screens + 1, last: shown});
  };
  document.addEventListener("DOMContentLoaded", () => {
    look();
    new MutationObserver(look).observe(document.body, {subtree: true, childList: true, characterData: true});
  });
}
"""
# A mixing time is over at once, by the clock that the page asks.
HURRIED = """
const rightly = Date.now;
Date.now = () => rightly() + (location.origin === "null" ? 0 : Number(sessionStorage.getItem("shift") ?? 0));
"""
# At the scale no step needs Python; a phone without it is ready at once.
NO_PYTHON = "if (location.origin !== 'null') sessionStorage.setItem('tarewell-runtime', 'none')"
PREMIXED = ("before", "protection", "tank", "mix")
DAILY = ("daily-fit", "daily-eyewash", "daily-wear", "daily-floor", "daily-air", "daily-vessel", "daily-phone")


@dataclass
class Counts:
    taps: int
    keys: int
    screens: int
    scrolls: int


class Finger(Touch):
    """Counts what had to be scrolled to."""

    def __init__(self, page: Page) -> None:
        super().__init__(page)
        self.scrolls = 0

    def press(self, target: Locator) -> None:
        box, size = target.bounding_box(), self.page.viewport_size
        assert box and size
        if box["y"] < 0 or box["y"] + box["height"] > size["height"] + 1:
            self.scrolls += 1
        super().press(target)


@dataclass
class Phone:
    """A phone with the demo workshop, and what the walk on it has cost so far."""

    page: Page
    finger: Finger

    def counted_from_here(self) -> None:
        self.finger.scrolls = 0
        # Whatever is added to the page lets it look which screen that is: the first one counts.
        self.page.evaluate("() => { sessionStorage.removeItem('counted'); document.body.append(document.createComment('')); }")

    def counts(self) -> Counts:
        told: dict[str, Any] = self.page.evaluate("JSON.parse(sessionStorage.getItem('counted'))")
        return Counts(told["taps"], told["keys"], told["screens"], self.finger.scrolls)


@contextmanager
def phone(browser: Browser, url: str, *, python: bool) -> Iterator[Phone]:
    context = browser.new_context(base_url=url, service_workers="block", **AT_HOME, **PHONE)
    context.set_default_timeout(30_000)
    for script in (HURRIED, COUNTING, *([] if python else [NO_PYTHON])):
        context.add_init_script(script)
    page = context.new_page()
    yield Phone(page, Finger(page))
    context.close()


def in_order(page: Page, person: str = "Q") -> None:
    """The day's safety is in the records: eyewash, training for premixed lye, the daily check."""
    walk_page(page)
    day = page.evaluate("new Date(Date.now() - 60000 * new Date().getTimezoneOffset()).toISOString().slice(0, 10)")
    found = {"person": person, "day": day, "order": "yes", "way_free": "yes", "tepid": "yes"}
    at = "2026-01-01T08:00:00"
    stamp = {"at": f"{at}.000Z", "local": f"{at}+00:00"}
    put(page, [{**stamp, "id": "place", "kind": "saved", "subject": "safety:safety", "values": PLACE}], None)
    for which in ("weekly", "yearly"):
        put(page, [{**stamp, **found, "id": which, "kind": "eyewash_checked", "subject": f"eyewash:{which}"}], None)
    put_walk(page, PREMIXED, helper=person, guide="J")
    begun = {"kind": "walk_begun", "helper": person, "guide": person, "language": "en", "way": "daily", "phases": ["daily"],
             "points": list(DAILY)}  # fmt: skip
    put(page, _stamped(page, "walk:daily", [begun, *_yes(list(DAILY))]), None)


def weighed(on: Phone, record: dict[str, Any], block: int = 1) -> None:
    """A block without errors, from its first screen to its record: each display shows its target."""
    page, finger = on.page, on.finger
    floor = Floor(finger, record["code"], block)
    titles = {step["title"]: step for step in record["steps"]}
    while (shown := floor.at()) != "closed":
        if shown == "person":
            floor.do("person")
        elif shown == "ready":
            finger.press(page.locator(f'{STAGE} input[name="why"]').first.locator("xpath=.."))
            floor.do("ready")
        elif shown == "checks":
            floor.check()
        elif shown == "confirm":
            floor.do("done")
        elif shown == "timer":
            floor.do("start-timer")
            page.evaluate("sessionStorage.setItem('shift', String(Number(sessionStorage.getItem('shift') ?? 0) + 3600000))")
            until(page, "document.querySelector('[data-time-up]')?.hidden === false", "the time to be over")
            floor.do("end-timer")
        elif shown == "closing":
            floor.do("close")
        else:
            step = titles[floor.title()]
            text = "38" if step["kind"] == "temperature" and step["unit"] == "degC" else reading(step, step["target"] or step["low"])
            display(floor, text)


def display(floor: Floor, text: str) -> None:
    """Takes what a display shows: by its key, or typed as short as the keypad allows."""
    if floor.offered(text).count() == 1:
        return floor.take(text)
    if floor.at() != "keypad":
        floor.do("read")
    for key in text.replace(".", ""):
        floor.at()
        floor.page.locator(f'{STAGE} [data-key="{key}"]').click()
    floor.do("reading")


def blocks(on: Phone, *, ready: bool) -> tuple[Counts, Counts]:
    """The first and the second block of a day."""
    page, record = on.page, issued("f-marsh-plain")
    page.goto("scale/")
    Floor(on.finger, "").comes("lists")
    put(page, [record], None)
    if ready:
        in_order(page)
    found = []
    for block in (1, 2):
        Floor(on.finger, record["code"], block).open()
        on.counted_from_here()
        weighed(on, record, block)
        found.append(on.counts())
    first, second = found
    return first, second


# Issue 11: a block without errors at most 40 taps, digits counted, and 20 screens.
MOST_OF_A_BLOCK = Counts(taps=40, keys=40, screens=20, scrolls=20)


def walk_blocks(on: Phone) -> dict[str, tuple[Counts, Counts | None]]:
    first, second = blocks(on, ready=True)
    return {"first block of a day": (first, MOST_OF_A_BLOCK), "next block": (second, MOST_OF_A_BLOCK)}


def walk_unready(on: Phone) -> dict[str, tuple[Counts, Counts | None]]:
    first, _ = blocks(on, ready=False)
    return {"first block, nothing of the day's safety recorded": (first, None)}


# Issue 13: from poured to racked at most 20 taps for one block; and the digits of a bar, the trim and the trays.
RACK_DIGITS = 8
MOST_TO_RACK = Counts(taps=20 + RACK_DIGITS, keys=RACK_DIGITS, screens=20, scrolls=5)


def walk_racked(on: Phone) -> dict[str, tuple[Counts, Counts | None]]:
    """One block from the mould to the rack, then three of one day as one list."""
    page, found = on.page, {}
    for blocks_, most in ((1, MOST_TO_RACK), (3, None)):
        record = {**issued("f-marsh-plain"), "code": f"RACK-{blocks_}", "subject": f"batch:RACK-{blocks_}", "id": f"rack-{blocks_}", "blocks": blocks_}
        page.goto("scale/")
        Floor(on.finger, "").comes("lists")
        # The three in one hour: by then the first ones tell how long such a block stays in its mould.
        put(page, [record, *(event for block in range(1, blocks_ + 1) for event in poured(record, block))])
        cutter = Cutter(on.finger, record["code"])
        cutter.open()
        on.counted_from_here()
        all_racked(cutter)
        left = [block for block in range(1, blocks_ + 1) if len(told(page, record, block)) < len(record["after"])]
        assert not left, f"not racked: {left}"
        found["one block to the rack" if blocks_ == 1 else "three blocks to the rack"] = (on.counts(), most)
    return found


Walk = Callable[[Phone], dict[str, tuple[Counts, Counts | None]]]
# With whether it calculates on its way.
WALKS: dict[str, tuple[Walk, bool]] = {"blocks": (walk_blocks, False), "unready": (walk_unready, False), "racked": (walk_racked, False)}


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=1, help="counts don't vary: one run")
    parser.add_argument("--walk", choices=WALKS, help="one of them; default: all")
    parser.add_argument("--site", type=Path, default=ROOT / ".build" / "site")
    options = parser.parse_args()
    over = []
    with sync_playwright() as playwright, SiteServer(options.site) as server:
        browser = playwright.chromium.launch(executable_path=chromium(), args=CHROMIUM_ARGUMENTS)
        for name in [options.walk] if options.walk else WALKS:
            walk, python = WALKS[name]
            with phone(browser, server.url, python=python) as on:
                for what, (counts, most) in walk(on).items():
                    for part in ("taps", "keys", "screens", "scrolls"):
                        figure(f"{what}: {part}", getattr(counts, part), "")
                        if most and getattr(counts, part) > getattr(most, part):
                            over.append(f"{what}: {part}")
        browser.close()
    for each in over:
        print(f"# more than it may: {each}", flush=True)
    figure("walks that cost more than they may", len(over), "")
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())
