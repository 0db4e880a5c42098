"""`test` and `bench`: every check in order, stopping at the first stage that fails and naming it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from pathlib import Path

from offline import browsers
from offline.building import build_site, say
from offline.near import changed_files, near
from runtime.node import call_node, install_packages

# These look at a finished build or drive a browser through one; all others need neither.
BUILT_TESTS = "tests/browser"
# One worker gets a file whole: some go through one server's life in the order of its tests.
ON_TWO = ("-n", "2", "--dist", "loadfile")
# A page's own pauses leave the two cores idle in turn.
BROWSERS = "3"
NEAR = "--near"

Stage = tuple[str, Callable[[], int]]


def test(root: Path, pytest_arguments: list[str]) -> int:
    site = root / ".build" / "site"
    if pytest_arguments == [NEAR]:
        return _test_near(root, site)
    if pytest_arguments:
        if any(BUILT_TESTS in each for each in pytest_arguments):
            browsers.bring_all(say)
            build_site(root, site)
        return _pytest(root, site, pytest_arguments)

    def build() -> int:
        build_site(root, site)
        browsers.bring_all(say)
        return 0

    scripts = sorted((root / "tests" / "site_js").rglob("*.test.mjs"))
    in_browsers = ["-n", BROWSERS, "--dist", "worksteal", "--durations=12", BUILT_TESTS]
    stages: tuple[Stage, ...] = (
        ("ruff", lambda: _python(root, "-m", "ruff", "check", ".")),
        ("mypy", lambda: _python(root, "-m", "mypy", "calc", "site")),
        ("types of the pages' scripts", lambda: _script_types(root, "page")),
        ("types of the worker's scripts", lambda: _script_types(root, "worker")),
        ("tests of the scripts, in node", lambda: _script_tests(root, [str(path.relative_to(root)) for path in scripts])),
        ("tests without a browser", lambda: _pytest(root, site, [*ON_TWO, f"--ignore={BUILT_TESTS}"])),
        ("build", build),
        ("tests of the build, in browsers", lambda: _pytest(root, site, in_browsers)),
    )
    return _in_turn(stages)


def _test_near(root: Path, site: Path) -> int:
    plan = near(root, changed_files(root))
    stages: list[Stage] = [("ruff", lambda: _python(root, "-m", "ruff", "check", "."))]
    if plan.python_types:
        stages.append(("mypy", lambda: _python(root, "-m", "mypy", "calc", "site")))
    if plan.script_types:
        stages += [(f"types of scripts: {kind}", partial(_script_types, root, kind)) for kind in ("page", "worker")]
    if plan.scripts:
        stages.append((f"in node: {' '.join(plan.scripts)}", lambda: _script_tests(root, plan.scripts)))
    stages.append((f"without a browser: {' '.join(plan.python)}", lambda: _pytest(root, site, ["-q", *ON_TWO, *plan.python])))
    code = _in_turn(stages)
    if plan.browser and not code:
        say(f"left out, since a browser is slow: build.py test {' '.join(plan.browser)}")
    return code


def _in_turn(stages: Iterable[Stage]) -> int:
    for name, stage in stages:
        say(f"\n=== {name}")
        if code := stage():
            say(f"\nFAILED at the stage: {name}")
            return code
    say("\nall stages passed")
    return 0


def _script_types(root: Path, kind: str) -> int:
    node_modules, _ = install_packages(root / "site", root / ".tools")
    compiler = node_modules / "typescript" / "bin" / "tsc"
    return call_node(str(compiler), "--project", f"site/tsconfig.{kind}.json", cwd=root)


def _script_tests(root: Path, files: Sequence[str]) -> int:
    node_modules, _ = install_packages(root / "site", root / ".tools")
    hooks = ("--import", "./tests/site_js/hooks.mjs", "--test")
    return call_node(*hooks, *files, cwd=root, TAREWELL_NODE_MODULES=str(node_modules))


def bench(root: Path, name: str, runs: int | None) -> int:
    script = root / "tests" / "bench" / f"{name}.py"
    if not script.exists():
        there = ", ".join(sorted(path.stem for path in script.parent.glob("[a-z]*.py")))
        raise RuntimeError(f"There is no measurement called {name}. There are: {there}.")
    browsers.bring_all(say)
    build_site(root, root / ".build" / "site")
    return _python(root, str(script), *([] if runs is None else ["--runs", str(runs)]))


def _pytest(root: Path, site: Path, arguments: list[str]) -> int:
    environment = {"TAREWELL_SITE": str(site), "TAREWELL_CHROMIUM": browsers.chromium() or ""}
    return _python(root, "-m", "pytest", *arguments, **environment)


def _python(root: Path, *arguments: str, **environment: str) -> int:
    path = os.pathsep.join([str(root), str(root / "site")])
    full = {**os.environ, "PYTHONPATH": path, **environment}
    return subprocess.run([sys.executable, *arguments], cwd=root, env=full).returncode
