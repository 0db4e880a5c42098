"""What a scale at the server's serial port shows, as a paired phone hears it over the engine."""

import asyncio
import json
import os
import time
from datetime import UTC, datetime

import pytest
from running_shop import Running
from simulated_scale import SimulatedScale, sma

from shop.folder import Folder, find_shop, keep_shop
from shop.speaks import kept
from shop.speaks.kept import LINES, SMA, Kept
from shop.speaks.speaking import Speaking

pytestmark = [
    pytest.mark.skipif(os.name == "nt", reason="pseudoterminals are of POSIX"),
    # The engine's client leaves a connection that was cut to the collector.
    pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning"),
]


@pytest.fixture
def scale(tmp_path):
    made = SimulatedScale(tmp_path / "ttyScale", asked=True)
    yield made
    made.unplug()


def test_a_paired_phone_hears_the_scale_by_its_name_and_that_it_is_gone(tmp_path, small_site, scale):
    running = Running(tmp_path / "shop", small_site)
    running.data.mkdir()
    folder = Folder(running.data)
    keep_shop(folder, find_shop(folder, None, running.port, datetime(2026, 1, 1, tzinfo=UTC))[0])
    kept.put(folder.scales, Kept("Bench scale", str(scale.place), SMA))
    scale.frame = sma("12.34")
    running.start()
    try:
        asyncio.run(hears(running, scale))
    finally:
        code, said = running.end()
    assert code == 0
    assert "The scale “Bench scale” is heard." in said
    assert "isn't heard: nothing comes from it. Remedy: switch the scale on" in said


async def hears(running: Running, scale: SimulatedScale) -> None:
    key, answer = await running.paired("floor phone")
    phone = await running.phone(key, answer["device"])
    heard: asyncio.Queue = asyncio.Queue()

    async def hear(message):
        await heard.put((message.subject, json.loads(message.data)))

    await phone.subscribe(running.subject("scale.*"), cb=hear)
    subject, told = await asyncio.wait_for(heard.get(), 20)
    assert subject == running.subject("scale.bench-scale")
    at = told.pop("at")
    assert abs((datetime.fromisoformat(at) - datetime.now(UTC)).total_seconds()) < 60
    assert told == {
        "name": "Bench scale", "raw": sma("12.34").decode().strip("\r\n"), "status": "stable", "zero": False, "net": True,
        "count": "12.34", "unit": "kg",
    }  # fmt: skip
    scale.frame = None
    while told["status"] != "gone":
        _, told = await asyncio.wait_for(heard.get(), 20)
    assert told["count"] is None
    await phone.close()


def test_however_fast_a_display_sends_phones_are_told_ten_times_a_second_at_most_and_of_the_newest(tmp_path):
    told = []

    async def publish(token, reading):
        told.append((time.monotonic(), token, json.loads(reading)["count"]))

    async def run():
        scale = SimulatedScale(tmp_path / "ttyScale", asked=False)
        speaking = Speaking([Kept("Bench scale", str(scale.place), LINES)], publish, lambda _words: None)
        speaking.start()
        try:
            for n in range(300):
                scale.sends(b"ST,NT,+%8.2fkg\r\n" % (n / 100))
                await asyncio.sleep(0.005)
            await asyncio.sleep(0.5)
        finally:
            await speaking.stop()
            scale.unplug()

    asyncio.run(run())
    counts = [count for _, _, count in told]
    assert {token for _, token, _ in told} == {"bench-scale"}
    assert counts == sorted(counts, key=float)
    assert counts[-1] == "2.99"
    # One at the start of the first tenth of a second, one at the end of the last.
    assert len(told) <= 10 * (told[-1][0] - told[0][0]) + 2
