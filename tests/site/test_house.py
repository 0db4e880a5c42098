"""The picture of the house in DEVELOPERS.md is the one that its command draws, and no way that leads somewhere is lost in it."""

import re
from pathlib import Path

import pytest

from offline import house
from offline.house import BEGINS, ENDS, GUIDE, below, fewest, floors, with_picture

ROOT = Path(__file__).parents[2]


def ways(drawing: str) -> dict[str, set[str]]:
    """A Mermaid flowchart's lines `a --> b & c` and `a`, read back (https://mermaid.js.org/syntax/flowchart.html)."""
    found = {}
    for line in drawing.splitlines()[2:-1]:
        room, _, taken = line.strip().partition(" --> ")
        found[room] = set(filter(None, taken.split(" & ")))
    return found


def test_the_picture_in_the_guide_is_what_the_command_draws():
    guide = (ROOT / GUIDE).read_text(encoding="utf-8")
    assert with_picture(guide, house.drawn(ROOT)) == guide, "run: python3 build.py house"


def test_who_reaches_whom_in_the_picture_is_who_does_by_the_imports():
    drawings = re.findall(r"```mermaid\n.*?```", house.drawn(ROOT), re.DOTALL)
    for drawing, arrows in zip(drawings, (house.package_arrows(ROOT), house.script_arrows(ROOT)), strict=True):
        shown = ways(drawing)
        assert {room: below(shown, room) for room in shown} == {room: below(arrows, room) & arrows.keys() for room in arrows}


def test_an_arrow_that_only_shortens_a_longer_way_is_left_out():
    assert fewest({"roof": {"wall", "ground"}, "wall": {"ground"}, "ground": set()}) == {
        "roof": {"wall"}, "wall": {"ground"}, "ground": set(),
    }  # fmt: skip


def test_a_room_lies_above_all_that_it_takes_from():
    assert floors({"roof": {"wall", "ground"}, "wall": {"ground"}, "ground": set(), "shed": set()}) == [
        ["roof"], ["wall"], ["ground", "shed"],
    ]  # fmt: skip


def test_only_what_stands_between_the_marks_is_drawn_anew():
    guide = f"before\n\n{BEGINS}\nold\n{ENDS}\n\nafter\n"
    assert with_picture(guide, "new") == f"before\n\n{BEGINS}\nnew\n{ENDS}\n\nafter\n"


def test_a_guide_without_the_marks_is_refused_with_the_remedy():
    with pytest.raises(RuntimeError, match="put the lines"):
        with_picture(f"{ENDS}\n{BEGINS}\n", "new")
