"""The scripts of the pages lie in rooms, and an import goes only where the guide's table of rooms lets it."""

import re
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

from offline.house import ROOMS, beyond_scripts, room_of, script_arrows, script_imports, script_modules, told_arrows
from pages.app import PAGES

ROOT = Path(__file__).parents[2]
SCRIPTS = ROOT / "site" / "static" / "js"

# What the build puts there: another's code, and the list of Python's files.
BUILT = {"vendor/idb.mjs", "vendor/fflate.mjs", "worker/files.mjs"}
# What Python reads too: the declaration of records, and the demo workshop.
SHARED = "../../../shared"
BEYOND = {
    ("rules", f"{SHARED}/records/kinds.json"), ("rules", f"{SHARED}/records/shapes.json"), ("rules", f"{SHARED}/scale/lines.json"),
    ("frame", f"{SHARED}/demo/workshop.json"),
}  # fmt: skip

MODULES = script_modules(ROOT)


def text_of(module: str) -> str:
    return (SCRIPTS / module).read_text(encoding="utf-8")


def imports(module: str) -> set[str]:
    return script_imports(module, text_of(module))


def in_order(takes: dict[str, set[str]]) -> list[str]:
    """From the lowest up; raises CycleError where there is none such."""
    return list(TopologicalSorter(takes).static_order())


def code_of(module: str) -> str:
    return re.sub(r"/\*.*?\*/|//[^\n]*", "", text_of(module), flags=re.DOTALL)


def test_an_import_goes_only_where_the_table_of_rooms_lets_it():
    assert script_arrows(ROOT) == told_arrows(ROOT, ROOMS)


def test_neither_rooms_nor_modules_stand_in_a_circle():
    assert in_order(script_arrows(ROOT))[-1] == "pages"
    # Types may name each other: nothing of them is left when a page runs.
    run = {module: script_imports(module, code_of(module)) for module in MODULES}
    assert set(in_order(run)) == set(MODULES) | BUILT


def test_only_rules_read_the_declaration_of_records_only_the_frame_the_demo_and_nothing_else_from_beyond():
    beyond = {(room_of(module), each) for module in MODULES for each in beyond_scripts(module, text_of(module))}
    assert beyond == BEYOND


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
