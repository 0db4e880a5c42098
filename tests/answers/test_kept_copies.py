"""Sheets and blocks of copies that the app handed out in the past are weighable for ever, and are told as they were then.

The expected values are frozen: they are what the app showed when the copy was made. A figure that changes here changes in
a record that somebody has on paper; words may be changed on purpose, and then here too.
"""

import re

import pytest
from kept_copies import NAMES, asked, asked_of, blocks, sheets, state_of, told, told_of

from calc.block.events import fold
from calc.block.shape import can_be_weighed


@pytest.mark.parametrize("name", NAMES)
def test_every_sheet_of_a_kept_copy_can_be_weighed_with_and_without_its_blocks(name):
    of_blocks = {sheet["code"]: events for _, sheet, events in blocks(name)}
    for sheet in sheets(name):
        assert can_be_weighed(sheet, []), sheet["code"]
        assert can_be_weighed(sheet, of_blocks.get(sheet["code"], [])), sheet["code"]
        reply = asked(sheet, [])
        assert reply.get("ok"), reply


def test_sheets_of_every_version_of_the_rules_are_kept():
    versions = {sheet["rules_version"] for name in NAMES for sheet in sheets(name)}
    assert versions >= {"1", "2", "3"}


# What names other items is no problem of its own where those are the demo's, which a copy doesn't hold.
NAMING = ("formula", "scent")


@pytest.mark.parametrize("name", NAMES)
def test_every_item_of_a_kept_copy_is_read_by_its_form(name):
    workshop = state_of(name)["workshop"]
    kinds = {kind: items for kind, items in workshop.items() if kind not in ("units", "batch_codes")}
    for kind, items in kinds.items():
        for item in items:
            reply = asked_of(kind, item["values"], workshop)
            assert reply.get("ok") or (kind in NAMING and "fault" not in reply), (kind, item, reply)
    for task in ("workshop", "formula_list"):
        assert asked_of(task, {}, workshop).get("ok"), task


@pytest.mark.parametrize("name", NAMES)
def test_a_kept_block_is_done_decided_and_closed_as_the_page_showed_it(name):
    shown = state_of(name)["blocks"]
    assert {subject for subject, _, _ in blocks(name)} == set(shown)
    for subject, sheet, events in blocks(name):
        block, wanted = fold(sheet["steps"], events), shown[subject]
        assert [step["key"] for step in block.steps] == wanted["steps"]
        assert {step["key"]: step["target"] for step in block.steps if step["kind"] == "weigh"} == wanted["targets"]
        done = {
            key: {"event": each.event["id"], "reading": each.reading or None, "unit": each.unit} for key, each in block.done.items()
        }
        assert done == wanted["done"], subject
        assert block.current == wanted["current"]
        assert block.pending == wanted["pending"]
        assert [[event["id"], event["choice"]] for event in block.decisions] == wanted["decided"]
        assert dict(block.lots) == wanted["lots"]
        closed = block.closed and {"event": block.closed["id"], "outcome": block.closed["outcome"]}
        assert closed == wanted["closed"]


@pytest.mark.parametrize("name", NAMES)
def test_a_kept_block_gets_an_answer_at_each_of_its_turns_and_is_told_in_the_figures_and_words_of_its_day(name):
    now, then = told(name), told_of(name)
    assert without_record(now) == without_record(then)
    # The record has become one table since, in the order of time: it says every figure, name and lot that it said then.
    for subject, of_block in then.items():
        for language in ("en", "es"):
            missing = said(of_block[language]["scale_record"]) - said(now[subject][language]["scale_record"])
            assert not missing, (subject, language, missing)


def without_record(told_now):
    return {
        subject: {part: {**words, "scale_record": ""} if part in ("en", "es") else words for part, words in of_block.items()}
        for subject, of_block in told_now.items()
    }


def said(record):
    """What a record says that no change of its words may change: figures with their units, times, lots and codes."""
    return set(re.findall(r"[\d−][\d.:−-]*(?: (?:kg|g|lb|oz|mm|in|%|°C|°F|h|min|s)\b)?|[A-Z]{3}-\d{4}|QM-[\d-]+", record))
