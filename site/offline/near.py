"""`test --near`: what the files that were changed touch, for a look within two minutes before the whole test."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from offline.house import modules_of

# The tests that look at a template, a word, a table or a style. Of the paths that fit, the longest counts.
BY_FOLDER = {
    "site/pages": ("tests/pages", "tests/site/test_languages.py"),
    "site/answers/templates": ("tests/answers/test_door.py", "tests/site/test_languages.py"),
    "site/shop": ("tests/site/shop",),
    "site/static/css": ("tests/pages",),
    "shared/language": ("tests/site/test_languages.py",),
    "shared/safety": ("tests/calc/safety", "tests/site/test_safety_words.py", "tests/reference/test_safety_values.py"),
    "shared/reference": ("tests/reference",),
    "tests/fixtures/copies": ("tests/answers/test_kept_copies.py",),
    "tests/pages/conftest.py": ("tests/pages",),
    "shared/records": ("tests/site/test_declared_records.py", "tests/calc/block", "tests/answers/test_kept_copies.py"),
    "tests/fixtures/stories": ("tests/calc/block/test_events.py",),
    "shared/scale": ("tests/site/shop/test_scale_frames.py",),
    "tests/fixtures/scale_lines.json": ("tests/site/shop/test_scale_frames.py",),
    "DEVELOPERS.md": ("tests/site",),
}
# The scripts whose tests look at data that is no script.
READ_BY = {
    "shared/records": ("backup.mjs", "block.mjs"),
    "tests/fixtures/copies": ("copy_states.mjs",),
    "tests/fixtures/stories": ("block.mjs",),
    "shared/scale": ("scale_lines.mjs",),
    "tests/fixtures/scale_lines.json": ("scale_lines.mjs",),
}
ALWAYS = ("tests/site/test_layers.py", "tests/site/test_script_rooms.py", "tests/site/test_house.py")
_IMPORTED = re.compile(r'"([^"]+\.mjs)"')


@dataclass(frozen=True)
class Near:
    """What to run: files of tests by their kind, and whether Python's and the scripts' types are looked at."""

    python: tuple[str, ...]
    scripts: tuple[str, ...]
    browser: tuple[str, ...]
    python_types: bool
    script_types: bool


def changed_files(root: Path) -> list[str]:
    """Paths that differ from the last commit, new ones too; in a clean tree those that the last commit changed."""
    now = [*_git(root, "diff", "--name-only", "HEAD"), *_git(root, "ls-files", "--others", "--exclude-standard")]
    return now or _git(root, "diff", "--name-only", "HEAD~1", "HEAD")


def near(root: Path, changed: Iterable[str]) -> Near:
    """The tests that are among the changed files, or that import one of them themselves or through a helper of tests."""
    paths = set(changed)
    tests = sorted(path for path in (root / "tests").rglob("*") if path.suffix in (".py", ".mjs"))
    python = {path: modules_of(path) for path in tests if path.suffix == ".py"}
    wanted = {_module(path) for path in paths if path.endswith(".py")}
    # A helper of tests that is changed, or that imports what is changed, hands it on.
    for _ in range(3):
        wanted |= {path.stem for path, modules in python.items() if not _is_test(path) and modules & wanted}
    found = {path.relative_to(root).as_posix() for path, modules in python.items() if _is_test(path) and modules & wanted}
    found |= {path for path in paths if _is_test(Path(path)) and path.endswith(".py") and (root / path).exists()}
    for path in paths:
        fitting = [folder for folder in BY_FOLDER if path.startswith(folder)]
        found |= set(BY_FOLDER[max(fitting, key=len)]) if fitting else set()
    scripts = {path for path in paths if path.endswith((".mjs", ".js"))}
    names = {Path(path).name for path in scripts}
    names |= {name for folder, readers in READ_BY.items() if any(path.startswith(folder) for path in paths) for name in readers}
    script_tests = [
        path.relative_to(root).as_posix()
        for path in tests
        if path.name.endswith(".test.mjs") and names & {path.name, *_imported_scripts(path)}
    ]
    browser = {path for path in found if path.startswith("tests/browser")}
    return Near(
        python=tuple(sorted({*ALWAYS, *found} - browser)),
        scripts=tuple(script_tests),
        browser=tuple(sorted(browser & paths)),
        python_types=any(path.endswith(".py") and path.startswith(("calc/", "site/")) for path in paths),
        script_types=any(path.startswith(("site/static/js", "shared/records", "shared/scale")) for path in paths),
    )


def _is_test(path: Path) -> bool:
    return path.name.startswith("test_") or path.name.endswith(".test.mjs")


def _module(path: str) -> str:
    """The name by which tests import it: `site` is a source root, and helpers of tests stand by their own names."""
    bare = path.removesuffix(".py").removesuffix("/__init__")
    return Path(bare).name if bare.startswith("tests/") else bare.removeprefix("site/").replace("/", ".")


def _imported_scripts(file: Path) -> set[str]:
    return {Path(each).name for each in _IMPORTED.findall(file.read_text(encoding="utf-8"))}


def _git(root: Path, *arguments: str) -> list[str]:
    told = subprocess.run(["git", *arguments], cwd=root, capture_output=True, text=True)
    if told.returncode:
        raise RuntimeError(f"git could not say what was changed: {told.stderr.strip()} Remedy: run the whole test.")
    return told.stdout.split("\n")[:-1]
