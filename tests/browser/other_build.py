"""A second build for the tests of updates: the first one's folder, changed, with its list of digests made anew."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path

from offline import assemble

MARK = "Words of the second build"


def listed(folder: Path) -> dict[str, str]:
    """What the built service worker says it keeps: address from the site's root -> SHA-256."""
    text = (folder / "service-worker.js").read_text("utf-8")
    found = re.search(r"^const FILES = (\{.*?^\});$", text, re.DOTALL | re.MULTILINE)
    assert found
    files: dict[str, str] = json.loads(found[1])
    return files


def build_name(folder: Path) -> str:
    found = re.search(r'^const BUILD = "(\w+)";$', (folder / "service-worker.js").read_text("utf-8"), re.MULTILINE)
    assert found
    return found[1]


def another(source: Path, target: Path, name: str, spoil: Callable[[Path], None] | None = None) -> Path:
    """A whole build called `name`: its static folder has its own address and every page carries MARK; `spoil` may change
    files before the list is made."""
    before = build_name(source)
    shutil.copytree(source, target)
    (target / f"static.{before}").rename(target / f"static.{name}")
    for page in target.rglob("*.html"):
        text = page.read_text("utf-8").replace(f"static.{before}/", f"static.{name}/")
        page.write_text(text.replace("</main>", f'<p id="second-build">{MARK}</p></main>'), "utf-8")
    if spoil:
        spoil(target)
    (target / "service-worker.js").write_text(assemble.service_worker(name, target), "utf-8")
    return target
