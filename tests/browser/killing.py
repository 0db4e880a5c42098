"""Blocks weighed by taps while the browser is killed again and again, at seeded random moments.

Acknowledged is what the screen had moved on from. After each restart all of that must be stored, once, and the step in
hand must be the first that is not; both are worked out here, past the app. A test and `build.py bench kill` share this.
"""

from __future__ import annotations

import os
import random
import signal
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from typing import Any

from floor import STAGE, Floor, block_events, issue, put, reading, record_of, trained
from playwright.sync_api import BrowserContext, Error, Locator, Page, Playwright, expect
from screens import kept_offline

# What an event says, without what differs from one storing to the next: kind, step, action, reading.
Said = tuple[str, str, str, str]

# A step takes about a second: a kill by the clock meets every part of one, and of the page's opening.
BY_CLOCK_S = 2.5
# From a tap that stores until well after its transaction.
AFTER_TAP_S = 0.12
# A kill gets one step further, seldom two; a block has more than ten.
KILLS_A_BLOCK = 5
MOST_BLOCKS = 50
STORING = frozenset({"done", "reading", "checks-done", "start-timer", "end-timer", "end-early", "close"})
# No step needs Python; without it a browser starts in a second.
NO_PYTHON = "sessionStorage.setItem('tarewell-runtime', 'broken')"


def main_process(profile: Path) -> int:
    """The browser process of a profile: the one of its processes that no other one started for a part of the work."""
    for place in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            words = place.read_bytes().split(b"\0")
        except OSError:
            continue
        # Debian starts one kind of Chromium from a shell script, which stays and holds the same words.
        script = Path(words[0].decode()).name in ("sh", "bash", "dash")
        part = any(word.startswith(b"--type=") for word in words)
        if f"--user-data-dir={profile}".encode() in words and not script and not part:
            return int(place.parent.name)
    raise AssertionError(f"no browser runs with {profile}")


class Killer:
    """Kills one process: some time after it is told to begin, or after one of the next taps that store something."""

    def __init__(self, process: int, chance: random.Random) -> None:
        self.process = process
        self.taps_left = chance.choice((0, 0, 1, 2, 3))
        self.delay_s = chance.uniform(0.0, AFTER_TAP_S if self.taps_left else BY_CLOCK_S)
        self.struck = threading.Event()

    def begin(self) -> None:
        if self.taps_left == 0:
            self._start()

    def storing(self) -> None:
        self.taps_left -= 1
        if self.taps_left == 0:
            self._start()

    def _start(self) -> None:
        threading.Timer(self.delay_s, self._strike).start()

    def _strike(self) -> None:
        self.struck.set()
        kill(self.process)


def kill(process: int) -> None:
    """Ends a process at once, as the system does it; nothing where it has just ended by itself."""
    with suppress(ProcessLookupError):
        os.kill(process, signal.SIGKILL)


def lives(process: int) -> bool:
    """Whether a process is there and not just about to be cleared away."""
    try:
        return bool(Path(f"/proc/{process}/cmdline").read_bytes())
    except OSError:
        return False


class Finger:
    """Taps as fast as the page takes them."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def press(self, target: Locator) -> None:
        target.tap()

    def enter(self, target: Locator, text: str) -> None:
        target.fill(text)

    def choose(self, target: Locator, value: str) -> None:
        target.select_option(value)


@dataclass
class Tally:
    kills: int = 0
    blocks: int = 0
    acknowledged: int = 0
    # Stored, but the browser died before the screen told so: kills that met the moment of storing.
    untold: int = 0
    lost: set[str] = field(default_factory=set)
    doubled: set[str] = field(default_factory=set)
    misplaced: set[str] = field(default_factory=set)


def said(event: dict[str, Any]) -> Said:
    return (event["kind"], event.get("step", ""), event.get("action", ""), event.get("reading", ""))


def in_hand(steps: list[dict[str, Any]], told: list[Said]) -> dict[str, Any] | None:
    """The first step that nothing completes; none once the block is closed."""
    if any(kind == "closed" for kind, *_ in told):
        return None
    done = {key for _, key, action, _ in told if action != "started"}
    return next((step for step in steps if step["key"] not in done), None)


class Weigher(Floor):
    """One person at one block, up to a sudden death."""

    def __init__(self, page: Page, code: str, block: int, killer: Killer, steps: list[dict[str, Any]], acknowledged: list[Said]) -> None:
        super().__init__(Finger(page), code, block)
        self.killer = killer
        self.steps = steps
        self.acknowledged = acknowledged

    def do(self, action: str) -> None:
        if action in STORING:
            self.killer.storing()
        super().do(action)

    def shown_title(self) -> str | None:
        """The title of the step in hand as the page has it; none for a closed block."""
        if self.at() == "person":
            self.sign("Q")
        if self.at() == "checks":
            left = self.page.locator(f"{STAGE} .check:not(:has(.kind-done, [aria-pressed='true']))")
            return left.locator("h3, .check-key").first.inner_text().strip()
        return None if self.at() == "closed" else self.title()

    def next(self, step: dict[str, Any], *, last: bool) -> None:
        """Does one step, and notes what the screen moves on from."""
        if self.at() == "checks":
            return self._look_over()
        if self.at() == "closing":
            return self._close()
        # The heading may change a moment before the rest of the screen does.
        self.titled(step["title"])
        key, shown = step["key"], self.at()
        joined = self.page.locator(f"{STAGE} .joined-step h3").all_inner_texts()
        if shown == "confirm":
            self.do("done")
            self.moved_on(step, ("checked", key, "", ""), joined)
        elif shown == "timer":
            self._time(step, joined, last=last)
        else:
            self._read(step)

    def moved_on(self, step: dict[str, Any], told: Said, joined: Sequence[str] = ()) -> None:
        """joined: the titles of what was done in one go with it; a time among them begins."""
        expect(self.page.locator(f"{STAGE} h2").first).not_to_have_text(step["title"])
        self.acknowledged.append(told)
        for other in self.steps:
            if other["title"] in joined:
                began = other["kind"] == "timer"
                self.acknowledged.append(("timed" if began else "checked", other["key"], "started" if began else "", ""))

    def take(self, digits: str) -> None:
        self.killer.storing()
        super().take(digits)

    def tick(self, line: Locator) -> None:
        self.killer.storing()
        super().tick(line)

    def _look_over(self) -> None:
        """Every check on the screen; the last of its events is stored before another screen comes."""
        lines = self.page.locator(f"{STAGE} .check").locator("h3, .check-key").all_inner_texts()
        titles = [each.strip() for each in lines]
        self.check()
        expect(self.page.locator(STAGE)).not_to_have_attribute("data-shown", "checks")
        known = {key for _, key, *_ in self.acknowledged}
        keys = [each["key"] for each in self.steps if each["title"] in titles and each["key"] not in known]
        self.acknowledged += [("checked", key, "", "") for key in keys]

    def _close(self) -> None:
        self.do("close")
        self.comes("closed")
        self.acknowledged.append(("closed", "", "", ""))

    def _time(self, step: dict[str, Any], joined: list[str], *, last: bool) -> None:
        key = step["key"]
        running = self.button("end-timer")
        if running.count() == 0:
            self.do("start-timer")
            expect(running).to_have_count(1)
            self.acknowledged.append(("timed", key, "started", ""))
        elif last:
            self.do("to-closing")
            self.comes("closing")
            self._close()
        else:
            self.end_time()
            self.moved_on(step, ("timed", key, "ended", ""), joined)

    def _read(self, step: dict[str, Any]) -> None:
        digits = reading(step, step["low"] if step["target"] is None else step["target"])
        if self.offered(digits).count() == 1:
            self.take(digits)
            return self.moved_on(step, ("weighed", step["key"], "", digits))
        self.keypad()
        again = self.page.locator(f"{STAGE} .again")
        # Digits typed before a kill are still there, and so may be the first of two readings.
        for _ in range(2 if step["twice"] and again.count() == 0 else 1):
            self.comes("keypad")
            for _ in self.page.locator("[data-typed]").inner_text():
                self.page.locator(f'{STAGE} [data-key="back"]').tap()
            self.keys(digits)
            self.do("reading")
        self.moved_on(step, ("checked" if step["kind"] == "temperature" else "weighed", step["key"], "", digits))


class Attack:
    """One browser profile and all its lives."""

    def __init__(self, playwright: Playwright, profile: Path, options: dict[str, Any], seed: int) -> None:
        self.playwright = playwright
        self.profile = profile
        self.options = options
        self.chance = random.Random(seed)
        self.tally = Tally()
        self.told: dict[tuple[str, int], list[Said]] = {}
        self.steps: list[dict[str, Any]] = []
        self.code = ""
        self.block = self.blocks = 0

    @contextmanager
    def life(self) -> Iterator[BrowserContext]:
        (self.profile / "SingletonLock").unlink(missing_ok=True)
        context = self.playwright.chromium.launch_persistent_context(self.profile, **self.options)
        context.set_default_timeout(30_000)
        process = main_process(self.profile)
        try:
            yield context
        finally:
            try:
                context.close()
            except Error:
                pass  # it is dead, which is the point
            gone_by = time.monotonic() + 15
            while lives(process):
                assert time.monotonic() < gone_by, "the browser lives on"
                time.sleep(0.02)

    def prepare(self, kills: int) -> None:
        """Issues a batch of blocks for so many kills, as far as one sheet holds them."""
        self.block, self.blocks = 1, min(2 + kills // KILLS_A_BLOCK, MOST_BLOCKS)
        with self.life() as context:
            page = context.pages[0]
            page.goto("")
            kept_offline(page)
            self.code = issue(page, blocks=str(self.blocks))
            self.steps = record_of(page, self.code)["steps"]
            # Whose training covers the lye is asked once a block, and has its own tests.
            now = datetime.now(UTC)
            put(page, [trained(self.code, block, now) for block in range(1, self.blocks + 1)], person=None)
        titles = [step["title"] for step in self.steps]
        assert all(one != other for one, other in pairwise(titles)), "neighbours can't be told apart by title"

    def run(self, kills: int) -> Tally:
        while self.tally.kills < kills:
            if self.block >= self.blocks:
                self.prepare(kills - self.tally.kills)
            with self.life() as context:
                context.add_init_script(NO_PYTHON)
                self.live(context.pages[0], Killer(main_process(self.profile), self.chance))
            self.tally.kills += 1
        with self.life() as context:
            page = context.pages[0]
            page.goto("scale/")
            for (code, block), told in self.told.items():
                self.look(page, told, code, block)
        return self.tally

    def live(self, page: Page, killer: Killer) -> None:
        """Opens the block, compares, and weighs on until killed."""
        opening = self.chance.random() < 0.15
        if opening:
            killer.taps_left = 0
            killer.begin()
        try:
            weigher = self.opened(page, killer)
            if not opening:
                killer.begin()
            while True:
                self.weigh_on(weigher)
        except (Error, AssertionError):
            # Whatever fails once the browser is dead, fails because of that.
            if not killer.struck.wait(0.2):
                raise

    def opened(self, page: Page, killer: Killer) -> Weigher:
        told = self.told.setdefault((self.code, self.block), [])
        where = f"{self.code}/{self.block}"
        weigher = Weigher(page, self.code, self.block, killer, self.steps, told)
        weigher.open()
        there = self.look(page, told, self.code, self.block)
        self.tally.untold += sum(each not in told for each in there)
        # From here on what is stored counts as told: what is lost has been noted.
        told[:] = there
        expected = in_hand(self.steps, told)
        shown = weigher.shown_title()
        if shown != (expected["title"] if expected else None):
            self.tally.misplaced.add(f"{where}: {shown!r} is shown, {expected and expected['title']!r} is due")
        return weigher

    def weigh_on(self, weigher: Weigher) -> None:
        step = in_hand(self.steps, weigher.acknowledged)
        if step:
            before = len(weigher.acknowledged)
            weigher.next(step, last=step is self.steps[-1])
            self.tally.acknowledged += len(weigher.acknowledged) - before
            return
        self.block = weigher.block + 1
        self.tally.blocks += 1
        weigher.block = self.block
        weigher.acknowledged = self.told.setdefault((self.code, self.block), [])
        weigher.open()
        weigher.shown_title()

    def look(self, page: Page, told: list[Said], code: str, block: int) -> list[Said]:
        """What is stored, held against what was told."""
        there = [said(event) for event in block_events(page, code, block) if event["kind"] != "trained"]
        self.tally.lost |= {f"{code}/{block}: {each}" for each in told if each not in there}
        self.tally.doubled |= {f"{code}/{block}: {each}" for each in there if there.count(each) > 1}
        return there
