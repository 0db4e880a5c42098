"""build, serve, test, bench, words and house, once the environment stands."""

from __future__ import annotations

import argparse
from pathlib import Path

from offline import checks, house
from offline.building import build_site, say
from offline.server import make_server
from pages import catalogues
from runtime.node import NodeMissing


def run(root: Path, options: argparse.Namespace) -> int:
    try:
        if options.command == "words":
            catalogues.gather()
            return 0
        if options.command == "house":
            house.write(root)
            return 0
        catalogues.compile_all()
        if options.command == "build":
            build_site(root, options.out.resolve())
            return 0
        if options.command == "serve":
            return _serve(root, options.host, options.port)
        if options.command == "test":
            return checks.test(root, options.pytest)
        return checks.bench(root, options.name, options.runs)
    except (RuntimeError, NodeMissing) as error:
        say(f"Stopped: {error}")
        return 1
    except KeyboardInterrupt:
        return 130


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
