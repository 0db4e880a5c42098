"""Several shops and a hub, on loopback, from the files that `shop hub` writes: what one shop's phones send comes to all."""

import asyncio
import gc
import json
import shutil
import stat

import pytest
from cryptography import x509
from engine_alone import running
from hub_alone import Hub, Writer, equal, every, their_phones
from nats.errors import NoRespondersError
from running_shop import until, user_key

from shop import engine, limits
from shop.hub import made
from shop.hub.facts import Server, read, server
from shop.keys import encoded, seed_of
from shop.refusals import Refused

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


async def open_all(hub, writers):
    for each in hub.servers:
        each.start()
    await hub.servers[0].make()
    for writer in writers:
        writer.alone.start()
        await writer.alone.make()


def test_two_shops_and_a_hub_are_the_same_after_cuts_and_after_each_was_lost(tmp_path):
    hub = Hub(tmp_path, [A, B])
    (the_hub,) = hub.servers
    a, b = writers = shops_of(hub, A, B)

    async def work():
        await open_all(hub, writers)
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
        # The line is cut: both go on alone.
        the_hub.kill()
        await asyncio.gather(a.writes(20), b.writes(20))
        assert len(await every(a.alone)) == 61
        the_hub.start()
        assert [len(each) for each in await equal(writers)] == [81, 81]
        # A shop is down meanwhile.
        b.alone.kill()
        await a.writes(10)
        b.alone.start()
        await b.writes(1)
        assert [len(each) for each in await equal(writers)] == [92, 92]
        # A shop's mailbox is lost, and then the hub's own: all are told, and what comes next is skipped nowhere.
        for lost, folder in ((B, b.alone.run.folder), ("hub", the_hub.folder)):
            for each in (the_hub, a.alone, b.alone):
                each.kill()
            shutil.rmtree(folder / "js")
            made.make(tmp_path, [], [], [lost])
            a.alone, b.alone = hub.shop(A, a.phone), hub.shop(B, b.phone)
            opened.extend((a.alone, b.alone))
            await open_all(hub, writers)
            # As its phones do where they see another `created`.
            if lost == B:
                await b.sends(b.wrote)
            await asyncio.gather(a.writes(5), b.writes(5))
            await equal(writers)

    opened = [the_hub, a.alone, b.alone]
    try:
        run(work(), 300)
    finally:
        with running(*opened):
            pass


def test_neither_can_harm_the_other(tmp_path):
    """By whoever has the hub's own computer, and by whoever has a shop's."""
    hub = Hub(tmp_path, [A, B])
    (the_hub,) = hub.servers
    a, b = writers = shops_of(hub, A, B)

    async def work():
        await open_all(hub, writers)
        await asyncio.gather(a.writes(3), b.writes(3))
        await equal(writers)
        before = await a.alone.asked("STREAM.INFO.EVENTS")
        operator, service = await the_hub.operator(), await b.alone.service()
        for what, told in HARM.items():
            for client, to in ((operator, f"$JS.{A}.API.{what}"), (service, f"$JS.{A}.API.{what}"), (service, f"$JS.hub.API.{what.replace('EVENTS', 'ALL')}")):
                with pytest.raises((NoRespondersError, TimeoutError)):
                    await client.request(to, json.dumps(told).encode(), timeout=0.2)
        heard = []
        reader = await a.alone.phone(a.phone)
        for subject in (a.alone.subjects.all_scales, a.alone.subjects.told, a.alone.subjects.new):
            await reader.subscribe(subject, cb=heard.append)
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
    hub = Hub(tmp_path, [A, B], servers=3)
    a, b = writers = shops_of(hub, A, B)

    async def leads():
        for each in hub.servers:
            if each.process.poll() is None:
                name = (await each.info()).get("cluster", {}).get("leader")
                if name:
                    return hub.servers[int(name.removeprefix("hub-")) - 1]
        return None

    async def work():
        await open_all(hub, writers)
        await asyncio.gather(a.writes(10), b.writes(10))
        await equal(writers)
        led = await until(leads)
        assert (await led.info())["config"]["num_replicas"] == 3
        led.kill()
        await asyncio.gather(a.writes(10), b.writes(10))
        assert [len(each) for each in await equal(writers)] == [40, 40]
        assert await until(leads) is not led
        led.start()

        async def whole():
            found = await (await until(leads)).info()
            return all(each.get("current") for each in found["cluster"]["replicas"]) and found["state"]["messages"] == 40

        await until(whole, 60)

    with running(*hub.servers, a.alone, b.alone):
        run(work())


def test_a_shop_that_comes_later_gets_all_and_a_stranger_nothing(tmp_path):
    hub = Hub(tmp_path, [A, B])
    (the_hub,) = hub.servers
    a, b = shops_of(hub, A, B)
    keys = {shop.id: shop.key for shop in read(tmp_path / "hub.json").shops}
    certificate = (tmp_path / "hub-1" / "server.crt").read_bytes()

    async def work():
        await open_all(hub, [a, b])
        await asyncio.gather(a.writes(3), b.writes(3))
        await equal([a, b])
        # The third shop has its files, and the hub doesn't know of it yet.
        (tmp_path / "hub-1" / "hub.json").rename(tmp_path / "new.json")
        (c,) = [Writer(hub.shop(C, phone), phone) for phone in [their_phones([A, B, C])[C]]]
        c.alone.start()
        opened.append(c.alone)
        await c.alone.make()
        await c.writes(3)
        await asyncio.sleep(1.5)
        assert (await the_hub.info())["state"]["messages"] == 6
        assert len(await every(c.alone)) == 3
        # Now each is told, as its new files say.
        (tmp_path / "new.json").rename(tmp_path / "hub-1" / "hub.json")
        the_hub.kill()
        the_hub.start()
        await the_hub.make()
        for writer, shop in ((a, A), (b, B)):
            writer.alone.kill()
            again = hub.shop(shop, writer.phone)
            writer.alone = again
            opened.append(again.start())
            await again.make()
        await asyncio.gather(a.writes(3), b.writes(3), c.writes(3))
        assert [len(each) for each in await equal([a, b, c])] == [18, 18, 18]

    made.make(tmp_path, [], [C])
    assert {shop.id: shop.key for shop in read(tmp_path / "hub.json").shops if shop.id in keys} == keys
    assert (tmp_path / "hub-1" / "server.crt").read_bytes() == certificate
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


def test_a_key_is_written_as_the_engines_own_tools_write_it():
    """Seed and public key of one user, of the tests of nkeys (github.com/nats-io/nkeys; from memory, checked by the engine's client)."""
    import nkeys

    seed = nkeys.encode_seed(bytes(range(32)), nkeys.PREFIX_BYTE_USER).decode().rstrip("=")
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    key = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
    assert seed_of(key) == seed
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


def test_other_servers_for_the_same_files_are_refused(tmp_path):
    made.make(tmp_path, [server("hub.example")], [A, B])
    with pytest.raises(Refused, match="other servers"):
        made.make(tmp_path, [server("other.example")], [C])


def test_a_shop_without_a_hub_is_told_of_none():
    assert "sources" not in engine.stream(A)
    assert engine.stream(A)["max_msg_size"] == limits.MAX_PAYLOAD
