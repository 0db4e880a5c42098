"""What the tests do on the pages, in the words of the maker; by touch, or by keyboard alone."""

from __future__ import annotations

import json
import time
from typing import Any, Protocol

from playwright.sync_api import Error, Locator, Page, expect

PAGES = (
    "",
    "formula/",
    "formula/edit/",
    "formula/stand-in/",
    "batch/",
    "batch/sheet/",
    "records/",
    "records/batch/",
    "records/copies/",
    "scale/",
    "fragrance/",
    "cut/",
    "day/",
    "workshop/",
    "workshop/setup/",
    "workshop/edit/",
    "sources/",
    "emergency/",
    "safety/",
    "safety/labels/",
    "404.html",
    "records/label/",
    "es/records/label/",
    "workshop/upkeep/",
    "es/workshop/upkeep/",
    "workshop/phones/",
    "es/workshop/phones/",
    *(f"{where}{page}/" for where in ("", "es/") for page in ("hand", "take")),
    "es/",
    "es/scale/",
    "es/workshop/setup/",
    "es/records/",
    "es/records/batch/",
    "es/records/copies/",
    "es/fragrance/",
    "es/cut/",
    "es/day/",
    "es/formula/stand-in/",
    *(f"{where}records/{page}/" for where in ("", "es/") for page in ("trace", "release", "pack", "send", "after")),
    *(f"{where}cure/{page}" for where in ("", "es/") for page in ("", "drying/", "new/", "test/", "move/", "label/", "aside/")),
    *(f"{where}tanks/{page}" for where in ("", "es/") for page in ("", "tank/", "plan/", "load/", "draw/", "strength/", "dissolving/")),
    *(f"{where}records/stock/{page}" for where in ("", "es/") for page in ("", "count/")),
    *(f"{where}tanks/{page}/" for where in ("", "es/") for page in ("temperature", "heat", "mix")),
)

# The databases: one's own is called so for ever; the other as store/mode.mjs calls it. In a page: the one that it writes to.
OWN, PRACTICE = "tarewell", "tarewell-practice"
RECORDS = f'(document.documentElement.dataset.mode === "own" ? "{OWN}" : "{PRACTICE}")'

# The records' store has no room, until the page is told that there is some again; drafts still fit.
FULL_STORE = """
for (const name of ["add", "put"]) {
  const original = IDBObjectStore.prototype[name];
  IDBObjectStore.prototype[name] = function (...values) {
    if (this.name === "events" && !globalThis.roomAgain) throw new DOMException("no room", "QuotaExceededError");
    return original.apply(this, values);
  };
}
"""
EVERY_STORE_FULL = FULL_STORE.replace('this.name === "events" && ', "")


def own_workshop(page: Page) -> None:
    """Whatever this page opens from now on is one's own workshop, in which nothing is stored yet, and no practice."""
    page.add_init_script("try { localStorage.setItem('tarewell-mode', 'own'); } catch { /* no page of the site */ }")


def _evaluated(page: Page, expression: str) -> Any:
    """The expression's value; nothing while the page is on its way to another, which is what may be waited for."""
    try:
        return page.evaluate(expression)
    except Error as error:
        if "context was destroyed" not in str(error):
            raise
        return None


def until(page: Page, expression: str, what: str, seconds: float = 15) -> Any:
    """The expression's first truthy value. The pages' policy forbids the browser library's own waiting by text."""
    end = time.monotonic() + seconds
    while not (value := _evaluated(page, expression)):
        assert time.monotonic() < end, f"waited in vain: {what}"
        page.wait_for_timeout(20)
    return value


def there(page: Page, selector: str, seconds: float = 20) -> Locator:
    """The one element of this CSS selector, once it is there.

    The browser library's own `expect` looks after 0.1, 0.35 and 0.85 s: what comes in 0.4 s would take twice as long.
    """
    until(page, f"document.querySelectorAll({json.dumps(selector)}).length === 1", selector, seconds)
    return page.locator(selector)


def gone(page: Page, selector: str, seconds: float = 20) -> None:
    """Waits until nothing is left of this CSS selector."""
    until(page, f"document.querySelector({json.dumps(selector)}) === null", f"{selector} to go", seconds)


def answered(page: Page, region: str) -> Locator:
    """A region once it holds an answer to just what stands in the form now, and no bar over it says that the store is slow."""
    return there(page, f'body:not(:has(#unread:not([hidden]))) [data-answer="{region}"][data-live]:not([aria-busy]):not([data-stale]):not([hidden])', 30)


def kept_offline(page: Page) -> None:
    """Waits until the whole build is stored on the device."""
    there(page, 'html[data-offline="ready"]', 30)


def copies_page(page: Page) -> None:
    """The page of copies, ready to make one or to take one in."""
    page.goto("records/copies/")
    until(page, "document.querySelector('[data-persistence]').textContent !== ''", "the page of copies")


def form_of(page: Page, task: str) -> Locator:
    return page.locator(f'form[data-task="{task}"]')


def control(form: Locator, name: str) -> Locator:
    """A control of the form. The folds it lies in are opened, which is one tap each."""
    return _unfolded(form.locator(f'[name="{name}"]'))


def to_sheet(form: Locator) -> Locator:
    """The button of a batch sheet that issues it and leads to the sheet; the one at the bottom edge leads to the scale."""
    return _unfolded(form.locator('[data-issue="print"]'))


def _unfolded(found: Locator) -> Locator:
    while True:
        try:
            found.evaluate_all(OPEN_FOLDS)
            return found
        except Error as error:  # the page is on its way to the one that is meant
            if "context was destroyed" not in str(error):
                raise
            found.page.wait_for_timeout(20)


OPEN_FOLDS = """(all) => {
  for (const each of all) for (let at = each; at; at = at.parentElement) if (at.matches("details")) at.open = true;
}"""


def unfold(page: Page) -> None:
    """Opens every fold of the page, for a test that is about what lies in them."""
    page.evaluate("for (const fold of document.querySelectorAll('main details')) fold.open = true")


def problem(form: Locator, name: str) -> Locator:
    """The line beside a field that says what is wrong with it."""
    return form.locator(f'[data-problem="{name}"]')


def issued_code(page: Page) -> str:
    """The batch code of the issued sheet that the page shows."""
    expect(page.locator("[data-sheet] article")).to_be_visible()
    return page.locator("[data-sheet-code]").inner_text()


def draft_kept(page: Page, text: str) -> None:
    """Waits until a stored draft holds this text, as the database has it."""
    # As a value, or as a text within one that is stored as JSON.
    until(page, f"""({ALL})('drafts').then((all) => all.some((each) => Object.values(each.values)
        .some((value) => value === {text!r} || value.includes(JSON.stringify({text!r})))))""", f"a draft with {text!r}")  # fmt: skip


def stored(page: Page, store: str) -> list[dict[str, Any]]:
    """Everything in one store of the records' database, read past the app."""
    found: list[dict[str, Any]] = page.evaluate(f"({ALL})({store!r})")
    return found


ALL = """(name) => new Promise((resolve, reject) => {
  const opening = indexedDB.open(RECORDS);
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const database = opening.result;
    const reading = database.transaction(name).objectStore(name).getAll();
    reading.onsuccess = () => { database.close(); resolve(reading.result); };
    reading.onerror = () => { database.close(); reject(reading.error); };
  };
})""".replace("RECORDS", RECORDS)


class Hands(Protocol):
    """A way to work a page."""

    page: Page

    def press(self, target: Locator) -> None: ...

    def enter(self, target: Locator, text: str) -> None: ...

    def choose(self, target: Locator, value: str) -> None: ...


class Touch:
    """Fingers. What a finger would not hit, because it is covered or outside, fails."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.last = 0.0

    def press(self, target: Locator) -> None:
        # A second tap within the double-tap time may be taken for a gesture: no finger is that quick in earnest.
        pause_s = self.last + 0.31 - time.monotonic()
        if pause_s > 0:
            self.page.wait_for_timeout(pause_s * 1000)
        target.tap()
        self.last = time.monotonic()

    def enter(self, target: Locator, text: str) -> None:
        self.press(target)
        expect(target).to_be_focused()
        # As a phone's keyboard does it: the words come in without a key event each.
        self.page.keyboard.insert_text(text)

    def choose(self, target: Locator, value: str) -> None:
        # The list of choices is the system's own, which no page sees.
        target.select_option(value)


class Keys:
    """A keyboard and nothing else: Tab to get there, then the usual keys."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def reach(self, target: Locator) -> None:
        expect(target).to_be_visible()
        for _ in range(300):
            if target.evaluate("(element) => element === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"no number of Tab presses leads to {target}")

    def press(self, target: Locator) -> None:
        self.reach(target)
        self.page.keyboard.press("Enter")

    def enter(self, target: Locator, text: str) -> None:
        self.reach(target)
        self.page.keyboard.type(text)

    def choose(self, target: Locator, value: str) -> None:
        self.reach(target)
        steps = target.evaluate("(list, value) => [...list.options].findIndex((each) => each.value === value)", value)
        assert steps >= 0, f"{value} is not offered by {target}"
        self.page.keyboard.press("Home")
        for _ in range(steps):
            self.page.keyboard.press("ArrowDown")
        expect(target).to_have_value(value)


def fill(hands: Hands, form: Locator, values: dict[str, str]) -> None:
    """Fills controls in the order given, as the maker would come by them."""
    for name, value in values.items():
        target = control(form, name)
        if target.evaluate("(element) => element instanceof HTMLSelectElement"):
            hands.choose(target, value)
        else:
            hands.enter(target, value)


def press_twice(hands: Hands, button: Locator) -> None:
    """A button that asks for a second press, and takes two quick ones for a slip."""
    hands.press(button)
    expect(button).to_have_text("Press again to confirm")
    armed = float(button.get_attribute("data-armed") or 0)
    until(hands.page, f"performance.now() - {armed} > 350", "the pause after which a press is no double tap")
    hands.press(button)
