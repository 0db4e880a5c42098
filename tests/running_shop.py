"""A shop server that runs, and phones that come to it over the engine's own client, each with a key made here."""

import asyncio
import base64
import binascii
import json
import os
import pty
import signal
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

import nats
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from shop.refusals import free_port

ROOT = Path(__file__).resolve().parents[1]
# Starts what `build.py shop` starts, on a site that is there already.
STARTS = """
import asyncio, sys
from datetime import UTC, datetime
from pathlib import Path
from shop import found, run
from shop.folder import Folder
data, site, port, trust_port = sys.argv[1:]
found.can_be_found = lambda shop: False  # no name of a test on the network that it runs in
ready = run.look(run.Wanted(Folder(Path(data)), "tarewell.local", int(port), int(trust_port)), datetime(2026, 1, 1, tzinfo=UTC))
sys.exit(asyncio.run(run.serve(ready, Path(site))))
"""
PATIENCE_S = 120


def user_key(key: Ed25519PrivateKey) -> str:
    """The public key of a user as nkeys write it (github.com/nats-io/nkeys, "Encoded keys"; from memory)."""
    raw = bytes([20 << 3]) + key.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)
    return base64.b32encode(raw + binascii.crc_hqx(raw, 0).to_bytes(2, "little")).decode()


@dataclass
class Running:
    """The server's process, and what a test knows of it."""

    data: Path
    site: Path
    port: int = field(default_factory=free_port)
    trust_port: int = field(default_factory=free_port)
    process: subprocess.Popen | None = None
    # The end of its terminal that a person types at.
    keyboard: int | None = None

    def start(self) -> "Running":
        arguments = [self.data, self.site, self.port, self.trust_port]
        self.keyboard, at_it = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-c", STARTS, *map(str, arguments)], text=True, stdin=at_it,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, env={**os.environ, "PYTHONPATH": f"{ROOT}{os.pathsep}{ROOT / 'site'}"},
        )  # fmt: skip
        os.close(at_it)
        until = time.monotonic() + PATIENCE_S
        while not (self.data / "control.json").exists():
            assert self.process.poll() is None, self.process.communicate()[0]
            assert time.monotonic() < until, "it doesn't start"
            time.sleep(0.05)
        return self

    def end(self, by: int = signal.SIGINT) -> tuple[int, str]:
        self.process.send_signal(by)
        said = self.gone()
        return self.process.returncode, said

    def gone(self) -> str:
        """What it said, once it has ended."""
        said, _ = self.process.communicate(timeout=PATIENCE_S)
        os.close(self.keyboard)
        return said

    def types(self, words: str) -> None:
        os.write(self.keyboard, words.encode())

    @property
    def shop(self) -> str:
        return json.loads((self.data / "shop.json").read_text())["id"]

    @property
    def engine_port(self) -> int:
        return json.loads((self.data / "control.json").read_text())["port"]

    def children(self) -> list[int]:
        """Of this process only, as Linux lists them."""
        return [int(each) for each in Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children").read_text().split()]

    def command(self, *arguments: str, typed: str = "") -> tuple[int, str]:
        """`build.py shop …` beside it."""
        done = subprocess.run(
            [sys.executable, str(ROOT / "build.py"), "shop", *arguments, "--data", str(self.data)], input=typed, text=True,
            capture_output=True, env={**os.environ, "TAREWELL_INSIDE_ENV": "test"}, timeout=PATIENCE_S,
        )  # fmt: skip
        return done.returncode, done.stdout + done.stderr

    async def asked(self, **told: object) -> dict:
        """By a command of this computer."""
        from shop import control
        from shop.folder import Folder

        async with control.server(Folder(self.data)) as server:
            return await server.ask(**told)

    async def join(self, secret: str) -> nats.NATS:
        return await connected(self.engine_port, user="join", password=secret, inbox_prefix=b"_INBOX.join")

    async def phone(self, key: Ed25519PrivateKey, device: str) -> nats.NATS:
        client = nats.NATS()
        # The library itself would want a package more for the same few bytes.
        client._public_nkey = user_key(key)
        return await connected(
            self.engine_port, client, signature_cb=lambda nonce: base64.b64encode(key.sign(nonce.encode())),
            inbox_prefix=f"_INBOX.{device}".encode(),
        )  # fmt: skip

    async def paired(self, name: str) -> tuple[Ed25519PrivateKey, dict]:
        """A new phone, let in by a command."""
        key = Ed25519PrivateKey.generate()
        joining = await self.join((await self.asked(do="pair"))["secret"])
        asking = asyncio.ensure_future(joining.request(self.subject("join"), body(key=user_key(key), name=name), timeout=30))
        ask = await self.waiting()
        assert (await self.asked(do="confirm", ask=ask["ask"]))["ok"]
        answer = json.loads((await asking).data)
        # Once it has come by its own key, the way in is taken away.
        phone = await self.phone(key, answer["device"])
        await gone(joining)
        await phone.close()
        return key, answer

    async def joining(self) -> nats.NATS:
        """By the secret that somebody has just had made: its file is there a moment before the engine goes by it."""

        async def joined():
            users = json.loads((self.data / "engine" / "engine.conf").read_text())["accounts"]["JOIN"]["users"]
            try:
                return await self.join(users[0]["password"]) if users else None
            except nats.errors.Error:
                return None

        return await until(joined)

    async def waiting(self) -> dict:
        return (await until(lambda: self._joining()))[0]

    async def _joining(self) -> list:
        return (await self.asked(do="status"))["joining"]

    def subject(self, rest: str) -> str:
        return f"tarewell.{self.shop}.{rest}"


async def connected(port: int, client: nats.NATS | None = None, **how: object) -> nats.NATS:
    client = client or nats.NATS()

    async def quiet(_error):
        pass

    await client.connect(f"nats://127.0.0.1:{port}", allow_reconnect=False, error_cb=quiet, connect_timeout=10, **how)
    return client


async def until(asked, within_s: float = 30):
    """What it gives, once it gives something."""
    async with asyncio.timeout(within_s):
        while not (found := await asked()):
            await asyncio.sleep(0.05)
        return found


async def gone(client: nats.NATS, within_s: float = 30) -> None:
    """Until the engine has cut it off."""
    async with asyncio.timeout(within_s):
        while client.is_connected:
            await asyncio.sleep(0.05)
    await client.close()


def body(**told: object) -> bytes:
    return json.dumps(told).encode()
