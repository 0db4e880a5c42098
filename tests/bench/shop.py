"""The shop server's engine: what it keeps when it is killed or its power is cut, how fast phones catch up, and what it costs.

Prints `figure: value unit` lines. Phones are simulated in one Python process, on loopback, without Wi-Fi and without TLS; the
door in front and the page's own work are no part of these figures, except that the last one has three of the app's own phones
in node. Fails where an acknowledged event is lost or spoiled.
"""

from __future__ import annotations

import argparse
import asyncio
import gzip
import json
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from measuring import ROOT, Quota, figure, part

# The package `shop` before this file, which has its name.
sys.path[:0] = [str(ROOT / "site"), str(ROOT / "tests"), str(ROOT / "tests" / "site" / "shop")]
from engine_alone import EngineAlone, phones, running
from engine_killed import Killed, kill_often
from hub_alone import Hub, Writer, equal, their_phones
from running_shop import until

from runtime.node import call_node, install_packages

SIZES = (20_000, 200_000)
TOGETHER = (2, 10, 100)
UNDER_WAY = 256
# As much at once as a phone asks for (site/static/js/shop/link.mjs).
PART = {"batch": 400, "max_bytes": 1_000_000, "next_by_subj": "tarewell.*.events.*"}
QUARTER = 0.25
CUTS, DOWN_S = 5, 5.0
# A workshop of three, five days a week but for two weeks a year (assumed: common practice, no source).
BLOCKS_A_YEAR = 3 * 5 * 50
# Of each block besides its own events: racks, packing, stock, walks, tanks and what is saved (assumed, no source).
BESIDE = 40
# Records that the app itself made.
HISTORY = ROOT / "tests" / "fixtures" / "copies" / "rules-3-scale.json.gz"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=30, help="kills; a third as many power cuts")
    parser.add_argument("--seeds", type=int, default=500, help="histories of three phones")
    parser.add_argument("--short", action="store_true", help="all as short as it can be")
    given = parser.parse_args()
    if given.short:
        given.runs, given.seeds = 1, 1
    lost = 0
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        with part("kills", 1200):
            lost += kills(folder / "kills", given.runs)
        with part("power cuts", 1200):
            lost += power_cuts(folder / "cuts", max(given.runs // 3, 1), "power cut, simulated", EngineAlone)
            # That such a cut takes anything at all.
            power_cuts(folder / "lazy", 1 if given.short else 3, "the same with the engine's own habit of syncing", Lazy)
        for n in (2,) if given.short else TOGETHER:
            with part(f"{n} phones together", 600):
                asyncio.run(together(folder / f"together-{n}", n, 5 if given.short else 100))
        for n in (200,) if given.short else SIZES:
            with part(f"catching up {n}", 1800):
                catch_up(folder / f"catch-{n}", n)
        if not given.short:
            with part("shops and a hub", 1200):
                asyncio.run(cut_lines(folder / "hub", servers=1))
            with part("shops and a hub of three servers", 1200):
                asyncio.run(cut_lines(folder / "hubs", servers=3))
        with part("a year", 600):
            a_year(folder / "year")
    with part("three phones", 1800):
        lost += three_phones(given.seeds)
    return 0 if lost == 0 else 1


def kills(folder: Path, times: int) -> int:
    folder.mkdir()
    (phone,) = phones(1)
    told = kill_often(EngineAlone(folder, [phone]), phone, times, seed=1)
    return _told("kill -9", times, told)


class Lazy(EngineAlone):
    """With the engine's own setting, which syncs every other minute."""

    def told(self) -> dict[str, Any]:
        told = super().told()
        del told["jetstream"]["sync_interval"]
        return told


def power_cuts(folder: Path, times: int, what: str, kind: type[EngineAlone]) -> int:
    """The file system under the engine is shut down without its log being written, as Linux can for ext4; what had been
    forced onto the disk is there afterwards, and nothing else."""
    folder.mkdir()
    (phone,) = phones(1)
    try:
        with Disk(folder).mounted() as disk:
            place = disk.at / "engine"
            place.mkdir()

            def cut(alone: EngineAlone) -> None:
                disk.cut()
                alone.kill()
                disk.comes_back()

            told = kill_often(kind(place, [phone]), phone, times, seed=2, end=cut)
    except (OSError, subprocess.CalledProcessError) as error:
        print(f"{what}: not on this machine ({error})", flush=True)
        return 0
    return _told(what, times, told)


def _told(what: str, times: int, told: Killed) -> int:
    figure(f"{what}, times", times, "")
    figure(f"{what}, events acknowledged", len(told.acknowledged), "")
    figure(f"{what}, of these lost", len(told.lost), "")
    figure(f"{what}, spoiled", told.spoiled, "")
    figure(f"{what}, from the next start to the next acknowledgement, median", statistics.median(told.gaps_s), "s")
    figure(f"{what}, the same, longest", max(told.gaps_s), "s")
    return len(told.lost) + told.spoiled


class Disk:
    """A file as a disk, with ext4 on it."""

    # linux/ext4.h: EXT4_IOC_SHUTDOWN, and that nothing of the journal is to be written first.
    SHUTDOWN, WITHOUT_LOG = 0x8004587D, 2

    def __init__(self, folder: Path) -> None:
        self.file, self.at = folder / "disk", folder / "mounted"
        self.at.mkdir()

    @contextmanager
    def mounted(self) -> Iterator[Disk]:
        self.file.touch()
        with self.file.open("r+b") as file:
            file.truncate(2_000_000_000)
        self._do("mkfs.ext4", "-q", self.file)
        self._do("mount", "-o", "loop", self.file, self.at)
        try:
            yield self
        finally:
            self._do("umount", self.at)

    def cut(self) -> None:
        import fcntl
        import os

        directory = os.open(self.at, os.O_RDONLY)
        try:
            fcntl.ioctl(directory, self.SHUTDOWN, self.WITHOUT_LOG.to_bytes(4, "little"))
        finally:
            os.close(directory)

    def comes_back(self) -> None:
        self._do("umount", self.at)
        self._do("mount", "-o", "loop", self.file, self.at)

    @staticmethod
    def _do(*command: str | Path) -> None:
        subprocess.run(command, check=True, capture_output=True)


async def together(folder: Path, n: int, times: int) -> None:
    """From sending to when the last of the others has read the event, as phones do it: told of something new, each asks for it."""
    folder.mkdir()
    members = phones(n)
    alone = EngineAlone(folder, members).start()
    with running(alone):
        await alone.make()
        clients = [await alone.phone(member) for member in members]
        seen = asyncio.Queue[float]()

        def reads(client: Any) -> Any:
            async def new(message: Any) -> None:
                asked = json.dumps({"seq": int(message.headers["Nats-Sequence"])}).encode()
                await client.request(alone.subjects.get, asked, timeout=60)
                seen.put_nowait(time.perf_counter())

            return new

        for client in clients[1:]:
            await client.subscribe(alone.subjects.new, cb=reads(client))
            await client.flush()
        took_ms = []
        for k in range(times):
            began = time.perf_counter()
            await clients[0].request(alone.subjects.events(members[0].device), EVENT, headers={"Nats-Msg-Id": f"{k}"}, timeout=60)
            took_ms.append(1000 * (max([await seen.get() for _ in clients[1:]]) - began))
        figure(f"all of {n} phones have a new event, median", statistics.median(took_ms), "ms")
        figure(f"all of {n} phones have a new event, p95", sorted(took_ms)[int(0.95 * (len(took_ms) - 1))], "ms")
        figure(f"memory of the engine, {n} phones", memory_mb(alone), "MB")
        for client in clients:
            await client.close()


def catch_up(folder: Path, events: int) -> None:
    folder.mkdir()
    (phone,) = phones(1)
    alone = EngineAlone(folder, [phone]).start()
    with running(alone):
        took_s = asyncio.run(fill(alone, phone, events))
        figure(f"storing {events}, each on the disk, 256 under way", events / took_s, "events/s")
        figure(f"memory of the engine, just filled with {events}", memory_mb(alone), "MB")
        figure(f"catching up {events}", asyncio.run(read_all(alone, phone, events)), "s")
        alone.kill()
        began = time.perf_counter()
        alone.start()
        figure(f"start with {events}", time.perf_counter() - began, "s")
        figure(f"memory of the engine, started with {events}", memory_mb(alone), "MB")
        quota = Quota(QUARTER)
        if quota.folder is None:
            print(f"catching up {events}, engine and reader on a quarter of the processor: {quota.why_not}", flush=True)
            return
        try:
            limited(quota, alone.process.pid)
            figure(f"catching up {events}, engine on a quarter of the processor", asyncio.run(read_all(alone, phone, events)), "s")
        finally:
            alone.kill()


def limited(quota: Quota, process: int) -> None:
    assert quota.folder is not None
    (quota.folder / "cgroup.procs").write_text(str(process))


async def fill(alone: EngineAlone, phone: Any, events: int) -> float:
    await alone.make()
    client = await alone.phone(phone)
    numbers = iter(range(events))

    async def send() -> None:
        for n in numbers:
            answer = await client.request(alone.subjects.events(phone.device), EVENT, headers={"Nats-Msg-Id": f"{n}"}, timeout=120)
            if "seq" not in json.loads(answer.data):
                raise RuntimeError(answer.data.decode())

    began = time.perf_counter()
    await asyncio.gather(*(send() for _ in range(UNDER_WAY)))
    took_s = time.perf_counter() - began
    await client.close()
    return took_s


async def read_all(alone: EngineAlone, phone: Any, events: int) -> float:
    """As a phone does: some at a time, from the last one on."""
    client = await alone.phone(phone)
    came = asyncio.Queue[Any]()
    inbox = client.new_inbox()
    await client.subscribe(inbox, cb=came.put)
    began, after, found = time.perf_counter(), 0, 0
    while True:
        await client.publish(alone.subjects.get, json.dumps({**PART, "seq": after + 1}).encode(), reply=inbox)
        while "Nats-Sequence" in ((message := await came.get()).headers or {}):
            after, found = int(message.headers["Nats-Sequence"]), found + 1
            json.loads(message.data)
        if int((message.headers or {}).get("Nats-Num-Pending", 0)) == 0:
            break
    took_s = time.perf_counter() - began
    await client.close()
    if found != events:
        raise RuntimeError(f"{found} of {events}")
    return took_s


async def cut_lines(folder: Path, servers: int) -> None:
    """Two shops; of the hub the one server, or of three the one that leads, is killed and starts again, writes going on."""
    shops = ["aaaaaaaa", "bbbbbbbb"]
    hub = Hub(folder, shops, servers)
    writers = [Writer(hub.shop(shop, phone), phone) for shop, phone in their_phones(shops).items()]
    what = f"a hub of {servers} server{'s' if servers > 1 else ''}"
    with running(*hub.servers, *(writer.alone for writer in writers)):
        await hub.opens(writers)
        took_s = []
        for _ in range(CUTS):
            down = await until(hub.leader) if servers > 1 else hub.servers[0]
            await asyncio.gather(*(writer.writes(20) for writer in writers))
            down.kill()
            await asyncio.gather(*(writer.writes(20) for writer in writers))
            await asyncio.sleep(DOWN_S)
            down.start()
            began = time.perf_counter()
            held = await equal(writers, 300)
            took_s.append(time.perf_counter() - began)
        wrote = sum(len(writer.wrote) for writer in writers)
        figure(f"{what}, killed", CUTS, "times")
        figure(f"{what}, shops equal after it is back, median", statistics.median(took_s), "s")
        figure(f"{what}, the same, longest", max(took_s), "s")
        figure(f"{what}, events written in both shops", wrote, "")
        figure(f"{what}, of these twice in a shop's mailbox", max(len(each) for each in held) - wrote, "")


def a_year(folder: Path) -> None:
    """A hundredth of it is stored, and weighed on the disk."""
    events = json.loads(gzip.decompress(HISTORY.read_bytes()))["events"]
    closed = {event["subject"] for event in events if event["kind"] == "closed"}
    sheets = [event for event in events if event["kind"] == "issued"]
    blocks = [event for event in events if event["subject"] in closed]
    rest = [event for event in events if event["kind"] != "issued" and event["subject"] not in closed]
    per_block = round(len(blocks) / len(closed))
    kinds = ((sheets, 1), (blocks, per_block), (rest, BESIDE))
    stored_blocks = max(BLOCKS_A_YEAR // 100, 1)
    told = [json.dumps(own[(block * n + k) % len(own)], ensure_ascii=False).encode() for block in range(stored_blocks) for own, n in kinds for k in range(n)]
    folder.mkdir()
    (phone,) = phones(1)
    alone = EngineAlone(folder, [phone]).start()

    async def store() -> None:
        await alone.make()
        client = await alone.phone(phone)
        for n, payload in enumerate(told):
            await client.request(alone.subjects.events(phone.device), payload, headers={"Nats-Msg-Id": f"{n:036}.0123456789abcdef"}, timeout=60)
        await client.close()

    with running(alone):
        asyncio.run(store())
        state = asyncio.run(alone.asked("STREAM.INFO.EVENTS"))["state"]
    figure("a block's events, with its sheet and what goes on beside", 1 + per_block + BESIDE, "")
    figure("an issued sheet, mean", statistics.mean(len(json.dumps(event, ensure_ascii=False).encode()) for event in sheets) / 1000, "kB")
    figure("an event at the scale, mean", statistics.mean(len(json.dumps(event, ensure_ascii=False).encode()) for event in blocks), "bytes")
    figure(f"a year of {BLOCKS_A_YEAR} blocks", BLOCKS_A_YEAR * len(told) / stored_blocks, "events")
    figure(f"a year of {BLOCKS_A_YEAR} blocks, in the engine", BLOCKS_A_YEAR * state["bytes"] / stored_blocks / 1e6, "MB")
    shutil.rmtree(folder)


def three_phones(seeds: int) -> int:
    node_modules, _ = install_packages(ROOT / "site", ROOT / ".tools")
    program = ("--import", "./tests/site_js/hooks.mjs", "tests/site_js/many_phones.mjs", str(seeds), "1", "shop")
    return call_node(*program, cwd=ROOT, TAREWELL_NODE_MODULES=str(node_modules))


def memory_mb(alone: EngineAlone) -> float:
    """Resident (proc(5)); 0 where the system doesn't tell."""
    try:
        told = Path(f"/proc/{alone.process.pid}/status").read_text()
    except OSError:
        return 0.0
    return next(int(line.split()[1]) for line in told.splitlines() if line.startswith("VmRSS")) / 1000


# A step at the scale, as the app stores one, made up to a kilobyte.
EVENT = json.dumps({"id": "0" * 36, "kind": "weighed", "subject": "block:BENCH-1/1", "more": "x" * 900}).encode()


if __name__ == "__main__":
    sys.exit(main())
