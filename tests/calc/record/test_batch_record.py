"""The record of a batch: deviations counted as the log counts them, edits that keep both readings, and the balance of its yield."""

import json
from datetime import date
from pathlib import Path

import pytest

from calc.entry.language import speaking
from calc.record.batch_record import batch_record

STORIES = json.loads((Path(__file__).parents[2] / "fixtures" / "stories" / "log.json").read_text(encoding="utf-8"))
TODAY = date(2026, 12, 20)
RECORD = {"code": "QM-1", "blocks": 1, "pours": STORIES["pours"], "issued_by": "J"}


def event(n, kind, room="block", block=1, **fields):
    at = f"2026-11-25T08:00:{n:02}"
    return {"id": f"e{n:02}", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": kind, "person": "Q",
            "subject": f"{room}:QM-1/{block}", **fields}  # fmt: skip


def told(events):
    return [
        event(n, kind, room, **({"asked": STORIES["asked"], "mode": "net", "lot": None} if kind == "weighed" else {}), **fields)
        for n, (kind, room, fields) in enumerate(events, 1)
    ]


@pytest.mark.parametrize("story", STORIES["stories"], ids=lambda story: story["name"])
def test_deviations_are_those_that_the_log_counts(story):
    found = batch_record(RECORD, told(story["events"]), TODAY).deviations
    assert len(found) == story["deviations"]
    for words in story["words"]:
        assert any(words in f"{each.said} {each.decided}" or words.replace("-", " ") in each.said for each in found) or words == "valve stuck"


def test_what_a_sheet_was_issued_in_spite_of_stands_first_and_is_of_no_block():
    (found,) = batch_record(RECORD | {"reason": "low superfat wanted", "local": "2026-11-25T07:00:00+00:00"}, [], TODAY).deviations
    assert (found.block, found.said, found.person) == (0, "low superfat wanted", "J")


def test_an_entry_put_right_keeps_every_value_it_had_who_when_and_why():
    # ISO 22716, 17.3.4: the first entry stays readable; here twice over.
    weighed = event(1, "weighed", step="oil:0", reading="16.52", unit="kg", asked=STORIES["asked"], mode="net", lot=None)
    first = event(2, "corrected", corrects="e01", reading="16.43", unit="kg", reason="misread")
    second = event(3, "corrected", corrects="e01", reading="16.34", unit="kg", reason="digits swapped", person="R")
    edits = batch_record(RECORD, [weighed, first, second], TODAY).edits
    assert [(each.was, each.now, each.reason, each.person) for each in edits] == [
        ("16.52 kg", "16.43 kg", "misread", "Q"), ("16.43 kg", "16.34 kg", "digits swapped", "R"),
    ]  # fmt: skip
    assert edits[0].local == "2026-11-25T08:00:02+00:00"


def test_what_was_taken_back_is_told_as_an_edit_and_counts_no_more():
    released = event(1, "released", "release", values={}, checks=[{"key": "look", "state": "passed"}])
    back = event(2, "release_taken_back", "release", takes="e01", reason="wrong block")
    record = batch_record(RECORD, [released, back], TODAY)
    assert record.blocks[0].decided == ()
    (edit,) = record.edits
    assert (edit.reason, "2026-11-25 08:00" in edit.what) == ("wrong block", True)


def test_release_tells_its_checks_and_the_sample():
    checks = [{"key": "look", "state": "passed"}, {"key": "alkali", "state": "failed"}, {"key": "loss", "state": "passed"}]
    events = [
        event(1, "released", "release", values={}, checks=checks, bars=240, reason="sold as seconds"),
        event(2, "sample_kept", "release", bars=2, place="shelf 3", until="2028-11-25"),
    ]
    released, sample = batch_record(RECORD, events, TODAY).blocks[0].decided
    assert (released.passed, released.asked, released.bars, released.reason) == (2, 3, 240, "sold as seconds")
    assert (sample.bars, sample.place, sample.until) == (2, "shelf 3", "2028-11-25")


def test_a_lot_is_told_with_what_was_entered_of_it_and_only_once():
    entered = {"o-1": {"code": "OLV-1", "supplier": "supplier 1, 2611", "received_on": "2026-10-01", "expires_on": "2027-10-01"}}
    record = RECORD | {"inputs": {"oil_lot": entered, "shop": {}}}
    chosen = event(1, "lots", lots={"oil:0": "OLV-2"})
    lots = batch_record(record, [chosen], TODAY).lots
    assert [(lot.code, lot.supplier, lot.received, lot.expires) for lot in lots] == [
        ("OLV-1", "supplier 1, 2611", "2026-10-01", "2027-10-01"), ("OLV-2", "", "", ""), ("NAO-1", "", "", ""),
    ]  # fmt: skip


def test_a_block_that_no_sheet_planned_is_told_and_an_unbegun_one_is_not_begun():
    record = batch_record(RECORD | {"blocks": 2}, [event(1, "checked", block=3, step="pour")], TODAY)
    assert [block.n for block in record.blocks] == [1, 2, 3]
    assert record.people == ("J", "Q")


def test_words_are_of_the_language_spoken():
    with speaking("es"):
        (found,) = batch_record(RECORD, [event(1, "closed", outcome="quarantined", reason="")], TODAY).deviations
    assert found.what == "Cierre"
