"""A person at the scale: what the tests do on the floor's screens, by touch or by keyboard alone."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from typing import Any

from at_home import stamp
from playwright.sync_api import Locator, Page, expect
from screens import RECORDS, Hands, Keys, answered, control, form_of, gone, issued_code, stored, there, to_sheet, until

STAGE = "[data-stage]"
# Taps before this are taken for ones that were meant for the screen before.
SETTLED = f"{STAGE}[data-settled]:not([data-shown='ready-looking'])"
# How long a busy machine may take to show a screen. [ms]
PATIENCE = 20_000
# Writes past the app, each store as the app keeps it.
_PUT = """(all) => new Promise((resolve, reject) => {
  const opening = indexedDB.open(RECORDS);
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const database = opening.result;
    const writing = database.transaction([...Object.keys(all), "log", "standing"], "readwrite");
    // The batch log, and what stands, are to be made anew, of what is put here past them.
    for (const made of ["log", "standing"]) writing.objectStore(made).clear();
    for (const [store, values] of Object.entries(all)) {
      for (const value of values) writing.objectStore(store).put(value);
    }
    writing.oncomplete = () => { database.close(); resolve(); };
    writing.onabort = () => { database.close(); reject(writing.error); };
  };
})""".replace("RECORDS", RECORDS)


def issue(page: Page, **changes: str) -> str:
    """Issues the demo's batch and gives its code."""
    page.goto("batch/")
    answered(page, "batch_sheet")
    form = form_of(page, "batch_sheet")
    for name, text in {**changes, "issued_by": "Q"}.items():
        target = control(form, name)
        if target.evaluate("(element) => element.matches('select')"):
            target.select_option(text)
        else:
            target.fill(text)
    to_sheet(form).click()
    return issued_code(page)


def record_of(page: Page, code: str) -> dict[str, Any]:
    (found,) = [event for event in stored(page, "events") if event["kind"] == "issued" and event["code"] == code]
    return found


def block_events(page: Page, code: str, block: int = 1) -> list[dict[str, Any]]:
    """Everything stored about a block, in order, read past the app."""
    events = [event for event in stored(page, "events") if event["subject"] == f"block:{code}/{block}"]
    return sorted(events, key=lambda event: (event["at"], event["id"]))


def step_of(record: dict[str, Any], key: str) -> dict[str, Any]:
    (found,) = [step for step in record["steps"] if step["key"] == key]
    return found


def reading(step: dict[str, Any], counts: int) -> str:
    """A display that shows so many steps of its last digit."""
    decimals = step["decimals"]
    text = str(counts).rjust(decimals + 1, "0")
    return f"{text[:-decimals]}.{text[-decimals:]}" if decimals else text


def trained(code: str, block: int, at: datetime, person: str = "Q") -> dict[str, Any]:
    """The answer to "Ready today?", which a block asks for once, as it was stored before there was a daily check."""
    return {
        "id": f"seed-{code}-{block}-trained", **stamp(at), "kind": "trained",
        "subject": f"block:{code}/{block}", "person": person, "helper": None, "reason": "The maker alone, as in every test",
    }  # fmt: skip


def done(
    record: dict[str, Any], until: str | None = None, block: int = 1, person: str = "Q", **readings: int
) -> list[dict[str, Any]]:
    """The events of a block that is done as planned up to a step (None: to its end), in the form that the page stores.

    `readings` are counts that a display showed instead, by the step's key with "_" for ":" and "-".
    """
    began = datetime.now(UTC).replace(microsecond=0) - timedelta(minutes=50)
    events = [trained(record["code"], block, began - timedelta(seconds=20), person)]
    for number, step in enumerate(record["steps"]):
        if step["key"] == until:
            break
        event = {"id": f"seed-{record['code']}-{block}-{number}", **stamp(began + timedelta(seconds=20 * number))}
        event |= {"subject": f"block:{record['code']}/{block}", "step": step["key"], "person": person}
        if step["kind"] == "weigh":
            asked = {name: step[name] for name in ("target", "low", "high", "decimals", "unit", "division")}
            counts = readings.get(step["key"].replace(":", "_").replace("-", "_"), step["target"])
            event |= {"kind": "weighed", "reading": reading(step, counts), "unit": step["unit"], "lot": step["lot"]}
            event |= {"asked": asked, "question": None, "mode": "net"}
        elif step["kind"] == "temperature":
            event |= {"kind": "checked", "reading": reading(step, step["low"]), "unit": step["unit"]}
        elif step["kind"] == "timer":
            event |= {"kind": "timed", "action": "ended", "seconds": step["seconds"]}
        else:
            event |= {"kind": "checked"}
        events.append(event)
    return events


def put(page: Page, events: list[dict[str, Any]], person: str | None = "Q") -> None:
    """Stores events without a tap, and who is at the scale today."""
    blocks = {}
    for event in events:
        kind, _, which = event["subject"].partition(":")
        if kind == "block":
            code, _, number = which.rpartition("/")
            blocks[event["subject"]] = {"subject": event["subject"], "code": code, "block": int(number), "at": event["at"]}
    batches = [
        {"id": event["id"], "code": event["code"], "at": event["at"], "local": event["local"],
         "formulaEvent": event["formula"]["event"], "formulaName": event["formula"]["name"]}
        for event in events if event["kind"] == "issued"
    ]  # fmt: skip
    today = page.evaluate("() => { const now = new Date(); now.setMinutes(now.getMinutes() - now.getTimezoneOffset());"
                          " return now.toISOString().slice(0, 10); }")  # fmt: skip
    named = {"key": "scale:person", "values": {"person": person, "day": today}, "base": None, "at": ""}
    drafts = [named] if person is not None else []
    page.evaluate(_PUT, {"events": events, "batches": batches, "blocks": list(blocks.values()), "drafts": drafts})


def own_events(page: Page, record: dict[str, Any], block: int = 1) -> list[tuple[str, str]]:
    """What is stored about a block, but for what a test has put there."""
    own = [event for event in block_events(page, record["code"], block) if not event["id"].startswith("seed-")]
    return [(event["kind"], event.get("step", "")) for event in own]


def begun(
    hands: Hands, record: dict[str, Any], until: str | None = None, block: int = 1, person: str = "Q", **readings: int
) -> Floor:
    """A block at the scale, done as planned up to a step: the way there has its own tests."""
    hands.page.goto("scale/")
    Floor(hands, "").comes("lists")
    put(hands.page, [record, *done(record, until, block, person, **readings)], person)
    floor = Floor(hands, record["code"], block)
    floor.open()
    return floor


class Floor:
    """One block on the page."""

    def __init__(self, hands: Hands, code: str, block: int = 1) -> None:
        self.hands = hands
        self.page = hands.page
        self.code = code
        self.block = block

    def open(self) -> None:
        # The page may be at the scale already: then the screen that stands there now is not the one that is waited for.
        self.page.evaluate("document.querySelector('[data-stage]')?.firstElementChild?.setAttribute('data-left', '')")
        self.page.goto(f"scale/#{self.code}/{self.block}")
        gone(self.page, "[data-left]")
        self.here()
        self.at()

    def here(self) -> None:
        """The tab the person looks at: the browser slows the others down."""
        self.page.bring_to_front()

    def at(self) -> str:
        """The screen that is shown, once it takes taps."""
        there(self.page, SETTLED)
        return self.page.locator(STAGE).get_attribute("data-shown") or ""

    def title(self) -> str:
        self.at()
        return self.page.locator(f"{STAGE} h2").first.inner_text()

    def titled(self, title: str) -> None:
        """Waits for the screen with this heading."""
        expect(self.page.locator(f"{STAGE} h2").first).to_have_text(title, timeout=PATIENCE)

    def told(self) -> None:
        """Waits until Python has said what it has to say about this screen: it may change a target."""
        self.at()
        until(self.page, """[...document.querySelectorAll('[data-stage] [data-region="scale_live"]')]
            .every((place) => place.childElementCount > 0)
            || /^(Calculation is off|El cálculo está apagado)/.test(document.querySelector("[data-python-state]").textContent)""",
              "an answer about the block", 2 * PATIENCE / 1000)  # fmt: skip

    def button(self, action: str) -> Locator:
        return self.page.locator(f'{SETTLED} [data-do="{action}"]').first

    def do(self, action: str) -> None:
        """Presses a button and waits until another screen has come for it."""
        self.here()
        self.at()
        self.page.locator(STAGE).evaluate("(stage) => stage.firstElementChild.setAttribute('data-left', '')")
        self.hands.press(self.button(action))
        gone(self.page, "[data-left]")

    def comes(self, shown: str) -> None:
        try:
            there(self.page, f'{SETTLED}[data-shown="{shown}"]')
        except AssertionError as error:
            stands = self.page.evaluate("document.querySelector('[data-stage]')?.outerHTML.slice(0, 300)")
            raise AssertionError(f"the screen {shown} did not come; at {self.page.url} stands {stands}") from error

    def sign(self, name: str) -> None:
        self.comes("person")
        self.hands.enter(self.page.locator('[name="person"]'), name)
        self.do("person-typed")

    def begin(self, name: str) -> None:
        """Signs, and goes on though nothing of the day's safety is in the records: one's own asks why, practice doesn't."""
        self.sign(name)
        self.comes("ready")
        self.step()

    def keys(self, digits: str, before: str = "") -> None:
        """Types digits after those that stand there already: by the keypad's own keys, or by the keyboard that hangs on the device."""
        self.here()
        self.at()
        if isinstance(self.hands, Keys):
            self.page.keyboard.type(digits)
        else:
            for key in digits:
                self.page.locator(f'{SETTLED} [data-key="{key}"]').click()
        expect(self.page.locator("[data-typed]")).to_have_text(before + digits)

    def type(self, digits: str) -> None:
        """Types one reading and says that the display shows it."""
        self.keys(digits)
        self.do("reading")

    def keypad(self) -> None:
        """Opens the keypad where it does not stand there from the start."""
        if self.at() != "keypad":
            self.do("read")
        self.comes("keypad")

    def offered(self, digits: str) -> Locator:
        """The key of this reading, where the band is so narrow that its readings stand as keys."""
        self.at()
        return self.page.locator(f'{SETTLED} [data-do="shown"]', has_text=re.compile(rf"^{re.escape(digits)}$"))

    def take(self, digits: str) -> None:
        """Takes a reading by its key."""
        self.here()
        self.page.locator(STAGE).evaluate("(stage) => stage.firstElementChild.setAttribute('data-left', '')")
        self.hands.press(self.offered(digits))
        gone(self.page, "[data-left]")

    def read(self, digits: str, *, twice: bool = False) -> None:
        """Takes a reading: by the key that shows it, where there is one; else typed, and twice where the page wants it."""
        self.told()
        if self.offered(digits).count() == 1:
            return self.take(digits)
        self.keypad()
        for _ in range(2 if twice else 1):
            self.comes("keypad")
            self.type(digits)

    def why(self, reason: str) -> None:
        """Says why, out of the reasons that are offered."""
        radios = self.page.locator(f'{STAGE} input[name="why"]')
        wanted = self.page.locator(f'{STAGE} input[name="why"][value="{reason}"]')
        if isinstance(self.hands, Keys):
            # One stop for all of them; the arrows go from one to the next.
            self.hands.reach(radios.first)
            self.page.keyboard.press("Space")
            for _ in range(radios.count()):
                if wanted.is_checked():
                    break
                self.page.keyboard.press("ArrowDown")
        else:
            wanted.locator("xpath=..").click()
        expect(wanted).to_be_checked()

    def decide(self, choice: str | None, reason: str) -> str:
        """Takes a way on, the best one when none is named, and says why; gives the way's key."""
        self.comes("recovery")
        button = self.page.locator(f'{SETTLED} [data-decide="{choice}"]' if choice else f"{SETTLED} [data-decide]").first
        expect(button).to_be_enabled(timeout=2 * PATIENCE)
        taken = button.get_attribute("data-decide") or ""
        self.hands.press(button)
        self.comes("reason")
        self.why(reason)
        self.do("reason-given")
        return taken

    def live(self) -> str:
        """What Python says about the block as it stands, once it has said so."""
        place = self.page.locator(f'{SETTLED} [data-region="scale_live"]')
        expect(place).not_to_be_empty(timeout=2 * PATIENCE)
        self.at()
        return place.inner_text().replace("\u00a0", " ")

    def take_over(self) -> None:
        """Takes the block from the tab that has it. A tap on a screen that has just changed counts for nothing: it is made again."""
        button = self.page.locator('[data-do="take-over"]')
        expect(button).to_be_visible(timeout=PATIENCE)
        for _ in range(5):
            self.at()
            self.hands.press(button)
            self.page.wait_for_timeout(1000)
            if not button.is_visible():
                return
        raise AssertionError("the block stays with the other tab")

    def step(self) -> None:
        """Does the step in hand just as planned."""
        shown = self.at()
        if shown == "checks":
            self.check()
        elif shown == "confirm":
            self.do("done")
        elif shown in ("temperature", "weigh", "keypad"):
            target = self.page.locator(f"{STAGE} .target-digits").first.inner_text().split("–")[0]
            self.read(target)
            if self.page.locator(f"{STAGE} .again").count():
                self.type(target)
        elif shown == "timer":
            self.do("start-timer")
            self.end_time()
        elif shown == "asked":
            self.do("as-planned")
        elif shown == "ready":
            if (reason := self.page.locator(f'{STAGE} [name="reason"]')).count():
                self.hands.enter(reason, "First day, Ana looks on")
            self.do("ready")
        else:
            raise AssertionError(f"the screen {shown} is no step")

    def tick(self, line: Locator) -> None:
        """Confirms one safety line by itself."""
        self.here()
        self.hands.press(line)
        expect(line).to_have_attribute("aria-pressed", "true")

    def check(self) -> None:
        """All that is looked over on one screen: the safety lines one by one, the rest by the button."""
        lines = self.page.locator(f'{SETTLED} [data-do="tick"]')
        left = [n for n in range(lines.count()) if lines.nth(n).get_attribute("aria-pressed") == "false"]
        rest = self.page.locator(f"{STAGE} .check > h3").count()
        for n in left if rest else left[:-1]:
            self.tick(lines.nth(n))
        if rest:
            self.do("checks-done")
        else:
            # The last of them leads on by itself.
            self.page.locator(STAGE).evaluate("(stage) => stage.firstElementChild.setAttribute('data-left', '')")
            self.hands.press(lines.nth(left[-1]))
            gone(self.page, "[data-left]")

    def end_time(self) -> None:
        """Says that a time is over; asked back when it is not, says it again."""
        self.do("end-timer")
        if self.at() == "early":
            self.do("end-early")

    def correct(self, digits: str, reason: str) -> None:
        """Corrects the reading that is looked at."""
        self.do("correct")
        self.comes("keypad")
        self.type(digits)
        if self.at() == "question":
            self.do("yes")
        self.comes("why-corrected")
        self.why(reason)
        self.do("corrected-because")

    def stands(self, title: str) -> bool:
        """Whether the step of this title is in hand, alone or with others on one screen."""
        self.at()
        told = f"{STAGE} h2, {STAGE} .check h3, {STAGE} .check-key, {STAGE} .joined-step h3"
        return any(each.strip().startswith(title) for each in self.page.locator(told).all_inner_texts())

    def go_to(self, title: str) -> None:
        """Does one step after the other as planned until the one with this title is in hand."""
        for _ in range(60):
            if self.stands(title):
                return
            before = self.title()
            self.step()
            until(self.page, f"document.querySelector('{STAGE} h2')?.innerText !== {json.dumps(before)}", "the next step", 20)
        raise AssertionError(f"no step is called {title}")


def as_person(floor: Floor, name: str) -> None:
    tools = floor.page.locator("[data-floor-tools]")
    if tools.get_attribute("open") is None:
        tools.locator("summary").tap()
    floor.at()
    tools.locator('[data-do="change-person"]').tap()
    floor.sign(name)
