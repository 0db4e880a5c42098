"""What the shop server answers itself: who belongs, who is there, who may come in. All else is between phones and engine."""

from __future__ import annotations

import asyncio
import json
import tempfile
from collections.abc import Awaitable, Callable
from contextlib import suppress
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from nats.aio.client import Client
from nats.aio.msg import Msg
from nats.errors import Error

from shop import copies, engine, mailbox
from shop.background import Background
from shop.daily import Daily
from shop.folder import Folder, Shop
from shop.hub import facts as hub_facts
from shop.pairing import Ask, Open, Pairing, Turned
from shop.phones import Phone, Phones, as_text
from shop.presence import Presence

Reply = dict[str, Any]

# A phone that was let in has its answer by then, and its way in is taken away.
_ANSWER_TAKES_S = 1.0
# And one that is turned out, its own.
_ANSWER_LEAVES_S = 0.1
# Several changes at once are told once.
_TOLD_AFTER_S = 0.2


class Service:
    def __init__(
        self, folder: Folder, shop: Shop, run: engine.Run, asked: Callable[[Ask], None], trouble: Callable[[str], None]
    ) -> None:
        """`asked` is told of each phone that waits for a yes, `trouble` of what went wrong in the background."""
        self.folder, self.shop = folder, shop
        self.phones = Phones(folder.phones)
        self.pairing = Pairing(self.phones)
        self._run, self._subjects = run, engine.Subjects(shop.id)
        self._asked, self._trouble = asked, trouble
        self._client, self._watch = Client(), Client()
        self._engine_id = ""
        self._background = Background(trouble)
        self._presence = Presence(self._watch, self.phones, self._background, self._tell)
        self._daily = Daily(folder.copies, lambda: self.copy(folder.copies, rotate=True))
        self._waiting: list[Msg] = []
        # The configuration is one file: one change of it at a time.
        self._changing = asyncio.Lock()
        self._copying = asyncio.Lock()
        self._telling: asyncio.TimerHandle | None = None

    @staticmethod
    def config_file(folder: Folder) -> Path:
        return folder.engine / "engine.conf"

    async def start(self) -> None:
        """The engine runs by now."""
        await connect(self._client, self._run, engine.SERVICE)
        await connect(self._watch, self._run, engine.WATCH)
        created = await mailbox.make(self._client, self.shop.id, self._run.joined)
        if self._run.joined:
            lost = self._run.joined.facts.shop(self.shop.id).lost
            if hub_facts.made_anew(self.folder.hub_made, lost, created=created):
                self._trouble(hub_facts.lost_words(self.shop.id))
        about = json.loads((await self._watch.request("$SYS.REQ.SERVER.PING.IDZ", timeout=10)).data)
        self._engine_id = about["id"]
        answers = {
            self._subjects.join: self._join,
            self._subjects.phones: self._list,
            self._subjects.all_deeds: self._deed,
            self._subjects.control: self._control,
        }
        for subject, answer in answers.items():
            await self._client.subscribe(subject, cb=self._guarded(answer))
        await self._presence.start()
        self._background.begin(self._daily.go_on())

    async def stop(self) -> None:
        await self._background.stop()
        for client in (self._client, self._watch):
            with suppress(Exception):
                await asyncio.wait_for(client.close(), 5)

    async def publish_scale(self, token: str, reading: bytes) -> None:
        """What a scale shows, to all phones that look at it. While the engine can't be reached it's lost: the next one is newer."""
        if self._client.is_connected:
            with suppress(Error):
                await self._client.publish(self._subjects.scale(token), reading)

    # What is asked

    async def _join(self, message: Msg) -> None:
        told = _read(message)
        try:
            found = self.pairing.asked(told.get("key"), told.get("name"))
        except Turned as turned:
            await _answer(message, {"refused": turned.key})
            return
        if isinstance(found, Phone):
            await _answer(message, self._let_in(found))
            return
        is_new = not self._waiting
        # One that asks again lost its connection, and with it the answer to the first one.
        self._waiting.append(message)
        if is_new:
            self._asked(found)
            self._tell()

    async def _list(self, message: Msg) -> None:
        await _answer(message, await self.listed())

    async def _deed(self, message: Msg) -> None:
        device = message.subject.rpartition(".")[2]
        member = self.phones.member(device)
        told = _read(message)
        if member is None or engine.asked_by(message.headers) != member.key:
            await _answer(message, {"refused": "unknown"})
            return
        own = told.get("do") == "revoke" and told.get("device") == device
        if not (member.owner or own):
            await _answer(message, {"refused": "not_owner"})
            return
        await self._done(message, told, may_end_ownership=False)

    async def _control(self, message: Msg) -> None:
        """From a command on this computer, which may do all."""
        told = _read(message)
        if told.get("do") == "status":
            await _answer(message, await self.status())
        elif told.get("do") == "copy":
            copied = await self.copy(Path(str(told["to"])), rotate=False)
            await _answer(message, {**asdict(copied), "file": str(copied.file)})
        else:
            await self._done(message, told, may_end_ownership=True)

    async def _done(self, message: Msg, told: Reply, *, may_end_ownership: bool) -> None:
        try:
            answer, then = await self._do(told, may_end_ownership=may_end_ownership)
        except Turned as turned:
            await _answer(message, {"refused": turned.key})
            return
        await _answer(message, {"ok": True, **answer})
        if then is not _nothing:
            # Who turns the phone in hand out still hears that it's done.
            await self._client.flush()
            await asyncio.sleep(_ANSWER_LEAVES_S)
            await then()

    async def _do(self, told: Reply, *, may_end_ownership: bool) -> tuple[Reply, Callable[[], Awaitable[None]]]:
        """What a deed changes at once, and what comes after its answer."""
        match told.get("do"):
            case "pair":
                opened = await self.pair()
                address = self.shop.join_address(opened.secret)
                return {"secret": opened.secret, "until": as_text(opened.until), "address": address}, _nothing
            case "confirm":
                phone = await self.confirm(told.get("ask"))
                return {"device": phone.device}, _nothing
            case "refuse":
                await self.refuse(told.get("ask"))
                return {}, _nothing
            case "owner":
                phone = self._member(told)
                self.phones.make_owner(phone.device)
                self._tell()
                return {"device": phone.device}, _nothing
            case "revoke":
                phone = self._member(told)
                if (
                    phone.owner
                    and not may_end_ownership
                    and len(self.phones.owners) == 1
                    and len(self.phones.members) > 1
                ):
                    raise Turned("last_owner")
                self.phones.revoke(phone.device)
                left = {"device": phone.device, "name": phone.name, "owners": len(self.phones.owners)}
                return left, self._configure
        raise Turned("unknown")

    def _member(self, told: Reply) -> Phone:
        device, name = told.get("device"), told.get("name")
        phone = self.phones.member(device) if isinstance(device, str) else self.phones.named(str(name))
        if phone is None:
            raise Turned("unknown")
        return phone

    # Deeds, which the terminal asks for too

    async def pair(self) -> Open:
        opened = self.pairing.open()
        await self._configure()
        self._background.begin(self._expire(opened))
        return opened

    async def confirm(self, ask: object) -> Phone:
        phone = self.pairing.confirm(ask)
        await self._configure()
        await self._answer_waiting(self._let_in(phone), phone.key)
        return phone

    async def refuse(self, ask: object) -> None:
        self.pairing.refuse(ask)
        await self._answer_waiting({"refused": "refused"})

    async def copy(self, to: Path, *, rotate: bool) -> copies.Copied:
        async with self._copying:
            return await copy(self._client, self.shop.id, to, rotate=rotate)

    # What is told

    async def listed(self) -> Reply:
        state = await mailbox.state(self._client)
        phones = [
            {
                "device": phone.device,
                "name": phone.name,
                "owner": phone.owner,
                "seen": phone.seen,
                "connected": phone.revoked is None and phone.key in self._presence.connected,
                "revoked": phone.revoked,
            }
            for phone in self.phones.all
        ]
        ask = self.pairing.ask
        joining = [{"ask": ask.id, "name": ask.name, "since": ask.since}] if ask else []
        return {
            "phones": phones,
            "joining": joining,
            "events": state["messages"],
            "copy": copies.looked_at(self.folder.copies),
        }

    async def status(self) -> Reply:
        state = await mailbox.state(self._client)
        return {**await self.listed(), "bytes": state["bytes"], "copy_trouble": self._daily.trouble}

    def _let_in(self, phone: Phone) -> Reply:
        return {"device": phone.device, "shop": self.shop.id, "name": phone.name}

    # What goes on by itself

    async def _answer_waiting(self, answer: Reply, let_in: str | None = None) -> None:
        waiting, self._waiting = self._waiting, []
        for message in waiting:
            await _answer(message, answer)
        await self._client.flush()
        self._background.begin(self._shut(let_in))
        self._tell()

    async def _shut(self, let_in: str | None) -> None:
        """The way in is taken away once who waited has its answer: a phone that lost it on the way asks again until then."""
        used = self.pairing.secret
        await asyncio.sleep(_ANSWER_TAKES_S)
        while let_in is not None and let_in not in self._presence.connected and self.pairing.seconds_left > 0:
            await asyncio.sleep(_ANSWER_TAKES_S)
        if self.pairing.secret == used:
            self.pairing.close()
            await self._configure()

    async def _expire(self, opened: Open) -> None:
        await asyncio.sleep(max(0.0, (opened.until - datetime.now(UTC)).total_seconds()))
        if self.pairing.secret == opened.secret:
            await self._answer_waiting({"refused": "expired"})

    async def _configure(self) -> None:
        """Has the engine read who belongs anew. It cuts who doesn't any more, and drops nobody else."""
        async with self._changing:
            told = engine.config(self._run, self.phones.members, self.pairing.secret)
            engine.write(self.config_file(self.folder), told)
            done = json.loads((await self._watch.request(f"$SYS.REQ.SERVER.{self._engine_id}.RELOAD", timeout=30)).data)
            if "error" in done:
                raise RuntimeError(f"the engine doesn't take its new configuration: {done['error']}")
        self._tell()

    def _tell(self) -> None:
        """Soon, all phones ask for the list anew."""
        if self._telling is None:
            self._telling = asyncio.get_running_loop().call_later(_TOLD_AFTER_S, self._told)

    def _told(self) -> None:
        self._telling = None
        if self._client.is_connected:
            self._background.begin(self._client.publish(self._subjects.told, b""))

    def _guarded(self, answer: Callable[[Msg], Awaitable[None]]) -> Callable[[Msg], Awaitable[None]]:
        """Each question in a task of its own, so that a long one keeps nobody waiting; what is asked wrongly stops nothing."""

        async def asked(message: Msg) -> None:
            try:
                await answer(message)
            except (ValueError, TypeError, KeyError, OSError, RuntimeError, TimeoutError, Error) as error:
                # Why is for this computer alone.
                why = {"why": str(error)} if message.subject == self._subjects.control else {}
                await _answer(message, {"refused": "unknown", **why})

        async def begin(message: Msg) -> None:
            self._background.begin(asked(message))

        return begin


async def connect(client: Client, run: engine.Run, user: str) -> None:
    """Waits for an engine that is just starting."""
    await client.connect(
        f"nats://{engine.HOST}:{run.client_port}",
        user=user,
        password=run.passwords[user],
        max_reconnect_attempts=-1,
        reconnect_time_wait=1,
        connect_timeout=5,
        error_cb=_quiet,
        inbox_prefix=f"_INBOX.{user}".encode(),
    )


async def copy(client: Client, shop: str, to: Path, *, rotate: bool) -> copies.Copied:
    """All events that the mailbox holds as one copy in a folder."""
    to.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=to, prefix=".reading-") as made:
        spooled = Path(made) / "spool"
        await copies.spool(mailbox.messages(client), spooled)
        return await asyncio.to_thread(copies.write, spooled, to, shop, rotate=rotate)


async def _nothing() -> None:
    """Nothing is left to do."""


async def _quiet(_error: Exception) -> None:
    """The library writes to standard error by itself otherwise; it connects anew, and who waits hears of it."""


def _read(message: Msg) -> Reply:
    """What a phone says: an object, or nothing."""
    try:
        told = json.loads(message.data)
    except ValueError:
        return {}
    return told if isinstance(told, dict) else {}


async def _answer(message: Msg, answer: Reply) -> None:
    if message.reply:
        await message.respond(json.dumps(answer).encode())
