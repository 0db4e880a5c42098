"""One server of the hub, from start to end."""

from __future__ import annotations

import asyncio
import json
import secrets
import time
from asyncio.subprocess import Process
from contextlib import suppress
from pathlib import Path
from typing import Any

from nats.aio.client import Client
from nats.errors import Error

from shop import children, engine, refusals, terminal
from shop.hub import facts as known
from shop.hub.facts import FACTS, HUB, NUMBER
from shop.hub.leaf import ALL
from shop.hub.server import OPERATOR, WATCH, HubRun, config, stream
from shop.lock import locked
from shop.programs import ENGINE, program
from shop.refusals import Refused
from shop.run import on_signals, until_heard

_STARTS_WITHIN_S = 120
# Two of three must be there before anything can be made.
_ASKS_EVERY_S = 1.0
_SAYS_AFTER_S = 10.0


def new_run(folder: Path) -> HubRun:
    told = known.read(folder / FACTS)
    try:
        number = int((folder / NUMBER).read_text())
    except (OSError, ValueError) as error:
        raise Refused(f"{folder} is no folder of a hub's server. Remedy: name hub-1, hub-2 or hub-3 of those that shop hub wrote, with --data.") from error
    passwords = {user: secrets.token_urlsafe(24) for user in (OPERATOR, WATCH)}
    return HubRun(told, number, folder, refusals.free_port(), passwords)


async def serve(folder: Path) -> int:
    """Until Ctrl-C, a service manager's end, or the engine's own."""
    run = new_run(folder)
    refusals.disk(folder)
    own = run.facts.servers[run.number]
    wanted = [own.port, own.servers_port] if len(run.facts.servers) > 1 else [own.port]
    refusals.ports((port, "end what has it; or write the hub's files anew with another port") for port in wanted)
    stop = asyncio.Event()
    ends = on_signals(stop.set)
    try:
        with locked(folder) as inherits:
            file = folder / "engine.conf"
            engine.write(file, config(run))
            process = await children.start(program(ENGINE), "-c", file, folder=folder, inherits=inherits)
            try:
                await until_heard(run.client_port, process, _STARTS_WITHIN_S, folder / "engine.log")
                return await _watch(run, process, stop)
            finally:
                await children.end(process)
    finally:
        ends()


async def _watch(run: HubRun, process: Process, stop: asyncio.Event) -> int:
    making = asyncio.ensure_future(_make(run))
    stopped, ended = asyncio.ensure_future(stop.wait()), asyncio.ensure_future(process.wait())
    try:
        await asyncio.wait({making, stopped, ended}, return_when=asyncio.FIRST_COMPLETED)
        if making.done() and not making.cancelled():
            making.result()
            terminal.say(f"The hub's server {run.number + 1} of {len(run.facts.servers)} is open for {len(run.facts.shops)} shops. Ctrl+C ends it.")
        await asyncio.wait({stopped, ended}, return_when=asyncio.FIRST_COMPLETED)
    finally:
        for each in (making, stopped):
            each.cancel()
    if ended.done():
        terminal.say(f"The engine ended by itself. Its last words are in {run.folder / 'engine.log'}.")
        return 1
    terminal.say("\nThe hub's server is closed. The shops work on alone, and copy what came meanwhile once it's open again.")
    return 0


async def _make(run: HubRun) -> None:
    """The stream, made once and brought up to the facts; with three servers, once two are there."""
    client = Client()
    await client.connect(
        f"nats://{engine.HOST}:{run.client_port}", user=OPERATOR, password=run.passwords[OPERATOR],
        max_reconnect_attempts=-1, error_cb=_quiet,
    )  # fmt: skip
    try:
        began, said = time.monotonic(), False
        while (created := await made(client, stream(run.facts))) is None:
            if not said and time.monotonic() - began > _SAYS_AFTER_S:
                terminal.say("It waits for another of the hub's servers: two of three must be there.")
                said = True
            await asyncio.sleep(_ASKS_EVERY_S)
        if known.made_anew(run.folder / "made", run.facts.lost, created=created):
            terminal.say(known.lost_words(HUB))
    finally:
        await client.close()


async def made(client: Client, wanted: dict[str, Any]) -> bool | None:
    """Whether it was made just now; None where it doesn't stand as wanted yet, since another server may just be making it."""
    with suppress(Error, TimeoutError):
        found = await _asked(client, "INFO", {})
        if found.get("error", {}).get("code") == 404:
            done = await _asked(client, "CREATE", wanted)
        elif "config" in found:
            done = await _asked(client, "UPDATE", wanted)
        else:
            return None
        return "error" in found if "error" not in done else None
    return None


async def _asked(client: Client, what: str, told: dict[str, Any]) -> dict[str, Any]:
    answer = await client.request(f"$JS.API.STREAM.{what}.{ALL}", json.dumps(told).encode() if told else b"", timeout=10)
    found: dict[str, Any] = json.loads(answer.data)
    return found


async def _quiet(_error: Exception) -> None:
    """The library writes to standard error by itself otherwise."""
