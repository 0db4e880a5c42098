"""`build.py shop` and what goes with it: status, pair, revoke, copy, scale, unit."""

from __future__ import annotations

import argparse
import asyncio
import sys
from dataclasses import asdict
from datetime import datetime
from pathlib import Path

from nats.aio.client import Client

from offline.building import build_site
from pages import catalogues
from runtime.node import NodeMissing
from shop import control, copies, mailbox, refusals, run, service, status, terminal, unit
from shop.engine import SERVICE
from shop.folder import Folder, Shop, read_shop, usual_folder
from shop.hub import made
from shop.hub import run as hub_run
from shop.hub import words as hub_words
from shop.hub.facts import server
from shop.lock import locked
from shop.phones import Phones
from shop.programs import ENGINE, program
from shop.refusals import Refused
from shop.speaks import command as scale_command

_ASKS_EVERY_S = 1.0


def command(root: Path, options: argparse.Namespace) -> int:
    folder = Folder((options.data or usual_folder()).expanduser().resolve())
    try:
        return _command(root, folder, options)
    except (RuntimeError, NodeMissing, TimeoutError) as error:
        terminal.say(f"Stopped: {error or 'a program took too long to start'}")
        return 1
    except KeyboardInterrupt:
        return 130


def _command(root: Path, folder: Folder, options: argparse.Namespace) -> int:
    match options.deed:
        case None:
            return _serve(root, folder, options)
        case "unit":
            terminal.say(unit.text(root, folder, options.trust_port, getattr(sys, "_base_executable", sys.executable)))
            return 0
        case "status":
            return asyncio.run(_status(folder, _shop(folder)))
        case "pair":
            return asyncio.run(_pair(folder))
        case "hub":
            return _hub(options)
        case "scale":
            _shop(folder)
            return scale_command.deed(folder.scales, options)
        case "revoke":
            if not options.words:
                raise Refused("Which phone? Remedy: python3 build.py shop revoke NAME; shop status lists their names.")
            _shop(folder)
            return asyncio.run(_revoke(folder, " ".join(options.words)))
    if options.to is None:
        raise Refused("Where to? Remedy: python3 build.py shop copy --to DIR")
    return asyncio.run(_copy(folder, _shop(folder), options.to.expanduser().resolve()))


def _serve(root: Path, folder: Folder, options: argparse.Namespace) -> int:
    wanted = run.Wanted(folder, options.name, options.port, options.trust_port)
    ready = run.look(wanted, refusals.built_on(root))
    catalogues.compile_all()
    # A folder of its own: what is built beside it for other ends must not change under the phones.
    site = build_site(root, folder.path / "site")
    return asyncio.run(run.serve(ready, site))


def _shop(folder: Folder) -> Shop:
    found = read_shop(folder) if folder.path.exists() else None
    if found is None:
        raise Refused(
            f"There is no shop in {folder.path}. Remedy: python3 build.py shop makes one; --data names another folder."
        )
    return found


async def _status(folder: Folder, shop: Shop) -> int:
    async with control.server(folder) as running:
        told = await running.ask(do="status") if running else None
    for line in status.lines(folder, shop, told):
        terminal.say(line)
    return 0


async def _pair(folder: Folder) -> int:
    """Shows a code, waits for the phone that comes with it, and asks whether it may in."""
    async with control.server(folder) as running:
        if running is None:
            raise Refused("The shop is closed, and phones are paired while it's open. Remedy: python3 build.py shop")
        waiting = await _joining(running)
        if waiting is None:
            opened = await running.ask(do="pair")
            if "refused" in opened:
                raise Refused(terminal.NO_SEAT)
            terminal.pairing(opened["address"], f"{_local(opened['until']):%H:%M}")
            while waiting is None:
                await asyncio.sleep(_ASKS_EVERY_S)
                waiting = await _joining(running)
                if waiting is None and datetime.now().astimezone() > _local(opened["until"]):
                    terminal.say("Nobody came, and the code is no good any more.")
                    return 1
        may = await asyncio.to_thread(_yes, waiting["name"])
        done = await running.ask(do="confirm" if may else "refuse", ask=waiting["ask"])
    if "refused" in done:
        raise Refused(f"“{waiting['name']}” waits no longer. Remedy: python3 build.py shop pair")
    terminal.say(
        f"“{waiting['name']}” is in." if may else f"“{waiting['name']}” was turned away, and the code is used up."
    )
    return 0


async def _joining(running: control.Server) -> dict[str, str] | None:
    waiting: list[dict[str, str]] = (await running.ask(do="status"))["joining"]
    return waiting[0] if waiting else None


def _yes(name: str) -> bool:
    try:
        return input(f"\nA phone called “{name}” asks to come in. Let it in? y or n: ").strip().lower().startswith("y")
    except EOFError:
        return False


async def _revoke(folder: Folder, name: str) -> int:
    async with control.server(folder) as running:
        if running is not None:
            done = await running.ask(do="revoke", name=name)
        else:
            phones = Phones(folder.phones)
            phone = phones.named(name)
            done = {"refused": "unknown"} if phone is None else {"name": phone.name}
            if phone is not None:
                # A server that is starting, or too busy to answer, has its own list and would write it over this one.
                with locked(folder.engine):
                    phones.revoke(phone.device)
                done["owners"] = len(phones.owners)
    if "refused" in done:
        raise Refused(f"No phone here is called “{name}”. Remedy: python3 build.py shop status lists their names.")
    when = "It's cut off now" if running else "It won't get in once the shop is open again"
    terminal.say(f"“{done['name']}” is turned out. {when}; what it has already, it keeps.")
    if not done["owners"]:
        terminal.say("No phone is the owner's now. The next one that you pair is.")
    return 0


def _named(typed: str) -> list[str]:
    return [each.strip() for each in typed.split(",") if each.strip()]


def _hub(options: argparse.Namespace) -> int:
    """Writes the files that join shops; without --to, starts the server of the hub whose folder --data names."""
    if options.to is None:
        if options.data is None:
            raise Refused("Which of the hub's servers? Remedy: --data hub-1; or --to DIR --shops ID,ID --servers ADDRESS writes the files.")
        return asyncio.run(hub_run.serve(options.data.expanduser().resolve()))
    servers = [server(each) for each in _named(options.servers)]
    facts = made.make(options.to.expanduser().resolve(), servers, _named(options.shops), _named(options.lost))
    for line in hub_words.lines(facts, options.to):
        terminal.say(line)
    return 0


async def _copy(folder: Folder, shop: Shop, to: Path) -> int:
    refusals.writable(to)
    async with control.server(folder) as running:
        if running is not None:
            done = await running.ask(control.COPYING_S, do="copy", to=str(to))
            if "refused" in done:
                raise Refused(
                    f"The copy could not be written: {done.get('why')}. Remedy: name another folder with --to."
                )
        else:
            copied = await _copy_closed(folder, shop, to)
            done = {**asdict(copied), "file": str(copied.file)}
    if done["outcome"] == "empty":
        terminal.say("The mailbox holds no records yet, so there is nothing to copy.")
        return 0
    terminal.say(f"{done['records']:,} records: {done['file']}")
    if done["records"] < done["had"]:
        terminal.say(f"That's fewer than in an older copy there, which has {done['had']:,}: keep that one.")
    if done["left_out"]:
        terminal.say(
            f"{done['left_out']:,} messages are no records of this build; they lie beside it in …left-out.jsonl."
        )
    return 0


async def _copy_closed(folder: Folder, shop: Shop, to: Path) -> copies.Copied:
    """The engine alone is started for it."""
    async with run.running_engine(folder, shop, program(ENGINE)) as (engine_run, _):
        client = Client()
        await service.connect(client, engine_run, SERVICE)
        try:
            await mailbox.make(client, shop.id, engine_run.joined)
            return await service.copy(client, shop.id, to, rotate=False)
        finally:
            await client.close()


def _local(at: str) -> datetime:
    return datetime.fromisoformat(at).astimezone()
