#!/usr/bin/env python3
"""Tarewell's one command: build | serve | shop | test | bench | words | house.

Needs nothing but Python 3.11 or later. It makes its own environment in .env/ from the pinned, hash-checked lists in
.requirements/, starts itself again inside it, and hands over to site/offline and site/runtime.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent
ENV = ROOT / ".env"
ENV_PYTHON = ENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
INSIDE = "TAREWELL_INSIDE_ENV"
OLDEST_PYTHON = (3, 11)


def main() -> int:
    if sys.version_info < OLDEST_PYTHON:
        sys.exit(f"Tarewell needs Python {'.'.join(map(str, OLDEST_PYTHON))} or later; this is {sys.version.split()[0]}.")
    options = _options(sys.argv[1:])
    requirement_set = {"shop": "shop", "test": "test", "bench": "test"}.get(options.command, "serve")
    sys.path[:0] = [str(ROOT), str(ROOT / "site")]
    # The tests' packages include those for serving, and for the shop server.
    if os.environ.get(INSIDE) not in (requirement_set, "test"):
        return _inside_own_environment(requirement_set)
    if options.command == "shop":
        from shop import command

        return command.command(ROOT, options)
    from offline import commands

    return commands.run(ROOT, options)


def _options(arguments: list[str]) -> argparse.Namespace:
    if arguments[:1] == ["test"] and arguments[1:] not in (["-h"], ["--help"]):
        # All that follows is pytest's, in its order; argparse would take it apart.
        return argparse.Namespace(command="test", pytest=arguments[1:])
    return _parser().parse_args(arguments)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description="Builds, serves, tests and measures Tarewell.")
    commands = parser.add_subparsers(dest="command", required=True)
    build = commands.add_parser("build", help="write a folder that any static host can serve")
    build.add_argument("--out", type=Path, default=ROOT / ".build" / "site", help="default: .build/site")
    serve = commands.add_parser("serve", help="build, then serve the folder on this machine")
    serve.add_argument("--port", type=int, default=8000)
    serve.add_argument("--host", default="127.0.0.1", help="default: this machine only")
    _shop_options(commands.add_parser("shop", help="serve the phones of one workshop over its own Wi-Fi, without the internet"))
    test = commands.add_parser("test", help="run every check; --near: what the changed files touch; else pytest with these")
    test.add_argument("pytest", nargs="*", help="arguments for pytest")
    commands.add_parser("words", help="bring the catalogues in shared/language up to date with the code")
    commands.add_parser("house", help="draw the picture of the house in DEVELOPERS.md anew from the imports")
    bench = commands.add_parser("bench", help="measure; prints one 'figure: value unit' a line")
    bench.add_argument("name", nargs="?", default="startup", help="startup (default), three_engines, kill, growth, copies, phones, card, taps, cover, drying, trace, shop or picture")
    bench.add_argument("--runs", type=int, help="default: the measurement's own")
    return parser


def _shop_options(shop: argparse.ArgumentParser) -> None:
    deeds = ("status", "pair", "revoke", "copy", "scale", "unit", "hub")
    shop.add_argument("deed", nargs="?", choices=deeds, help="beside a server that runs (scale: one with a serial port; unit: a text for systemd; hub: what joins several shops); none: start it")
    shop.add_argument("words", nargs="*", help="revoke: the phone's name; scale: NAME PORT, or NAME off; none: lists them")
    shop.add_argument("--data", type=Path, help="its folder; default: tarewell-shop in the home folder")
    shop.add_argument("--name", help="of a new shop: the fixed name that phones keep; default: tarewell.local")
    shop.add_argument("--port", type=int, help="of a new shop; default: 8443")
    shop.add_argument("--trust-port", type=int, default=8080, help="where it says how a phone comes to trust it; default: 8080")
    shop.add_argument("--baud", type=int, help="scale: the speed that its display is set to; default: 9600")
    shop.add_argument("--bits", help="scale: how its characters are made; default: 8N1")
    shop.add_argument("--unit", help="scale: kg, g, lb or oz, of a display whose lines name none")
    shop.add_argument("--pattern", help="scale: a regular expression for its lines, with the groups weight and unit, and stable, moving, over, …")
    shop.add_argument("--to", type=Path, help="copy, hub: the folder to write into")
    shop.add_argument("--shops", default="", help="hub: the shops' ids, with commas between; shop status tells a shop's")
    shop.add_argument("--lost", default="", help="hub: whose mailbox was made anew: shops' ids, or hub; then carry all files anew")
    shop.add_argument("--servers", default="", help="hub: where shops reach its one server or its three: ADDRESS[:PORT],…")


def _inside_own_environment(requirement_set: str) -> int:
    _make_environment()
    _install(ROOT / ".requirements" / f"{requirement_set}.txt")
    from runtime.node import machine_has_node

    if not machine_has_node():
        _install(ROOT / ".requirements" / "node.txt")
    arguments = [str(ENV_PYTHON), str(ROOT / "build.py"), *sys.argv[1:]]
    environment = {**os.environ, INSIDE: requirement_set, "PYTHONUTF8": "1"}
    if os.name != "nt":
        # In the place of this process: Ctrl-C and a service manager's end then reach the one that started everything.
        os.execve(ENV_PYTHON, arguments, environment)
    try:
        return subprocess.run(arguments, env=environment).returncode
    except KeyboardInterrupt:
        return 130


def _make_environment() -> None:
    stamp = ENV / "python.stamp"
    wanted = sys.version
    if ENV_PYTHON.exists() and stamp.exists() and stamp.read_text() == wanted:
        return
    _say(f"making an environment in {ENV.name}/ with Python {sys.version.split()[0]}")
    made = subprocess.run([sys.executable, "-m", "venv", "--clear", str(ENV)], capture_output=True, text=True)
    if made.returncode:
        sys.stderr.write(made.stdout + made.stderr)
        version = f"{sys.version_info.major}.{sys.version_info.minor}"
        sys.exit(
            "This Python cannot make an environment: its 'venv' or 'ensurepip' part is missing.\n"
            f"On Debian or Ubuntu: apt install python{version}-venv (or python3-venv); then run the same command again."
        )
    stamp.write_text(wanted)


def _install(requirements: Path) -> None:
    digest = hashlib.sha256(requirements.read_bytes()).hexdigest()
    stamp = ENV / f"{requirements.stem}.stamp"
    if stamp.exists() and stamp.read_text() == digest:
        return
    _say(f"installing the packages of .requirements/{requirements.name}, each checked against its digest")
    # A machine's pip may be told to constrain versions or to install elsewhere; neither may change a pinned list.
    unconstrained = ENV / "no-constraints.txt"
    unconstrained.write_text("")
    environment = {**os.environ, "PIP_CONSTRAINT": str(unconstrained), "PIP_USER": "0", "PIP_REQUIRE_VIRTUALENV": "0"}
    command = [str(ENV_PYTHON), "-m", "pip", "install", "--quiet", "--no-input", "--disable-pip-version-check"]
    command += ["--no-deps", "--require-hashes", "--requirement", str(requirements)]
    started = time.monotonic()
    if subprocess.run(command, env=environment).returncode:
        sys.exit(
            f"The packages of .requirements/{requirements.name} could not be installed (see pip's words above). "
            "A network is needed the first time; then run the same command again."
        )
    stamp.write_text(digest)
    _say(f"  done in {time.monotonic() - started:.0f} s")


def _say(words: str) -> None:
    print(words, flush=True)


if __name__ == "__main__":
    sys.exit(main())
