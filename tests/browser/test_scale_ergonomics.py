"""Every screen of the floor: large enough for a wet glove, dark enough for a bright room, told apart without colour."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from conftest import PHONE
from floor import STAGE, Floor, begun, put, reading, step_of
from playwright.sync_api import Page, expect
from screens import Touch
from test_accessibility import audit, axe, wide_parts

__all__ = ["axe"]

Record = dict[str, Any]

# 20 mm at 160 px to the inch (NUREG-0700 and MIL-STD-1472 ask for 19 mm and more with gloves): the issue's own limits.
LEAST_PX = {"button": 126, "key": 126, "key_beside_words": 96, "key_across": 126, "digits": 64}
LEAST_CONTRAST = 10.0
# The issue's own limit for digits, in each theme.
LEAST_CONTRAST_OF_DIGITS = 11.0
DIGITS = re.compile(r"[\d.–]+")

SIZES = """() => {
  const shown = (selector) => [...document.querySelectorAll(`[data-stage] ${selector}`)].filter((each) => each.checkVisibility());
  const across = shown(".key, .reading").map((each) => [each.textContent.trim(), each.getBoundingClientRect().width]);
  const keys = shown(".words").length > 0 ? {key: [], key_beside_words: ".key"} : {key: ".key", key_beside_words: []};
  const heights = (selector) => (selector.length === 0 ? [] : shown(selector)).map((each) => [each.textContent.trim().slice(0, 40), each.getBoundingClientRect().height]);
  const digits = shown(".target-digits, .typed-digits").map((each) => [each.textContent, parseFloat(getComputedStyle(each).fontSize)]);
  return {button: heights(".main-button, .wide, [data-decide], .reading"), key: heights(keys.key), key_beside_words: heights(keys.key_beside_words), key_across: across, digits};
}"""

# WCAG 2.2, relative luminance and contrast ratio: https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio
CONTRASTS = """() => {
  const parts = (text) => (text.match(/[\\d.]+/g) ?? []).map(Number);
  const luminance = (rgb) => rgb.slice(0, 3)
    .map((each) => each / 255)
    .map((each) => (each <= 0.04045 ? each / 12.92 : ((each + 0.055) / 1.055) ** 2.4))
    .reduce((sum, each, index) => sum + each * [0.2126, 0.7152, 0.0722][index], 0);
  const over = ([r, g, b, a = 1], under) => [r, g, b].map((each, index) => a * each + (1 - a) * under[index]);
  const ground = (element) => {
    if (!element) return [255, 255, 255];
    const own = parts(getComputedStyle(element).backgroundColor);
    return own.length === 4 && own[3] === 0 ? ground(element.parentElement) : over(own, ground(element.parentElement));
  };
  const found = new Map();
  const walker = document.createTreeWalker(document.querySelector("[data-floor]"), NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const text = walker.currentNode.data.trim();
    const element = walker.currentNode.parentElement;
    if (!text || !element.checkVisibility() || element.closest("[aria-hidden=true] title, desc")) continue;
    const style = getComputedStyle(element);
    const under = ground(element.closest("svg") ? element.closest("svg").parentElement : element);
    const ink = over(parts(element.closest("svg") ? style.fill : style.color), under);
    let opacity = 1;
    for (let each = element; each; each = each.parentElement) opacity *= Number(getComputedStyle(each).opacity);
    const pair = [luminance(over([...ink, opacity], under)), luminance(under)].sort((a, b) => b - a);
    found.set(text.slice(0, 40), (pair[0] + 0.05) / (pair[1] + 0.05));
  }
  return [...found];
}"""

# Where the keyboard goes next, against where the eye goes next: down, and within a line to the right.
# The button at the foot is looked for where it stands in the text, not where it sticks.
ORDER = """() => {
  for (const each of document.querySelectorAll(".deed > .wide, .deed > .offered, .deed > .deed-foot, .typing > .wide")) each.style.position = "static";
  const stops = [...document.querySelectorAll("[data-stage] :is(a[href], button, input, summary)")]
    .filter((each) => each.checkVisibility() && !each.disabled);
  const boxes = stops.map((each) => [each.textContent.trim().slice(0, 40), each.getBoundingClientRect()]);
  for (const each of document.querySelectorAll(".deed > .wide, .deed > .offered, .deed > .deed-foot, .typing > .wide")) each.style.position = "";
  return boxes.slice(1).flatMap(([name, box], index) => {
    const [before, above] = boxes[index];
    const down = box.top >= above.bottom - 1;
    const right = box.left >= above.right - 1 && box.bottom > above.top;
    return down || right ? [] : [`${name} comes after ${before}`];
  });
}"""

# A state's shape and the first of its words: what is left of it in grey.
STATES = {
    "safety": ("\u25b2", "Safety"),
    "ready": ("\u25b2", "Safety"),
    "question about a temperature": ("?", "Look again"),
    "question": ("?", "Look again"),
    "recovery": ("\u25a0", "Outside the band"),
    "done": ("\u2713", "Done, and stored"),
    "closed": ("\u2713", "Closed by"),
    "set apart": ("\u25a0", "Set apart"),
}
SIGNS = """() => [...document.querySelectorAll("[data-stage] :is(.kind, .stop)")].filter((each) => each.checkVisibility())
  .map((each) => [getComputedStyle(each, "::before").content.split("/")[0].trim().replaceAll('"', ""), each.textContent.trim()])"""


def outside_the_band(page: Page, record: Record, *, python: bool = True) -> Floor:
    oil = step_of(record, "oil:2")
    floor = begun(Touch(page), record, "oil:2")
    floor.read(reading(oil, oil["high"] + 60))
    floor.comes("recovery")
    if python:
        expect(page.locator("[data-decide]").first).to_be_enabled(timeout=40_000)
    return floor


def pouring(page: Page, record: Record) -> Iterator[tuple[str, Floor]]:
    """The screens from the start of a block to a reading outside its band."""
    page.goto("scale/")
    put(page, [record], person=None)
    floor = Floor(Touch(page), record["code"])
    floor.open()
    yield "person", floor
    floor.sign("Q")
    floor.comes("ready")
    yield "ready", floor
    floor.step()
    floor.told()
    yield "safety", floor
    begun(floor.hands, record, "temp:oils")
    floor.told()
    yield "temperature", floor
    floor.read(reading(step_of(record, "temp:oils"), step_of(record, "temp:oils")["high"] + 50))
    yield "question about a temperature", floor
    floor.do("yes")
    floor.told()
    yield "weigh", floor
    floor.do("lot")
    yield "lot", floor
    floor.do("leave")
    floor.do("read")
    yield "keypad", floor
    floor.type("15.60")
    yield "question", floor
    floor.do("yes")
    expect(page.locator("[data-decide]").first).to_be_enabled(timeout=40_000)
    yield "recovery", floor
    floor.hands.press(page.locator("[data-decide]").first)
    yield "reason", floor
    floor.do("leave")
    page.get_by_role("link", name="Correct this reading").tap()
    yield "done", floor
    floor.do("correct")
    yield "correction", floor


def ending(page: Page, record: Record) -> Iterator[tuple[str, Floor]]:
    """The screens at the end of a block, of lists, and where another tab has the block."""
    floor = begun(Touch(page), record, "unmould")
    yield "timer", floor
    other = Floor(Touch(page.context.new_page()), record["code"])
    other.open()
    expect(other.page.locator("[data-floor-elsewhere]")).to_be_visible()
    yield "elsewhere", other
    other.page.close()
    floor.do("start-timer")
    yield "timer running", floor
    floor.do("to-closing")
    expect(page.locator(f'{STAGE} [data-region="scale_record"]')).to_contain_text("Superfat", timeout=40_000)
    yield "closing", floor
    floor.do("close")
    yield "closed", floor
    floor = begun(floor.hands, record, "oil:0", block=2)
    page.locator(f"{STAGE} .more summary").tap()
    floor.do("apart")
    floor.why("The wrong container was used")
    floor.do("reason-given")
    yield "set apart", floor
    page.goto(f"scale/#{record['code']}")
    expect(page.locator(".row-state").last).to_have_text("■ set apart")
    yield "blocks", floor
    page.goto("scale/")
    page.reload()
    floor.comes("lists")
    yield "lists", floor
    page.goto("scale/#QM-999")
    floor.comes("missing")
    yield "missing", floor


def wrong_here(floor: Floor, name: str, axe: str) -> list[str]:
    """All that is wrong on this screen: sizes, contrast, order, width, what axe knows."""
    page = floor.page
    page.set_viewport_size(PHONE["viewport"])
    wrong = [
        f"{what} {text!r} is {size} px"
        for what, found in page.evaluate(SIZES).items()
        for text, size in found
        if size < LEAST_PX[what] - 0.01
    ]
    for scheme in ("dark", "light"):
        page.emulate_media(color_scheme=scheme)
        page.evaluate("Promise.all(document.getAnimations().map((each) => each.finished))")
        found = [(text, ratio, LEAST_CONTRAST_OF_DIGITS if DIGITS.fullmatch(text) else LEAST_CONTRAST)
                 for text, ratio in page.evaluate(CONTRASTS)]  # fmt: skip
        wrong += [f"{scheme}: {text!r} has {ratio:.1f}:1" for text, ratio, least in found if ratio < least]
    wrong += page.evaluate(ORDER)
    shape, word = STATES.get(name, ("", ""))
    signs = page.evaluate(SIGNS)
    if word and not any(sign == shape and text.startswith(word) for sign, text in signs):
        wrong.append(f"the state is not told by {shape} and {word!r}, but by {signs}")
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    wrong += [f"sideways with text twice as large: {each}" for each in wide_parts(page)]
    page.evaluate("document.documentElement.style.fontSize = ''")
    # Between the smallest phone, where tables become lists, and the usual one they once reached past the edge.
    for width in (360, 430):
        page.set_viewport_size({"width": width, "height": 844})
        wrong += [f"sideways at {width} px: {each}" for each in wide_parts(page)]
    wrong = [f"{name}: {each}" for each in wrong] + audit(page, axe, name)
    page.set_viewport_size(PHONE["viewport"])
    return wrong


def test_the_screens_of_pouring_are_large_dark_in_order_and_accessible(page: Page, record: Record, axe: str) -> None:
    wrong = [each for name, floor in pouring(page, record) for each in wrong_here(floor, name, axe)]
    assert not wrong, "\n".join(wrong)


def test_the_screens_of_the_end_are_large_dark_in_order_and_accessible(page: Page, record: Record, axe: str) -> None:
    wrong = [each for name, floor in ending(page, record) for each in wrong_here(floor, name, axe)]
    assert not wrong, "\n".join(wrong)


# What must be in one view while digits are typed: what was typed, every key, the button that takes it.
HANDS_ON = """() => [...document.querySelectorAll("[data-typed], .typed-digits, .key, .typing > .main-button")]
  .map((each) => [each.textContent.trim().slice(0, 30), each.getBoundingClientRect()])
  .filter(([, box]) => box.top < 0 || box.left < 0 || box.bottom > innerHeight + 0.5 || box.right > innerWidth + 0.5)
  .map(([text, box]) => `${text || "-"} from ${Math.round(box.top)} to ${Math.round(box.bottom)} of ${innerHeight}`)"""
KEY_AT = """document.querySelector('[data-key="5"]').getBoundingClientRect().top"""
HEAD = "document.querySelector('[data-floor-head]').getBoundingClientRect().bottom"


def complained(floor: Floor) -> None:
    """The button pressed with nothing typed."""
    floor.at()
    floor.page.locator(f'{STAGE} [data-do="reading"]').tap()
    expect(floor.page.locator("[data-typed-problem]")).not_to_be_empty()


def keypads(page: Page, record: Record) -> Iterator[tuple[str, Floor]]:
    """The keypad as it comes: a temperature, a first reading, the second one, two that differ, a correction."""
    free = [{**step, "low": None, "high": None} if step["key"] == "temp:oils" else step for step in record["steps"]]
    for name, sheet, block in (("temperature without a range", {**record, "steps": free}, 1), ("temperature", record, 2)):
        floor = begun(Touch(page), sheet, "temp:oils", block=block)
        floor.keypad()
        yield name, floor
    lye = step_of(record, "lye:naoh:short")
    floor = begun(Touch(page), record, lye["key"], block=2)
    # There is no tap between the words of a lye and its keys.
    floor.comes("keypad")
    yield "first", floor
    complained(floor)
    yield "nothing typed", floor
    floor.type(lye["target_text"])
    yield "second", floor
    floor.type(reading(lye, lye["target"] + 2))
    yield "the two differ", floor
    complained(floor)
    yield "the two differ, and nothing typed", floor
    page.locator(f"{STAGE} .back a").tap()
    while not page.locator(f'{STAGE} [data-do="correct"]').count():
        page.locator(f"{STAGE} .back a").tap()
        floor.at()
    floor.do("correct")
    yield "correction", floor


def keys_in_one_view(page: Page, record: Record) -> list[str]:
    """What is wrong about it, on each kind of keypad and of phone."""
    wrong = []
    places: set[float] = set()
    for name, _ in keypads(page, record):
        # A display of kilograms has two decimals, and its point stands without being typed.
        pointed = {"": "", "8": "0.08", "88": "0.88"} if page.locator(f"{STAGE} .typed-unit").inner_text() == "kg" else {}
        for width, height, least in ((390, 844, 126), (320, 640, 64), (844, 390, 64)):
            page.set_viewport_size({"width": width, "height": height})
            page.wait_for_timeout(150)
            for typed in ("", "8", "88"):
                at = f"{name} at {width} x {height}, {typed or 'nothing'} typed: "
                if typed:
                    page.keyboard.press("8")
                    expect(page.locator("[data-typed]")).to_have_text(pointed.get(typed, typed))
                wrong += [at + each for each in page.evaluate(HANDS_ON)]
                head = page.evaluate(HEAD)
                digits = page.locator(".typed").bounding_box()
                assert digits is not None
                if digits["y"] < head - 1:
                    wrong.append(f"{at}the digits begin at {digits['y']}, under the head that ends at {head}")
                sizes = page.evaluate(SIZES)
                small = [size for _, size in sizes["key"] if size < least - 0.01]
                small += [size for _, size in sizes["key_beside_words"] if size < min(least, LEAST_PX["key_beside_words"]) - 0.01]
                wrong += [f"{at}a key of {min(small)} px"] if small else []
                places.add(page.evaluate(KEY_AT))
            if len(places) > 1:
                wrong.append(f"{name} at {width} x {height}: a key moved between {sorted(places)}")
            places.clear()
            page.keyboard.press("Backspace")
            page.keyboard.press("Backspace")
            expect(page.locator("[data-typed]")).to_have_text("")
        page.set_viewport_size(PHONE["viewport"])
    return wrong


def test_the_keypad_of_a_lye_is_there_at_once_and_its_words_scroll_above_it(page: Page, record: Record) -> None:
    page.set_viewport_size(PHONE["viewport"])
    lye = step_of(record, "lye:naoh:short")
    floor = begun(Touch(page), record, lye["key"])
    floor.comes("keypad")
    floor.told()
    words, keys = page.locator(f"{STAGE} .words"), page.locator(f"{STAGE} .keypad")
    top, bottom = page.evaluate(HEAD), keys.bounding_box()["y"]
    # In sight unasked: which scale and lot, where to close the valve, what stops the work.
    for told in (words.locator(".on"), words.locator(".valve"), words.locator(".stop")):
        first = told.bounding_box()
        assert first is not None and top <= first["y"] and first["y"] + 20 <= bottom, told.inner_text()
    # What stops the work is read whole; where words go on below, a mark says so until they are scrolled to.
    stop = words.locator(".stop").bounding_box()
    assert stop is not None and stop["y"] + stop["height"] <= bottom
    mark = page.locator("[data-words-more]")
    expect(mark).to_be_visible()
    expect(words.locator(".how")).to_have_text(lye["how"])
    at = keys.bounding_box()
    words.evaluate("(each) => each.scrollTo(0, each.scrollHeight)")
    last = words.locator(".how").bounding_box()
    assert last is not None and last["y"] + last["height"] <= bottom + 1
    assert keys.bounding_box() == at
    expect(mark).to_be_hidden()
    # What is meant is drawn hollow, under the word for it; what is typed is solid.
    hollow = "getComputedStyle(document.querySelector('[data-meant]')).webkitTextFillColor !== getComputedStyle(document.querySelector('[data-typed]')).webkitTextFillColor"
    assert page.evaluate(hollow)
    expect(page.locator(f"{STAGE} .typed-side")).to_contain_text("target")
    page.keyboard.press("8")
    expect(page.locator("[data-meant]")).to_be_hidden()
    expect(page.locator(f"{STAGE} .typed-side").get_by_text("target")).to_be_hidden()
    page.keyboard.press("Backspace")
    # The second reading is blind: neither the first nor the band stands there.
    floor.type(lye["target_text"])
    expect(page.locator("[data-typed]")).to_have_text("")
    assert lye["target_text"] not in page.locator(f"{STAGE} .typed").inner_text()
    expect(page.locator(f"{STAGE} .aim")).not_to_contain_text(lye["band_text"])
    expect(page.locator(f"{STAGE} .aim")).to_contain_text("a double check")


READINGS_CLEAR = """() => {
  const bar = document.querySelector('[data-stage] [data-do="read"]').getBoundingClientRect();
  return [...document.querySelectorAll('[data-stage] .reading')].map((each) => [each.textContent, each.getBoundingClientRect()])
    .filter(([, box]) => box.bottom > innerHeight + 0.5 || (box.bottom > bar.top + 0.5 && box.top < bar.bottom && box.right > bar.left && box.left < bar.right))
    .map(([text, box]) => `${text} from ${box.top} to ${box.bottom}, the button from ${bar.top}`);
}"""


def test_in_practice_no_reading_lies_under_the_button_and_no_key_below_the_screen(page: Page) -> None:
    page.goto("scale/#/practice")
    floor = Floor(Touch(page), "PRACTICE-1")
    floor.sign("Q")
    floor.go_to("Pour olive oil (virgin and refined)")
    for width, height in ((390, 844), (844, 390), (320, 640)):
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_timeout(150)
        assert not page.evaluate(READINGS_CLEAR), f"{width} x {height}"
    floor.do("read")
    for width, height in ((844, 390), (320, 640)):
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_timeout(150)
        # Also where the page has not been scrolled: the line of practice stands above.
        page.evaluate("scrollTo(0, 0)")
        assert not page.evaluate(HANDS_ON), f"{width} x {height}"


def test_what_is_missing_is_said_at_the_button_that_was_pressed(page: Page, record: Record) -> None:
    page.set_viewport_size(PHONE["viewport"])
    floor = begun(Touch(page), record, record["steps"][0]["key"])
    floor.comes("checks")
    floor.at()
    page.locator(f'{STAGE} [data-do="checks-done"]').tap()
    expect(page.locator(f'{STAGE} [data-slot="problem"]')).to_be_in_viewport(ratio=1)
    expect(page.locator(f'{STAGE} [data-do="tick"]').first).to_be_focused()
    expect(page.locator(f'{STAGE} [data-do="tick"]').first).to_be_in_viewport(ratio=1)


def test_digits_all_keys_and_the_button_stand_in_one_view(page: Page, record: Record) -> None:
    wrong = keys_in_one_view(page, record)
    assert not wrong, "\n".join(wrong)
