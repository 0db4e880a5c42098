"""The server as it is started: phones come, are let in, send, read and are turned out; it ends without a trace and goes on.

The tests of this file stand in the order in which a shop lives, on one server.
"""

import asyncio
import gc
import http.client
import json
import os
import signal
import socket
import ssl
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from nats.errors import NoRespondersError
from running_shop import Running, body, gone, until, user_key

from offline.policy import HEADERS
from shop import limits
from shop.lock import locked
from shop.trust_page import CERTIFICATE

# The engine's client leaves a connection that was refused or cut to the collector; `run` has it collected there and then.
pytestmark = pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning")
PHONES = {}


def run(work):
    done = asyncio.run(asyncio.wait_for(work, 60))
    gc.collect()
    return done


def https(server, path, **headers):
    """By a client that trusts the shop's authority alone, at its name."""
    trusting = ssl.create_default_context(cafile=str(server.data / "ca" / "root.crt"))
    with socket.create_connection(("127.0.0.1", server.port), timeout=10) as plain:
        connection = http.client.HTTPConnection("tarewell.local", server.port)
        connection.sock = trusting.wrap_socket(plain, server_hostname="tarewell.local")
        connection.request("GET", path, headers=headers)
        answer = connection.getresponse()
        # What was switched over to the engine has no end.
        body = b"" if answer.status == 101 else answer.read()
        connection.close()
        return answer, body


def event(n, device="d"):
    """As phones send them; the mailbox doesn't look into it."""
    return body(id=f"e-{device}-{n}", n=n)


async def sent(server, phone, device, payload, number):
    answer = await phone.request(server.subject(f"events.{device}"), payload, headers={"Nats-Msg-Id": number}, timeout=10)
    return json.loads(answer.data)


def test_an_empty_folder_gets_a_shop_of_its_own(server):
    assert {path.name for path in server.data.iterdir()} >= {"shop.json", "ca", "engine", "caddy", "trust", "control.json"}
    shop = json.loads((server.data / "shop.json").read_text())
    assert (shop["name"], shop["port"]) == ("tarewell.local", server.port)
    for secret in ("control.json", "ca/int.key", "engine/engine.conf", "shop.json"):
        assert (server.data / secret).stat().st_mode & 0o077 == 0


def test_the_door_serves_the_app_with_the_headers_of_every_host(server):
    answer, page = https(server, "/")
    assert (answer.status, page) == (200, b"first page")
    for name, value in HEADERS.items():
        assert answer.getheader(name) == value
    assert answer.getheader("Cache-Control") == "no-cache"
    kinds = {path: https(server, path)[0].getheader("Content-Type") for path in ("/workshop/", "/page.mjs", "/app.webmanifest")}
    assert kinds == {
        "/workshop/": "text/html; charset=utf-8",
        "/page.mjs": "text/javascript; charset=utf-8",
        "/app.webmanifest": "application/manifest+json",
    }
    for path in ("/_headers", "/nothing", "/sync/", "/sync/mqtt", "/../ca/int.key", "/%2e%2e/ca/int.key"):
        assert https(server, path)[0].status in (400, 404), path
    deep, _ = https(server, "/workshop/nothing", Accept="text/html")
    assert (deep.status, deep.getheader("Location")) == (302, "/404.html")


def test_the_shop_says_who_it_is(server):
    answer, told = https(server, "/shop.json")
    assert json.loads(told) == {"shop": server.shop, "name": "tarewell.local"}
    assert answer.getheader("Cache-Control") == "no-store"


def test_the_way_to_the_engine_is_open_to_the_apps_own_pages_only(server):
    opening = {"Upgrade": "websocket", "Connection": "Upgrade", "Sec-WebSocket-Version": "13", "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ=="}
    answer, _ = https(server, "/sync", Origin=f"https://tarewell.local:{server.port}", **opening)
    # RFC 6455, 1.3: what a server answers to this key.
    assert (answer.status, answer.getheader("Sec-WebSocket-Accept")) == (101, "s3pPLMBiTxaQ9kYGzzhZRbK+xOo=")
    assert https(server, "/sync", Origin="https://elsewhere.example", **opening)[0].status == 403


def test_no_other_name_gets_a_certificate(server):
    trusting = ssl.create_default_context(cafile=str(server.data / "ca" / "root.crt"))
    for name in ("elsewhere.example", "127.0.0.1"):
        with socket.create_connection(("127.0.0.1", server.port), timeout=10) as plain, pytest.raises(ssl.SSLError):
            trusting.wrap_socket(plain, server_hostname=name)


def test_nothing_but_the_door_listens_beyond_this_computer(server):
    """As Linux lists what listens (proc_net(5), state 0A)."""
    inodes = set()
    for process in server.children():
        for descriptor in os.listdir(f"/proc/{process}/fd"):
            try:
                inodes.add(os.readlink(f"/proc/{process}/fd/{descriptor}").removeprefix("socket:[").removesuffix("]"))
            except OSError:
                pass
    open_to_all, own = set(), set()
    for table in ("tcp", "tcp6"):
        for line in Path(f"/proc/net/{table}").read_text().splitlines()[1:]:
            place, state, inode = (line.split()[n] for n in (1, 3, 9))
            address, port = place.split(":")
            if state == "0A" and inode in inodes:
                (own if address == "0100007F" else open_to_all).add(int(port, 16))
    assert open_to_all == {server.port, server.trust_port}
    assert server.engine_port in own
    assert len(own) == 2


def test_how_to_trust_it_is_told_without_a_certificate(server):
    def get(path):
        connection = http.client.HTTPConnection("127.0.0.1", server.trust_port, timeout=10)
        connection.request("GET", path)
        answer = connection.getresponse()
        body = answer.read()
        connection.close()
        return answer, body

    answer, certificate = get(f"/{CERTIFICATE}")
    assert answer.getheader("Content-Type") == "application/x-x509-ca-cert"
    assert certificate == ssl.PEM_cert_to_DER_cert((server.data / "ca" / "root.crt").read_text())
    for path in ("/", "/es.html"):
        answer, page = get(path)
        assert answer.status == 200
        assert CERTIFICATE in page.decode()
        assert "script-src" not in answer.getheader("Content-Security-Policy")
    assert get("/int.key")[0].status == 404


def test_the_first_phone_is_let_in_at_the_terminal_and_is_the_owners(server):
    async def work():
        key, answer = await server.paired("Ana’s phone")
        assert answer == {"device": answer["device"], "shop": server.shop, "name": "Ana’s phone"}
        assert len(answer["device"]) == 10
        PHONES["ana"] = (key, answer["device"])
        (listed,) = (await server.asked(do="status"))["phones"]
        assert (listed["name"], listed["owner"], listed["revoked"]) == ("Ana’s phone", True, None)

    run(work())


def test_a_secret_is_no_way_in_any_more_once_it_was_used_or_made_up(server):
    async def work():
        opened = await server.asked(do="pair")
        with pytest.raises(Exception, match="Authorization Violation"):
            await server.join("x" * 32)
        joining = await server.join(opened["secret"])
        key = user_key(Ed25519PrivateKey.generate())
        asking = asyncio.ensure_future(joining.request(server.subject("join"), body(key=key, name="Nobody"), timeout=30))
        ask = await server.waiting()
        assert (await server.asked(do="refuse", ask=ask["ask"]))["ok"]
        assert json.loads((await asking).data) == {"refused": "refused"}
        await gone(joining)
        with pytest.raises(Exception, match="Authorization Violation"):
            await server.join(opened["secret"])

    run(work())


def test_who_comes_to_be_paired_can_do_nothing_else(server):
    async def work():
        joining = await server.join((await server.asked(do="pair"))["secret"])
        heard = []

        async def hear(message):
            heard.append(message)

        await joining.subscribe("tarewell.>", cb=hear)
        await joining.subscribe("_INBOX.>", cb=hear)
        for subject in ("phones", "info", "deed.x", "events.x", "control", "get"):
            with pytest.raises((TimeoutError, NoRespondersError)):
                await joining.request(server.subject(subject), b"{}", timeout=0.2)
        assert heard == []
        taken = await joining.request(server.subject("join"), body(key=user_key(Ed25519PrivateKey.generate()), name="ANA’S phone"))
        assert json.loads(taken.data) == {"refused": "taken_name"}
        await joining.close()

    run(work())


def test_an_owners_phone_lets_another_in(server):
    async def work():
        ana, device = PHONES["ana"]
        phone = await server.phone(ana, device)
        told = asyncio.Event()

        async def tell(_message):
            told.set()

        await phone.subscribe(server.subject("told"), cb=tell)
        opened = json.loads((await phone.request(server.subject(f"deed.{device}"), body(do="pair"), timeout=10)).data)
        assert opened["address"] == f"https://tarewell.local:{server.port}/workshop/phones/#join={opened['secret']}"
        assert opened["until"].endswith("Z")
        joining = await server.join(opened["secret"])
        key = Ed25519PrivateKey.generate()
        asking = asyncio.ensure_future(joining.request(server.subject("join"), body(key=user_key(key), name="Ben"), timeout=30))
        await server.waiting()
        told.clear()
        listed = json.loads((await phone.request(server.subject("phones"), b"", timeout=10)).data)
        (ask,) = listed["joining"]
        assert ask["name"] == "Ben"
        again = json.loads((await phone.request(server.subject(f"deed.{device}"), body(do="pair"), timeout=10)).data)
        assert again == {"refused": "waiting"}
        done = json.loads((await phone.request(server.subject(f"deed.{device}"), body(do="confirm", ask=ask["ask"]), timeout=10)).data)
        assert done["ok"]
        answer = json.loads((await asking).data)
        assert answer["device"] == done["device"]
        PHONES["ben"] = (key, answer["device"])
        await asyncio.wait_for(told.wait(), 10)
        # One whose answer was lost on the way asks again, and hears the same.
        again = await joining.request(server.subject("join"), body(key=user_key(key), name="Ben"), timeout=10)
        assert json.loads(again.data) == answer
        second = await server.phone(key, answer["device"])
        await gone(joining)
        await second.close()
        # Letting one in drops nobody who is there.
        assert phone.is_connected
        listed = json.loads((await phone.request(server.subject("phones"), b"", timeout=10)).data)
        assert {each["name"]: each["owner"] for each in listed["phones"]} == {"Ana’s phone": True, "Ben": False}

        async def who_is_there():
            listed = json.loads((await phone.request(server.subject("phones"), b"", timeout=10)).data)["phones"]
            return [each["name"] for each in listed if each["connected"]] == ["Ana’s phone"]

        await until(who_is_there)
        await phone.close()

    run(work())


def test_what_one_phone_sends_the_other_hears_of_and_reads(server):
    async def work():
        (ana, a), (ben, b) = PHONES["ana"], PHONES["ben"]
        first, second = await server.phone(ana, a), await server.phone(ben, b)
        new = asyncio.Queue()
        await second.subscribe(server.subject("new"), cb=new.put)
        await second.flush()
        assert (await sent(server, first, a, event(1), "e-1.aa"))["seq"] == 1
        told = await asyncio.wait_for(new.get(), 10)
        assert told.data == b""
        assert (await sent(server, first, a, event(1), "e-1.aa"))["duplicate"]
        for n in range(2, 30):
            await sent(server, first, a, event(n), f"e-{n}.aa")
        inbox = second.new_inbox()
        heard = await second.subscribe(inbox)
        asked = {"seq": 1, "batch": 400, "max_bytes": 1_000_000, "next_by_subj": server.subject("events.*")}
        await second.publish(server.subject("get"), json.dumps(asked).encode(), reply=inbox)
        read = [await heard.next_msg(timeout=10) for _ in range(29)]
        assert [json.loads(message.data)["n"] for message in read] == list(range(1, 30))
        end = await heard.next_msg(timeout=10)
        assert end.headers["Nats-Num-Pending"] == "0"
        info = json.loads((await second.request(server.subject("info"), b"", timeout=10)).data)
        assert info["state"]["last_seq"] == 29
        assert info["config"]["max_msg_size"] == second.max_payload == limits.MAX_PAYLOAD
        await first.close()
        await second.close()

    run(work())


def test_a_phone_speaks_in_no_other_name_and_does_no_owners_deed(server):
    async def work():
        (_, a), (ben, b) = PHONES["ana"], PHONES["ben"]
        phone = await server.phone(ben, b)
        for subject in (f"events.{a}", f"deed.{a}", "control", "join", "told", "new"):
            with pytest.raises((TimeoutError, NoRespondersError)):
                await phone.request(server.subject(subject), event(99), timeout=0.2)
        for deed in ({"do": "pair"}, {"do": "confirm", "ask": "x"}, {"do": "revoke", "device": a}, {"do": "owner", "device": b}):
            answer = await phone.request(server.subject(f"deed.{b}"), body(**deed), timeout=10)
            assert json.loads(answer.data) == {"refused": "not_owner"}
        for nonsense in (b"", b"[]", b"\xff", b"7", b'{"do": {"x": []}}'):
            answer = await phone.request(server.subject(f"deed.{b}"), nonsense, timeout=10)
            assert json.loads(answer.data)["refused"] in ("not_owner", "unknown")
        assert (await server.asked(do="status"))["events"] == 29
        await phone.close()

    run(work())


def test_an_answer_asked_for_on_another_subject_does_no_deed_there(server):
    """The engine checks where a phone publishes, not where it wants its answer: what it sent itself could come back as a deed."""

    async def work():
        (_, a), (ben, b) = PHONES["ana"], PHONES["ben"]
        phone = await server.phone(ben, b)
        before = await server.asked(do="status")
        deed = body(do="owner", device=b)
        seq = (await sent(server, phone, b, deed, "deed.aa"))["seq"]
        for to in (f"deed.{a}", f"events.{a}", "control", "join", "told", "phones"):
            for asked in ({"seq": seq}, {"seq": seq, "batch": 1}, {"last_by_subj": server.subject(f"events.{b}")}):
                await phone.publish(server.subject("get"), body(**asked), reply=server.subject(to))
            for service in ("info", "phones", f"events.{b}", f"deed.{b}"):
                await phone.publish(server.subject(service), deed, reply=server.subject(to))
        await phone.flush()
        await asyncio.sleep(0.5)
        after = await server.asked(do="status")
        assert [each["owner"] for each in after["phones"]] == [each["owner"] for each in before["phones"]] == [True, False]
        # Its own events alone have come in besides, in its own name.
        inbox = phone.new_inbox()
        heard = await phone.subscribe(inbox)
        await phone.publish(server.subject("get"), body(seq=seq, batch=100), reply=inbox)
        froms = set()
        while "Nats-Sequence" in ((message := await heard.next_msg(timeout=10)).headers or {}):
            froms.add(message.headers["Nats-Subject"])
        assert froms == {server.subject(f"events.{b}")}
        await phone.close()

    run(work())


def test_status_tells_all_a_person_asks(server):
    code, said = server.command("status")
    assert code == 0
    for words in (
        f"https://tarewell.local:{server.port}/ is open. The shop's id: {server.shop}", "Phones: 2", "Ana’s phone (", ", owner: last seen just now", "Ben (",
        "Records in the mailbox:", "On the disk:", "Free:", "No copy yet",
    ):  # fmt: skip
        assert words in said, said


def test_a_command_pairs_by_a_typed_yes(server):
    async def work():
        code = asyncio.ensure_future(asyncio.to_thread(server.command, "pair", typed="y\n"))
        joining = await server.joining()
        key = Ed25519PrivateKey.generate()
        answer = await joining.request(server.subject("join"), body(key=user_key(key), name="Cal"), timeout=30)
        PHONES["cal"] = (key, json.loads(answer.data)["device"])
        phone = await server.phone(*PHONES["cal"])
        done, said = await code
        assert done == 0
        assert "#join=" in said
        assert "“Cal” is in." in said
        await gone(joining)
        await phone.close()

    run(work())


def test_a_person_at_the_servers_own_terminal_pairs_too(server):
    async def work():
        server.types("p\n")
        joining = await server.joining()
        key = Ed25519PrivateKey.generate()
        asking = asyncio.ensure_future(joining.request(server.subject("join"), body(key=user_key(key), name="Eve"), timeout=30))
        await server.waiting()
        for typed in ("what?\n", "y\n"):
            server.types(typed)
        phone = await server.phone(key, json.loads((await asking).data)["device"])
        await gone(joining)
        server.types("p\n")
        joining = await server.joining()
        asking = asyncio.ensure_future(joining.request(server.subject("join"), body(key=user_key(Ed25519PrivateKey.generate()), name="Mal"), timeout=30))
        await server.waiting()
        server.types("n\n")
        assert json.loads((await asking).data) == {"refused": "refused"}
        await gone(joining)
        await phone.close()
        assert (await server.asked(do="revoke", name="Eve"))["ok"]

    run(work())


def test_who_is_turned_out_is_cut_at_once_and_comes_in_no_more(server):
    async def work():
        (ana, a), (ben, b), (cal, c) = PHONES["ana"], PHONES["ben"], PHONES["cal"]
        owner, first, second = await server.phone(ana, a), await server.phone(ben, b), await server.phone(cal, c)
        done = json.loads((await owner.request(server.subject(f"deed.{a}"), body(do="revoke", device=b), timeout=10)).data)
        assert done["ok"]
        await gone(first, within_s=5)
        with pytest.raises(Exception, match="Authorization Violation"):
            await server.phone(ben, b)
        assert owner.is_connected
        # The only owner doesn't leave the others without one.
        last = json.loads((await owner.request(server.subject(f"deed.{a}"), body(do="revoke", device=a), timeout=10)).data)
        assert last == {"refused": "last_owner"}
        unknown = json.loads((await owner.request(server.subject(f"deed.{a}"), body(do="revoke", device=b), timeout=10)).data)
        assert unknown == {"refused": "unknown"}
        # Everyone may leave.
        left = json.loads((await second.request(server.subject(f"deed.{c}"), body(do="revoke", device=c), timeout=10)).data)
        assert left["ok"]
        await gone(second, within_s=5)
        listed = json.loads((await owner.request(server.subject("phones"), b"", timeout=10)).data)["phones"]
        assert [each["name"] for each in listed if each["revoked"]] == ["Ben", "Cal", "Eve"]
        await owner.close()

    run(work())


def test_a_command_turns_a_phone_out_by_its_name(server):
    run(server.paired("Dee"))
    code, said = server.command("revoke", "dee")
    assert (code, said.startswith("“Dee” is turned out. It's cut off now")) == (0, True)
    code, said = server.command("revoke", "Nobody’s")
    assert code == 1
    assert "Remedy" in said


def test_a_second_server_over_the_same_folder_is_refused(server):
    again = Running(server.data, server.site, server.port, server.trust_port)
    with pytest.raises(AssertionError, match=r"Port \d+ can't be used.*Is this shop's server running already"):
        # The control file is the first one's.
        control = (server.data / "control.json").rename(server.data / "aside")
        try:
            again.start()
        finally:
            control.rename(server.data / "control.json")


@pytest.mark.parametrize("by", [signal.SIGINT, signal.SIGTERM])
def test_its_end_leaves_no_process_and_the_next_start_goes_on(server, by):
    """On another port for the page of trust, as a second start may have it."""
    shop, root = server.shop, (server.data / "ca" / "root.crt").read_bytes()
    started = server.children()
    assert len(started) == 2
    code, said = server.end(by)
    assert code == 0
    assert "The shop is open at" in said
    assert "The shop is closed." in said
    if by == signal.SIGINT:
        for words in ("A phone called “Eve” asks to come in. Let it in? y or n", "“Eve” is in.", "“Mal” was turned away"):
            assert words in said
    assert not any(os.path.exists(f"/proc/{process}") for process in started)
    assert not (server.data / "control.json").exists()
    code, said = server.command("status")
    assert code == 0
    assert "is closed" in said
    server.start()
    assert (server.shop, (server.data / "ca" / "root.crt").read_bytes()) == (shop, root)

    async def work():
        key, device = PHONES["ana"]
        phone = await server.phone(key, device)
        info = json.loads((await phone.request(server.subject("info"), b"", timeout=10)).data)
        assert info["state"]["last_seq"] >= 29
        await phone.close()

    run(work())


def test_where_one_program_ends_all_do_and_it_says_which(server):
    engine = next(process for process in server.children() if b"nats-server" in Path(f"/proc/{process}/cmdline").read_bytes())
    started = server.children()
    os.kill(engine, signal.SIGKILL)
    said = server.gone()
    assert server.process.returncode == 1
    assert "The engine ended by itself" in said
    assert not any(os.path.exists(f"/proc/{process}") for process in started)


def test_a_server_that_is_killed_takes_its_programs_along(server):
    server.start()
    started = server.children()
    server.process.kill()
    server.gone()

    async def ended():
        return not any(os.path.exists(f"/proc/{process}") for process in started)

    run(until(ended, 20))


def test_a_server_that_only_starts_and_answers_nobody_has_no_phone_turned_out_behind_its_back(server):
    before = (server.data / "phones.json").read_bytes()
    # It has its mailbox from the first on, and answers once all of it runs.
    with locked(server.data / "engine"):
        code, said = server.command("revoke", "Ana’s phone")
    assert code == 1
    assert "end the shop server that runs" in said
    assert (server.data / "phones.json").read_bytes() == before


def test_a_closed_shop_turns_a_phone_out_too(server):
    code, said = server.command("revoke", "Ana’s phone")
    assert code == 0
    assert "It won't get in once the shop is open again" in said
    assert "No phone is the owner's now." in said
    code, said = server.command("pair")
    assert code == 1
    assert "Remedy: python3 build.py shop" in said
