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


def test_floats_are_summed_alike_in_every_python():
    # From 3.12 the built-in sum() compensates its rounding errors: 3.11 outside and 3.14 in the browser would differ.
    for file in (ROOT / "calc").rglob("*.py"):
        calls = [node.func for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))) if isinstance(node, ast.Call)]
        assert not [call for call in calls if isinstance(call, ast.Name) and call.id == "sum"], f"{file.name}: math.fsum"
