"""What a paired phone may try against the others, on the engine as the shop server configures it.

Each trick is judged by what the mailbox holds afterwards and by what another phone has heard, not by the error alone; and
behind each, the others must still be able to send and read.
"""

import asyncio
import gc
import json
from types import SimpleNamespace

import nats
import pytest
from engine_alone import EngineAlone, Phone, phones, running
from nats.errors import NoRespondersError
from running_shop import gone, until

from shop import engine, limits

# The engine's client leaves a connection that was refused or cut to the collector; `run` has it collected there and then.
pytestmark = pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning")
STREAM = engine.STREAM
# What the engine's own interface would do with the stream, were it asked by who may (docs.nats.io, "JetStream wire API
# reference"; from memory).
API = {
    f"STREAM.PURGE.{STREAM}": {},
    f"STREAM.DELETE.{STREAM}": {},
    f"STREAM.MSG.DELETE.{STREAM}": {"seq": 1},
    f"STREAM.UPDATE.{STREAM}": {"name": STREAM, "subjects": ["tarewell.>"], "max_msgs": 1},
    "STREAM.CREATE.OTHER": {"name": "OTHER", "subjects": ["other.>"]},
    f"CONSUMER.CREATE.{STREAM}": {"stream_name": STREAM, "config": {"ack_policy": "none", "deliver_subject": "tarewell.x"}},
    f"CONSUMER.DURABLE.CREATE.{STREAM}.mine": {"stream_name": STREAM, "config": {"durable_name": "mine"}},
    "ACCOUNT.PURGE.STORE": {},
}


def run(work, within_s=60):
    done = asyncio.run(asyncio.wait_for(work, within_s))
    gc.collect()
    return done


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """The trickster, and two who only want to work."""
    mallory, ana, ben = phones(3)
    alone = EngineAlone(tmp_path_factory.mktemp("engine"), [mallory, ana, ben], secret="s" * 32)
    with running(alone.start()):
        run(alone.make())
        yield SimpleNamespace(alone=alone, mallory=mallory, ana=ana, ben=ben, of=alone.subjects.of, n=0)


async def sent(shop, client: nats.NATS, phone: Phone, payload: bytes, known: str) -> dict:
    subject = shop.alone.subjects.events(phone.device)
    return json.loads((await client.request(subject, payload, headers={"Nats-Msg-Id": known}, timeout=20)).data)


async def none_answers(client: nats.NATS, subject: str, payload: bytes = b"", **how) -> None:
    with pytest.raises((TimeoutError, NoRespondersError)):
        await client.request(subject, payload, timeout=0.1, **how)


# Each trick: what the trickster's client does, which has stored one event of its own, number `seq`.


async def in_anothers_name(shop, client, seq):
    other = shop.alone.subjects.events(shop.ana.device)
    await none_answers(client, other, b"forged", headers={"Nats-Msg-Id": "forged"})
    await none_answers(client, shop.of("events.nobody"), b"forged")
    await none_answers(client, shop.of("events"), b"forged")


async def answers_into_anothers_name(shop, client, seq):
    asked = ({"seq": seq}, {"seq": seq, "batch": 1}, {"last_by_subj": shop.alone.subjects.events(shop.mallory.device)})
    for to in (shop.alone.subjects.events(shop.ana.device), shop.of("events.nobody")):
        for each in asked:
            await client.publish(shop.of("get"), json.dumps(each).encode(), reply=to)
        for service in ("info", "phones", f"deed.{shop.mallory.device}"):
            await client.publish(shop.of(service), b"forged", reply=to)


async def answers_to_everybody(shop, client, seq):
    """Its own event as a reading of the scale, as news, and as an answer to somebody else's question."""
    for to in (shop.of("scale.bench"), shop.of("told"), shop.of("new"), f"_INBOX.{shop.ana.device}.abc", f"_INBOX.{shop.ana.device}"):
        for asked in ({"seq": seq}, {"seq": seq, "batch": 1}):
            await client.publish(shop.of("get"), json.dumps(asked).encode(), reply=to)
        await client.publish(shop.of("info"), b"", reply=to)


async def speaks_for_the_server(shop, client, seq):
    for subject in ("scale.bench", "told", "new", "control", "join"):
        await none_answers(client, shop.of(subject), b"forged")
    await none_answers(client, f"_INBOX.{shop.ana.device}.abc", b"forged")


async def listens_to_others(shop, client, seq):
    subjects = (">", "*.*.*.*", "tarewell.>", shop.of("events.*"), shop.of("deed.*"), "_INBOX.>", f"_INBOX.{shop.ben.device}.>", "$SYS.>", "$JS.>", shop.of("join"))
    await _hears_nothing(shop, client, subjects)


async def _hears_nothing(shop, client, subjects):
    heard = []

    async def hear(message):
        heard.append(message.subject)

    for subject in subjects:
        await client.subscribe(subject, cb=hear)
    await client.flush()
    other = await shop.alone.phone(shop.ben)
    shop.n += 1
    assert "seq" in await sent(shop, other, shop.ben, b"heard", f"heard-{shop.n}")
    await other.request(shop.of("info"), timeout=10)
    await other.close()
    await client.flush()
    assert heard == []


async def the_engines_own_interface(shop, client, seq):
    for api, told in API.items():
        for prefix in ("$JS.API", f"$JS.{shop.alone.run.shop}.API"):
            await none_answers(client, f"{prefix}.{api}", json.dumps(told).encode())
    for told in API.values():
        # By the two names it has for what it may ask.
        for asked in ("info", "get"):
            await client.publish(shop.of(asked), json.dumps(told).encode(), reply=client.new_inbox())


async def the_engines_system(shop, client, seq):
    for subject in ("$SYS.REQ.SERVER.PING", "$SYS.REQ.SERVER.PING.CONNZ", "$SYS.REQ.ACCOUNT.PING.CONNZ", f"$SYS.REQ.ACCOUNT.{engine.account(1)}.CONNZ"):
        await none_answers(client, subject)


async def too_large(shop, client, seq):
    """The engine cuts who sends more than it said it takes; nothing is kept of it, and the phone may come again."""
    client._max_payload = 4 * limits.MAX_PAYLOAD
    await client.publish(shop.alone.subjects.events(shop.mallory.device), b"x" * (limits.MAX_PAYLOAD + 1), reply=client.new_inbox())
    await gone(client)


async def rolls_up(shop, client, seq):
    """What would take all older messages away, were the stream to allow it."""
    subject = shop.alone.subjects.events(shop.mallory.device)
    for what in ("all", "sub"):
        answer = await client.request(subject, b"roll", headers={"Nats-Rollup": what, "Nats-Msg-Id": what}, timeout=10)
        assert "error" in json.loads(answer.data)


async def holds_all_connections(shop, client, seq):
    held = []
    with pytest.raises(Exception, match="maximum account active connections exceeded"):
        for _ in range(limits.CONNECTIONS_EACH + 1):
            held.append(await shop.alone.phone(shop.mallory))
    for each in held:
        await each.close()


async def listens_to_thousands(shop, client, seq):
    """To what it may, but so often that it would cost the engine's memory. The engine's client ends at the refusal."""
    for n in range(10 * limits.SUBSCRIPTIONS):
        await client.subscribe(f"_INBOX.{shop.mallory.device}.{n}")
    assert await shop.alone.subscriptions(shop.mallory) <= limits.SUBSCRIPTIONS


TRICKS = [
    in_anothers_name, answers_into_anothers_name, answers_to_everybody, speaks_for_the_server, listens_to_others,
    the_engines_own_interface, the_engines_system, rolls_up, holds_all_connections, listens_to_thousands, too_large,
]  # fmt: skip


@pytest.mark.parametrize("trick", TRICKS, ids=lambda trick: trick.__name__)
def test_none_works_and_the_others_go_on(shop, trick):
    async def work():
        shop.n += 1
        client = await shop.alone.phone(shop.mallory)
        own = b'{"count":"12.34","status":"stable"}'
        seq = (await sent(shop, client, shop.mallory, own, f"own-{shop.n}"))["seq"]
        before, config = await shop.alone.held(), await shop.alone.asked(f"STREAM.INFO.{STREAM}")
        heard = []

        async def hear(message):
            heard.append((message.subject, message.data))

        async with await shop.alone.phone(shop.ana) as ana:
            for subject in (shop.of("new"), shop.of("told"), shop.of("scale.*"), f"_INBOX.{shop.ana.device}.>"):
                await ana.subscribe(subject, cb=hear)
            await ana.flush()
            await trick(shop, client, seq)
            if client.is_connected:
                await client.flush()
            await client.close()
            await asyncio.sleep(0.05)
            # News has no content.
            assert {(subject, data) for subject, data in heard} <= {(shop.of("new"), b"")}
            held = await shop.alone.held()
            assert held[: len(before)] == before
            assert {(each.device, each.payload) for each in held[len(before) :]} <= {(shop.ben.device, b"heard")}
            after = await shop.alone.asked(f"STREAM.INFO.{STREAM}")
            assert (after["config"], after["created"]) == (config["config"], config["created"])
            assert after["state"]["consumer_count"] == 0
            assert (await shop.alone.asked("STREAM.NAMES"))["streams"] == [STREAM]
            answer = await sent(shop, ana, shop.ana, b"work", f"work-{shop.n}")
            assert answer == {"stream": STREAM, "seq": len(held) + 1}
            read = await ana.request(shop.of("get"), json.dumps({"seq": answer["seq"]}).encode(), timeout=10)
            assert read.data == b"work"

    run(work())


def test_an_event_of_another_content_under_a_known_number_hides_no_other(shop):
    """Phones send each under its number and a digest of its content (`Nats-Msg-Id`); both then lie in the mailbox."""

    async def work():
        client, ana = await shop.alone.phone(shop.mallory), await shop.alone.phone(shop.ana)
        first = await sent(shop, client, shop.mallory, b'{"id":"e","lie":1}', "e.1111111111111111")
        second = await sent(shop, ana, shop.ana, b'{"id":"e"}', "e.2222222222222222")
        assert "duplicate" not in {**first, **second}
        again = await sent(shop, ana, shop.ana, b'{"id":"e"}', "e.2222222222222222")
        assert again["duplicate"]
        held = (await shop.alone.held())[-2:]
        assert [(each.device, each.payload) for each in held] == [(shop.mallory.device, b'{"id":"e","lie":1}'), (shop.ana.device, b'{"id":"e"}')]
        await client.close()
        await ana.close()

    run(work())


def test_who_comes_to_be_paired_may_ask_that_and_nothing_else(shop):
    async def work():
        before = await shop.alone.held()
        client = await shop.alone.joins("s" * 32)
        await _hears_nothing(shop, client, (">", "tarewell.>", shop.of("new"), shop.of("join"), "_INBOX.>", f"_INBOX.{shop.ben.device}.>"))
        for subject in (shop.alone.subjects.events(shop.ana.device), *map(shop.of, ("info", "get", "phones", "deed.x", "told", "control", "scale.x"))):
            await none_answers(client, subject, b"forged")
        for api, told in API.items():
            await none_answers(client, f"$JS.API.{api}", json.dumps(told).encode())
        assert [each.payload for each in (await shop.alone.held())[len(before) :]] == [b"heard"]
        await client.close()

    run(work())


@pytest.mark.parametrize("secret", ["", "t" * 32, "s" * 31])
def test_a_secret_that_is_not_the_one_is_no_way_in(shop, secret):
    with pytest.raises(Exception, match="Authorization Violation"):
        run(shop.alone.joins(secret))


def test_a_key_that_does_not_belong_is_no_way_in(shop):
    with pytest.raises(Exception, match="Authorization Violation"):
        run(shop.alone.phone(Phone(shop.ana.device, 1)))


def test_a_full_phone_leaves_the_others_their_room(tmp_path, monkeypatch):
    """With room for five, where the shop has more; what a phone may keep is its own, and nothing older goes for it."""
    monkeypatch.setattr(limits, "EVENTS_PER_PHONE", 5)
    mallory, ana = phones(2)
    alone = EngineAlone(tmp_path, [mallory, ana])
    small = SimpleNamespace(alone=alone)

    async def work():
        await alone.make()
        client, other = await alone.phone(mallory), await alone.phone(ana)
        answers = [await sent(small, client, mallory, b"%d" % n, f"m{n}") for n in range(8)]
        assert [answer.get("error", {}).get("description") for answer in answers] == [None] * 5 + ["maximum messages per subject exceeded"] * 3
        for n in range(5):
            assert "seq" in await sent(small, other, ana, b"%d" % n, f"a{n}")
        held = await alone.held()
        for phone in (mallory, ana):
            assert [each.payload for each in held if each.device == phone.device] == [b"0", b"1", b"2", b"3", b"4"]
        await client.close()
        await other.close()

    with running(alone.start()):
        run(work())


def test_a_mailbox_that_was_lost_is_known_by_its_date(tmp_path):
    """What a phone goes by when it sends everything again: `created` of what it may ask, and the last number."""
    (ana,) = phones(1)
    alone = EngineAlone(tmp_path, [ana])
    small = SimpleNamespace(alone=alone)

    async def told(*events):
        await alone.make()
        client = await alone.phone(ana)
        for event in events:
            await sent(small, client, ana, event, event.decode())
        info = json.loads((await client.request(alone.subjects.info, timeout=10)).data)
        await client.close()
        return info["created"], info["state"]["last_seq"]

    with running(alone.start()):
        first = run(told(b"a", b"b"))
        alone.kill()
        alone.start()
        assert run(told()) == first
        alone.kill()
        (tmp_path / "js").rename(tmp_path / "lost")
        alone.start()
        created, last = run(told(b"a"))
        assert (created != first[0], last) == (True, 1)


def test_a_phone_that_comes_by_a_reload_has_all_that_the_others_have(shop):
    """To an account that a reload adds the engine lets nobody answer: the seats stand there from the start."""

    async def work():
        late = phones(4)[3]
        ana = await shop.alone.phone(shop.ana)
        shop.alone.members.append(late)
        await shop.alone.reload()
        client = await until(lambda: _let_in(shop, late))
        assert "config" in json.loads((await client.request(shop.of("info"), timeout=10)).data)
        assert "seq" in await sent(shop, client, late, b"late", "late")
        shop.alone.members.remove(late)
        await shop.alone.reload()
        await gone(client)
        assert ana.is_connected
        await ana.close()

    run(work())


async def _let_in(shop, phone):
    try:
        return await shop.alone.phone(phone)
    except nats.errors.Error:
        return None
