"""The pages about tanks and lye: what is tapped with wet gloves is a button, and letters in a tank have room."""

import re
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest

from answers.tank_drawings import tank
from calc.shared import SHARED

STYLE = (SHARED.parent / "site" / "static" / "css" / "tanks.css").read_text("utf-8")
PLACES = ("tanks", "tanks/tank", "tanks/plan", "tanks/load", "tanks/draw", "tanks/temperature", "tanks/strength", "tanks/dissolving")


@pytest.mark.parametrize("page", [f"{lead}{place}" for lead in ("", "es/") for place in PLACES])
def test_what_leads_on_is_a_button_and_no_line_of_text(site: Path, page: str):
    html = (site / page / "index.html").read_text("utf-8")
    content = html.partition("<main")[2].partition("</main>")[0]
    # A line that is nothing but a way on: 22 px tall, where ISO 9241-411 and gloves want twice that and more.
    alone = re.findall(r"<p>\s*<a (?![^>]*class=\"button)[^>]*>", re.sub(r"<details.*?</details>", "", content, flags=re.DOTALL))
    assert alone == []


def test_measuring_the_strength_of_lye_is_the_deed_of_the_list(site: Path):
    html = (site / "tanks" / "index.html").read_text("utf-8")
    assert re.search(r'<a class="button main-button" href="strength/">', html)


def drawn(*blocks: float) -> ElementTree.Element:
    """A full tank and so many blocks that each take such a share of it."""
    marks, at = [], 1.0
    for n, share in enumerate(blocks, 1):
        marks.append((at, at - share, f"block {n}"))
        at -= share
    return ElementTree.fromstring(tank(1.0, 0.05, marks, "Lye tank"))


def test_letters_in_a_tank_have_the_room_of_their_line():
    size = re.search(r"\.drawing \.t-text \{[^}]*font-size: (\d+)px", STYLE)
    # More than one class, or the letters of every drawing, which are larger, would win.
    assert size
    letters = float(size[1])
    for blocks in ((0.3, 0.3, 0.3), (0.14, 0.14, 0.14), (0.16, 0.16, 0.16), (0.1, 0.1, 0.05), (0.5,)):
        picture = drawn(*blocks)
        lines = sorted(float(each.attrib["y"]) for each in picture if each.tag == "text")
        marks = [float(re.search(r" ([\d.]+)H", each.attrib["d"])[1]) for each in picture if each.get("class") == "t-mark"]
        assert all(below - above >= letters for above, below in pairwise(lines))
        # No mark runs through letters: capitals are about three quarters of their size high, tails a fifth.
        assert not any(line - 0.75 * letters < mark < line + 0.2 * letters for line in lines for mark in marks)
    assert [each.text for each in drawn(0.3, 0.3) if each.tag == "text"] == ["block 1", "block 2"]
    assert [each for each in drawn(0.05, 0.05) if each.tag == "text"] == []


def test_a_tank_is_drawn_within_its_picture():
    picture = drawn(0.3, 0.3)
    width, height = (float(each) for each in picture.attrib["viewBox"].split()[2:])
    wall = next(each for each in picture if each.get("class") == "t-wall").attrib["d"]
    assert 0.0 < float(re.match(r"M([\d.]+) ", wall)[1])
    # Its valve ends eight to the right of its wall.
    assert float(re.search(r"H([\d.]+)V", wall)[1]) + 8.0 < width and float(re.search(r"V([\d.]+)H", wall)[1]) < height
