"""The house as its imports draw it: which room takes from which, and the picture and tables of it in DEVELOPERS.md.

`python3 build.py house` draws the picture anew. The tests read the arrows with the same functions, so that neither the
picture nor a table can say other than the code.
"""

from __future__ import annotations

import ast
import posixpath
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

GUIDE = "DEVELOPERS.md"
BEGINS, ENDS = "<!-- house: drawn by build.py, not by hand -->", "<!-- house: end -->"
PACKAGES, ROOMS = "| package | knows | takes from |", "| room | knows | takes from |"
SCRIPTS = "site/static/js"

# Of types too: `/** @import { Step } from "./types.mjs" */` and `import("./types.mjs").Step`.
_IMPORTED = re.compile(r'(?:\bfrom |\bimport |\bimport\()"(\.[^"]+)"')

Arrows = Mapping[str, set[str]]


@cache
def modules_of(file: Path) -> set[str]:
    """The modules a file imports from, with their packages: `from calc.tables import safety` is calc.tables.safety too."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return names


def packages_of(root: Path) -> dict[str, Path]:
    """The packages of calc and of site by name; what lies outside all of them (calc/shared.py) is in no room."""
    return {path.parent.name: path.parent for over in ("calc", "site") for path in (root / over).glob("*/__init__.py")}


def package_arrows(root: Path) -> dict[str, set[str]]:
    """Each package of calc and of site, and those that its modules import from."""
    packages = packages_of(root)
    found: dict[str, set[str]] = {}
    for package, folder in packages.items():
        names = {name.removeprefix("calc.") for file in folder.rglob("*.py") for name in modules_of(file)}
        found[package] = {name.split(".")[0] for name in names} & packages.keys() - {package}
    return found


def calc_arrows(root: Path) -> dict[str, set[str]]:
    """The same for calc alone."""
    arrows = package_arrows(root)
    return {package: arrows[package] for package, folder in packages_of(root).items() if folder.parent.name == "calc"}


def script_modules(root: Path) -> list[str]:
    """The pages' scripts, by paths below site/static/js."""
    folder = root / SCRIPTS
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*.*js"))


def script_imports(module: str, text: str) -> set[str]:
    """What the text of a script takes in, by paths below site/static/js; see `beyond_scripts`."""
    return {each for each in _taken_in(module, text) if not each.startswith("..")}


def beyond_scripts(module: str, text: str) -> set[str]:
    """What it takes in from elsewhere: data that Python reads too."""
    return _taken_in(module, text) - script_imports(module, text)


def _taken_in(module: str, text: str) -> set[str]:
    return {posixpath.normpath(posixpath.join(posixpath.dirname(module), each)) for each in _IMPORTED.findall(text)}


def room_of(module: str) -> str:
    return module.split("/")[0]


def script_arrows(root: Path) -> dict[str, set[str]]:
    """Each room of the scripts, and the other rooms that its modules take from."""
    found: dict[str, set[str]] = {}
    for module in script_modules(root):
        text = (root / SCRIPTS / module).read_text(encoding="utf-8")
        rooms = {room_of(each) for each in script_imports(module, text)}
        found.setdefault(room_of(module), set()).update(rooms - {room_of(module)})
    return found


def told_arrows(root: Path, header: str) -> dict[str, set[str]]:
    """A table of the guide, `PACKAGES` or `ROOMS`: each row's name, and what it says that it takes from."""
    lines = (root / GUIDE).read_text(encoding="utf-8").splitlines()
    rows = lines[lines.index(header) + 2 :]
    told = {}
    for row in rows[: rows.index("")]:
        name, _, takes = (cell.strip() for cell in row.strip("|").split("|"))
        told[name.strip("`")] = set(takes.replace("-", "").split())
    return told


def below(arrows: Arrows, room: str) -> set[str]:
    """All that a room takes from, by whatever way. The arrows stand in no circle."""
    return {each for taken in arrows.get(room, ()) for each in {taken, *below(arrows, taken)}}


def fewest(arrows: Arrows) -> dict[str, set[str]]:
    """The arrows without those that only shorten a longer way: what is reached stays the same."""
    return {
        room: {each for each in taken if not any(each in below(arrows, other) for other in taken)}
        for room, taken in arrows.items()
    }


def floors(arrows: Arrows) -> list[list[str]]:
    """The rooms by floors, the highest first: a room lies one above the highest that it takes from."""

    def height(room: str) -> int:
        return 1 + max((height(each) for each in arrows[room]), default=0)

    heights = {room: height(room) for room in arrows}
    return [sorted(room for room in arrows if heights[room] == at) for at in sorted({*heights.values()}, reverse=True)]


def drawn(root: Path) -> str:
    """The picture: the rooms of Python in one drawing, those of the scripts in another."""
    return "\n".join((*_drawing(package_arrows(root)), "", *_drawing(script_arrows(root))))


def _drawing(arrows: Arrows) -> Iterator[str]:
    # What the build fetches (vendor) is no room of ours.
    ours = fewest({room: taken & arrows.keys() for room, taken in arrows.items()})
    yield from ("```mermaid", "flowchart TD")
    for floor in floors(ours):
        for room in floor:
            yield f"  {room} --> {' & '.join(sorted(ours[room]))}" if ours[room] else f"  {room}"
    yield "```"


def with_picture(guide: str, picture: str) -> str:
    """The guide's text with this picture between its two marks."""
    before, begins, rest = guide.partition(BEGINS)
    _, ends, after = rest.partition(ENDS)
    if not (begins and ends):
        raise RuntimeError(f"{GUIDE} has no place for the picture. Remedy: put the lines {BEGINS} and {ENDS} into it.")
    return f"{before}{BEGINS}\n{picture}\n{ENDS}{after}"


def write(root: Path) -> None:
    """Draw the picture anew in the guide."""
    guide = root / GUIDE
    guide.write_text(with_picture(guide.read_text(encoding="utf-8"), drawn(root)), encoding="utf-8")
