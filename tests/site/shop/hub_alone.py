"""A hub and its shops on loopback, from the files that `shop hub` writes."""

import json
import subprocess
from contextlib import suppress
from pathlib import Path
from typing import Any

import nats
from engine_alone import PATIENCE_S, EngineAlone, Message, Phone, phones, started
from nats.errors import Error
from running_shop import connected, until

from shop import engine, mailbox
from shop.hub import made
from shop.hub import run as hub_run
from shop.hub.facts import FACTS, Joined, Server, read
from shop.hub.leaf import ALL
from shop.hub.server import OPERATOR, WATCH, HubRun, config, stream
from shop.refusals import free_port

HERE = "127.0.0.1"


class HubServer:
    """One of its servers; its ports stay, and so does its folder."""

    def __init__(self, folder: Path, number: int) -> None:
        self.folder, self.number = folder, number
        self.passwords, self.client_port = {OPERATOR: "o" * 16, WATCH: "w" * 16}, free_port()
        self.process: subprocess.Popen | None = None

    @property
    def run(self) -> HubRun:
        return HubRun(read(self.folder / FACTS), self.number, self.folder, self.client_port, self.passwords, host=HERE)

    def start(self) -> "HubServer":
        file = self.folder / "engine.conf"
        engine.write(file, config(self.run))
        self.process = started(file, self.client_port)
        return self

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()

    async def operator(self) -> nats.NATS:
        return await connected(self.client_port, user=OPERATOR, password=self.passwords[OPERATOR])

    async def make(self, **other: Any) -> None:
        client = await self.operator()

        async def stands() -> bool:
            return await hub_run.made(client, stream(self.run.facts) | other) is not None

        await until(stands, PATIENCE_S)
        await client.close()

    async def lines(self) -> int:
        """How many lines of shops it holds."""
        client = await connected(self.client_port, user=WATCH, password=self.passwords[WATCH])
        answer = json.loads((await client.request("$SYS.REQ.SERVER.PING.LEAFZ", timeout=10)).data)
        await client.close()
        return answer["data"]["leafnodes"]

    async def info(self) -> dict[str, Any]:
        client = await self.operator()
        answer = await client.request(f"$JS.API.STREAM.INFO.{ALL}", timeout=3)
        await client.close()
        return json.loads(answer.data)


class Hub:
    def __init__(self, folder: Path, shops: list[str], servers: int = 1) -> None:
        self.folder = folder
        self.addresses = [Server(HERE, free_port(), free_port()) for _ in range(servers)]
        made.make(folder, self.addresses, shops)
        self.servers = [HubServer(folder / f"hub-{n + 1}", n) for n in range(servers)]

    async def opens(self, writers: "list[Writer]") -> None:
        """All start. Each stream is there and each line stands before anybody copies: an engine that found nobody to copy
        from looks again only after half a minute."""
        for each in (*self.servers, *(writer.alone for writer in writers)):
            each.start()
        await self.servers[0].make(sources=[])
        for writer in writers:
            client = await writer.alone.service()
            await mailbox.make(client, writer.alone.run.shop)
            await client.close()
        await until(lambda: self._all_lines(len(writers)))
        await self.servers[0].make()
        for writer in writers:
            await writer.alone.make()

    async def _all_lines(self, wanted: int) -> bool:
        return sum([await each.lines() for each in self.servers]) >= wanted

    async def leader(self) -> HubServer | None:
        """Of its stream, where it has three servers."""
        for each in self.servers:
            if each.process.poll() is None:
                # While they choose one, nobody answers.
                with suppress(Error, TimeoutError):
                    if name := (await each.info()).get("cluster", {}).get("leader"):
                        return self.servers[int(name.removeprefix("hub-")) - 1]
        return None

    def shop(self, shop: str, phone: Phone) -> EngineAlone:
        """Its server, with the files in its folder that were made for it."""
        place = self.folder / f"shop-{shop}"
        folder = self.folder / f"engine-{shop}"
        folder.mkdir(exist_ok=True)
        return EngineAlone(folder, [phone], shop=shop, joined=Joined(read(place / FACTS), place))


def their_phones(shops: list[str]) -> dict[str, Phone]:
    return dict(zip(shops, phones(len(shops)), strict=True))


class Writer:
    """A shop's phone, which sends what it has until its shop's mailbox has it, and once more where that was lost."""

    def __init__(self, alone: EngineAlone, phone: Phone) -> None:
        self.alone, self.phone, self.n, self.wrote = alone, phone, 0, []

    async def writes(self, events: int) -> None:
        self.wrote += [f"{self.alone.run.shop}-{self.n + k}".encode() for k in range(events)]
        self.n += events
        await self.sends(self.wrote[-events:])

    async def sends(self, events: list[bytes]) -> None:
        client = await self.alone.phone(self.phone)
        for event in events:
            answer = await client.request(self.alone.subjects.events(self.phone.device), event, headers={"Nats-Msg-Id": event.decode()}, timeout=20)
            assert "seq" in json.loads(answer.data), answer.data
        await client.close()


async def equal(writers: list[Writer], within_s: float = 90) -> list[list[Message]]:
    """Once each shop has all that any wrote."""
    wanted = sorted(event for writer in writers for event in writer.wrote)

    async def are() -> list[list[Message]] | None:
        held = [await every(writer.alone) for writer in writers]
        return held if all(sorted({each.payload for each in one}) == wanted for one in held) else None

    return await until(are, within_s)


async def every(alone: EngineAlone) -> list[Message]:
    """All that a phone of the shop would read."""
    client = await alone.service()
    found = [Message(0, each.device, None, each.payload) async for each in mailbox.messages(client)]
    await client.close()
    return found


