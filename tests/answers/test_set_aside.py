"""Soap set aside, from the cutter of one block into the next batch: on really issued records of the demo workshop."""

import copy
import json
import re

import pytest

from answers.demo import BATCH_VALUES, block_as_planned, demo_state
from answers.door import answer

NOW = "2026-12-20T08:00:00+00:00"
CUT_AT = "2026-11-27T10:00:{n:02}"


def door(task, values, state, now=NOW):
    return json.loads(answer(json.dumps({"task": task, "values": values, "state": state, "now": now})))


def issued(values, state):
    reply = door("issue_batch", {**BATCH_VALUES, "issued_by": "Q", **values}, state)
    assert reply["ok"], reply
    return {key: part for key, part in reply["record"].items() if key != "html"}


def events_of(record, block, *told):
    """A block weighed as planned, closed with the record that the door gives for it, and what was told after."""
    weighed = [{**event, "subject": f"block:{record['code']}/{block}"} for event in block_as_planned(record["steps"])]
    reply = door("at_the_scale", {"batch": record["code"], "block": str(block)}, demo_state() | {"record": record, "events": weighed})
    assert reply["ok"], reply
    events = [*weighed]
    closed = {"outcome": "poured", "reason": "", "record": reply["record"]["closing"]}
    for n, (kind, fields) in enumerate((("closed", closed), *told)):
        at = CUT_AT.format(n=n)
        events.append(
            {"id": f"x{block}{n:02}", "at": f"{at}.000Z", "local": f"{at}+00:00", "kind": kind, "person": "Q",
             "subject": f"block:{record['code']}/{block}", **fields}
        )  # fmt: skip
    return events


def trim(kilograms):
    return "measured", {"step": "after:trim", "reading": kilograms, "unit": "kg"}


def bars(count, reason="Ash or color"):
    return "measured", {"step": "after:set-aside", "reading": count, "unit": "bars", "reason": reason}


FIRST_BAR = ("measured", {"step": "after:first-bar", "reading": "140", "unit": "g"})


@pytest.fixture(scope="module")
def first():
    return issued({"formula": "f-reed-lavender", "blocks": "1"}, demo_state())


def shop_with(first, *told, uses=(), cure=()):
    """The demo workshop with one lot set aside, as the page hands it over."""
    state = copy.deepcopy(demo_state())
    lot = {"id": f"{first['code']}:1", "block": 1, "sheet": first, "events": events_of(first, 1, *told), "values": {"name": "x"}}
    return state | {"set_aside": [lot], "soap_uses": list(uses), "cure": [*state["cure"], *cure]}


def taking(first, kilograms, **more):
    return {"soaps.0.lot": f"{first['code']}:1", "soaps.0.taken_g": kilograms, "soaps.0.taken_g.unit": "kg", "blocks": "1", **more}


def listed(state):
    reply = door("set_aside_list", {}, state)
    assert reply["ok"], reply
    return reply["html"]["set_aside_list"].replace("\N{NO-BREAK SPACE}", " ")


def test_trim_and_bars_lie_there_as_one_lot_that_leads_to_its_own_formula(first):
    text = listed(shop_with(first, FIRST_BAR, trim("2.40"), bars("5")))
    # 2.40 kg and five bars of 140 g.
    assert "3.1 kg left" in text and "2.4 kg of trim, 5 bars set aside: Ash or color." in text
    assert f"{first['code']}/1" in text and "day 23" in text
    (address,) = re.findall(r'href="../../batch/#([^"]+)"', text)
    assert address.startswith("f-reed-lavender?") and "soaps.0.taken_g=3.1&amp;soaps.0.taken_g.unit=kg" in address


def test_what_nobody_told_is_no_lot(first):
    assert "Nothing is set aside." in listed(shop_with(first))
    assert "Nothing is set aside." in listed(shop_with(first, trim("0")))


def test_a_damaged_lot_is_counted_and_hides_no_other(first):
    state = shop_with(first, trim("2"))
    for damaged in ({"sheet": {"code": "B"}}, {"sheet": "x"}, {"sheet": {**first, "pours": []}, "events": state["set_aside"][0]["events"]}):
        lots = [{"id": "B:1", "block": 1, "events": [], "values": {}, **damaged}, *state["set_aside"]]
        text = listed(state | {"set_aside": lots})
        assert "2 kg left" in text and "1 lot can’t be read." in text
        refused = door("batch_sheet", {**BATCH_VALUES, **taking(first, "1"), "soaps.0.lot": "B:1"}, state | {"set_aside": lots})
        assert [each["code"] for each in refused["problems"]] == ["soap-unreadable"]


def test_what_is_weighed_at_the_next_batch_is_gone_and_what_waits_there_is_planned(first):
    state = shop_with(first, trim("6"))
    second = issued(taking(first, "2", blocks="2"), state)
    (soap,) = [step for step in second["steps"] if step["pour_kind"] == "soap"]
    weighed = events_of(second, 1)
    uses = [{"sheet": second, "events": weighed}]
    text = listed(shop_with(first, trim("6"), uses=uses))
    assert "4 kg left" in text and f"2 kg went into {second['code']}." in text
    assert f"2 kg is planned for {second['code']}." in text
    # A reading that was put right counts as it was put right.
    (event,) = [each for each in weighed if each.get("step") == soap["key"]]
    fix = {**event, "id": "fix", "at": "2026-11-27T10:00:40.000Z", "kind": "corrected", "corrects": event["id"], "reading": "1.80", "reason": "x"}
    put_right = [{"sheet": second, "events": [*weighed, fix]}]
    assert "4.2 kg left" in listed(shop_with(first, trim("6"), uses=put_right))


def test_more_than_is_left_is_refused_and_what_other_sheets_plan_is_told(first):
    state = shop_with(first, trim("3"))
    refused = door("batch_sheet", {**BATCH_VALUES, **taking(first, "2", blocks="2")}, state)
    assert [(each["field"], each["code"]) for each in refused["problems"]] == [("soaps.0.taken_g", "soap-too-little")]
    second = issued(taking(first, "2"), state)
    again = shop_with(first, trim("3"), uses=[{"sheet": second, "events": []}])
    told = door("batch_sheet", {**BATCH_VALUES, **taking(first, "2")}, again)
    assert told["ok"] and "soap-planned" in {each["code"] for each in told["cautions"]}
    poured = shop_with(first, trim("3"), uses=[{"sheet": second, "events": events_of(second, 1)}])
    gone = door("batch_sheet", {**BATCH_VALUES, **taking(first, "2")}, poured)
    assert [each["code"] for each in gone["problems"]] == ["soap-too-little"]


def test_a_lot_that_this_shop_does_not_have_is_refused(first):
    # One's own workshop knows no lot of practice: what is not handed over is not there.
    refused = door("batch_sheet", {**BATCH_VALUES, **taking(first, "1")}, demo_state())
    assert [(each["field"], each["code"]) for each in refused["problems"]] == [("soaps.0.lot", "soap-unknown")]


def test_soap_set_aside_for_free_lye_asks_for_a_reason_before_it_goes_in(first):
    for told in (bars("9", "Free lye in it, or not sure"), bars("9", "Tiene sosa o potasa libre, o no es seguro")):
        state = shop_with(first, FIRST_BAR, told)
        values = {**BATCH_VALUES, **taking(first, "1"), "issued_by": "Q"}
        assert "Ask first: it was set aside for free lye." in listed(state)
        refused = door("issue_batch", values, state)
        assert [(each["field"], each["code"]) for each in refused["problems"]] == [("reason", "soap-reason-missing")]
        assert door("issue_batch", {**values, "reason": "Titrated: none"}, state)["ok"]


def test_the_sheet_freezes_its_lot_and_the_block_is_weighed_with_it(first):
    state = shop_with(first, trim("6"))
    second = issued(taking(first, "2"), state)
    keys = [step["key"] for step in second["steps"]]
    # With the warm oils, before the lye: common practice, no source.
    assert max(keys.index(key) for key in keys if key.startswith("oil:")) < keys.index("soap:0") < keys.index("lye:naoh:short")
    (step,) = [step for step in second["steps"] if step["key"] == "soap:0"]
    assert step["lot"] == f"{first['code']}/1" and step["es"]["title"] == "Agregar jabón apartado"
    live = door("at_the_scale", {"batch": second["code"], "block": "1"}, demo_state() | {"record": second, "events": block_as_planned(second["steps"])})
    assert live["ok"], live
    closing = live["record"]["closing"]
    assert closing["superfat"]["value"] == pytest.approx(second["superfat"]["value"], abs=2e-4)
    assert closing["superfat"]["low"] == pytest.approx(second["superfat"]["low"], abs=5e-4)
    (row,) = [row for row in closing["amounts"] if row["pour"] == "soap:0"]
    assert (row["actual_g"], row["lot"]) == (2000.0, f"{first['code']}/1")


def test_a_scent_that_comes_with_the_soap_is_told_and_frozen_with_it(first):
    state = shop_with(first, trim("6"))
    second = issued(taking(first, "2"), state)  # Marsh Plain, unscented
    codes = {caution["code"] for caution in second["cautions"]}
    assert "soap-scented" in codes
    (lot,) = second["set_aside"]["lots"]
    scent_g = sum(pour["target_g"] for pour in first["pours"] if pour["key"] == "scent")
    # 23 days on and never weighed: at most all of its water is gone, and its scent is in so much less.
    lye_g = sum(pour["exact_g"] for pour in first["pours"] if pour["key"].startswith("lye:") or pour["key"] == "water")
    dry = 1.0 - lye_g * (1.0 - first["chemistry"]["lye_strength_fraction"]) / first["batter_g"]
    assert lot["scents"][0]["load_fraction"] == pytest.approx(scent_g / first["batter_g"] / dry, rel=1e-3)
    assert set(second["set_aside"]["label"]) <= set(first["scent"]["label"])


def test_without_set_aside_soap_a_sheet_is_as_it_was():
    plain = issued({"code": "SAME-1"}, demo_state())
    assert "set_aside" not in plain and "soaps" not in plain["chemistry"]
