"""At the scale in Spanish: a whole block with the server dead, from the issued sheet to its record, and no English on it."""

from __future__ import annotations

import re
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

from conftest import NARROW, PHONE
from floor import PATIENCE, STAGE, Floor, block_events, done, issue, put, reading, record_of, step_of
from playwright.sync_api import BrowserContext, Page, expect
from screens import Touch, kept_offline
from site_server import SiteServer
from test_accessibility import axe, violations, wide_parts
from test_scale_ergonomics import keys_in_one_view

__all__ = ["axe"]

NewContext = Callable[..., BrowserContext]
MakeServer = Callable[..., SiteServer]
Record = dict[str, Any]

SERVER_GONE = "ERR_CONNECTION_REFUSED"
SPILT = "Se derramó o salpicó"
TOO_LATE = "La válvula se cerró tarde"

# Short words of English that Spanish doesn't have, as whole words: each English sentence of the page holds one.
ENGLISH = re.compile(r"\b(?:the|and|of|with|is|are|it|its|to|from|what|not|this|that|then|lye|oil|batch|block|by|weigh|pour)\b", re.IGNORECASE)
SHOWN = """() => {
  const texts = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement;
    if (element.closest('[lang="en"], script, style') || !element.checkVisibility()) continue;
    texts.push(walker.currentNode.data.trim());
  }
  for (const element of document.querySelectorAll("[aria-label]")) texts.push(element.getAttribute("aria-label"));
  return texts.filter((text) => /\\p{L}{2}/u.test(text));
}"""


class Spanish(Floor):
    """The block's page in Spanish; each screen is looked over as it comes."""

    def __init__(self, page: Page, record: Record, axe: str = "") -> None:
        super().__init__(Touch(page), record["code"])
        self.typed = typed_names(record)
        self.axe = axe
        self.seen: set[str] = set()

    def open(self) -> None:
        self.page.goto(f"es/scale/#{self.code}/{self.block}")
        self.here()
        self.at()

    def look(self) -> None:
        """No English, nothing wider than the screen; and where axe-core is given, nothing that it knows of."""
        self.told()
        shown = self.at()
        self.seen.add(shown)
        for text in self.page.evaluate(SHOWN):
            for name in sorted(self.typed, key=len, reverse=True):
                text = text.replace(name, "")
            assert not ENGLISH.search(text), f"{shown}: {text}"
        assert wide_parts(self.page) == [], shown
        if self.axe:
            self.page.evaluate(self.axe)
            assert violations(self.page) == [], shown

    def step(self) -> None:
        self.look()
        super().step()

    def go_on_until(self, title: str) -> None:
        """As `go_to`, by the Spanish title."""
        self.go_to(title)
        self.look()


def typed_names(record: Record) -> set[str]:
    """What people typed: names of scales, mould, vessel, formula and what the block is cut with, codes of lots."""
    names = {record["mould"]["name"], record["vessel"]["name"], *(scale["name"] for scale in record["scales"]), *record["planned"]["tools"]}
    return names | {record["formula"]["name"]} | {pour["lot"] for pour in record["pours"] if pour["lot"]}


def test_a_block_goes_from_its_sheet_to_its_record_in_spanish_with_the_server_dead(
    new_context: NewContext, mortal_server: MakeServer
) -> None:
    server = mortal_server("/")
    context = new_context(server, **PHONE)
    context.watch.allow(SERVER_GONE)  # type: ignore[attr-defined]
    page = context.new_page()
    page.goto("")
    kept_offline(page)
    record = record_of(page, issue(page))
    server.kill()

    floor = Spanish(page, record)
    oil, short = step_of(record, "oil:0"), step_of(record, "lye:naoh:short")
    floor.open()
    expect(page.locator("html")).to_have_attribute("lang", "es")
    floor.titled("¿Quién está en la báscula?")
    floor.look()
    floor.sign("Q")
    floor.titled("¿Todo listo para hoy?")
    floor.look()
    floor.step()
    floor.titled("Antes del primer vertido")
    assert floor.stands(step_of(record, "check:protect")["es"]["title"])

    floor.go_on_until(oil["es"]["title"])
    assert oil["es"]["title"].startswith("Vierta aceite")
    # 0.60 kg too much oil.
    floor.read(reading(oil, oil["target"] + 60))
    floor.comes("recovery")
    expect(page.locator(f"{STAGE} [data-decide='lye']")).to_be_enabled(timeout=2 * PATIENCE)
    floor.look()
    expect(page.locator(f"{STAGE} [data-decide='lye'] strong")).to_have_text("Ajustar la solución de sosa a los aceites")
    floor.decide("lye", TOO_LATE)

    floor.go_on_until(short["es"]["title"])
    floor.read(reading(short, short["target"] + 160), twice=True)
    if floor.at() == "question":
        floor.look()
        floor.do("yes")
    floor.comes("recovery")
    expect(page.locator(f"{STAGE} [data-decide]").first).to_be_enabled(timeout=2 * PATIENCE)
    floor.look()
    floor.decide(None, SPILT)
    floor.go_on_until(step_of(record, "pour")["es"]["title"])
    floor.do("done")
    floor.comes("closing")
    kept = page.locator(f'{STAGE} [data-region="scale_record"]')
    expect(kept).to_contain_text("Sobreengrasado", timeout=2 * PATIENCE)
    floor.look()
    floor.do("close")
    floor.comes("closed")
    floor.look()

    events = block_events(page, record["code"])
    assert (events[-1]["kind"], events[-1]["outcome"]) == ("closed", "poured")
    decisions = [event for event in events if event["kind"] == "decided"]
    # Whether water and scent go with the oils is a tap that needs no reason.
    assert [event["reason"] for event in decisions if event["reason"]] == [TOO_LATE, SPILT]
    for decision in decisions:
        # What Python made is stored as it came: English in the step, Spanish beside it.
        for step in (*decision["steps"], *decision["replaced"].values()):
            assert not ENGLISH.search(step["es"]["title"]) and step["es"]["title"] != step["title"]
    assert floor.seen >= {"person", "checks", "confirm", "weigh", "keypad", "recovery", "timer", "closing", "closed"}

    # The same block in English: its steps speak English, the words frozen with the record stay as they were made.
    page.goto(f"scale/#{record['code']}/1")
    floor.comes("closed")
    expect(page.locator(f"{STAGE} .kind-done")).to_contain_text("Closed by")
    expect(page.locator(STAGE)).to_contain_text("Registro de este bloque")


# What the head of a block breaks: a word on two lines, a part out of the view, more than a quarter of the view.
HEAD = """() => {
  const head = document.querySelector("[data-floor-head]");
  const name = head.querySelector('[data-slot="mould"]').firstChild;
  const wrong = [];
  for (const { index, 0: word } of name.data.matchAll(/\\S+/g)) {
    const range = new Range();
    range.setStart(name, index);
    range.setEnd(name, index + word.length);
    if (range.getClientRects().length > 1) wrong.push(`${word} is broken`);
  }
  const { right } = head.querySelector(".emergency-button").getBoundingClientRect();
  if (right > innerWidth) wrong.push(`the button reaches to ${right} of ${innerWidth}`);
  if (head.offsetHeight > innerHeight / 4) wrong.push(`the head takes ${head.offsetHeight} of ${innerHeight}`);
  return wrong;
}"""


def test_the_head_of_a_block_holds_its_words_on_a_small_phone_and_at_twice_the_text(page: Page, record: Record) -> None:
    page.goto("es/scale/")
    put(page, [record, *done(record, "temp:oils")])
    page.reload()
    page.locator(f"{STAGE} .floor-row").first.tap()
    expect(page.locator("[data-floor-head]")).to_be_visible()
    for width, height, text in ((320, 640, "100%"), (390, 844, "200%")):
        page.set_viewport_size({"width": width, "height": height})
        page.evaluate("size => document.documentElement.style.fontSize = size", text)
        assert page.evaluate(HEAD) + wide_parts(page) == [], (width, text)
        assert page.evaluate('innerWidth') == width


def test_the_screens_in_spanish_hold_on_the_smallest_phone(page: Page, record: Record, axe: str) -> None:
    page.set_viewport_size(NARROW["viewport"])
    page.goto("es/scale/")
    floor = Spanish(page, record, axe)
    floor.comes("lists")
    put(page, [record, *done(record, "temp:oils")])
    page.reload()
    floor.comes("lists")
    floor.look()
    page.locator(f"{STAGE} .floor-row").first.tap()
    floor.titled(step_of(record, "temp:oils")["es"]["title"])
    floor.step()
    floor.look()
    floor.do("lot")
    floor.look()
    floor.do("leave")
    floor.do("read")
    floor.comes("keypad")
    floor.look()
    floor.type("15.60")
    floor.look()
    floor.do("yes")
    floor.comes("recovery")
    expect(page.locator(f"{STAGE} [data-decide]").first).to_be_enabled(timeout=2 * PATIENCE)
    floor.look()
    page.locator(f"{STAGE} [data-decide]").first.tap()
    floor.comes("reason")
    floor.look()
    floor.do("leave")
    page.get_by_role("link", name="Corregir esta lectura").tap()
    floor.comes("done")
    floor.look()
    page.goto(f"es/scale/#{record['code']}")
    floor.comes("blocks")
    floor.look()
    sheet = page.locator(f"{STAGE} a[href*='batch/sheet/']")
    assert sheet.evaluate("(link) => link.href").endswith(f"/batch/sheet/#{record['code']}")
    assert "/es/" not in sheet.evaluate("(link) => link.href")


def test_digits_all_keys_and_the_button_stand_in_one_view_in_spanish(
    new_context: NewContext, server: SiteServer, record: Record
) -> None:
    spanish = SimpleNamespace(url=f"{server.url}es/", origin=server.origin)
    page = new_context(spanish, **PHONE).new_page()
    wrong = keys_in_one_view(page, record)
    assert not wrong, "\n".join(wrong)
    assert "/es/scale/" in page.url
