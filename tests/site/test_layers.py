"""Imports go one way: shared <- calc <- site <- build.py; and calc knows no browser, page or storage."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
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
    names = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module.split(".")[0])
    return names


@pytest.mark.parametrize(("file", "forbidden"), CASES, ids=lambda value: value.name if isinstance(value, Path) else "")
def test_imports_go_one_way(file, forbidden):
    assert not imported(file) & forbidden


def test_only_units_imports_pint():
    assert [file.name for file in (ROOT / "calc").rglob("*.py") if "pint" in imported(file)] == ["units.py"]


def test_one_module_reads_the_reference_tables_and_one_the_safety_tables():
    readers = sorted(file.name for file in (ROOT / "calc").rglob("*.py") if "csv" in imported(file))
    assert readers == ["reference.py", "safety_tables.py"]


def test_nothing_that_runs_in_the_browser_reads_the_safety_tables():
    # shared/safety is made into pages at build time and lies in no bundle.
    browser = [*(ROOT / "site" / "answers").rglob("*.py"), *(ROOT / "calc").glob("*.py")]
    users = {file.name for file in browser if re.search(r"calc\.safety(_tables)?\b", file.read_text(encoding="utf-8"))}
    assert users <= {"safety.py"}


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
    allowed = {"shown.py", "drawings.py", "density.py"}
    files = [*(ROOT / "calc").glob("*.py"), *(ROOT / "site" / "answers").rglob("*.py")]
    assert {file.name: formatted_numbers(file) for file in files if file.name not in allowed and formatted_numbers(file)} == {}
    assert formatted_numbers(ROOT / "site" / "answers" / "drawings.py") == ["{value:.1f}"]
    # Nor do templates and scripts.
    pages = [*(ROOT / "site").rglob("templates/*.html"), *(ROOT / "site" / "static" / "js").rglob("*.mjs")]
    by_itself = re.compile(r"\|\s*(round|format)\b|\.toFixed\(|\.toPrecision\(|NumberFormat|\.toLocaleString\(")
    assert [file.name for file in pages if by_itself.search(file.read_text(encoding="utf-8"))] == []


def test_floats_are_summed_alike_in_every_python():
    # From 3.12 the built-in sum() compensates its rounding errors: 3.11 outside and 3.14 in the browser would differ.
    for file in (ROOT / "calc").rglob("*.py"):
        calls = [node.func for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))) if isinstance(node, ast.Call)]
        assert not [call for call in calls if isinstance(call, ast.Name) and call.id == "sum"], f"{file.name}: math.fsum"
