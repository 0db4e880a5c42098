"""Pyodide as npm brought it, checked a second time against digests of our own before anything of it runs."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

LOCK = Path(__file__).with_name("pyodide.lock.json")
SHIPPED = ("pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm")


def checked_pyodide(node_modules: Path) -> Path:
    """The folder of the runtime's files; raises when any byte differs from the pinned release."""
    folder = node_modules / "pyodide"
    wanted: dict[str, str] = json.loads(LOCK.read_text())["sha256"]
    for name, digest in wanted.items():
        path = folder / name
        if not path.exists():
            raise RuntimeError(f"{name} is missing from the Pyodide package. Remedy: delete .tools/ and run again.")
        if hashlib.sha256(path.read_bytes()).hexdigest() != digest:
            raise RuntimeError(
                f"{name} of the Pyodide package is not the file that {LOCK.name} pins, so it is not used. "
                "Remedy: delete .tools/ and run again; if it stays so, the source of the package is not to be trusted."
            )
    return folder
