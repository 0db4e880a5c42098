"""One secret, ten minutes, one key, and a person's yes."""

import base64
from datetime import UTC, datetime, timedelta

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from running_shop import user_key

from shop.keys import checksum, is_user_key
from shop.limits import PHONES
from shop.pairing import Ask, Pairing, Turned
from shop.phones import Phone, Phones, tidy_name


class Clock:
    def __init__(self):
        self.now = datetime(2026, 12, 1, 8, tzinfo=UTC)

    def __call__(self):
        return self.now

    def passes(self, **time):
        self.now += timedelta(**time)


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def phones(tmp_path):
    return Phones(tmp_path / "phones.json")


@pytest.fixture
def pairing(phones, clock):
    return Pairing(phones, clock)


def new_key():
    return user_key(Ed25519PrivateKey.generate())


def turned(call, *arguments):
    with pytest.raises(Turned) as found:
        call(*arguments)
    return found.value.key


def test_the_secret_has_160_bits_and_holds_ten_minutes(pairing, clock):
    opened = pairing.open()
    assert len(base64.b32decode(opened.secret.upper())) * 8 == 160
    assert opened.until - clock.now == timedelta(minutes=10)
    clock.passes(minutes=10)
    assert turned(pairing.asked, new_key(), "Ana's phone") == "expired"


def test_one_that_nobody_used_is_given_again_while_half_of_its_time_is_left(pairing, clock):
    first = pairing.open()
    clock.passes(minutes=4)
    assert pairing.open() == first
    clock.passes(minutes=2)
    second = pairing.open()
    assert second.secret != first.secret
    assert second.until - clock.now == timedelta(minutes=10)


def test_the_first_phone_is_the_owners_and_the_next_is_not(pairing, phones):
    for name, owner in (("Ana", True), ("Ben", False)):
        pairing.open()
        ask = pairing.asked(new_key(), name)
        assert isinstance(ask, Ask)
        assert pairing.confirm(ask.id).owner is owner
    assert [phone.name for phone in phones.members] == ["Ana", "Ben"]


def test_the_same_key_asks_the_same_again_and_another_has_come_too_late(pairing):
    pairing.open()
    key = new_key()
    first = pairing.asked(key, "Ana")
    assert pairing.asked(key, "Ana") == first
    assert turned(pairing.asked, new_key(), "Ben") == "expired"
    assert turned(pairing.open) == "waiting"


def test_a_secret_is_used_up_by_a_yes_and_by_a_no(pairing):
    for deed in (pairing.confirm, pairing.refuse):
        pairing.open()
        used = pairing.secret
        deed(pairing.asked(new_key(), "Ana" if deed == pairing.confirm else "Ben").id)
        assert turned(pairing.asked, new_key(), "Cal") == "expired"
        assert pairing.open().secret != used


def test_who_was_let_in_and_lost_the_answer_hears_it_again(pairing, phones):
    pairing.open()
    key = new_key()
    phone = pairing.confirm(pairing.asked(key, "Ana").id)
    found = pairing.asked(key, "Ana")
    assert isinstance(found, Phone)
    assert found == phone
    phones.revoke(phone.device)
    pairing.open()
    assert turned(pairing.asked, key, "Ana") == "refused"


def test_a_name_that_is_taken_leaves_the_secret_as_it_is(pairing):
    pairing.open()
    pairing.confirm(pairing.asked(new_key(), "Ana’s phone").id)
    pairing.open()
    key = new_key()
    assert turned(pairing.asked, key, "  ANA’S   Phone ") == "taken_name"
    assert isinstance(pairing.asked(key, "Ana’s other phone"), Ask)


def test_another_ask_than_the_one_that_waits_is_unknown(pairing, clock):
    assert turned(pairing.confirm, "x") == "unknown"
    pairing.open()
    ask = pairing.asked(new_key(), "Ana")
    assert turned(pairing.refuse, "x") == "unknown"
    clock.passes(minutes=11)
    assert turned(pairing.confirm, ask.id) == "expired"


def test_a_key_that_is_none_never_reaches_the_engine(pairing, phones):
    pairing.open()
    right = new_key()
    flipped = right[:10] + ("A" if right[10] != "A" else "B") + right[11:]
    server = base64.b32encode(raw := bytes([13 << 3]) + bytes(32)).decode()
    for wrong in (None, 7, "", "U", right.lower(), right[:-1], flipped, f"{right} ", server, '"}]}', "U" * 56):
        assert not is_user_key(wrong)
        assert turned(pairing.asked, wrong, "Ana") == "refused"
    assert is_user_key(right)
    assert checksum(raw) != 0


def test_the_checksum_is_that_of_the_catalogue():
    # CRC-16/XMODEM of "123456789" is 0x31C3 (catalogue of parametrised CRC algorithms).
    assert checksum(b"123456789") == 0x31C3


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("Ana’s phone", "Ana’s phone"), ("  two   words ", "two words"), ("\x1b[2Jgone\n", "[2Jgone"), ("José 📱", "José 📱"),
        ("", None), ("  \t", None), ("x" * 41, None), ("\u202eevil", "evil"), (7, None), (None, None),
    ],
)  # fmt: skip
def test_a_name_is_fit_for_a_terminal(typed, shown):
    assert tidy_name(typed) == shown


def test_each_phone_has_a_seat_of_its_own_and_leaves_it_to_another(pairing, phones):
    first, *others = [phones.add(f"KEY{n}", f"phone {n}") for n in range(PHONES)]
    assert len({phone.seat for phone in phones.members}) == PHONES
    assert turned(pairing.open) == "no_seat"
    phones.revoke(first.device)
    pairing.open()
    new = pairing.confirm(pairing.asked(new_key(), "One more").id)
    assert new.seat == first.seat
    assert new.seat not in {phone.seat for phone in others}


def test_phones_are_the_same_after_a_restart(tmp_path):
    file = tmp_path / "phones.json"
    phones = Phones(file)
    ana, ben = phones.add("KEY1", "Ana"), phones.add("KEY2", "Ben")
    phones.make_owner(ben.device)
    phones.revoke(ana.device)
    phones.seen([ben.device], "2026-12-01T08:00:00.000Z")
    again = Phones(file)
    assert again.all == phones.all
    assert [phone.name for phone in again.members] == ["Ben"]
    assert [phone.name for phone in again.owners] == ["Ben"]
    assert again.named("ana") is None
    assert again.named(" BEN ").seen == "2026-12-01T08:00:00.000Z"
    # Where nobody is owner any more, the next one is.
    again.revoke(ben.device)
    assert again.add("KEY3", "Ana").owner
    assert file.stat().st_mode & 0o777 == 0o600


def test_what_cant_be_written_where_the_disk_is_full_holds_nowhere(phones, monkeypatch):
    ana = phones.add(new_key(), "Ana")

    def full(*_):
        raise OSError("No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr("shop.phones.replace_file", full)
        with pytest.raises(OSError, match="No space"):
            phones.revoke(ana.device)
    # It still belongs, and is turned out by the next try.
    assert phones.members == (ana,)
    phones.revoke(ana.device)
    assert phones.members == ()
