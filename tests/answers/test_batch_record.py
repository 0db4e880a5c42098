"""One batch's record through the door: on a really issued sheet of the demo workshop, weighed, cut and racked."""

import json
import re

import pytest

from answers.demo import BATCH_VALUES, block_as_planned, demo_state
from answers.door import answer

NOW = "2026-12-20T08:00:00+00:00"


def door(task, values, state, language="en"):
    return json.loads(answer(json.dumps({"task": task, "values": values, "state": state, "now": NOW, "language": language})))


@pytest.fixture(scope="module")
def record():
    reply = door("issue_batch", {**BATCH_VALUES, "issued_by": "J", "blocks": "1"}, demo_state())
    assert reply["ok"], reply
    return {key: part for key, part in reply["record"].items() if key != "html"} | {"local": "2026-11-25T08:00:00+00:00"}


def told(record, *later, readings=None):
    about = {"subject": f"block:{record['code']}/1"}
    events = [{**event, **about} for event in block_as_planned(record["steps"], readings)]
    for n, (kind, fields) in enumerate(later):
        at = f"2026-11-26T10:00:{n:02}"
        events.append({"id": f"x{n:02}", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": kind, "person": "Q", **about, **fields})
    return events


CUT = (
    ("closed", {"outcome": "poured", "reason": ""}),
    ("measured", {"step": "after:first-bar", "reading": "140", "unit": "g"}),
    ("measured", {"step": "after:trim", "reading": "2.50", "unit": "kg"}),
    ("measured", {"step": "after:good", "reading": "270", "unit": "bars"}),
    ("measured", {"step": "after:set-aside", "reading": "6", "unit": "bars", "reason": "cracked"}),
)


def shown(record, events, language="en", **state):
    reply = door("batch_record", {}, demo_state() | {"record": record, "events": events} | state, language)
    assert reply["ok"], reply
    return reply["html"]["batch_record"]


def plain(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace("\N{NO-BREAK SPACE}", " ")


def fact(html, name):
    return plain(re.search(rf"<dt>{re.escape(name)}</dt><dd>(.*?)</dd>", html, re.DOTALL)[1]).strip()


def test_what_was_planned_stands_beside_what_was_read_with_lot_scale_and_supplier(record):
    text = plain(shown(record, told(record)))
    # The demo workshop's certificate lot of olive oil, and what its sheet has of it (shared/demo/workshop.json).
    assert re.search(r"Pour olive oil \(virgin and refined\) 09:\d\d , Lot OLV-0412, Floor scale, Q 15\.06 kg 15\.06 kg", text)
    assert re.search(r"Lot OLV-0412 supplier 1, 2611", text)
    assert "No deviation is recorded." in text


def test_a_slip_put_right_is_told_as_deviation_and_as_edit_with_both_readings(record):
    olive = next(n for n, step in enumerate(record["steps"]) if step["key"] == "oil:0")
    fixed = ("corrected", {"corrects": f"e{olive:03}", "reading": "15.06", "unit": "kg", "reason": "digits swapped"})
    html = shown(record, told(record, fixed, readings={"oil:0": "16.05"}))
    text = plain(html)
    assert "Deviations: 1" in text
    assert "Entries put right: 1" in text
    assert re.search(r"<s>16\.05.kg</s> → 15\.06.kg", html)
    assert "digits swapped" in text


def test_theoretical_yield_stands_beside_the_bars_and_the_rest_of_the_batter_is_told(record):
    html = shown(record, told(record, *CUT))
    assert fact(html, "Theoretical yield") == f"{record['planned']['total']} bars"
    assert fact(html, "Good bars") == "270"
    assert fact(html, "Set aside") == "6: cracked"
    # By hand: batter less 276 bars at 140 g, less 2.5 kg of trim; on the plan the batter is the sheet's own.
    rest_kg = (record["batter_g"] - 276 * 140 - 2500) / 1000
    assert float(fact(html, "Not accounted for").split()[0]) == pytest.approx(rest_kg, abs=0.06)


def test_no_balance_is_told_where_the_first_bar_was_not_weighed(record):
    assert "Not accounted for" not in shown(record, told(record, CUT[0], *CUT[2:]))


def test_the_cure_is_told_from_the_rack(record):
    code = record["code"]
    racked = {"id": "c1", "at": "2026-11-27T09:00:00.000Z", "local": "2026-11-27T09:00:00+00:00", "kind": "cure_racked", "person": "Q",
              "subject": f"cure:{code}/1", "soap": "Marsh Plain", "water": 0.2, "places": [],
              "values": {"code": code, "block": "1", "bars": "270", "stands": "yes", "cut_on": "2026-11-26"}}  # fmt: skip
    weighed = {**racked, "id": "c2", "at": "2026-12-04T09:00:00.000Z", "local": "2026-12-04T09:00:00+00:00", "kind": "cure_weighed",
               "values": {"batch": f"{code}:1", "total_g": "1380", "total_g.unit": "g", "bars": "10"}}  # fmt: skip
    text = plain(shown(record, [*told(record, *CUT), racked, weighed]))
    assert "Bars on the trays 270" in text
    assert re.search(r"One bar on average, of 10 Dec 4, Q 138(\.0)? g", text)


def test_it_speaks_the_language_of_the_page_and_weighs_in_its_units(record):
    text = plain(shown(record, told(record, *CUT), "es"))
    assert "Rendimiento teórico" in text
    assert "Theoretical" not in text
    assert re.search(r"Batter poured \d+(\.\d)? lb", plain(shown(record, told(record, *CUT), units="us")))


def test_what_people_typed_is_text_and_never_markup(record):
    apart = ("closed", {"outcome": "quarantined", "reason": "<b id=x>lye twice</b>"})
    assert "&lt;b id=x&gt;lye twice" in shown(record, told(record, apart))


def test_where_no_batch_is_named_nothing_is_told():
    assert door("batch_record", {}, demo_state())["html"] == {"batch_record": ""}


def test_an_old_sheet_without_steps_and_a_damaged_one_are_told_as_far_as_they_go(record):
    old = {key: record[key] for key in ("code", "pours", "formula", "local")}
    assert "Marsh Plain" in plain(shown(old, []))
    assert "can’t be calculated with" in plain(shown({**record, "chemistry": None}, told(record)))
