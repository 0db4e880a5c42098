"""The shop server from start to end: everything is looked at first, then started in order, watched, and ended together."""

from __future__ import annotations

import asyncio
import json
import os
import secrets
import signal
import socket
import ssl
from asyncio.subprocess import Process
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping, Sequence
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from shop import authority, children, door, engine, refusals, terminal, trust_page
from shop.authority import ROOT, Authority
from shop.engine import CONTROL, HOST, SERVICE, WATCH
from shop.files import replace_file
from shop.folder import Folder, Shop, find_shop, keep_shop
from shop.found import Found, numbers
from shop.hub.facts import joined
from shop.lock import locked
from shop.pairing import Ask, Turned
from shop.phones import Phones
from shop.programs import DOOR, ENGINE, program
from shop.refusals import Refused
from shop.service import Service
from shop.speaks import kept
from shop.speaks.speaking import Speaking

# A slow computer with a year's events takes a while to open its mailbox.
_ENGINE_STARTS_WITHIN_S = 120
_DOOR_STARTS_WITHIN_S = 30
_LOOKS_EVERY_S = 0.05
# The least that is left while it runs, before it says so.
_DISK_EVERY_S = 600


@dataclass(frozen=True)
class Wanted:
    """What the command line asks for; None leaves it as the folder has it."""

    folder: Folder
    name: str | None
    port: int | None
    trust_port: int


@dataclass(frozen=True)
class Ready:
    """All that is known before anything is started."""

    folder: Folder
    shop: Shop
    is_new: bool
    authority: Authority
    trust_port: int
    programs: Mapping[str, Path]
    scales: Sequence[kept.Kept]


def look(wanted: Wanted, built: datetime) -> Ready:
    """Refuses what would only fail later, each with its remedy; makes shop and authority in a new folder."""
    refusals.clock(built, datetime.now(UTC))
    refusals.writable(wanted.folder.path)
    refusals.disk(wanted.folder.path)
    programs = {name: program(name) for name in (ENGINE, DOOR)}
    shop, is_new = find_shop(wanted.folder, wanted.name, wanted.port, built)
    refusals.ports(
        [
            (
                shop.port,
                "end what has it; a shop keeps its port for ever, since phones keep their records by it (--port for a new shop)",
            ),
            (wanted.trust_port, "--trust-port N"),
        ]
    )
    # Read before anything runs, so that a damaged list is told of by its own words.
    Phones(wanted.folder.phones)
    scales = kept.read(wanted.folder.scales)
    keep_shop(wanted.folder, shop)
    made, _ = authority.load_or_make(wanted.folder.authority, shop.name, shop.id)
    return Ready(wanted.folder, shop, is_new, made, wanted.trust_port, programs, scales)


def new_run(folder: Folder, shop: Shop) -> engine.Run:
    folder.engine.mkdir(exist_ok=True)
    passwords = {user: secrets.token_urlsafe(24) for user in (SERVICE, CONTROL, WATCH)}
    return engine.Run(shop.id, folder.engine, shop.origin, refusals.free_port(), refusals.free_port(), passwords, joined(folder.hub))


@asynccontextmanager
async def running_engine(folder: Folder, shop: Shop, path: Path) -> AsyncIterator[tuple[engine.Run, Process]]:
    """The engine, by itself and reached by this computer alone."""
    run = new_run(folder, shop)
    file = Service.config_file(folder)
    with locked(folder.engine) as inherits:
        engine.write(file, engine.config(run, Phones(folder.phones).members))
        process = await children.start(path, "-c", file, folder=folder.engine, inherits=inherits)
        try:
            await until_heard(run.client_port, process, _ENGINE_STARTS_WITHIN_S, folder.engine / "engine.log")
            yield run, process
        finally:
            await children.end(process)


async def serve(ready: Ready, site: Path) -> int:
    """Until Ctrl-C, a service manager's end, or one of the programs ends."""
    folder, shop = ready.folder, ready.shop
    stop = asyncio.Event()
    ends = on_signals(stop.set)
    terminal_reader = Reader()
    found = Found(shop)
    try:
        async with running_engine(folder, shop, ready.programs[ENGINE]) as (run, engine_process):
            service = Service(folder, shop, run, terminal_reader.asked, lambda trouble: terminal.say(f"\n{trouble}"))
            await service.start()
            speaking = Speaking(ready.scales, service.publish_scale, terminal.say)
            trust_page.write(folder, shop, ready.authority, ready.trust_port)
            config = door.write(folder, shop, site, run.websocket_port, ready.trust_port)
            door_process = await children.start(
                ready.programs[DOOR], "run", "--adapter", "caddyfile", "--config", config, folder=folder.door,
                environment={"XDG_DATA_HOME": str(folder.door), "XDG_CONFIG_HOME": str(folder.door)},
            )  # fmt: skip
            try:
                await _until_open(ready, door_process)
                why = await found.start()
                _write_control(folder, run)
                terminal.opened(shop, ready.authority, ready.trust_port, numbers(), is_new=ready.is_new)
                if why:
                    terminal.say(f"\nPhones can't find {shop.name} by themselves here: {why}.")
                    terminal.say("Remedy: enter it with this computer's number in the router's list of names (DNS).")
                terminal_reader.start(service)
                speaking.start()
                return await _watch({"engine": engine_process, "door": door_process}, stop, folder)
            finally:
                folder.control.unlink(missing_ok=True)
                terminal_reader.stop()
                await speaking.stop()
                await found.stop()
                await children.end(door_process)
                await service.stop()
    finally:
        ends()


async def _watch(processes: Mapping[str, Process], stop: asyncio.Event, folder: Folder) -> int:
    """One ends all: phones keep what they have, and a half of a server would only look like one."""
    waits: dict[asyncio.Future[object], str] = {
        asyncio.ensure_future(each.wait()): name for name, each in processes.items()
    }
    stopped: asyncio.Future[object] = asyncio.ensure_future(stop.wait())
    warned = False
    try:
        while True:
            done, _ = await asyncio.wait({*waits, stopped}, timeout=_DISK_EVERY_S, return_when=asyncio.FIRST_COMPLETED)
            if stopped in done:
                terminal.say("\nThe shop is closed. Phones work on alone, and go on together once it's open again.")
                return 0
            for each in done:
                name = waits[each]
                logs = {"engine": folder.engine / "engine.log", "door": folder.door / "door.log"}
                terminal.say(
                    f"\nThe {name} ended by itself, so the shop is closed. Its last words:\n{_last_words(logs[name])}"
                )
                return 1
            try:
                refusals.disk(folder.path)
                warned = False
            except Refused as full:
                if not warned:
                    terminal.say(f"\n{full}")
                warned = True
    finally:
        for wait in (*waits, stopped):
            wait.cancel()


class Reader:
    """The terminal while the server runs: p for a pairing code, y or n to a phone that asks to come in."""

    def __init__(self) -> None:
        self._service: Service | None = None
        self._reading = False
        self._doing: asyncio.Task[None] | None = None

    def start(self, service: Service) -> None:
        self._service = service
        # A service manager gives no terminal: `shop pair` asks there.
        if os.name == "nt" or not os.isatty(0):
            terminal.say("\nFor a pairing code: python3 build.py shop pair")
            return
        self._reading = True
        asyncio.get_running_loop().add_reader(0, self._typed)
        terminal.say("\nFor a pairing code, type p and press Enter.")

    def stop(self) -> None:
        if self._reading:
            asyncio.get_running_loop().remove_reader(0)
            self._reading = False

    def asked(self, ask: Ask) -> None:
        how = "y or n, then Enter." if self._reading else "python3 build.py shop pair"
        terminal.say(f"\nA phone called “{ask.name}” asks to come in. Let it in? {how}")

    def _typed(self) -> None:
        read = os.read(0, 200)
        if not read:
            # The terminal is gone; it would say so without end.
            self.stop()
        typed = read.decode(errors="replace").strip().lower()
        if typed and self._service:
            self._doing = asyncio.get_running_loop().create_task(self._do(typed[0], self._service))

    async def _do(self, typed: str, service: Service) -> None:
        try:
            await self._done(typed, service, service.pairing.ask)
        except Turned as turned:
            terminal.say(terminal.NO_SEAT if turned.key == "no_seat" else "That phone waits no longer.")

    async def _done(self, typed: str, service: Service, ask: Ask | None) -> None:
        if typed == "p" and ask is None:
            opened = await service.pair()
            terminal.pairing(service.shop.join_address(opened.secret), f"{opened.until.astimezone():%H:%M}")
        elif typed == "y" and ask is not None:
            phone = await service.confirm(ask.id)
            terminal.say(f"“{phone.name}” is in.")
        elif typed == "n" and ask is not None:
            await service.refuse(ask.id)
            terminal.say(f"“{ask.name}” was turned away, and the code is used up.")
        elif ask is not None:
            self.asked(ask)


def on_signals(stop: Callable[[], None]) -> Callable[[], None]:
    """Gives what puts them back. Windows knows Ctrl-C alone, which comes as an exception there."""
    loop = asyncio.get_running_loop()
    wanted = [signal.SIGINT, signal.SIGTERM, *([signal.SIGHUP] if hasattr(signal, "SIGHUP") else [])]
    if os.name == "nt":
        return lambda: None
    for each in wanted:
        loop.add_signal_handler(each, stop)

    def ends() -> None:
        for each in wanted:
            loop.remove_signal_handler(each)

    return ends


def _write_control(folder: Folder, run: engine.Run) -> None:
    told = {"port": run.client_port, "shop": run.shop, "password": run.passwords[CONTROL]}
    replace_file(folder.control, json.dumps(told).encode())


async def until_heard(port: int, process: Process, within_s: float, log: Path) -> None:
    """Until something listens there."""

    async def knock() -> bool:
        with suppress(OSError):
            _, writer = await asyncio.open_connection(HOST, port)
            writer.close()
            return True
        return False

    await _until(knock, process, within_s, log)


async def _until_open(ready: Ready, process: Process) -> None:
    """Until the door answers with a certificate that a phone which trusts the shop's authority takes."""
    trusts = ssl.create_default_context(cafile=str(ready.folder.authority / ROOT))

    async def knock() -> bool:
        try:
            _, writer = await asyncio.open_connection(
                HOST, ready.shop.port, ssl=trusts, server_hostname=ready.shop.name, family=socket.AF_INET
            )
        except ssl.SSLCertVerificationError as error:
            raise Refused(
                f"The door's certificate isn't one that phones would trust: {error.verify_message}."
            ) from error
        except OSError:
            return False
        writer.close()
        return True

    await _until(knock, process, _DOOR_STARTS_WITHIN_S, ready.folder.door / "door.log")


async def _until(knock: Callable[[], Awaitable[bool]], process: Process, within_s: float, log: Path) -> None:
    async with asyncio.timeout(within_s):
        while not await knock():
            if process.returncode is not None:
                raise Refused(f"A program of the shop server ended at once. Its last words:\n{_last_words(log)}")
            await asyncio.sleep(_LOOKS_EVERY_S)


def _last_words(log: Path) -> str:
    try:
        return "\n".join(f"    {line}" for line in log.read_text(encoding="utf-8", errors="replace").splitlines()[-5:])
    except OSError:
        return "    (none)"
