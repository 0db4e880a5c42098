"""How phones find the shop's name on the Wi-Fi without a name server: multicast DNS (RFC 6762), which answers for .local."""

from __future__ import annotations

import asyncio
import ipaddress
from contextlib import suppress

import ifaddr
from zeroconf import Error, IPVersion, ServiceInfo
from zeroconf.asyncio import AsyncZeroconf

from shop.folder import Shop

_KIND = "_https._tcp.local."
# A laptop that comes to another Wi-Fi has another number there.
_LOOK_EVERY_S = 20


def numbers() -> list[str]:
    """This computer's numbers on its networks, without those that reach only itself."""
    found = {str(each.ip) for adapter in ifaddr.get_adapters() for each in adapter.ips if each.is_IPv4}
    return sorted(
        number for number in found if not (ipaddress.ip_address(number).is_loopback or number.startswith("169.254."))
    )


def can_be_found(shop: Shop) -> bool:
    return shop.name.endswith(".local")


class Found:
    """Answers for the shop's name from `start` to `stop`; of another kind of name it answers nothing."""

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._zeroconf: AsyncZeroconf | None = None
        self._info: ServiceInfo | None = None
        self._looking: asyncio.Task[None] | None = None

    async def start(self) -> str | None:
        """Gives the reason where phones can't find it by itself."""
        if not can_be_found(self._shop):
            return "only a name that ends in .local is found by itself"
        try:
            await self._answer(numbers())
        except (OSError, Error) as error:
            return str(error) or type(error).__name__
        self._looking = asyncio.get_running_loop().create_task(self._look())
        return None

    async def stop(self) -> None:
        if self._looking:
            self._looking.cancel()
            with suppress(asyncio.CancelledError):
                await self._looking
        await self._end()

    async def _answer(self, addresses: list[str]) -> None:
        self._zeroconf = AsyncZeroconf(ip_version=IPVersion.V4Only)
        label = f"Tarewell {self._shop.id}.{_KIND}"
        self._info = ServiceInfo(
            _KIND,
            label,
            port=self._shop.port,
            server=f"{self._shop.name}.",
            parsed_addresses=addresses or ["127.0.0.1"],
        )
        await self._zeroconf.async_register_service(self._info, cooperating_responders=True)

    async def _end(self) -> None:
        if self._zeroconf:
            with suppress(OSError, Error):
                await self._zeroconf.async_unregister_all_services()
            await self._zeroconf.async_close()
            self._zeroconf = None

    async def _look(self) -> None:
        before = numbers()
        while True:
            await asyncio.sleep(_LOOK_EVERY_S)
            now = numbers()
            if now != before:
                before = now
                with suppress(OSError, Error):
                    await self._end()
                    await self._answer(now)
