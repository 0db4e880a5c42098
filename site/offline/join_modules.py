"""Joins the scripts' modules into few files: each one that goes through the service worker costs a slow phone time.

The sources stay as they are, one module a topic; only the built folder holds the joined ones, under the same names.
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from runtime.node import call_node

STARTED = re.compile(r'<script type="module"[^>]* src="(?:\.\.?/)*static/(js/[a-z]+/[a-z_]+\.mjs)"')
PRELOADS = re.compile(r'(?:<link rel="modulepreload" href="[^"]*">\s*)+')
WORKERS = ("js/worker/shared.mjs", "js/worker/dedicated.mjs")
# Joined into others, and no longer there by themselves.
SOURCES = ("forms", "frame", "pages", "records", "rules", "safety", "scale", "store", "vendor", "worker")


def join_modules(site: Path, node_modules: Path) -> None:
    """Changes the built `site`: its static/js and the pages' lists of modules to load ahead."""
    pages = list(site.rglob("*.html"))
    entries = sorted({entry for page in pages for entry in STARTED.findall(page.read_text("utf-8"))})
    static = site / "static"
    joined = site / "joined"
    _esbuild(site, node_modules, joined, entries)
    _esbuild(site, node_modules, joined, WORKERS)
    for folder in SOURCES:
        for module in (static / "js" / folder).glob("*.mjs"):
            module.unlink()
    shutil.copytree(joined, static, dirs_exist_ok=True)
    ahead = {path.relative_to(joined).as_posix() for path in (joined / "js").rglob("*.mjs") if path.parent.name != "worker"}
    shutil.rmtree(joined)
    for folder in SOURCES:
        if not any((static / "js" / folder).iterdir()):
            (static / "js" / folder).rmdir()
    for page in pages:
        text = page.read_text("utf-8")
        up = "../" * (len(page.relative_to(site).parts) - 1)
        # What only other pages start is not loaded here.
        wanted = ahead - (set(entries) - set(STARTED.findall(text)))
        lines = "\n".join(f'<link rel="modulepreload" href="{up}static/{name}">' for name in sorted(wanted))
        page.write_text(PRELOADS.sub(lines + "\n", text, count=1), encoding="utf-8")


def _esbuild(site: Path, node_modules: Path, joined: Path, entries: tuple[str, ...] | list[str]) -> None:
    options = ["--bundle", "--splitting", "--format=esm", "--charset=utf8", "--log-level=warning"]
    # What a module finds by its own address (import.meta.url) must stay at the same depth: all pieces lie in its folder.
    options += ["--outbase=static", f"--outdir={joined}", f"--chunk-names={Path(entries[0]).parent.as_posix()}/part-[hash]"]
    options += ["--out-extension:.js=.mjs", "--external:*/pyodide.mjs"]
    program = node_modules / "esbuild" / "bin" / "esbuild"
    if call_node(str(program), *(f"static/{entry}" for entry in entries), *options, cwd=site):
        raise RuntimeError("the scripts' modules could not be joined (see esbuild's words above)")
