"""Today and the quick check of a scent in Spanish: three taps from Today with the server dead; nothing left in English."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import NARROW, PHONE
from playwright.sync_api import BrowserContext, Page, expect
from screens import answered, control, form_of, kept_offline, problem
from site_server import SiteServer
from test_accessibility import audit, axe, settled, wide_parts

__all__ = ["axe"]

NewContext = Callable[..., BrowserContext]
ROOT = Path(__file__).resolve().parents[2]
# Short words of English that Spanish doesn't have: each English sentence of these pages holds one.
ENGLISH = re.compile(r"\b(the|and|of|with|is|are|it|its|to|from|what|not|this|that|oils?|for|at most)\b", re.IGNORECASE)
# INCI names are the same in every language; the rest was typed by the invented workshop's people.
LEFT_AS_IT_IS = re.compile(r"Oil(/Extract)?$|^Clove and orange\b|^Saltgrass Clove & Orange$")


def words(page: Page) -> list[str]:
    """Every text of the page and of its attributes that are read out, but what is marked as in another language."""
    found: list[str] = page.evaluate(
        """() => {
          const found = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
          while (walk.nextNode()) {
            const marked = walk.currentNode.parentElement.closest("[lang]");
            if (marked === document.documentElement && !walk.currentNode.parentElement.closest("script")) {
              found.push(walk.currentNode.data);
            }
          }
          for (const each of document.querySelectorAll("[aria-label], [title]")) {
            found.push(each.getAttribute("aria-label") ?? "", each.getAttribute("title") ?? "");
          }
          const words = [...document.querySelector("template#words").content.children].map((each) => each.textContent);
          return [...found, ...words].map((each) => each.replace(/\\s+/g, " ").trim()).filter(Boolean);
        }"""
    )
    return found


def in_english(page: Page) -> list[str]:
    plain = [re.sub(r"\{\w+\}", "", text) for text in words(page)]
    return [text for text in plain if ENGLISH.search(text) and not LEFT_AS_IT_IS.search(text)]


def test_three_taps_from_home_to_the_answer_with_the_server_dead(
    new_context: NewContext, mortal_server: Callable[..., SiteServer]
) -> None:
    server = mortal_server("/sub/path/")
    page = new_context(server, **PHONE).new_page()
    page.goto("")
    page.get_by_role("link", name="Español").first.tap()
    expect(page.locator("html")).to_have_attribute("lang", "es")
    kept_offline(page)
    server.kill()
    page.reload()
    assert in_english(page) == []
    # One: the job. Two and three: the scent, out of the list.
    page.locator(".job", has_text="Fragancia").tap()
    page.locator('select[name="scent"]').select_option(label="Clove and orange")
    answer = answered(page, "fragrance")
    # By hand (tests/calc/scent/test_limits.py): methyl eugenol, 1.923 % of the bar.
    expect(answer).to_contain_text("Metileugenol, que viene de clavo de olor (botón): la ley de la UE permite 0.001 % de la barra", timeout=40_000)
    expect(answer.locator(".facts dd").first).to_have_text("1.92 %")
    assert in_english(page) == []
    # The same page in the other language, and back: still without a network.
    page.locator("footer").get_by_role("link", name="English").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Fragrance")
    page.locator("footer").get_by_role("link", name="Español").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Fragancia")


def test_the_three_quick_jobs_stand_in_spanish_and_ways_to_pages_in_english_only_say_so(page: Page) -> None:
    page.goto("es/")
    tiles = page.locator("main .job")
    assert tiles.locator("strong").all_text_contents() == ["En la báscula", "Fragancia", "Recorrido de seguridad"]
    marked = [("(en inglés)" in text) for text in page.locator(".job, .first-ways a").all_text_contents()]
    assert marked == [False] * 5
    ways = page.locator(".places a").evaluate_all("(all) => all.map(({pathname, hreflang}) => [pathname.includes('/es/'), hreflang])")
    assert [spanish for spanish, _ in ways].count(False) == 2
    assert all(spanish == (language != "en") for spanish, language in ways)
    settled(page)
    assert in_english(page) == []


@pytest.mark.parametrize("screen", [PHONE, NARROW], ids=["390x844", "320"])
def test_the_answer_is_accessible_and_keeps_to_the_screen(page: Page, axe: str, screen: dict[str, Any]) -> None:
    page.set_viewport_size(screen["viewport"])
    page.goto("es/fragrance/")
    answered(page, "fragrance")
    control(form_of(page, "fragrance"), "load_fraction").fill("4")
    expect(page.locator("[data-verdict]")).to_have_attribute("data-verdict", "fail", timeout=40_000)
    control(form_of(page, "fragrance"), "load_fraction").fill("2")
    control(form_of(page, "fragrance"), "pot_c").fill("80")
    expect(page.locator("section.caution")).to_contain_text("punto de inflamación")
    settled(page)
    assert in_english(page) == []
    assert audit(page, axe, "es/fragrance") == []
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert wide_parts(page) == []


def test_what_was_typed_wrong_is_told_in_spanish_beside_its_field(page: Page) -> None:
    page.goto("es/fragrance/")
    form = form_of(page, "fragrance")
    answered(page, "fragrance")
    control(form, "oils_g").fill("1,234")
    control(form, "oils_g").blur()
    expect(problem(form, "oils_g")).to_contain_text("“1,234” se puede leer como 1.234 o como 1234.", timeout=40_000)
    expect(problem(form, "oils_g")).to_contain_text("Escriba 1.234 o 1234.")
    assert in_english(page) == []


def test_a_reader_of_spanish_gets_the_emergency_card_in_spanish(page: Page) -> None:
    # Words of the card: the project's own table of statements.
    title = next(line for line in (ROOT / "shared/safety/page_words.csv").read_text("utf-8").splitlines() if line.startswith("page_emergency,"))
    page.goto("emergency/")
    expect(page.locator("#show-en")).to_be_checked()
    page.goto("es/")
    page.locator(".emergency-button").tap()
    expect(page.locator("#show-es")).to_be_checked()
    expect(page.locator("h1 .es")).to_have_text(title.split(",")[2])
    # One visit does not make the card Spanish for good; who chooses on the card itself keeps that.
    page.goto("")
    page.locator(".emergency-button").tap()
    expect(page.locator("#show-en")).to_be_checked()
    page.locator('label[for="show-es"]').tap()
    page.goto("fragrance/")
    page.locator(".emergency-button").tap()
    expect(page.locator("#show-es")).to_be_checked()
    # Who chose both keeps both.
    page.locator('label[for="show-both"]').tap()
    page.goto("es/fragrance/")
    page.goto("")
    assert json.loads(page.evaluate("localStorage.getItem('tarewell-language')")) == {"shown": "both"}
