"""Pages that stand in two languages: the same page in both, no words of the one left on the other."""

import re

import pytest
from html_reader import Page

from answers.demo import AFTER_VALUES, demo_state
from calc.tables.fragrance import fragrance_allergens
from calc.tables.reference import additives, oils
from pages import catalogues
from pages.app import TRANSLATED

PATHS = sorted(TRANSLATED)
# Beside what people typed, INCI names, and what the catalogue gives in the same words: the brand, signs of units.
ALIKE = {"Tarewell", "kg", "g", "lb", "oz", "mm", "IFRA"}
# Signs that are the same in every language, also beside a number: units, accuracy classes, marks of a plate, a formula.
SIGNS = {"kg", "g", "lb", "oz", "mm", "cm", "in", "gal", "L", "mL", "II", "III", "IIII", "Max", "d", "NaOH", "KOH", "mol", "min", "h", "W", "kW", "kWh"}
# Attributes that are read out or seen.
SPOKEN = ("aria-label", "title", "alt", "placeholder")


def name_of(path: str, language: str) -> str:
    return f"{'es' if language == 'es' else ''}{path}index.html".lstrip("/")


def words(page: Page) -> set[str]:
    """Every text of a page and of its spoken attributes, but what is marked as being in another language."""
    found = {
        text
        for around, text in page.texts
        if not any(element.get("lang") for element in around if element.tag != "html")
    }
    attributes = {element.get(key) for element in page.elements for key in SPOKEN if not element.get("lang")}
    described = {each.get("content") for each in page.all("meta", name="description")}
    return {text for text in found | attributes | described if re.search(r"[^\W\d_]{2}", re.sub(r"\{\w+\}", "", text))}


def typed() -> set[str]:
    """What the demo workshop's people typed."""
    items = [each for items in demo_state().values() if isinstance(items, list) for each in items if isinstance(each, dict)]
    return {value for each in items for value in [*each.get("values", {}).values(), each.get("code", ""), AFTER_VALUES["said"]]}


@pytest.mark.parametrize("path", PATHS)
def test_no_words_of_one_language_are_left_on_the_page_in_the_other(pages, path):
    known = typed()
    alike = ALIKE | {allergen.label_name for allergen in fragrance_allergens()} | {oil.inci_sodium_salt for oil in oils().values()}
    alike |= {message.string for message in catalogues.catalogue("es") if message.id and message.id == message.string}
    left = words(pages[name_of(path, "en")]) & words(pages[name_of(path, "es")])
    left = {text for text in left if not any(part and part in text for part in known if len(part) > 3)}
    assert {text for text in left - alike if set(re.findall(r"[^\W\d_]+", text)) - SIGNS} == set()


@pytest.mark.parametrize("path", PATHS)
def test_both_pages_have_the_same_controls_and_lead_to_each_other(pages, path):
    english, spanish = pages[name_of(path, "en")], pages[name_of(path, "es")]

    def controls(page: Page) -> list[tuple[str, str]]:
        return [(e.tag, e.get("name") or e.get("value")) for e in page.elements if e.tag in ("input", "select", "textarea")]

    assert controls(english) == controls(spanish)
    # Their order in a list is the alphabet's.
    options = [sorted(e.get("value") for e in page.all("option")) for page in (english, spanish)]
    assert options[0] == options[1]
    (to_spanish, *_), (to_english, *_) = english.all("a", hreflang="es"), spanish.all("a", lang="en", hreflang="en")
    assert (to_spanish.text, to_spanish.get("lang"), to_english.text) == ("Español", "es", "English")


def test_what_came_from_another_phone_is_named_in_the_language_of_the_page(pages):
    # By the catalogue's own lines: shared/language/es.tables.po.
    said = catalogues.catalogue("es")
    for language, name in (("en", str), ("es", lambda text: str(said[text].string) if text in said else text)):
        named = {e.get("data-named"): e for e in pages[name_of("/take/", language)].elements if e.get("data-named")}
        for kind, table in (("oil", oils()), ("additive", additives())):
            for key, row in table.items():
                told = named[f"{kind}={key}"]
                assert told.text.strip() == name(row.name if kind == "oil" else row.label) and not told.get("lang")
    assert {named[key].text.strip() for key in ("additive=honey", "additive=salt", "essential_oil=lavender")} == {"Miel", "Sal", "Lavanda"}


def test_a_way_to_a_page_in_english_only_says_so(pages):
    for path in PATHS:
        page = pages[name_of(path, "es")]
        for link in page.all("a"):
            href = link.get("href")  # none where a script sets it
            only_english = re.search(r"(formula(?!/stand-in)|batch|workshop(?!/setup|/phones)|sources)/", href)
            assert not href or link.get("lang") or bool(only_english) == (link.get("hreflang") == "en"), href


def test_the_page_says_that_its_spanish_was_not_checked(pages):
    for path in PATHS:
        assert "Este español todavía no lo ha revisado" in pages[name_of(path, "es")].all("footer")[0].text
