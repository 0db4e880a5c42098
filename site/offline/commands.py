"""build, serve, test, bench and words, once the environment stands."""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from offline.assemble import assemble
from offline.server import make_server
from pages import catalogues
from runtime.bundle import make_bundle
from runtime.node import NodeMissing, install_packages


def run(root: Path, options: argparse.Namespace) -> int:
    try:
        if options.command == "words":
            catalogues.gather()
            return 0
        catalogues.compile_all()
        if options.command == "build":
            build_site(root, options.out.resolve())
            return 0
        if options.command == "serve":
            return _serve(root, options.host, options.port)
        from offline import checks

        if options.command == "test":
            return checks.test(root, options.pytest)
        return checks.bench(root, options.name, options.runs)
    except (RuntimeError, NodeMissing) as error:
        say(f"Stopped: {error}")
        return 1
    except KeyboardInterrupt:
        return 130


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


def _serve(root: Path, host: str, port: int) -> int:
    folder = build_site(root, root / ".build" / "site")
    try:
        server = make_server(folder, host, port)
    except OSError as error:
        raise RuntimeError(f"Port {port} of {host} can't be used ({error.strerror}). Remedy: --port N.") from error
    shown = "localhost" if host in ("127.0.0.1", "0.0.0.0") else host
    say(f"\nTarewell stands at http://{shown}:{server.server_address[1]}/   (Ctrl+C ends it)")
    if host != "127.0.0.1":
        say("Phones refuse offline storage over plain http from another machine: for them, use a host with https.")
    with server:
        server.serve_forever()
    return 0
