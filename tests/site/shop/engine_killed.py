"""A phone sends without a pause while the engine is killed under it, and starts again: what was acknowledged is kept apart."""

import asyncio
import hashlib
import json
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random

from engine_alone import EngineAlone, Phone, running
from nats.errors import Error

from shop import mailbox

# Under way at once, as many as a phone's page has.
UNDER_WAY = 64
# A hundred times the size of an acknowledgement, about that of an event.
PADDING = "x" * 900


@dataclass
class Killed:
    acknowledged: set[str] = field(default_factory=set)
    held: list[str] = field(default_factory=list)
    # Messages whose content is not the one that was sent.
    spoiled: int = 0
    gaps_s: list[float] = field(default_factory=list)
    kills_with_some_under_way: int = 0

    @property
    def lost(self) -> set[str]:
        return self.acknowledged - set(self.held)


def payload(number: str) -> bytes:
    """What is under the number can be told by it."""
    return json.dumps({"id": number, "sum": hashlib.sha256(number.encode()).hexdigest(), "more": PADDING}).encode()


async def killed(alone: EngineAlone, phone: Phone, times: int, chance: Random, end: Callable[[EngineAlone], None]) -> Killed:
    """The engine runs before, and behind."""
    told = Killed()
    for n in range(times + 1):
        if n:
            alone.start()
        # As the shop server does at each start.
        await alone.make()
        client = await alone.phone(phone)
        first, stop = asyncio.Event(), asyncio.Event()
        under_way: set[str] = set()
        went = time.monotonic() if n else None

        async def send(sender: int, n=n, client=client, first=first, stop=stop, under_way=under_way) -> None:
            k = 0
            while not stop.is_set():
                number = f"{n}-{sender}-{k}"
                under_way.add(number)
                try:
                    answer = await client.request(alone.subjects.events(phone.device), payload(number), headers={"Nats-Msg-Id": number}, timeout=5)
                except (Error, OSError, TimeoutError):
                    # It went down: whether this one is there, nobody knows.
                    return
                under_way.discard(number)
                if "seq" in json.loads(answer.data):
                    told.acknowledged.add(number)
                    first.set()
                k += 1

        senders = [asyncio.ensure_future(send(each)) for each in range(UNDER_WAY)]
        await asyncio.wait_for(first.wait(), 60)
        if went is not None:
            told.gaps_s.append(time.monotonic() - went)
        if n == times:
            stop.set()
        else:
            await asyncio.sleep(chance.uniform(0.05, 0.4))
            told.kills_with_some_under_way += bool(under_way)
            end(alone)
            # What was acknowledged before, and lies in the socket, is still read.
            await asyncio.sleep(0.2)
            for each in senders:
                each.cancel()
        await asyncio.gather(*senders, return_exceptions=True)
        await client.close()
    service = await alone.service()
    async for message in mailbox.messages(service):
        number = json.loads(message.payload)["id"]
        told.held.append(number)
        told.spoiled += message.payload != payload(number)
    await service.close()
    return told


def kill_often(alone: EngineAlone, phone: Phone, times: int, seed: int, end: Callable[[EngineAlone], None] = EngineAlone.kill) -> Killed:
    """`end` is how it goes down."""
    with running(alone):
        alone.start()
        return asyncio.run(killed(alone, phone, times, Random(seed), end))
