"""The mailbox's events as a copy in the app's own format.

Asked of the published schema by a validator from outside (jsonschema), of the digest by Python's own library, and, in
tests/site_js/store/backup_of_mailbox.test.mjs, of the app itself, which takes it in.
"""

import asyncio
import hashlib
import json
import os

import pytest
from jsonschema import Draft202012Validator
from kept_copies import events_of

from pages.copy_schema import copy_schema
from shop import copies
from shop.mailbox import Message

NAME = "rules-3-workshop"


def payload(event):
    return json.dumps(event, ensure_ascii=False).encode()


def write(folder, payloads, **how):
    async def messages():
        for n, each in enumerate(payloads):
            yield Message(f"phone{n % 3}", each)

    folder.mkdir(exist_ok=True)
    spooled = folder / "spool"
    asyncio.run(copies.spool(messages(), spooled))
    done = copies.write(spooled, folder, "shopaaaa", **{"rotate": True, **how})
    spooled.unlink()
    return done


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "copies"


@pytest.fixture(scope="module")
def events():
    """In the order in which phones might send them: not that of their times."""
    return sorted(events_of(NAME), key=lambda event: hashlib.sha256(event["id"].encode()).digest())


def test_it_holds_every_event_once_in_the_order_of_time_and_fits_the_schema(folder, events):
    done = write(folder, [payload(event) for event in (*events, *events[:50])])
    assert (done.outcome, done.records, done.left_out) == ("written", len(events), 0)
    text = done.file.read_text("utf-8")
    held = json.loads(text)
    assert held["events"] == sorted(events, key=lambda event: (event["at"], event["id"]))
    assert held["format"] == "tarewell-records"
    listed = text[text.index("[") : text.rindex("]") + 1]
    assert hashlib.sha256(listed.encode()).hexdigest() == held["sha256"]
    assert [error.message for error in Draft202012Validator(copy_schema()).iter_errors(held)] == []
    assert copies.newest(folder) == (done.file, len(events))
    assert copies.looked_at(folder)
    assert done.file.stat().st_mode & 0o777 == 0o600


def test_what_is_no_record_spoils_nothing_and_is_kept_beside(folder, events):
    other = {**events[0], "local": "2026-12-01T08:00:00-05:00"}
    wrong = [
        b"", b"\xff\xfe", b"{", b"7", b"null", b'"<script>"', payload({"id": "x"}), payload({**events[1], "more": 1}),
        payload({**events[2], "id": "<b>"}), payload({**events[3], "at": "2026-02-31T99:00:00.000Z"}), payload(other),
    ]  # fmt: skip
    done = write(folder, [payload(events[0]), *wrong, *map(payload, events[1:])])
    assert (done.records, done.left_out) == (len(events), len(wrong))
    # What came first under a number stays.
    assert events[0] in json.loads(done.file.read_text("utf-8"))["events"]
    left = [json.loads(line) for line in done.file.with_suffix(".left-out.jsonl").read_text().splitlines()]
    assert len(left) == len(wrong)
    assert json.loads(left[-1]["text"]) == other
    assert {each["from"] for each in left} == {"phone0", "phone1", "phone2"}


def test_a_day_without_anything_new_writes_nothing(folder, events):
    some = [payload(event) for event in events[:20]]
    first = write(folder, some)
    (folder / copies.LOOKED).unlink()
    again = write(folder, [*reversed(some)])
    assert (again.outcome, again.file) == ("same", first.file)
    assert copies.looked_at(folder)


def test_a_mailbox_that_was_lost_takes_no_copys_place(folder, events):
    first = write(folder, [payload(event) for event in events[:30]])
    fewer = write(folder, [payload(event) for event in events[:29]])
    assert (fewer.outcome, fewer.file, fewer.records, fewer.had) == ("fewer", None, 29, 30)
    assert [path.name for path in folder.glob("*.json") if path.name != copies.LOOKED] == [first.file.name]
    # Where it was asked for by hand it is written all the same, and the one that has more is told of.
    by_hand = write(folder, [payload(event) for event in events[:29]], rotate=False)
    assert (by_hand.outcome, by_hand.records, by_hand.had) == ("written", 29, 30)


def test_three_are_kept_and_the_one_with_fewest_records_goes(folder, events):
    for n in range(10, 16):
        write(folder, [payload(event) for event in events[:n]] + [b"nothing"])
    kept = sorted(int(path.stem.rpartition("-")[2]) for path in folder.glob("tarewell-records-*[0-9].json"))
    assert kept == [13, 14, 15]
    assert len([*folder.glob("*.left-out.jsonl")]) == 3
    assert not [path for path in folder.iterdir() if path.name.startswith(".")]


def test_a_mailbox_without_records_gives_none(folder):
    assert write(folder, []).outcome == "empty"
    assert write(folder, [b"nothing"]).outcome == "empty"
    assert copies.newest(folder) is None


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="whoever may do all can write anywhere")
def test_a_folder_that_cant_be_written_says_so(folder, events):
    folder.mkdir()
    folder.chmod(0o500)
    with pytest.raises(OSError):
        write(folder, [payload(events[0])])
