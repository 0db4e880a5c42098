"""Batch codes, the reason that a risky sheet needs, and what a record freezes."""

import json
from datetime import datetime

import pytest
from workshops import order, setting

from calc.batch_order import Issue
from calc.batch_sheet import batch_sheet
from calc.problems import InputProblems
from calc.record import batch_code, issued_record, may_be_issued, next_batch_code, reference_digest

NOW = datetime.fromisoformat("2026-11-25T23:30:00-05:00")


def test_code_is_prefix_local_date_and_the_first_free_number():
    assert next_batch_code("QM", NOW, ()) == "QM-261125-1"
    assert next_batch_code("QM", NOW, ("QM-261125-1", "QM-261125-3")) == "QM-261125-2"


@pytest.mark.parametrize(
    ("typed", "code"), [("QM-261125-1", "code-taken"), ("a/b", "code-characters"), ("ä", "code-characters")]
)
def test_code_that_cannot_stand_is_refused(typed, code):
    with pytest.raises(InputProblems) as found:
        batch_code(Issue(issued_by="Q", code=typed), "QM", NOW, ("QM-261125-1",))
    assert (found.value.problems[0].field, found.value.problems[0].code) == ("code", code)


def test_risky_sheet_needs_a_written_reason():
    sheet = batch_sheet(order(), setting({"superfat_fraction": 0.02}))
    with pytest.raises(InputProblems) as found:
        may_be_issued(sheet, Issue(issued_by="Q"))
    assert found.value.problems[0].field == "reason"
    may_be_issued(sheet, Issue(issued_by="Q", reason="Trial block, kept apart"))


def test_safe_sheet_needs_no_reason():
    may_be_issued(batch_sheet(order(), setting()), Issue(issued_by="Q"))


def test_record_is_plain_json_and_holds_every_amount():
    made_for = setting()
    sheet = batch_sheet(order(), made_for)
    record = issued_record(sheet, made_for, Issue(issued_by="Q"), "QM-261125-1", {"order": {"mould": "m"}})
    again = json.loads(json.dumps(record, allow_nan=False))
    assert [pour["target_g"] for pour in again["pours"]] == [pour.target_g for pour in sheet.pours]
    assert again["reference_digest"] == reference_digest()
    assert len(again["reference_digest"]) == 64
    assert again["inputs"] == {"order": {"mould": "m"}}
