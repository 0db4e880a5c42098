"""Commands beside a server that runs: they ask it over the engine, with a password that only this user can read."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from typing import Any

from nats.aio.client import Client
from nats.errors import Error

from shop.engine import CONTROL, HOST, Subjects
from shop.folder import Folder
from shop.refusals import Refused

_PATIENCE_S = 20
# All events of a busy year are read and written meanwhile.
COPYING_S = 1800


class Server:
    """The one that runs."""

    def __init__(self, client: Client, shop: str) -> None:
        self._client, self._subject = client, Subjects(shop).control

    async def ask(self, within_s: float = _PATIENCE_S, **told: object) -> dict[str, Any]:
        try:
            answer = await self._client.request(self._subject, json.dumps(told).encode(), timeout=within_s)
        except (Error, TimeoutError) as error:
            raise Refused("The shop server doesn't answer. Remedy: end it and start it again.") from error
        found: dict[str, Any] = json.loads(answer.data)
        return found


@asynccontextmanager
async def server(folder: Folder) -> AsyncIterator[Server | None]:
    """None where none runs."""
    client = Client()
    try:
        told = json.loads(folder.control.read_text(encoding="utf-8"))
        await client.connect(
            f"nats://{HOST}:{told['port']}",
            user=CONTROL,
            password=told["password"],
            allow_reconnect=False,
            # That alone has it go on trying for two minutes, where a server that was killed has left its word behind.
            max_reconnect_attempts=1,
            reconnect_time_wait=0,
            connect_timeout=3,
            error_cb=_quiet,
            inbox_prefix=f"_INBOX.{CONTROL}".encode(),
        )
    except PermissionError as error:
        raise Refused(
            f"{folder.control} is another user's. Remedy: run this as the user who runs the shop server."
        ) from error
    except (OSError, ValueError, KeyError, Error, TimeoutError):
        # One that was killed leaves the file behind.
        yield None
        return
    try:
        yield Server(client, told["shop"])
    finally:
        with suppress(Exception):
            await asyncio.wait_for(client.close(), 5)


async def _quiet(_error: Exception) -> None:
    """What happens shows in what is asked next."""
