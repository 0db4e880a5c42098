"""The page of phones has words for whatever the phone's side can tell it."""

import re

import pytest

from pages.app import SITE

SHOP = SITE / "static" / "js" / "shop"


def told(file: str, start: str) -> set[str]:
    """The texts of a union in a script's type."""
    line = next(line for line in (SHOP / file).read_text("utf-8").splitlines() if start in line)
    return set(re.findall(r'"(\w+)"', line))


STATES = told("state.mjs", "@typedef {\"off\"") - {"off"}  # an unpaired phone says nothing
REFUSALS = told("refused.mjs", "@param {\"refused\"")


@pytest.fixture(params=["workshop/phones/index.html", "es/workshop/phones/index.html"])
def words(request, pages) -> dict[str, str]:
    page = pages[request.param]
    return {element.get("data-word"): element.text.strip() for element in page.elements if element.get("data-word")}


def test_every_state_and_every_refusal_has_its_words(words):
    assert STATES >= {"together", "connecting", "unreachable", "revoked", "full", "wiped", "other_shop", "too_large"}
    for state in STATES:
        assert words[f"shop-{state}"] and words[f"shop-{state}-then"], state
    assert len(REFUSALS) > 5
    for key in REFUSALS:
        assert words[f"shop-refused-{key}"], key


def test_no_state_says_that_somebody_has_to_wait_for_the_server(words):
    # Nobody who weighs waits for it: what can be worked through says so.
    for state in ("connecting", "unreachable", "wiped"):
        assert re.search(r"Work as usual|Trabaje como siempre", words[f"shop-{state}-then"]), state


def test_one_line_stands_on_every_page_at_the_same_place_and_not_on_the_emergency_card(pages):
    for name, page in pages.items():
        lines = [element for element in page.elements if "data-shop-line" in element.attributes]
        assert len(lines) == (0 if name == "emergency/index.html" else 1), name
        assert all("hidden" in line.attributes for line in lines), name
        for line in lines:
            (foot,) = page.all("footer")
            assert line in foot.inside, name
