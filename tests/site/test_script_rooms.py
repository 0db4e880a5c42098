"""The scripts of the pages lie in rooms, and an import goes only where the guide's table of rooms lets it."""

import posixpath
import re
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

from pages.app import PAGES

ROOT = Path(__file__).parents[2]
SCRIPTS = ROOT / "site" / "static" / "js"
GUIDE = ROOT / "DEVELOPERS.md"
HEADING = "Rooms of the scripts"

# Of types too: `/** @import { Step } from "./types.mjs" */` and `import("./types.mjs").Step`.
IMPORTED = re.compile(r'(?:\bfrom |\bimport |\bimport\()"(\.[^"]+)"')
# What the build puts there: another's code, and the list of Python's files.
BUILT = {"vendor/idb.mjs", "worker/files.mjs"}
# The declaration of records, which Python reads too.
DECLARED = "../../../shared/records/"

MODULES = sorted(path.relative_to(SCRIPTS).as_posix() for path in SCRIPTS.rglob("*.*js"))


def room_of(module: str) -> str:
    return module.split("/")[0]


def imports(module: str) -> set[str]:
    """What a module takes in, by paths below js."""
    return {each for each in taken_in(module, (SCRIPTS / module).read_text(encoding="utf-8")) if not each.startswith(DECLARED)}


def taken_in(module: str, text: str) -> set[str]:
    return {posixpath.normpath(posixpath.join(posixpath.dirname(module), each)) for each in IMPORTED.findall(text)}


def arrows() -> dict[str, set[str]]:
    """Room -> the other rooms that its modules take from."""
    found: dict[str, set[str]] = {}
    for module in MODULES:
        room = room_of(module)
        found.setdefault(room, set()).update(room_of(each) for each in imports(module) if room_of(each) != room)
    return found


def table() -> dict[str, set[str]]:
    """Room -> the rooms it takes from, by the guide: `| room | knows | takes from |`."""
    _, _, after = GUIDE.read_text(encoding="utf-8").partition(HEADING)
    lines = re.search(r"(?:^\|.*\n)+", after, re.MULTILINE)
    assert lines, "no table stands under its heading"
    rows = [[cell.strip(" `") for cell in line.strip("|\n").split("|")] for line in lines[0].splitlines()[2:]]
    return {room: set(re.findall(r"[a-z]+", takes)) for room, _, takes in rows}


def in_order(takes: dict[str, set[str]]) -> list[str]:
    """From the lowest up; raises CycleError where there is none such."""
    return list(TopologicalSorter(takes).static_order())


def code_of(module: str) -> str:
    text = (SCRIPTS / module).read_text(encoding="utf-8")
    return re.sub(r"/\*.*?\*/|//[^\n]*", "", text, flags=re.DOTALL)


def test_an_import_goes_only_where_the_table_of_rooms_lets_it():
    assert arrows() == table()


def test_neither_rooms_nor_modules_stand_in_a_circle():
    assert in_order(arrows())[-1] == "pages"
    # Types may name each other: nothing of them is left when a page runs.
    run = {module: taken_in(module, code_of(module)) & imports(module) for module in MODULES}
    assert set(in_order(run)) == set(MODULES) | BUILT


def test_only_rules_read_the_declaration_of_records_and_nothing_else_from_beyond():
    beyond = {
        (room_of(module), each)
        for module in MODULES
        for each in taken_in(module, (SCRIPTS / module).read_text(encoding="utf-8"))
        if each.startswith("..")
    }
    assert beyond == {("rules", f"{DECLARED}{name}.json") for name in ("kinds", "shapes")}


def test_a_circle_would_be_seen():
    with pytest.raises(CycleError):
        in_order({"scale": {"safety"}, "safety": {"frame"}, "frame": {"scale"}})


@pytest.mark.parametrize("module", [each for each in MODULES if room_of(each) == "rules"])
def test_a_rule_knows_no_page_no_storage_and_no_clock(module: str):
    beyond = r"\b(document|window|location|navigator|localStorage|sessionStorage|indexedDB|fetch|dispatchEvent|addEventListener)\b"
    assert re.findall(beyond + r"|\bDate\.now\b|\bnew Date\(\)|\bcrypto\b|\bsetTimeout\b", code_of(module)) == []


def test_every_page_starts_one_kind_and_every_kind_is_started():
    kinds = {Path(each).stem for each in MODULES if room_of(each) == "pages"} - {"every"}
    assert {page.script for page in PAGES} == kinds
    # What a page starts is taken in by no other module.
    assert {each for module in MODULES for each in imports(module) if room_of(each) == "pages"} == {"pages/every.mjs"}


def test_tests_of_scripts_lie_where_the_module_does():
    for path in (ROOT / "tests" / "site_js").rglob("*.test.mjs"):
        module, _, _ = path.name.removesuffix(".test.mjs").partition("_of_")
        assert f"{path.parent.name}/{module}.mjs" in MODULES, path.name
