"""Imports go one way: shared <- calc <- site <- build.py; and calc knows no browser, page or storage.

Inside calc they go from package to package as the table in DEVELOPERS.md says, and in no other way.
"""

import ast
import re
from pathlib import Path

import pytest

from offline.house import PACKAGES, calc_arrows, modules_of, told_arrows
from runtime.bundle import OWN_FILES

ROOT = Path(__file__).parents[2]
CALC_FILES = sorted((ROOT / "calc").rglob("*.py"))
SITE_PACKAGES = {path.name for path in (ROOT / "site").iterdir() if (path / "__init__.py").exists()}

# What a file under the folder may never import.
FORBIDDEN = {
    "calc": SITE_PACKAGES | {"site", "build", "flask", "jinja2", "js", "pyodide"},
    "site/answers": {"pages", "runtime", "offline", "build", "flask", "site"},
    "site/pages": {"build", "site"},
}
CASES = [(file, names) for folder, names in FORBIDDEN.items() for file in sorted((ROOT / folder).rglob("*.py"))]


def imported(file: Path) -> set[str]:
    """The top-level names a file imports, wherever in it."""
    return {name.split(".")[0] for name in modules_of(file)}


def place(file: Path) -> str:
    return file.relative_to(ROOT).as_posix()


def test_the_packages_of_calc_take_from_one_another_just_what_the_table_says():
    assert calc_arrows(ROOT) == told_arrows(ROOT, PACKAGES)


def test_a_package_of_calc_takes_only_from_those_above_it_in_the_table():
    above: set[str] = set()
    for package, takes in told_arrows(ROOT, PACKAGES).items():
        assert takes <= above, package
        above.add(package)


def test_a_package_of_calc_begins_with_what_it_knows_and_imports_nothing():
    for file in CALC_FILES:
        if file.name == "__init__.py":
            tree = ast.parse(file.read_text(encoding="utf-8"))
            assert ast.get_docstring(tree) and len(tree.body) == 1, place(file)


def test_the_tests_of_a_module_of_calc_lie_where_its_name_says():
    modules = {place(file).removeprefix("calc/").removesuffix(".py") for file in CALC_FILES}
    for file in (ROOT / "tests" / "calc").rglob("test_*.py"):
        of = file.relative_to(ROOT / "tests" / "calc").with_name(file.stem.removeprefix("test_").removesuffix("_properties"))
        assert of.as_posix() in modules, place(file)


@pytest.mark.parametrize(("file", "forbidden"), CASES, ids=lambda value: value.name if isinstance(value, Path) else "")
def test_imports_go_one_way(file, forbidden):
    assert not imported(file) & forbidden


def test_only_units_imports_pint():
    assert [place(file) for file in CALC_FILES if "pint" in imported(file)] == ["calc/entry/units.py"]


def test_one_module_reads_the_reference_tables_and_one_the_safety_tables():
    readers = [place(file) for file in CALC_FILES if "csv" in imported(file)]
    assert readers == ["calc/tables/reference.py", "calc/tables/safety.py"]


def test_one_module_says_where_shared_lies():
    files = [*CALC_FILES, *(ROOT / "site" / "answers").rglob("*.py"), *(ROOT / "site" / "pages").rglob("*.py")]
    builders = [
        place(file)
        for file in files
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and node.value == "shared"
    ]
    assert builders == ["calc/shared.py"]


def test_what_runs_in_the_browser_reads_no_sentence_of_the_safety_tables():
    # shared/safety is made into pages at build time; of its files the bundle holds values.csv alone.
    files = [*(ROOT / "site" / "answers").rglob("*.py"), *CALC_FILES]
    users = {
        place(file): file.read_text(encoding="utf-8")
        for file in files
        if any(re.match(r"calc\.(safety|tables\.safety)\b", module) for module in modules_of(file))
    }
    outside = {user: text for user, text in users.items() if not user.startswith("calc/safety/")}
    assert [*outside] == ["calc/steps/safety.py", "calc/tanks/dissolving.py", "calc/workshop/safety_place.py"]
    for user, text in outside.items():
        taken = re.findall(r"^(?:from|import) calc\.(?:tables\.)?safety.*$", text, re.MULTILINE)
        assert taken in (["from calc.tables.safety import figure"], ["from calc.tables.safety import figure, shown"]), user
    assert OWN_FILES == ("shared/safety/values.csv",)


def formatted_numbers(file: Path) -> list[str]:
    """Numbers that a module writes by itself: f"{x:.2f}", f"{x:g}", round(x, 2). What is raised as a fault nobody is shown."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    faults = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call) and ast.unparse(node.exc.func) == "ValueError"
        for inner in ast.walk(node)
    }
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.FormattedValue) and node.format_spec is not None and id(node) not in faults:
            spec = "".join(part.value for part in node.format_spec.values if isinstance(part, ast.Constant))
            found += [ast.unparse(node)] * bool(re.fullmatch(r"[,+ ]*(\.\d+)?[efgn%]", spec))
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "round" and len(node.args) == 2:
            found.append(ast.unparse(node))
    return found


def test_a_number_is_rounded_for_show_in_one_module_only():
    # Coordinates of a drawing are no text; a table is looked up with the float noise off its ends.
    allowed = {"shown.py", "drawings.py", "density.py", "enthalpy.py"}
    files = [*CALC_FILES, *(ROOT / "site" / "answers").rglob("*.py")]
    assert {place(file): formatted_numbers(file) for file in files if file.name not in allowed and formatted_numbers(file)} == {}
    assert formatted_numbers(ROOT / "site" / "answers" / "drawings.py") == ["{value:.1f}"]
    # Nor do templates and scripts.
    pages = [*(ROOT / "site").rglob("templates/*.html"), *(ROOT / "site" / "static" / "js").rglob("*.mjs")]
    by_itself = re.compile(r"\|\s*(round|format)\b|\.toFixed\(|\.toPrecision\(|NumberFormat|\.toLocaleString\(")
    assert [file.name for file in pages if by_itself.search(file.read_text(encoding="utf-8"))] == []


def test_floats_are_summed_alike_in_every_python():
    # From 3.12 the built-in sum() compensates its rounding errors: 3.11 outside and 3.14 in the browser would differ.
    for file in CALC_FILES:
        calls = [node.func for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))) if isinstance(node, ast.Call)]
        assert not [call for call in calls if isinstance(call, ast.Name) and call.id == "sum"], f"{file.name}: math.fsum"
