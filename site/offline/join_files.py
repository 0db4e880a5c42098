"""Joins the scripts' modules and the style sheets: a page loads one file of each, with what it uses and nothing else.

Each file that goes through the service worker costs a slow phone time. The sources stay as they are, one module a topic
and one style sheet a part; only the built folder holds the joined ones. A joined script has the name of the module that
the page or the worker starts, a joined style sheet stands in static/sheets.
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from runtime.node import call_node

STARTED = re.compile(r'<script type="module" src="(?:\.\.?/)*static/(js/pages/[a-z_]+\.mjs)"')
WORKERS = {"js/worker/shared.mjs", "js/worker/dedicated.mjs"}
# What a page loads later, and only where it is needed: `import("../vendor/nats.mjs")`.
LATER = {"js/vendor/nats.mjs"}
STYLED = re.compile(r'<link rel="stylesheet" href="((?:\.\.?/)*static)/css/([a-z_]+)\.css"(?: media="(print)")?>\n?')
# The style sheet of a page that has none of its own.
EVERY = "every"

# Style sheets in their order, each with the medium that it is for ("" for all).
Styles = tuple[tuple[str, str], ...]


def join_files(site: Path, node_modules: Path) -> None:
    """Changes the built `site`: its static/js and static/css, and the style sheets that its pages name."""
    pages = {page: page.read_text("utf-8") for page in site.rglob("*.html")}
    started = {entry for text in pages.values() for entry in STARTED.findall(text)}
    sheets = sheets_of(pages)
    static, joined = site / "static", site / "joined"
    written = static / "sheets"
    written.mkdir()
    for name, styles in sheets.items():
        (written / f"{name}.css").write_text("".join(f'@import "../css/{style}.css" {medium};\n' for style, medium in styles))
    _esbuild(site, node_modules, joined, [*sorted(started | WORKERS | LATER), *(f"sheets/{name}.css" for name in sorted(sheets))])
    for module in (static / "js").rglob("*.mjs"):
        module.unlink()
    shutil.rmtree(static / "css")
    shutil.copytree(joined, static, dirs_exist_ok=True)
    shutil.rmtree(joined)
    for room in list((static / "js").iterdir()):
        if not any(room.iterdir()):
            room.rmdir()
    names = {styles: name for name, styles in sheets.items()}
    for page, text in pages.items():
        page.write_text(_with_one_sheet(text, names[styles_of(text)]), encoding="utf-8")


def styles_of(page: str) -> Styles:
    """What a page's markup names, in order."""
    return tuple((style, medium) for _, style, medium in STYLED.findall(page))


def sheets_of(pages: dict[Path, str]) -> dict[str, Styles]:
    """By the name of each style sheet to be joined, what goes into it: it is called after the last that not every page has."""
    wanted = {styles_of(text) for text in pages.values()}
    common = set.intersection(*(set(styles) for styles in wanted))
    sheets: dict[str, Styles] = {}
    for styles in sorted(wanted):
        name = next((style for style, medium in reversed(styles) if (style, medium) not in common), EVERY)
        if name in sheets:
            raise RuntimeError(f"two kinds of pages have {name}.css as their last style sheet, and others beside it")
        sheets[name] = styles
    return sheets


def _with_one_sheet(page: str, name: str) -> str:
    """The joined sheet's link in place of the first."""
    first = STYLED.search(page)
    if not first:
        raise RuntimeError("a page without a style sheet")
    link = f'<link rel="stylesheet" href="{first[1]}/sheets/{name}.css">\n'
    return page[: first.start()] + link + STYLED.sub("", page[first.end() :])


def _esbuild(site: Path, node_modules: Path, joined: Path, entries: list[str]) -> None:
    options = ["--bundle", "--format=esm", "--charset=utf8", "--log-level=warning", "--minify-whitespace", "--minify-syntax"]
    options += ["--external:*/pyodide.mjs", "--external:*.woff2", *(f"--external:../{each.removeprefix('js/')}*" for each in sorted(LATER))]
    # What a file finds by its own address (import.meta.url, a font) stays at the same depth: each folder of scripts is one
    # below js, and sheets stands beside css.
    options += ["--outbase=static", f"--outdir={joined}", "--out-extension:.js=.mjs"]
    program = node_modules / "esbuild" / "bin" / "esbuild"
    # What comes by npm is found where it was fetched to.
    if call_node(str(program), *(f"static/{entry}" for entry in entries), *options, cwd=site, NODE_PATH=str(node_modules)):
        raise RuntimeError("the scripts' modules or the style sheets could not be joined (see esbuild's words above)")
