"""A person between mould and rack: what tests and measurements do on the screens of a block after the pour."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from at_home import stamp
from floor import STAGE, Floor, block_events, done
from playwright.sync_api import Page
from screens import gone

# What a screen of this part is left by, where one tap does it. Others are in `Cutter.step`.
LEFT_BY = {
    "after-waits": "early-now",
    "after-gel": "gel",
    "after-lift": "lifted",
    "after-confirm": "after-done",
    "after-count": "shown",
}


def poured(record: dict[str, Any], block: int = 1, hours: float = 30.0) -> list[dict[str, Any]]:
    """The events of a block that was poured so many hours ago as planned, and closed then."""
    events = done(record, "unmould", block)
    back = timedelta(hours=hours)
    for event in events:
        event |= stamp(datetime.fromisoformat(event["at"]) - back)
    return [*events, {
        "id": f"seed-{record['code']}-{block}-closed", **stamp(datetime.now(UTC) - back), "kind": "closed",
        "subject": f"block:{record['code']}/{block}", "person": "Q", "outcome": "poured", "reason": "", "record": None,
    }]  # fmt: skip


def all_steps(record: dict[str, Any]) -> list[str]:
    return [step["key"] for step in record["after"]]


class Cutter(Floor):
    """One block after the pour, on its page."""

    def open(self) -> None:
        self.page.evaluate("document.querySelector('[data-stage]')?.firstElementChild?.setAttribute('data-left', '')")
        self.page.goto(f"scale/#{self.code}/{self.block}/after")
        gone(self.page, "[data-left]")
        self.here()
        self.at()

    def cover(self, cover: str = "lid", room: str | None = None) -> None:
        """Says how it is covered; what was said of the block before stands there already."""
        if not self.page.locator(f'{STAGE} input[name="cover"]:checked').count():
            self.hands.press(self.page.locator(f'{STAGE} input[name="cover"][value="{cover}"]').locator("xpath=.."))
        if room is not None:
            self.hands.enter(self.page.locator('[name="room"]'), room)
        self.do("covered")

    def digits(self, digits: str, action: str) -> None:
        """Types on the keypad over what may stand there from before a kill."""
        self.at()
        for _ in self.page.locator("[data-typed]").inner_text().replace(".", ""):
            self.page.locator(f'{STAGE} [data-key="back"]').click()
        for key in digits:
            self.page.locator(f'{STAGE} [data-key="{key}"]').click()
        self.do(action)

    def step(self) -> None:
        """Does what is in hand, as planned: a bar of 140 g, 5 kg of trim, all planned bars good, four trays."""
        shown = self.at()
        if shown == "person":
            self.do("person")
        elif shown == "after-cover":
            self.cover()
        elif shown == "keypad":
            bars = "bar" in self.title()
            self.digits("1400" if bars else "500", "reading")
        elif shown == "after-rack":
            self.digits("4", "racked")
        else:
            self.do(LEFT_BY[shown])

    def to(self, screen: str) -> None:
        """Goes on until a screen is there."""
        for _ in range(60):
            if self.at() == screen:
                return
            self.step()
        raise AssertionError(f"{screen} does not come")


def all_racked(cutter: Cutter) -> None:
    """Works on, wherever the page leads, until no block is left."""
    following = cutter.page.locator(f"{STAGE} a.main-button")
    for _ in range(100):
        if cutter.at() != "after-over":
            cutter.step()
        elif following.count():
            cutter.page.locator(STAGE).evaluate("(stage) => stage.firstElementChild.setAttribute('data-left', '')")
            cutter.hands.press(following)
            gone(cutter.page, "[data-left]")
        else:
            return
    raise AssertionError("the blocks do not end")


def told(page: Page, record: dict[str, Any], block: int = 1) -> list[tuple[str, str]]:
    """What is stored of the part after the pour: kind and step, in order."""
    return [(event["kind"], event["step"]) for event in block_events(page, record["code"], block) if event.get("step", "").startswith("after:")]
