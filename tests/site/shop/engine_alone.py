"""The engine by itself, on the configuration that the shop server writes, with phones whose keys are made here."""

import base64
import json
import secrets
import socket
import subprocess
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import nats
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from running_shop import connected, user_key

from shop import engine, mailbox
from shop.hub.facts import Joined
from shop.programs import ENGINE, program
from shop.refusals import free_port

SHOP = "aaaaaaaa"
PATIENCE_S = 120


@dataclass(frozen=True)
class Phone:
    device: str
    seat: int
    private: Ed25519PrivateKey = field(default_factory=Ed25519PrivateKey.generate)

    @property
    def key(self) -> str:
        return user_key(self.private)


def phones(n: int) -> list[Phone]:
    """Their ids look like those that the shop server gives."""
    return [Phone(f"{each:010}".translate(str.maketrans("0189", "wxyz")), each) for each in range(n)]


@dataclass(frozen=True)
class Message:
    """One that the stream holds."""

    seq: int
    device: str
    known: str | None
    payload: bytes


class EngineAlone:
    """Its folder may be kept from start to start; its ports and passwords are the same for all."""

    def __init__(self, folder: Path, members: Iterable[Phone], secret: str | None = None, shop: str = SHOP, joined: Joined | None = None) -> None:
        self.members, self.secret, self.subjects = list(members), secret, engine.Subjects(shop)
        passwords = {user: secrets.token_hex(8) for user in (engine.SERVICE, engine.CONTROL, engine.WATCH)}
        self.run = engine.Run(shop, folder, f"https://{shop}.local", free_port(), free_port(), passwords, joined)
        self.process: subprocess.Popen | None = None

    def told(self) -> dict[str, Any]:
        return engine.config(self.run, self.members, self.secret)

    def start(self) -> "EngineAlone":
        file = self.run.folder / "engine.conf"
        engine.write(file, self.told())
        self.process = started(file, self.run.client_port)
        return self

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()

    async def service(self) -> nats.NATS:
        return await self.user(engine.SERVICE)

    async def user(self, name: str) -> nats.NATS:
        return await connected(self.run.client_port, user=name, password=self.run.passwords[name])

    async def joins(self, secret: str) -> nats.NATS:
        return await connected(self.run.client_port, user=engine.JOIN, password=secret, inbox_prefix=b"_INBOX.join")

    async def phone(self, phone: Phone, **how: Any) -> nats.NATS:
        client = nats.NATS()
        # The library itself would want a package more for the same few bytes.
        client._public_nkey = phone.key
        return await connected(
            self.run.client_port, client, signature_cb=lambda nonce: base64.b64encode(phone.private.sign(nonce.encode())),
            **{"inbox_prefix": f"_INBOX.{phone.device}".encode(), **how},
        )  # fmt: skip

    async def make(self) -> None:
        """The stream, as the shop server makes it."""
        client = await self.service()
        await mailbox.make(client, self.run.shop, self.run.joined)
        await client.close()

    async def reload(self) -> None:
        """As the shop server has it done, once it's in force."""
        engine.write(self.run.folder / "engine.conf", self.told())
        client = await self.user(engine.WATCH)
        about = json.loads((await client.request("$SYS.REQ.SERVER.PING.IDZ", timeout=PATIENCE_S)).data)
        done = json.loads((await client.request(f"$SYS.REQ.SERVER.{about['id']}.RELOAD", timeout=PATIENCE_S)).data)
        assert "error" not in done, done
        await client.close()

    async def subscriptions(self, phone: Phone) -> int:
        """All of one phone's, as the engine counts them."""
        client = await self.user(engine.WATCH)
        asked = json.dumps({"acc": engine.account(phone.seat), "auth": True}).encode()
        found = json.loads((await client.request("$SYS.REQ.SERVER.PING.CONNZ", asked, timeout=PATIENCE_S)).data)
        await client.close()
        return sum(each["subscriptions"] for each in found["data"]["connections"])

    async def asked(self, api: str, told: dict[str, Any] | None = None) -> dict[str, Any]:
        """By the service's own rights, which no phone has."""
        client = await self.service()
        answer = await client.request(f"$JS.API.{api}", json.dumps(told).encode() if told else b"", timeout=PATIENCE_S)
        await client.close()
        return json.loads(answer.data)

    async def held(self) -> list[Message]:
        """All that the stream holds: one after the other, not in batches, so that nothing rests on how phones read."""
        client = await self.service()
        state = json.loads((await client.request(f"$JS.API.STREAM.INFO.{engine.STREAM}", timeout=PATIENCE_S)).data)["state"]
        asked = [
            client.request(f"$JS.API.STREAM.MSG.GET.{engine.STREAM}", json.dumps({"seq": seq}).encode(), timeout=PATIENCE_S)
            for seq in range(1, state["last_seq"] + 1)
        ]
        found = [_message(json.loads((await each).data)["message"]) for each in asked]
        await client.close()
        return found


def _message(told: dict[str, Any]) -> Message:
    headers = base64.b64decode(told.get("hdrs", "")).decode()
    known = next((line.partition(":")[2].strip() for line in headers.splitlines() if line.startswith("Nats-Msg-Id:")), None)
    return Message(told["seq"], told["subject"].rpartition(".")[2], known, base64.b64decode(told.get("data", "")))


def started(file: Path, port: int) -> subprocess.Popen:
    """The engine on that configuration, once it listens."""
    process = subprocess.Popen([program(ENGINE), "-c", file], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        assert process.poll() is None, "the engine ended at once"
        with suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
            return process
        time.sleep(0.02)
    process.kill()
    raise AssertionError("the engine doesn't start")


@contextmanager
def running(*engines: Any) -> Iterator[None]:
    """Ends them behind whatever is asked, however that goes."""
    try:
        yield
    finally:
        for each in engines:
            if each.process is not None and each.process.poll() is None:
                each.kill()
