"""Several shops and a hub, on loopback, from the files that `shop hub` writes: what one shop's phones send comes to all."""

import asyncio
import base64
import binascii
import gc
import json
import os
import shutil
import signal
import socket
import stat
import subprocess
import sys

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from engine_alone import running
from hub_alone import Hub, Writer, equal, every, their_phones
from nats.errors import NoRespondersError
from running_shop import ROOT, until, user_key

from shop import engine, limits
from shop.hub import made
from shop.hub.facts import Server, made_anew, read, server
from shop.keys import encoded, seed_of
from shop.refusals import Refused, free_port

pytestmark = pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning")
A, B, C = "aaaaaaaa", "bbbbbbbb", "cccccccc"
# What the engine's own interface would do to a shop's mailbox (docs.nats.io, "JetStream wire API reference"; from memory).
HARM = {
    "STREAM.DELETE.EVENTS": {},
    "STREAM.PURGE.EVENTS": {},
    "STREAM.UPDATE.EVENTS": {"name": "EVENTS", "subjects": ["tarewell.>"]},
    "STREAM.MSG.DELETE.EVENTS": {"seq": 1},
    "STREAM.CREATE.MORE": {"name": "MORE", "subjects": ["more"]},
    "CONSUMER.DURABLE.CREATE.EVENTS.mine": {"stream_name": "EVENTS", "config": {"durable_name": "mine"}},
}


def run(work, within_s=120):
    done = asyncio.run(asyncio.wait_for(work, within_s))
    gc.collect()
    return done


def shops_of(hub, *ids):
    found = their_phones(list(ids))
    return [Writer(hub.shop(shop, phone), phone) for shop, phone in found.items()]


def test_two_shops_are_the_same_also_after_a_mailbox_or_the_hub_was_lost(tmp_path):
    """Cuts of the line, after which the engines find each other by themselves, take half a minute each: `bench shop`."""
    hub = Hub(tmp_path, [A, B])
    (the_hub,) = hub.servers
    a, b = writers = shops_of(hub, A, B)

    async def work():
        await hub.opens(writers)
        await asyncio.gather(a.writes(20), b.writes(20))
        held = await equal(writers)
        # Once each: nothing goes round.
        assert [len(each) for each in held] == [40, 40]
        # A phone hears of what came from elsewhere as of what came from here, and reads it by the same question.
        client = await b.alone.phone(b.phone)
        new = asyncio.Queue()
        await client.subscribe(b.alone.subjects.new, cb=new.put)
        await client.flush()
        await a.writes(1)
        news = await asyncio.wait_for(new.get(), 20)
        assert news.headers["Nats-Subject"] == f"tarewell.{A}.events.{a.phone.device}"
        asked = json.dumps({"seq": int(news.headers["Nats-Sequence"]), "next_by_subj": "tarewell.*.events.*"}).encode()
        assert (await client.request(b.alone.subjects.get, asked, timeout=10)).data == a.wrote[-1]
        await client.close()
        # The hub is gone: both go on alone.
        the_hub.kill()
        await asyncio.gather(a.writes(20), b.writes(20))
        assert [len(await every(each.alone)) for each in writers] == [61, 61]
        # A shop's mailbox is lost, and then the hub's own: all are told, and what comes next is skipped nowhere.
        for lost, folder in ((B, b.alone.run.folder), ("hub", the_hub.folder)):
            for each in (the_hub, a.alone, b.alone):
                each.kill()
            shutil.rmtree(folder / "js")
            made.make(tmp_path, [], [], [lost])
            a.alone, b.alone = hub.shop(A, a.phone), hub.shop(B, b.phone)
            opened.extend((a.alone, b.alone))
            await hub.opens(writers)
            # As its phones do where they see another `created`.
            if lost == B:
                await b.sends(b.wrote)
            await asyncio.gather(a.writes(5), b.writes(5))
            await equal(writers)

    opened = [the_hub, a.alone, b.alone]
    try:
        run(work())
    finally:
        with running(*opened):
            pass


def test_neither_can_harm_the_other(tmp_path):
    """By whoever has the hub's own computer, and by whoever has a shop's."""
    hub = Hub(tmp_path, [A, B])
    (the_hub,) = hub.servers
    a, b = writers = shops_of(hub, A, B)

    async def work():
        await hub.opens(writers)
        await asyncio.gather(a.writes(3), b.writes(3))
        await equal(writers)
        before = await a.alone.asked("STREAM.INFO.EVENTS")
        operator, service = await the_hub.operator(), await b.alone.service()
        for what, told in HARM.items():
            for client, to in ((operator, f"$JS.{A}.API.{what}"), (service, f"$JS.{A}.API.{what}"), (service, f"$JS.hub.API.{what.replace('EVENTS', 'ALL')}")):
                with pytest.raises((NoRespondersError, TimeoutError)):
                    await client.request(to, json.dumps(told).encode(), timeout=0.2)
        heard = []

        async def hear(message):
            heard.append(message)

        reader = await a.alone.phone(a.phone)
        for subject in (a.alone.subjects.all_scales, a.alone.subjects.told, a.alone.subjects.new):
            await reader.subscribe(subject, cb=hear)
        await reader.flush()
        for client in (operator, service):
            for rest in (f"events.{a.phone.device}", "scale.bench", "told", "control", f"deed.{a.phone.device}", "join"):
                await client.publish(a.alone.subjects.of(rest), b"forged")
            await client.flush()
            await client.close()
        await asyncio.sleep(0.3)
        assert heard == []
        await reader.close()
        after = await a.alone.asked("STREAM.INFO.EVENTS")
        assert (after["config"], after["created"], after["state"]["messages"]) == (before["config"], before["created"], 6)
        assert (await a.alone.asked("STREAM.NAMES"))["streams"] == ["EVENTS"]
        assert (await the_hub.info())["state"]["messages"] == 6

    with running(the_hub, a.alone, b.alone):
        run(work())


def test_three_servers_go_on_without_the_one_that_led(tmp_path):
    """What is new comes to the shops again half a minute later: `bench shop`."""
    hub = Hub(tmp_path, [A, B], servers=3)
    a, b = writers = shops_of(hub, A, B)

    async def work():
        await hub.opens(writers)
        await asyncio.gather(a.writes(10), b.writes(10))
        await equal(writers)
        led = await until(hub.leader)
        assert (await led.info())["config"]["num_replicas"] == 3
        led.kill()
        other = await until(hub.leader)
        assert other is not led
        assert (await other.info())["state"]["messages"] == 20
        led.start()

        async def whole():
            found = await (await until(hub.leader)).info()
            return all(each.get("current") for each in found["cluster"]["replicas"])

        await until(whole, 60)
        assert (await led.info())["state"]["messages"] == 20

    with running(*hub.servers, a.alone, b.alone):
        run(work())


def test_a_shop_that_comes_later_gets_all_and_a_stranger_nothing(tmp_path):
    hub = Hub(tmp_path, [A, B])
    (the_hub,) = hub.servers
    a, b = shops_of(hub, A, B)
    keys = {shop.id: shop.key for shop in read(tmp_path / "hub.json").shops}
    certificate = (tmp_path / "hub-1" / "server.crt").read_bytes()

    async def work():
        await hub.opens([a, b])
        await asyncio.gather(a.writes(3), b.writes(3))
        await equal([a, b])
        # The third shop has its files, and the hub doesn't know of it yet.
        made.make(tmp_path, [], [C])
        assert {shop.id: shop.key for shop in read(tmp_path / "hub.json").shops if shop.id in keys} == keys
        assert (tmp_path / "hub-1" / "server.crt").read_bytes() == certificate
        (c,) = [Writer(hub.shop(C, phone), phone) for phone in [their_phones([A, B, C])[C]]]
        c.alone.start()
        opened.append(c.alone)
        await c.alone.make()
        await c.writes(3)
        await asyncio.sleep(1.5)
        assert (await the_hub.info())["state"]["messages"] == 6
        assert len(await every(c.alone)) == 3
        # Now each is told, as its new files say.
        for each in (the_hub, a.alone, b.alone, c.alone):
            each.kill()
        for writer, shop in ((a, A), (b, B)):
            writer.alone = hub.shop(shop, writer.phone)
            opened.append(writer.alone)
        await hub.opens([a, b, c])
        await asyncio.gather(a.writes(3), b.writes(3), c.writes(3))
        assert [len(each) for each in await equal([a, b, c])] == [18, 18, 18]

    opened = [the_hub, a.alone, b.alone]
    try:
        run(work())
    finally:
        with running(*opened):
            pass


def test_secret_keys_are_their_owners_alone_and_the_authoritys_is_nowhere(tmp_path):
    made.make(tmp_path, [Server("hub.example", 7422)], [A, B])
    secret = {path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*") if path.is_file() and stat.S_IMODE(path.stat().st_mode) == 0o600}
    assert secret >= {"hub-1/server.key", f"shop-{A}/leaf.nk", f"shop-{B}/leaf.nk"}
    authority = x509.load_pem_x509_certificate((tmp_path / "ca.crt").read_bytes())
    certificate = x509.load_pem_x509_certificate((tmp_path / "hub-1" / "server.crt").read_bytes())
    certificate.verify_directly_issued_by(authority)
    names = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert names.get_values_for_type(x509.DNSName) == ["hub.example"]
    keys = [path for path in tmp_path.rglob("*") if path.is_file() and b"PRIVATE KEY" in path.read_bytes()]
    assert keys == [tmp_path / "hub-1" / "server.key"]


def test_a_secret_key_is_written_as_the_engine_reads_it():
    """As nkeys have it (github.com/nats-io/nkeys, "Encoded keys"; from memory): SU, and behind two bytes the 32 of the key, then
    their checksum. That the engine takes it, every shop here that comes to the hub shows."""
    key = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
    seed = seed_of(key)
    assert seed.startswith("SU")
    raw = base64.b32decode(seed + "=" * (-len(seed) % 8))
    assert raw[2:34] == bytes(range(32))
    assert binascii.crc_hqx(raw[:-2], 0) == int.from_bytes(raw[-2:], "little")
    assert encoded(key.public_key()) == user_key(key)


@pytest.mark.parametrize(
    ("servers", "shops", "words"),
    [
        ("hub.example,other.example", [A, B], "one server, or three"),
        ("hub.example,hub.example,c.example", [A, B], "same address"),
        ("hub.example", [A], "at least two shops"),
        ("hub.example", [A, A], "at least two shops"),
        ("hub.example", [A, "Shop one"], "no shop's id"),
        ("hub.example:x", [A, B], "no address"),
        ("hub.example/x", [A, B], "no address"),
    ],
)
def test_what_would_join_nothing_is_refused_and_writes_nothing(tmp_path, servers, shops, words):
    with pytest.raises(Refused, match=rf"{words}.*Remedy"):
        made.make(tmp_path / "to", [server(each) for each in servers.split(",")], shops)
    assert not (tmp_path / "to").exists()


def test_more_shops_are_added_where_only_the_facts_are_left(tmp_path):
    made.make(tmp_path, [server("hub.example")], [A, B])
    for folder in ("hub-1", f"shop-{A}", f"shop-{B}"):
        shutil.rmtree(tmp_path / folder)
    facts = made.make(tmp_path, [], [C])
    assert [shop.id for shop in facts.shops] == [A, B, C]
    assert read(tmp_path / "hub-1" / "hub.json") == read(tmp_path / f"shop-{C}" / "hub.json") == facts
    # No new key for who has one, and no new certificate that the others would not know.
    assert {path.name for path in (tmp_path / f"shop-{A}").iterdir()} == {"hub.json", "ca.crt"}
    assert {path.name for path in (tmp_path / "hub-1").iterdir()} == {"hub.json"}


def test_other_servers_for_the_same_files_are_refused(tmp_path):
    made.make(tmp_path, [server("hub.example")], [A, B])
    with pytest.raises(Refused, match="other servers"):
        made.make(tmp_path, [server("other.example")], [C])


def test_a_mailbox_that_was_made_anew_is_noticed_until_the_others_are_told(tmp_path):
    marker = tmp_path / "made"
    assert [made_anew(marker, 0, created=created) for created in (True, False)] == [False, False]
    # Lost, made anew, and started again: it goes on saying so.
    assert [made_anew(marker, 0, created=created) for created in (True, False)] == [True, True]
    # The files were written anew for it and carried.
    assert [made_anew(marker, 1, created=created) for created in (False, False)] == [False, False]
    # And lost once more.
    assert [made_anew(marker, 1, created=created) for created in (True, False)] == [True, True]
    # A shop that had its mailbox before it came to the hub.
    assert [made_anew(tmp_path / "joined", 2, created=created) for created in (False, True)] == [False, True]


def test_a_shop_without_a_hub_is_told_of_none():
    assert "sources" not in engine.stream(A)
    assert engine.stream(A)["max_msg_size"] == limits.MAX_PAYLOAD


def test_the_command_writes_the_files_and_starts_a_server_of_the_hub(tmp_path):
    port = free_port()

    def command(*arguments):
        return subprocess.Popen(
            [sys.executable, str(ROOT / "build.py"), "shop", "hub", *arguments], text=True, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
            env={**os.environ, "TAREWELL_INSIDE_ENV": "test"},
        )  # fmt: skip

    written = command("--to", str(tmp_path), "--shops", f"{A},{B}", "--servers", f"127.0.0.1:{port}")
    said, _ = written.communicate(timeout=60)
    assert written.returncode == 0, said
    for each in ("hub-1", f"shop-{A}", f"shop-{B}", str(port)):
        assert each in said
    serving = command("--data", str(tmp_path / "hub-1"))
    try:
        line = serving.stdout.readline()
        assert line.startswith("The hub's server 1 of 1 is open for 2 shops.")
        with socket.create_connection(("127.0.0.1", port), timeout=10):
            pass
        again = command("--data", str(tmp_path / "hub-1"))
        said, _ = again.communicate(timeout=60)
        assert (again.returncode, "Remedy" in said) == (1, True)
    finally:
        serving.send_signal(signal.SIGINT)
        said, _ = serving.communicate(timeout=60)
    assert serving.returncode == 0
    assert "The hub's server is closed." in said
    with pytest.raises(OSError):
        socket.create_connection(("127.0.0.1", port), timeout=1)
    wrong = command("--data", str(tmp_path / f"shop-{A}"))
    said, _ = wrong.communicate(timeout=60)
    assert (wrong.returncode, "no folder of a hub's server" in said) == (1, True)
