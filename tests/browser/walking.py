"""Two people at the safety walk: what the tests do on its screens, by touch or by keyboard alone."""

from __future__ import annotations

from typing import Any

from floor import put
from playwright.sync_api import Locator, Page, expect
from screens import Hands, Keys, gone, stored, there

PHASE = "weigh"
STAGE = "[data-stage]"
SETTLED = "[data-stage][data-settled]"
EYEWASH = "before-eyewash"
CARD = "before-card"
# Why somebody guides whose own training doesn't cover it.
FIRST = "The first one here"
# The workshop's own details, as its form stores them.
PLACE = {"emergency_number": "999", "address": "Mill Lane 3", "eyewash": "by the door", "training_months": "12"}


def walk_page(page: Page, address: str = "") -> None:
    page.goto(f"safety/{address}")
    there(page, "[data-safety][data-ready]")


def set_place(page: Page, **values: str) -> None:
    """Stores the workshop's details as its form does, without a tap; the pages know them from their next opening on."""
    at = "2026-01-01T08:00:00"
    put(page, [{"id": "seed-place", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": "saved", "subject": "safety:safety",
                "values": {**PLACE, **values}}])  # fmt: skip
    page.reload()


def fill_card(page: Page) -> None:
    """Number and address of the emergency card, as another tab would type them, where this workshop has none."""
    if not any(event["subject"] == "safety:safety" for event in stored(page, "events")):
        at = "2026-01-01T07:00:00"
        put(page, [{"id": "seed-card", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": "saved", "subject": "safety:safety",
                    "values": {name: PLACE[name] for name in ("emergency_number", "address")}}], None)  # fmt: skip


def choose(hands: Hands, box: str) -> None:
    if isinstance(hands, Keys):
        hands.reach(hands.page.locator(box))
        hands.page.keyboard.press("Space")
    else:
        hands.page.locator(box).check()


def begin(hands: Hands, phases: tuple[str, ...] = (PHASE,), helper: str = "R", guide: str = "Q") -> None:
    """Begins a walk with what is not chosen yet."""
    page = hands.page
    hands.enter(page.locator("#walk-helper"), helper)
    hands.enter(page.locator("#walk-guide"), guide)
    for box in (f'input[name="phase"][value="{phase}"]' for phase in phases):
        if not page.locator(box).is_checked():
            choose(hands, box)
    hands.press(page.locator('[data-do="begin"]'))
    untrained = page.locator("[data-guide-problem]")
    expect(page.locator(SETTLED).or_(untrained).filter(visible=True)).to_be_visible()
    if untrained.is_visible():
        hands.enter(page.locator("#guide-reason"), FIRST)
        hands.press(page.locator('[data-do="begin"]'))
        expect(page.locator(SETTLED)).to_be_visible()


def shown(page: Page) -> str:
    there(page, SETTLED)
    return page.locator(STAGE).get_attribute("data-shown") or ""


def press(hands: Hands, action: str) -> None:
    """Presses a button of the walk and waits until the screen after it takes taps."""
    page = hands.page
    there(page, SETTLED)
    page.locator(STAGE).evaluate("(stage) => stage.firstElementChild.setAttribute('data-left', '')")
    hands.press(page.locator(f'{STAGE} [data-do="{action}"]').first)
    gone(page, "[data-left]")
    there(page, SETTLED)


def answer_all(hands: Hands, until: str = "sign") -> list[str]:
    """Says yes to every point until a screen comes, the signature if no other is named; gives the screens before it."""
    seen: list[str] = []
    while (screen := shown(hands.page)) != until:
        assert len(seen) < 120, "the walk has no end"
        seen.append(screen)
        if screen == EYEWASH:
            for which in due_checks(hands.page):
                check_eyewash(hands.page, which)
        if screen == CARD:
            fill_card(hands.page)
        press(hands, {"pause": "on", "phases": "phase"}.get(screen, "yes"))
    return seen


def due_checks(page: Page) -> list[str]:
    boxes = page.locator('[data-eyewash-check]:not([data-now="held"])')
    return [box.get_attribute("data-eyewash-check") or "" for box in boxes.all()]


def check_eyewash(page: Page, which: str, day: str = "", **found: str) -> None:
    box = page.locator(f'[data-eyewash-check="{which}"]')
    if box.locator("details").get_attribute("open") is None:
        box.locator("summary").click()
    for part in ("order", "way_free", "tepid"):
        box.locator(f'[data-part="{part}"][value="{found.get(part, "yes")}"]').check()
    box.locator('[data-part="person"]').fill("Q")
    if day:
        box.locator('[data-part="day"]').fill(day)
    page.wait_for_timeout(350)
    box.locator('[data-do="eyewash"]').click()


def daily_check(hands: Hands, no: str = "") -> None:
    """Says yes to each point of the daily check in hand, and no to one."""
    page = hands.page
    assert shown(page) == "daily"
    rows = page.locator(f"{STAGE} li[data-point]")
    for point in [row.get_attribute("data-point") for row in rows.all()]:
        row = page.locator(f'li[data-point="{point}"]')
        if point == no:
            return press_in(row, "no")
        if point == "daily-eyewash":
            for which in due_checks(page):
                row.locator('[data-do="yes"]').click()
                expect(row.locator("[data-eyewash-first]")).to_be_visible()
                check_eyewash(page, which)
                expect(page.locator(f'[data-eyewash-check="{which}"]')).to_have_attribute("data-now", "held")
        if point == "daily-phone":
            fill_card(page)
        press_in(row, "yes")


def press_in(row: Locator, answer: str) -> None:
    """Answers one point of the daily check and waits until that is stored."""
    row.locator(f'[data-do="{answer}"]').click()
    expect(row.and_(row.page.locator("[data-yes]")).or_(row.page.locator(f'{STAGE}:not([data-shown="daily"])')).first).to_be_attached()
    there(row.page, SETTLED)


def sign(hands: Hands, initials: str = "R") -> None:
    hands.enter(hands.page.locator("#initials"), initials)
    press(hands, "sign")


def walked(hands: Hands, phases: tuple[str, ...], **who: Any) -> None:
    """A whole walk."""
    walk_page(hands.page)
    begin(hands, phases=phases, **who)
    answer_all(hands)
    sign(hands)
