"""Joins the scripts' modules: a page of each kind loads one file, with what it uses and nothing else.

Each file that goes through the service worker costs a slow phone time. The sources stay as they are, one module a topic;
only the built folder holds the joined ones, under the names of those that pages and workers start.
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from runtime.node import call_node

STARTED = re.compile(r'<script type="module" src="(?:\.\.?/)*static/(js/pages/[a-z_]+\.mjs)"')
WORKERS = {"js/worker/shared.mjs", "js/worker/dedicated.mjs"}


def join_modules(site: Path, node_modules: Path) -> None:
    """Changes the built `site`: its static/js."""
    started = {entry for page in site.rglob("*.html") for entry in STARTED.findall(page.read_text("utf-8"))}
    scripts = site / "static" / "js"
    joined = site / "joined"
    _esbuild(site, node_modules, joined, sorted(started | WORKERS))
    for module in scripts.rglob("*.mjs"):
        module.unlink()
    shutil.copytree(joined, site / "static", dirs_exist_ok=True)
    shutil.rmtree(joined)
    for room in list(scripts.iterdir()):
        if not any(room.iterdir()):
            room.rmdir()


def _esbuild(site: Path, node_modules: Path, joined: Path, entries: list[str]) -> None:
    options = ["--bundle", "--format=esm", "--charset=utf8", "--log-level=warning", "--minify-whitespace", "--minify-syntax", "--external:*/pyodide.mjs"]
    # What a module finds by its own address (import.meta.url) stays at the same depth: each room is one folder below js.
    options += ["--outbase=static", f"--outdir={joined}", "--out-extension:.js=.mjs"]
    program = node_modules / "esbuild" / "bin" / "esbuild"
    if call_node(str(program), *(f"static/{entry}" for entry in entries), *options, cwd=site):
        raise RuntimeError("the scripts' modules could not be joined (see esbuild's words above)")
