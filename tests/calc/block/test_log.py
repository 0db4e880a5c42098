"""The log of a block: each deed once, in the order of time, with what deviated from the plan."""

import re
from pathlib import Path

from workshops import order, setting

from block.test_steps_to_come import block_of, done
from calc.batch.sheet import batch_sheet
from calc.block.chemistry import Block
from calc.block.closing import closing
from calc.block.log import NOTES, log, totals
from calc.entry.language import speaking

ROOT = Path(__file__).resolve().parents[3]


def made(more=(), **readings):
    made_for = setting({"scent_fraction": 0.02})
    record = block_of(batch_sheet(order(), made_for), made_for).record
    events = done(record, [step["key"] for step in record["steps"] if step["kind"] != "timer"], **readings)
    return record, Block(record, [*events, *more])


def test_every_deed_stands_once_with_its_time_what_was_planned_and_what_was_read():
    record, block = made()
    lines = log(block)
    assert [line["what"] for line in lines] == [step["title"] for step in record["steps"] if step["kind"] != "timer"]
    assert [line["time"] for line in lines] == sorted(line["time"] for line in lines)
    assert {line["day"] for line in lines} == {"2026-11-30"} and {line["person"] for line in lines} == {"Q"}
    olive = next(line for line in lines if "olive" in line["what"])
    assert (olive["lot"], olive["planned"]) == ("OLIVE", olive["read"])
    assert not any(line["deviations"] for line in lines if line["read"])


def test_a_reading_outside_its_band_a_correction_and_another_lot_are_told_where_they_were():
    record, _ = made()
    over = next(step for step in record["steps"] if step["key"] == "oil:1")["target"] + 50
    _, block = made(oil_1=over)
    palm = next(done_ for done_ in block.events.weighings() if done_.step["key"] == "oil:1")
    fix = {"id": "f", "at": "2026-11-30T09:00:00.000Z", "local": "2026-11-30T09:07:00", "kind": "corrected", "person": "J",
           "corrects": palm.event["id"], "reading": "10.60", "unit": "kg", "reason": "It was mistyped"}  # fmt: skip
    lots = {"id": "l", "at": "2026-11-30T07:00:00.000Z", "local": "2026-11-30T07:00:00", "kind": "lots", "person": "Q",
            "lots": {"scent": "LAV-9"}}  # fmt: skip
    _, block = made((fix, lots), oil_1=over)
    told = {line["what"]: line for line in log(block)}
    (was,) = [text for text in told["Pour palm oil"]["deviations"] if "corrected" in text]
    assert "to 10.60 kg at 09:07: It was mistyped, J." in was and told["Pour palm oil"]["read"] == "10.60 kg"
    scent = told["Weigh scent"]
    assert scent["lot"] == "LAV-9" and "the label still go by lot none" in scent["deviations"][0]


def test_a_check_that_rests_on_an_earlier_one_is_told_and_is_no_deviation():
    record, block = made()
    zero = next(event["id"] for event in block.events.events if event.get("step") == "check:zero")
    events = [event | ({"note": "checked-before"} if event["id"] == zero else {}) for event in block.events.events]
    rests = Block(record, events)
    (line,) = [line for line in log(rests) if line["note"]]
    assert (line["note"], line["deviations"]) == ("checked earlier that day", [])
    assert closing(rests)["deviations"] == closing(block)["deviations"] == []
    with speaking("es"):
        (line,) = [line for line in log(rests) if line["note"]]
    assert line["note"] == "ya se había revisado ese día"
    _, asked_back = made()
    asked_back = Block(record, [event | ({"note": "not-read"} if event["id"] == zero else {}) for event in events])
    assert [line["deviations"] for line in log(asked_back) if line["deviations"]] == [["not read"]]


def test_a_decision_is_told_but_the_deviation_it_is_about_counts_once():
    record, _ = made()
    over = next(step for step in record["steps"] if step["key"] == "oil:1")["target"] + 50
    leave = {"id": "d", "at": "2026-11-30T09:00:00.000Z", "local": "2026-11-30T09:07:00", "kind": "decided", "person": "J",
             "step": "oil:1", "choice": "leave", "text": "Leave it as it is", "reason": "It stays", "steps": [], "replaced": {}}  # fmt: skip
    _, block = made((leave,), oil_1=over)
    lines = log(block)
    assert [line["what"] for line in lines if line["deviations"]] == ["Pour palm oil"]
    assert [line["note"] for line in lines if line["decided"]] == [
        "Pour palm oil: Leave it as it is. Reason: It stays. Decided by J."
    ]


def test_every_note_that_the_scripts_store_has_words():
    scripts = {path: path.read_text() for path in (ROOT / "site/static/js").rglob("*.mjs")}
    constants = dict(pair for text in scripts.values() for pair in re.findall(r'const ([A-Z_]+) = "([a-z-]+)"', text))
    asked = re.search(r'code: "([a-z-]+)", text: word\("[a-z-]+"\), count', scripts[ROOT / "site/static/js/scale/entry.mjs"])
    notes = {constants.get(note, note.strip('"')) for text in scripts.values()
             for note in re.findall(r'\bnote: ("[a-z-]+"|[A-Z_]+)', text)}  # fmt: skip
    # A reading that is asked back is noted by its question.
    assert asked and notes | {asked[1]} == set(NOTES)


def test_what_no_one_reading_is_the_whole_of_is_summed_by_lot():
    _, block = made()
    (lye,) = totals(block)
    # The first pour and the top-up: row E5 of physics_check_values.csv has the like.
    assert lye["what"] == "Caustic soda (NaOH) lye" and lye["lot"] == "LYE"
    assert lye["planned"] == lye["read"]


def test_a_phone_that_goes_on_with_the_block_is_told_by_name_and_changes_no_reading():
    _, before = made()
    took = {"id": "t", "at": "2026-11-30T09:00:00.000Z", "local": "2026-11-30T09:07:00", "kind": "taken_over", "person": "J", "from": "aaaaaaaaaa"}
    _, named = made((took | {"phone": "the bench phone"},))
    _, nameless = made((took,))
    for block, words in ((named, "Taken over from “the bench phone”"), (nameless, "Taken over from another phone")):
        (line,) = [each for each in log(block) if each["person"] == "J"]
        assert (line["what"], line["time"], line["read"], line["deviations"], line["decided"]) == (words, "09:07", "", [], False)
        assert [each for each in log(block) if each["person"] != "J"] == log(before)
        assert (block.weighed, block.events.steps) == (before.weighed, before.events.steps)


def test_what_another_phone_weighed_for_the_same_step_is_told_beside_the_reading_that_counts():
    _, before = made()
    palm = next(done_ for done_ in before.events.weighings() if done_.step["key"] == "oil:1")
    other = {**palm.event, "id": "zz", "at": "2026-11-30T23:00:00.000Z", "local": "2026-11-30T10:41:00", "person": "J", "reading": "10.62"}
    _, block = made((other,))
    (line,) = [each for each in log(block) if each["what"] == palm.step["title"]]
    assert line["note"] == "also weighed on another phone: 10.62 kg, J, 10:41"
    (was,) = [each for each in log(before) if each["what"] == palm.step["title"]]
    assert line | {"note": ""} == was
    assert block.weighed == before.weighed
