"""The safety pages: every statement in both languages, in the page itself, so that neither needs a script."""

import re
from html import unescape
from pathlib import Path

import pytest

from calc.safety.cards import cards
from calc.safety.points import daily, phases
from calc.tables.safety import every_statement

SAFETY = ("emergency/index.html", "safety/index.html", "safety/labels/index.html")


def main_of(text: str) -> str:
    """What stands in the page's main part, without the frame's own words (notices, reports)."""
    main = text[text.index("<main") : text.index("</main>")]
    return unescape(re.sub(r"<button[^>]*data-fault-report.*?</button>", "", main, flags=re.DOTALL))


@pytest.mark.parametrize("name", SAFETY)
def test_nothing_is_said_in_one_language_only(site: Path, name: str):
    text = main_of((site / name).read_text(encoding="utf-8"))
    pairs = re.findall(r'<span class="en" lang="en">(.*?)</span> <span class="es" lang="es">(.*?)</span>', text, re.DOTALL)
    assert len(pairs) == text.count('class="en"') == text.count('class="es"')
    for english, spanish in pairs:
        assert english.strip() and spanish.strip()
        assert re.findall(r"\d+", english) == re.findall(r"\d+", spanish), english
    rest = re.sub(r'<span class="(?:en|es)".*?</span>', "", text, flags=re.DOTALL)
    rest = re.sub(r"<label.*?</label>", "", rest, flags=re.DOTALL)
    words = re.findall(r"[^\W\d_]{2,}", re.sub(r"<[^>]*>", " ", rest))
    assert words == [], f"outside both languages: {words[:10]}"


@pytest.mark.parametrize("name", SAFETY)
def test_the_frame_of_a_safety_page_is_in_both_languages_too(pages, name: str):
    page = pages[name]
    left = {
        text
        for around, text in page.texts
        if around[-1].tag not in ("title", "noscript", "template")
        and not any(each.get("lang") and each.tag != "html" or each.get("id").startswith("words") for each in around)
    }
    # The language's own name in it, both at once, what divides two, and the brand.
    assert {each for each in left if any(letter.isalpha() for letter in each)} == {"Tarewell", "English", "Both"}
    assert " / " in page.all("title")[0].text
    assert [each for each in page.elements if each.get("aria-label")] == [], "an attribute speaks one language only"
    assert {each.get("href") for each in page.all("a", **{"class": "brand to-es"})} == {f"{'../' * name.count('/')}es/"}


def test_every_statement_is_known_with_both_languages(site: Path):
    shown = "".join(main_of((site / name).read_text(encoding="utf-8")) for name in SAFETY)
    known = {text for statement in every_statement() for text in (statement.en, statement.es)}
    for text in re.findall(r'<span class="e[ns]"[^>]*>(.*?)</span>', shown, re.DOTALL):
        assert text in known, text


def test_the_card_stands_whole_in_the_page(pages):
    page = pages["emergency/index.html"]
    ids = [element.get("id") for element in page.all("section")]
    assert [each for each in ids if each in {card.key for card in cards()}] == [card.key for card in cards()]
    tiles = [element.get("href") for element in page.all("a", **{"class": "tile"})]
    assert tiles == [f"#{card.key}" for card in cards()]
    # New Jersey Department of Health, fact sheet on sodium hydroxide: at least 30 minutes; the longer of the published.
    # A burn by heat: 20 minutes (a burns trust), whatever the workshop asks for after caustic.
    timed = [(each.get("data-flush"), each.get("data-minutes"), each.get("data-timed")) for each in page.elements if each.get("data-flush")]
    assert timed == [("eyes", "30", "flush"), ("skin", "30", "flush"), ("burn", "20", "cool")]


def test_every_point_of_the_walk_has_its_screens_in_the_page(pages):
    page = pages["safety/index.html"]
    screens = {element.get("data-screen") for element in page.all("template") if element.get("data-screen")}
    for phase in phases():
        for check in phase.checks:
            assert {check.key, f"{check.key}/stop"} <= screens
            assert (f"{check.key}/teach" in screens) == (check.teach is not None)
    for point in daily():
        assert {point.key, f"{point.key}/stop"} <= screens


@pytest.mark.parametrize("name", ["safety/index.html", "scale/index.html", "es/scale/index.html"])
def test_where_a_daily_check_begins_the_page_knows_its_points(pages, name: str):
    [place] = [each for each in pages[name].all("template") if each.get("data-daily-points")]
    assert place.get("data-daily-points").split() == [point.key for point in daily()]
    of_place = {each.get("data-place-point") for each in pages[name].all("template")} - {None}
    assert {"daily-eyewash", "before-eyewash"} <= of_place and not {"daily-fit", "daily-wear"} & of_place


def test_the_emergency_card_is_linked_from_every_page(pages):
    for name, page in pages.items():
        links = page.all("a", **{"class": "emergency-button"})
        assert links and all(link.get("href").endswith("emergency/") or name.startswith("emergency/") for link in links), name


def test_the_emergency_button_has_its_word_in_spanish_too_for_who_does_not_see_it(pages):
    for name, page in pages.items():
        for link in page.all("a", **{"class": "emergency-button"}):
            words = {each.get("lang"): each.text.strip() for each in link.inside if each.get("lang")}
            if name.startswith("es/"):  # the button's own word, which needs no mark there
                assert "Emergencia" in link.text, name
            else:
                assert words["es"] == "Emergencia", name


def test_no_script_holds_a_wording_of_the_safety_pages(site: Path):
    scripts = [*(site / "static" / "js" / "safety").glob("*.*js"), site / "static" / "js" / "pages" / "safety.mjs"]
    assert len(scripts) > 3
    for script in scripts:
        code = re.sub(r"/\*.*?\*/|//[^\n]*", "", script.read_text(encoding="utf-8"), flags=re.DOTALL)
        strings = re.findall(r'"([^"\n]*)"', code)
        assert not [each for each in strings if re.search(r"[a-z] [a-z]{2,} [a-z]", each) and "[" not in each], script.name
