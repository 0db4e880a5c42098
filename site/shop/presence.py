"""Which phones are there, by what the engine says, and when each was last."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from contextlib import suppress

from nats.aio.client import Client
from nats.aio.msg import Msg
from nats.errors import Error

from shop.background import Background
from shop.phones import Phones, now_text

# Where many come or go at once, one look tells of all.
_LOOK_AFTER_S = 0.2
# How often it is written down that a phone is still there, and looked for what only a lost notice would hide.
_LOOK_EVERY_S = 60
_PATIENCE_S = 10


class Presence:
    def __init__(self, watch: Client, phones: Phones, background: Background, changed: Callable[[], None]) -> None:
        """`watch` is a client of the engine's own account, which hears of each connection."""
        self._watch, self._phones, self._background, self._changed = watch, phones, background, changed
        # By their public keys.
        self.connected: set[str] = set()
        self._looking = False

    async def start(self) -> None:
        await self._watch.subscribe("$SYS.ACCOUNT.*.*", cb=self._moved)
        self._background.begin(self._look_again())

    async def _moved(self, _message: Msg) -> None:
        if not self._looking:
            self._looking = True
            self._background.begin(self._look_soon())

    async def _look_soon(self) -> None:
        await asyncio.sleep(_LOOK_AFTER_S)
        # What comes from here on is seen by another look.
        self._looking = False
        with suppress(Error, TimeoutError):
            await self._look()

    async def _look_again(self) -> None:
        while True:
            await asyncio.sleep(_LOOK_EVERY_S)
            if self.connected:
                with suppress(Error, TimeoutError):
                    await self._look()

    async def _look(self) -> None:
        asked = json.dumps({"auth": True, "limit": 1024}).encode()
        found = json.loads((await self._watch.request("$SYS.REQ.SERVER.PING.CONNZ", asked, timeout=_PATIENCE_S)).data)
        now = {each.get("authorized_user", "") for each in found["data"]["connections"]}
        there, self.connected = self.connected | now, now
        self._phones.seen([phone.device for phone in self._phones.members if phone.key in there], now_text())
        self._changed()
