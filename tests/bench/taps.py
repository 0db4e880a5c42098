"""What a job costs a finger: taps, digits, screens, scrolls and words, walked on a phone of 390 x 844. Prints `figure: value unit`.

One function a walk, in WALKS with what its counts may at most be. A tap is each time a finger comes down, digits of a keypad
and letters typed included, pasted ones too; a list of choices is two. A screen is each heading, or each second reading, that
is shown; a scroll is each time that what is pressed next was not in view. Words are all that stand on a screen down to where
it was scrolled when a finger comes down, once a screen, numbers included; what stands on every page, once a walk. Ends with 1
where a walk costs more than it may.
"""

from __future__ import annotations

import argparse
import gzip
import math
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import astuple, dataclass
from pathlib import Path
from typing import Any

from measuring import ROOT, figure
from playwright.sync_api import Browser, Locator, Page, expect, sync_playwright

from offline.browsers import chromium

sys.path += [str(ROOT / "tests" / "browser"), str(ROOT / "tests")]
from conftest import AT_HOME, CHROMIUM_ARGUMENTS, PHONE
from cutter import Cutter, all_racked, poured, told
from floor import STAGE, Floor, begun, block_events, put, reading, step_of
from kept_copies import FOLDER as COPIES
from kept_copies import NAMES as NAMES_OF_COPIES
from kept_copies import events_of
from screens import Touch, answered, own_workshop, stored, there, until
from site_server import SiteServer
from test_scale_recovery import issued
from walking import PLACE, _stamped, _yes, put_walk, walk_page

# Counted where it happens, over every page of a walk; nothing of the app is asked for it.
COUNTING = """
if (location.origin !== "null") {
  const NOTHING = '{"taps": 0, "keys": 0, "screens": 0, "last": "", "words": 0, "read": [], "frame": []}';
  const told = () => JSON.parse(sessionStorage.getItem("counted") ?? NOTHING);
  const tell = (change) => sessionStorage.setItem("counted", JSON.stringify({...told(), ...change}));
  const read = () => {
    const seen = {read: new Set(told().read), frame: new Set(told().frame)};
    let words = 0;
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) {
      const {data, parentElement: by} = texts.currentNode;
      const range = document.createRange();
      range.selectNode(texts.currentNode);
      const {top, height} = range.getBoundingClientRect();
      if (height === 0 || top >= innerHeight || by.closest(".unseen, noscript") || !by.checkVisibility({visibilityProperty: true})) continue;
      const of = seen[by.closest("main") ? "read" : "frame"];
      if (!of.has(data)) words += data.split(/\\s+/).filter((each) => /[\\p{L}\\p{N}]/u.test(each)).length;
      of.add(data);
    }
    tell({words: told().words + words, read: [...seen.read], frame: [...seen.frame]});
  };
  addEventListener("pointerdown", (event) => {
    if (!event.isTrusted) return;
    read();
    const key = event.target.closest?.('[data-do="key"]');
    tell({taps: told().taps + 1, keys: told().keys + (key ? 1 : 0)});
  }, true);
  addEventListener("input", (event) => {
    const typed = event.isTrusted && event.data ? event.data.length : 0;
    if (typed) tell({taps: told().taps + typed, keys: told().keys + typed});
  }, true);
  const look = () => {
    const stage = document.querySelector("[data-stage]");
    const shown = [location.pathname, location.hash, (stage ?? document).querySelector("h2, h1")?.textContent, stage?.dataset.shown,
                   stage?.querySelector(".again")?.textContent].join("|");
    // What is there for the moment in which records are read asks for nothing.
    if (stage?.dataset.shown !== "ready-looking" && shown !== told().last) tell({screens: told().screens + 1, last: shown, read: []});
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
# Within what oils and lye are usually poured at: common practice, no source.
POURED_AT = {"degC": "38", "degF": "100"}
DAILY = ("daily-fit", "daily-eyewash", "daily-wear", "daily-floor", "daily-air", "daily-vessel", "daily-phone")


# Plain prose is read quicker, at some 240 words a minute (from memory); standing, with a phone, it goes slower.
WORDS_A_MINUTE = 200


@dataclass
class Counts:
    taps: int
    keys: int
    screens: int
    scrolls: int
    words: int

    def since(self, before: Counts) -> Counts:
        """What has come to it since then."""
        return Counts(*(now - then for now, then in zip(astuple(self), astuple(before), strict=True)))

    @property
    def minutes(self) -> float:
        """To read all that was passed."""
        return round(self.words / WORDS_A_MINUTE, 1)


class Finger(Touch):
    """Counts what had to be scrolled to, and the taps into a system's own list of choices, which no page sees."""

    def __init__(self, page: Page) -> None:
        super().__init__(page)
        self.scrolls = self.unseen_taps = 0

    def choose(self, target: Locator, value: str) -> None:
        super().choose(target, value)
        self.unseen_taps += 2

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
        self.finger.scrolls = self.finger.unseen_taps = 0
        # Whatever is added to the page lets it look which screen that is: the first one counts.
        self.page.evaluate("() => { sessionStorage.removeItem('counted'); document.body.append(document.createComment('')); }")

    def counts(self) -> Counts:
        told: dict[str, Any] = self.page.evaluate("JSON.parse(sessionStorage.getItem('counted'))")
        taps = told["taps"] + self.finger.unseen_taps
        return Counts(taps, told["keys"], told["screens"], self.finger.scrolls, told["words"])


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


def weighed(on: Phone, record: dict[str, Any], block: int = 1, weighings: int = 0) -> None:
    """A block without errors, from its first screen to its record: each display shows its target. Ends sooner after so many weighings."""
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
            text = POURED_AT[step["unit"]] if step["kind"] == "temperature" else reading(step, step["target"])
            display(floor, text)
            done = [event for event in block_events(page, record["code"], block) if event["kind"] == "weighed"] if weighings else []
            if weighings and len(done) >= weighings:
                return


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
    if not ready:
        # Practice gives no reason.
        own_workshop(page)
    page.goto("scale/")
    Floor(on.finger, "").comes("lists")
    at = "2026-01-01T08:00:00"
    named = {"id": "person", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": "saved", "subject": "person:q", "values": {"name": "Q"}}
    put(page, [record] if ready else [record, named], None)
    page.reload()
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


# The most that a job may cost: a block without errors 40 taps, digits counted, and 20 screens; a scent check 3 taps; Today to
# a block in hand 1; first start to the first weighing of an own block 60 taps, and 15 minutes to read.
Most = dict[str, float]
Walked = dict[str, tuple[Counts, Most]]
MOST_OF_A_BLOCK: Most = {"taps": 40, "screens": 20}


def walk_blocks(on: Phone) -> Walked:
    first, second = blocks(on, ready=True)
    return {"first block of a day": (first, MOST_OF_A_BLOCK), "next block": (second, MOST_OF_A_BLOCK)}


def walk_unready(on: Phone) -> Walked:
    first, _ = blocks(on, ready=False)
    return {"first block, nothing of the day's safety recorded": (first, {})}


def walk_in_hand(on: Phone) -> Walked:
    page, record = on.page, issued("f-marsh-plain")
    begun(on.finger, record, "oil:1").at()
    page.goto("")
    card = there(page, "[data-in-hand] li a")
    on.counted_from_here()
    on.finger.press(card)
    Floor(on.finger, record["code"]).titled(step_of(record, "oil:1")["title"])
    return {"Today to a block in hand": (on.counts(), {"taps": 1})}


def walk_scent(on: Phone) -> Walked:
    page, finger = on.page, on.finger
    page.goto("")
    there(page, "html[data-mode]")
    on.counted_from_here()
    finger.press(page.locator("main").get_by_role("link", name="Fragrance"))
    mix = page.locator('select[name="scent"] option', has_text="Clove and orange").get_attribute("value") or ""
    finger.choose(page.locator('select[name="scent"]'), mix)
    expect(answered(page, "fragrance").locator(".scent-verdict")).to_be_visible()
    return {"scent check": (on.counts(), {"taps": 3})}


# What somebody with a usual kitchen answers: by question the keys tapped.
SET_UP = {
    "mould": ["Block 24"], "floor": ["300 lb, steps of 0.1"], "small": ["176 oz, steps"],
    "vessel": ["20 gal", "Not weighed yet"], "caustic": ["Soda flakes"],
}  # fmt: skip


def walk_first(on: Phone) -> Walked:
    """From the first start to the first weighing of an own block, with nothing but what the screens say."""
    page, finger = on.page, on.finger
    page.goto("")
    there(page, "html[data-undecided]")
    on.counted_from_here()
    finger.press(page.locator("main").get_by_role("link", name="Set up my workshop"))
    there(page, "[data-setup][data-ready]")
    finger.press(page.locator('[data-set-units="us"]'))
    there(page, 'html[data-units="us"]')
    for key, words in SET_UP.items():
        part = there(page, f'[data-question="{key}"]:not([hidden])')
        for each in words:
            finger.press(part.get_by_role("button", name=each))
        finger.press(part.get_by_role("button", name="OK, next"))
    part = there(page, '[data-question="crew"]:not([hidden])')
    finger.enter(part.locator('[name="people"]'), "Q")
    finger.press(part.get_by_role("button", name="OK, done"))
    there(page, '[data-question="done"]:not([hidden])')
    finger.press(page.get_by_role("link", name="Write a formula"))
    write_formula(on)
    page.wait_for_url("**/batch/*")
    answered(page, "batch_sheet")
    names = page.locator(".who-keys button")
    if page.locator('[name="issued_by"]').input_value() == "":
        finger.press(names.first)
    finger.press(page.locator('[data-issue="weigh"]'))
    page.wait_for_url("**/scale/**")
    record = next(event for event in stored(page, "events") if event["kind"] == "issued")
    at_scale = on.counts()
    weighed(on, record, weighings=1)
    first = on.counts()
    weighed(on, record)
    return {
        "first start to the first weighing of an own block": (first, {"taps": 60, "minutes": 15}),
        "that first block, nothing of the day's safety recorded": (on.counts().since(at_scale), {}),
    }


# An everyday bar.
OILS = {"olive": "40", "palm": "35", "coconut": "20", "sunflower": "5"}


def write_formula(on: Phone) -> None:
    page, finger = on.page, on.finger
    form = there(page, 'form[data-task="formula"][data-filled]')
    for oil, share in OILS.items():
        finger.press(oil_key(page, oil))
        # The keyboard is open already.
        expect(form.locator('[name="oils_text"]')).to_be_focused()
        page.keyboard.insert_text(share)
    for name, text in {"superfat_fraction": "5", "lye_strength_fraction": "33", "scent_fraction": "0"}.items():
        finger.enter(form.locator(f'[name="{name}"]'), text)
    answered(page, "formula")
    finger.press(form.get_by_role("button", name="Batch sheet"))


def oil_key(page: Page, oil: str) -> Locator:
    there(page, '[data-answer="oils_total"]:not([aria-busy]):not([data-stale])')
    return page.locator('[data-answer="oils_total"]').get_by_role("button", name=oil, exact=True)


# From poured to racked at most 20 taps for one block; and the digits of a bar, the trim and the trays.
RACK_DIGITS = 8
MOST_TO_RACK = {"taps": 20 + RACK_DIGITS, "screens": 20}


def walk_racked(on: Phone) -> Walked:
    """One block from the mould to the rack, then three of one day as one list."""
    page, found = on.page, {}
    for blocks_, most in ((1, MOST_TO_RACK), (3, {})):
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


def walk_tank(on: Phone) -> Walked:
    """From Today to lye for six blocks written down as put in: who does it is chosen once a day, and nothing is typed twice."""
    page, finger = on.page, on.finger
    page.goto("")
    on.counted_from_here()
    finger.press(page.locator(".places").get_by_role("link", name="Make"))
    finger.press(page.get_by_role("link", name="Tanks", exact=True))
    finger.press(answered(page, "tanks").get_by_role("link", name="Lye tank"))
    finger.press(answered(page, "tank_standing").get_by_role("link", name="Load for blocks"))
    finger.press(answered(page, "tank_plan").get_by_role("link", name="It’s in: log it"))
    there(page, 'form[data-task="tank_load"][data-filled]')
    answered(page, "tank_load")
    finger.press(page.locator(".who-keys button").first)
    answered(page, "tank_load")
    finger.press(page.get_by_role("button", name="It’s in"))
    expect(page.locator("[data-notice]")).to_have_text("Saved.")
    return {"a tank planned and filled": (on.counts(), {"taps": 9})}


def walk_fill(on: Phone) -> Walked:
    """From Today to a lye tank filled step by step for six blocks, and in its record: each step is confirmed, each lye read twice."""
    page, finger = on.page, on.finger
    page.goto("")
    on.counted_from_here()
    finger.press(page.locator(".places").get_by_role("link", name="Make"))
    finger.press(page.get_by_role("link", name="Tanks", exact=True))
    finger.press(answered(page, "tanks").get_by_role("link", name="Lye tank"))
    finger.press(answered(page, "tank_standing").get_by_role("link", name="Load for blocks"))
    answered(page, "tank_plan")
    finger.press(page.get_by_role("button", name="Fill it step by step"))
    page.wait_for_url("**/scale/#/fill/*")
    planned = on.counts()
    floor = Floor(finger, page.url.partition("#/fill/")[2])
    floor.sign("Q")
    floor.comes("ready")
    floor.do("ready")
    while (shown := floor.at()) not in ("fill-closing", "fill-closed"):
        if shown == "temperature" or (shown == "keypad" and page.locator('[data-do="no-reading"]').count()):
            floor.keypad()
            floor.type("30")
        else:
            floor.step()
    floor.do("fill-close")
    floor.comes("fill-closed")
    return {"a fill planned": (planned, {"taps": 6}), "a tank filled step by step": (on.counts(), {"taps": 55})}


# What stands between a closed block and its bars for sale in a workshop that looks and smells; its label was made once.
LABEL = {"identity": "Bar soap", "market": "us", "way": "added", "net_g": "4.4", "net_g.unit": "oz", "width_mm": "3.5", "width_mm.unit": "in",
         "height_mm": "2.75", "height_mm.unit": "in", "parts": "one", "shape": "label", "maker": "Workshop, Street 1, Town"}  # fmt: skip
NAMES = {"olive": "Olea Europaea (Olive) Fruit Oil", "palm": "Elaeis Guineensis (Palm) Oil", "coconut": "Cocos Nucifera (Coconut) Oil"}


def put_at(page: Page, events: list[dict[str, Any]]) -> None:
    """Stores events that need no moment of their own."""
    at = "2026-01-01T08:00:00"
    put(page, [{"id": f"put-{n}", "at": f"{at}.000Z", "local": f"{at}+00:00", **event} for n, event in enumerate(events)])


def prints(page: Page) -> None:
    """What is printed is only noted: no window of the system's opens."""
    page.add_init_script("print = () => sessionStorage.setItem('printed', document.title)")


def printed(page: Page) -> None:
    until(page, "sessionStorage.getItem('printed')", "something to be printed")
    page.evaluate("sessionStorage.removeItem('printed')")


def walk_sold(on: Phone) -> Walked:
    """From Today to a block released and to its label on paper."""
    page, finger = on.page, on.finger
    prints(page)
    record = {**issued("f-marsh-plain"), "code": "SOLD-1", "subject": "batch:SOLD-1", "id": "sold-1", "blocks": 1}
    page.goto("scale/")
    Floor(finger, "").comes("lists")
    put(page, [record, *poured(record)])
    cutter = Cutter(finger, record["code"])
    cutter.open()
    all_racked(cutter)
    saved = {"kind": "saved", "revision": 1}
    put_at(page, [
        {**saved, "subject": "release_checks:release_checks", "values": {"look": "yes"}}, {**saved, "subject": "label:f-marsh-plain", "values": LABEL},
        *({"kind": "inci_confirmed", "subject": f"inci:{key}.raw.us", "person": "Q", "name": name} for key, name in NAMES.items()),
    ])  # fmt: skip
    page.goto("")
    there(page, "html[data-mode]")
    on.counted_from_here()
    finger.press(page.locator(".places").get_by_role("link", name="Records"))
    finger.press(page.get_by_role("link", name="Release", exact=True))
    finger.press(answered(page, "release").get_by_role("link", name="SOLD-1"))
    answered(page, "release")
    finger.choose(page.locator('form[data-task="release"] [name="look"]'), "yes")
    expect(answered(page, "release")).to_contain_text("Every check passed")
    if not page.locator('form[data-task="release"] [name="person"]').input_value():
        finger.press(page.locator("details.asks > summary"))
        finger.press(page.locator(".who-keys button").first)
    finger.press(page.get_by_role("button", name="Keep this decision"))
    expect(answered(page, "release")).to_contain_text("Released")
    released = on.counts()
    finger.press(answered(page, "release").get_by_role("link", name="Label"))
    expect(answered(page, "soap_label")).to_contain_text("Ready to print")
    expect(page.locator('[name="batch"]')).to_have_value("SOLD-1")
    finger.press(page.get_by_role("button", name="Print"))
    printed(page)
    return {"Today to a block released": (released, {"taps": 9}), "Today to its label printed": (on.counts(), {"taps": 11})}


def walk_recall(on: Phone) -> Walked:
    """From Today to the list with which the bars of a bad lot are got back, on paper: the lot's code is typed."""
    page, finger = on.page, on.finger
    prints(page)
    page.goto("")
    there(page, "html[data-mode]")
    on.counted_from_here()
    finger.press(page.locator(".places").get_by_role("link", name="Records"))
    finger.press(page.get_by_role("link", name="Trace", exact=True))
    answered(page, "trace")
    finger.enter(page.get_by_label("Lot, batch, packed lot or outlet"), "OLV-0412")
    finger.press(page.get_by_role("button", name="Trace it"))
    recall = there(page, ".trace-recall table")
    expect(recall).to_contain_text("Together")
    finger.press(page.locator(".trace-recall").get_by_role("button", name="Print"))
    printed(page)
    return {"a bad lot to its recall list printed": (on.counts(), {"taps": 4 + len("OLV-0412") + 1})}


def walk_restored(on: Phone) -> Walked:
    """From Today on a new phone to all records of a copy back on it; which file it is, is chosen in the system's own list."""
    page, finger = on.page, on.finger
    own_workshop(page)
    name = NAMES_OF_COPIES[-1]
    page.goto("")
    there(page, "html[data-mode]")
    on.counted_from_here()
    finger.press(page.locator(".places").get_by_role("link", name="Records"))
    finger.press(page.get_by_role("link", name="Copies", exact=True))
    until(page, "(document.querySelector('[data-persistence]')?.textContent ?? '') !== ''", "the page of copies")
    content = gzip.decompress((COPIES / f"{name}.json.gz").read_bytes())
    page.locator("[data-import]").set_input_files({"name": "copy.json", "mimeType": "application/json", "buffer": content})
    finger.unseen_taps += 2
    told = len(events_of(name))
    expect(page.locator("[data-copy-status]")).to_have_text(f"Records to add: {told}")
    finger.press(page.locator("[data-import-confirm]"))
    expect(page.locator("[data-copy-status]")).to_have_text(f"Records added: {told}")
    assert len(stored(page, "events")) == told
    return {"a copy restored": (on.counts(), {"taps": 5})}


Walk = Callable[[Phone], Walked]
# With whether it calculates on its way.
WALKS: dict[str, tuple[Walk, bool]] = {
    "first": (walk_first, True), "blocks": (walk_blocks, False), "unready": (walk_unready, False),
    "scent": (walk_scent, True), "in-hand": (walk_in_hand, False), "racked": (walk_racked, False),
    "tank": (walk_tank, True), "fill": (walk_fill, True), "sold": (walk_sold, True), "recall": (walk_recall, True),
    "restored": (walk_restored, False),
}  # fmt: skip


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
                    for part in ("taps", "keys", "screens", "scrolls", "words", "minutes"):
                        figure(f"{what}: {part}", getattr(counts, part), "to read" if part == "minutes" else "")
                        if getattr(counts, part) > most.get(part, math.inf):
                            over.append(f"{what}: {part}")
        browser.close()
    for each in over:
        print(f"# more than it may: {each}", flush=True)
    figure("walks that cost more than they may", len(over), "")
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())
