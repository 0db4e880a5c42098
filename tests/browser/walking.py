"""Two people at the safety walk: what the tests do on its screens, by touch or by keyboard alone."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

from floor import put
from playwright.sync_api import Locator, Page, expect
from screens import Hands, Keys, gone, stored, there, until
from test_accessibility import audit

PHASE = "weigh"
STAGE = "[data-stage]"
SETTLED = "[data-stage][data-settled]"
EYEWASH = "before-eyewash"
CARD = "before-card"
# Why somebody guides whose own training doesn't cover it.
FIRST = "The first one here"
# The workshop's own details, as its form stores them.
PLACE = {"emergency_number": "999", "address": "Mill Lane 3", "eyewash": "by the door", "training_months": "12"}


# One tab tells the others that something has been stored.
CHANGED = "new BroadcastChannel('tarewell').postMessage('changed')"


def walk_page(page: Page, address: str = "") -> None:
    page.goto(f"safety/{address}")
    there(page, "[data-safety][data-ready]")


def set_place(page: Page, **values: str) -> None:
    """Stores the workshop's details as its form does, without a tap, and opens the page from its top, which then knows them."""
    at = "2026-01-01T08:00:00"
    put(page, [{"id": "seed-place", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": "saved", "subject": "safety:safety",
                "values": {**PLACE, **values}}])  # fmt: skip
    page.goto(page.url.partition("#")[0])
    until(page, "!document.querySelector('[data-safety]:not([data-ready])')", "the page to be ready")


def _stamped(page: Page, subject: str, events: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Events of a walk as of now, by the page's own clock, a millisecond each."""
    now, offset = page.evaluate("[Date.now(), -new Date().getTimezoneOffset()]")
    zone = timezone(timedelta(minutes=offset))
    stamped = []
    for number, event in enumerate(events):
        instant = datetime.fromtimestamp(0, UTC) + timedelta(milliseconds=now + number)
        at = f"{instant.isoformat(timespec='milliseconds')[:23]}Z"
        local = instant.astimezone(zone).isoformat(timespec="seconds")
        stamped.append({**event, "id": f"seed-{subject}-{now}-{number:03}", "at": at, "local": local, "subject": subject})
    return stamped


def _yes(points: list[str], language: str = "en") -> list[dict[str, Any]]:
    return [{"kind": "walk_answered", "point": point, "answer": "yes", "language": language} for point in points]


def walk_events(page: Page, phases: tuple[str, ...], walk: str = "seed", helper: str = "R", guide: str = "Q") -> list[dict[str, Any]]:
    """A signed walk in the form that its page stores, with the points that the page holds."""
    by_phase = page.evaluate("""(phases) => Object.fromEntries(phases.map((phase) =>
        [phase, document.querySelector(`template[data-phase="${phase}"]`).dataset.points.split(" ")]))""", list(phases))  # fmt: skip
    points = [point for phase in phases for point in by_phase[phase]]
    begun = {"kind": "walk_begun", "helper": helper, "guide": guide, "language": "en", "way": "read-do", "phases": list(phases),
             "points": points, "by_phase": by_phase, "reason": FIRST}  # fmt: skip
    signed = {"kind": "walk_signed", "person": helper, "initials": helper, "path": "", "language": "en", "phases": list(phases)}
    return _stamped(page, f"walk:{walk}", [begun, *_yes(points), signed])


def put_walk(page: Page, phases: tuple[str, ...], walk: str = "seed", **who: str) -> None:
    """Stores a signed walk without a tap; open pages hear of it."""
    put(page, walk_events(page, phases, walk, **who), None)
    page.evaluate(CHANGED)


def skip_to(hands: Hands, point: str = "sign", language: str = "en") -> None:
    """Says yes without a tap to all that the walk in hand asks before this point, or before its signature."""
    page = hands.page
    there(page, SETTLED)
    subject = "walk:" + page.url.partition("#")[2]
    own = [event for event in stored(page, "events") if event["subject"] == subject]
    [points] = [event["points"] for event in own if event["kind"] == "walk_begun"]
    answered = {(event["point"], event["local"][:10]) for event in own if event.get("answer") == "yes"}
    before = _stamped(page, subject, _yes(points if point == "sign" else points[: points.index(point)], language))
    put(page, [event for event in before if (event["point"], event["local"][:10]) not in answered], None)
    page.locator(STAGE).evaluate("(stage) => stage.firstElementChild.setAttribute('data-left', '')")
    page.evaluate(CHANGED)
    gone(page, "[data-left]")
    if shown(page) == "phases":
        press(hands, "phase")
    if shown(page) == "pause":
        press(hands, "on")
    assert shown(page) == ("own" if point.startswith("own:") else point)


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
    there(row.page, SETTLED)
    row.locator(f'[data-do="{answer}"]').click()
    expect(row.and_(row.page.locator("[data-yes]")).or_(row.page.locator(f'{STAGE}:not([data-shown="daily"])')).first).to_be_attached()
    there(row.page, SETTLED)


def sign(hands: Hands, initials: str = "R") -> None:
    hands.enter(hands.page.locator("#initials"), initials)
    press(hands, "sign")


def draw(page: Page) -> None:
    """Initials by a finger."""
    pad = page.locator("[data-pad]").bounding_box()
    assert pad
    page.mouse.move(pad["x"] + 30, pad["y"] + 30)
    page.mouse.down()
    page.mouse.move(pad["x"] + 130, pad["y"] + 60, steps=4)
    page.mouse.up()


# Parts of the overview that nobody sees cost axe-core most of its time; they are asked with the page as it opens.
_AXE_OF_PART = """async ([part, rules]) => {
  const asked = document.querySelector(part);
  const unseen = [...document.querySelectorAll("[data-overview][hidden], [data-overview] details:not([open])")];
  const away = unseen.filter((each) => asked === document.documentElement || !asked.contains(each)).map((element) => {
    const mark = document.createComment("");
    element.replaceWith(mark);
    return {mark, element};
  });
  const {violations} = await axe.run(part, {resultTypes: ["violations"], ...rules});
  for (const {mark, element} of away) mark.replaceWith(element);
  return violations.flatMap(({id, help, nodes}) =>
    nodes.map(({target, failureSummary}) => `${id}: ${help}: ${target} ${failureSummary}`));
}"""


def audit_part(page: Page, axe: str, state: str, part: str = STAGE) -> list[str]:
    """All that axe-core finds wrong in one part of the page, or in all that is seen of it (":root"), in every look."""

    def of_part(page: Page, rules: dict[str, Any]) -> list[str]:
        found: list[str] = page.evaluate(_AXE_OF_PART, [part, rules])
        return found

    return audit(page, axe, state, found_by=of_part)


def walked(hands: Hands, phases: tuple[str, ...], **who: Any) -> None:
    """A whole walk."""
    walk_page(hands.page)
    begin(hands, phases=phases, **who)
    answer_all(hands)
    sign(hands)
