"""One build from first to last, saying what it is doing."""

from __future__ import annotations

import time
from pathlib import Path

from offline.assemble import assemble
from runtime.bundle import make_bundle
from runtime.node import install_packages


def say(words: str) -> None:
    print(words, flush=True)


def build_site(root: Path, out: Path) -> Path:
    started = time.monotonic()
    say("fetching what npm brings: the Python runtime, the type checker")
    node_modules, fetched = install_packages(root / "site", root / ".tools")
    say("  done" if fetched else "  all there")
    say("preparing Python for the browser")
    bundle = make_bundle(root, node_modules, say)
    say("writing pages and the offline list")
    build = assemble(root, out, node_modules, bundle)
    files = [path for path in out.rglob("*") if path.is_file()]
    size = sum(path.stat().st_size for path in files) / 1e6
    say(f"build {build}: {len(files)} files, {size:.1f} MB, in {time.monotonic() - started:.1f} s: {out}")
    return out
