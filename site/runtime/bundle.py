"""All that Python needs in the browser: compiled library, compiled app, memory snapshot; each proven before it ships.

There are two ways to start: "snapshot" restores a memory in which calc, the templates and the units are loaded already,
"fallback" imports them from compiled files. The build asks both the demo's questions and compares their replies with those
of the same code outside the browser; a difference stops it.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import math
import os
import shutil
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from calc.entry.units import every_line
from runtime import node
from runtime.fetch import SHIPPED, checked_pyodide
from runtime.made_ready import make_ready

HERE = Path(__file__).parent
# What answers import from outside the standard library. markupsafe without its compiled part: the browser has none.
PACKAGES = ("jinja2", "markupsafe", "segno")
# Parts of them that no answer uses.
NOT_BUNDLED = ("sandbox.py", "nativetypes.py", "_identifier.py")
# Of the maker of QR codes the encoder alone: the package's own first file would bring writers of every picture format.
ONLY_OF = {"segno": ("encoder.py", "consts.py")}
OWN_FOLDERS = ("calc", "site/answers", "shared/reference", "shared/records", "shared/demo", "shared/language")
# Of the safety tables the figures alone: the steps at the scale name some. The sentences are made into pages.
OWN_FILES = ("shared/safety/values.csv",)
WAYS = ("snapshot", "fallback")

Say = Callable[[str], None]


@dataclass(frozen=True)
class Bundle:
    """Names inside `files` are final: pyodide's own in one folder, the rest with their digest in the name."""

    files: dict[str, Path]
    pyodide_folder: str
    stdlib: str
    app: str
    snapshot: str
    lock_info: dict[str, str]

    def module(self) -> str:
        """The source of static/js/worker/files.mjs."""
        names = {
            "pyodide": f"{self.pyodide_folder}/",
            "stdlib": self.stdlib,
            "app": self.app,
            "snapshot": self.snapshot,
            "lock": {"info": self.lock_info, "packages": {}},
        }
        return f"export const files = {json.dumps(names, indent=1)};\n"


def make_bundle(root: Path, node_modules: Path, say: Say) -> Bundle:
    pyodide = checked_pyodide(node_modules)
    app = dict(_app_files(root))
    key = _digest_of(app, [HERE, root / "site/static/js/worker"], every_line())
    folder = root / ".build" / "runtime" / key
    if not (folder / "done").exists():
        shutil.rmtree(folder.parent, ignore_errors=True)
        _make(root, pyodide, app, folder, say)
        (folder / "done").write_text("")
    return _named(pyodide, folder)


def _make(root: Path, pyodide: Path, app: dict[str, Path], folder: Path, say: Say) -> None:
    staged = folder / "app"
    for name, path in app.items():
        target = staged / name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, target)
    make_ready(staged)
    compile_all = partial(_node, root, "compile.mjs", pyodide, staged, folder)
    _timed(say, "compiling the standard library and the app", compile_all)
    _timed(say, "making the memory snapshot", partial(_node, root, "snapshot.mjs", pyodide, folder))
    requests, expected = _native_answers()
    asked = folder / "requests.json"
    asked.write_text(json.dumps(requests), encoding="utf-8")
    for way in WAYS:
        ask = partial(_node, root, "smoke.mjs", pyodide, folder, way, asked)
        said = _timed(say, f"asking the bundle the demo's questions ({way})", ask)
        replies = [json.loads(reply) for reply in json.loads(said)]
        for request, reply, native in zip(requests, replies, expected, strict=True):
            if not _same(reply, native):
                raise RuntimeError(
                    f"The bundle ({way}) answers {request['task']} differently from the same code outside the browser:\n"
                    f"{_first_difference(json.dumps(reply), json.dumps(native))}"
                )
    shutil.rmtree(staged)


def _same(one: Any, other: Any) -> bool:
    """Equal, but for the last digits of a float: two systems' mathematical libraries round differently."""
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-12, abs_tol=1e-12)
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_same, one, other))
    return bool(one == other)


def _first_difference(one: str, other: str) -> str:
    at = len(os.path.commonprefix([one, other]))
    return f"... {one[max(0, at - 150) : at + 150]}\ninstead of\n... {other[max(0, at - 150) : at + 150]}"


def _native_answers() -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    from answers.demo import demo_requests
    from answers.door import answer

    requests = list(demo_requests())
    return requests, [json.loads(answer(json.dumps(request))) for request in requests]


def _app_files(root: Path) -> Iterator[tuple[str, Path]]:
    for place in OWN_FOLDERS:
        for path in _files(root / place):
            yield path.relative_to(root).as_posix(), path
    for file in OWN_FILES:
        yield file, root / file
    for package in PACKAGES:
        spec = importlib.util.find_spec(package)
        if spec is None or spec.origin is None:
            raise RuntimeError(f"The package {package} is not installed. Remedy: delete .env/ and run again.")
        origin = Path(spec.origin)
        if origin.name != "__init__.py":
            yield f"packages/{origin.name}", origin
            continue
        for path in _files(origin.parent):
            name = path.relative_to(origin.parent)
            wanted = name.as_posix() in ONLY_OF[package] if package in ONLY_OF else not set(name.parts) & set(NOT_BUNDLED)
            if path.suffix == ".py" and wanted:
                yield f"packages/{package}/{name.as_posix()}", path


def _files(folder: Path) -> list[Path]:
    return sorted(p for p in folder.rglob("*") if p.is_file() and p.suffix not in (".pyc", ".po") and p.name != ".DS_Store")


def _digest_of(app: dict[str, Path], scripts: list[Path], units: str) -> str:
    taken = hashlib.sha256(units.encode())
    for name, path in [*app.items(), *((p.name, p) for folder in scripts for p in _files(folder))]:
        taken.update(f"{name}\0{hashlib.sha256(path.read_bytes()).hexdigest()}\n".encode())
    return taken.hexdigest()[:16]


def _named(pyodide: Path, folder: Path) -> Bundle:
    core = {name: (pyodide / name) for name in SHIPPED}
    together = hashlib.sha256(b"".join(path.read_bytes() for path in core.values())).hexdigest()[:12]
    files = {f"runtime/{together}/{name}": path for name, path in core.items()}

    def name_of(file: str) -> str:
        stem, _, ending = file.partition(".")
        digest = hashlib.sha256((folder / file).read_bytes()).hexdigest()[:12]
        files[f"runtime/{stem}.{digest}.{ending}"] = folder / file
        return f"runtime/{stem}.{digest}.{ending}"

    info: dict[str, str] = json.loads((pyodide / "pyodide-lock.json").read_text())["info"]
    return Bundle(
        files=files,
        pyodide_folder=f"runtime/{together}",
        stdlib=name_of("stdlib.zip"),
        app=name_of("app.bin"),
        snapshot=name_of("snapshot.bin"),
        lock_info=info,
    )


def _node(root: Path, script: str, *arguments: str | Path) -> str:
    return node.run_node(HERE / script, *arguments, cwd=root)


def _timed(say: Say, words: str, work: Callable[[], str]) -> str:
    say(f"  {words} ...")
    started = time.monotonic()
    result = work()
    say(f"    {time.monotonic() - started:.1f} s")
    return result
