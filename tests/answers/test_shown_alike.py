"""One amount reads alike wherever it is shown: on the sheet, at the scale, in the units chosen."""

import json
import re

import pytest

from answers.demo import BATCH_VALUES, DEMO_NOW, block_as_planned, demo_state
from answers.door import answer


def ask(task, values, state=None):
    reply = json.loads(answer(json.dumps({"task": task, "values": values, "state": state or demo_state(), "now": DEMO_NOW})))
    assert "fault" not in reply, reply
    return reply


def with_item(kind, id_, **changes):
    """The demo workshop with some typed texts of one item changed."""
    state = json.loads(json.dumps(demo_state()))
    item = next(entry for entry in state[kind] if entry["id"] == id_)
    item["values"].update(changes)
    return state


@pytest.mark.parametrize(("division", "unit", "reads_in"), [("20", "g", "kg"), ("1", "g", "lb"), ("0.05", "lb", "lb"), ("5", "g", "oz")])
@pytest.mark.parametrize("lot", ["a-tank", "a-naoh"])
def test_issued_sheet_shows_each_amount_as_the_scale_asks_for_it(lot, division, unit, reads_in):
    # 1 g on a display in pounds counts by 0.002 lb: "12.289 lb" on paper and "12.288 lb" at the scale were two amounts.
    state = with_item("scale", "s-floor", division_g=division, **{"division_g.unit": unit}, reads_in=reads_in)
    record = ask("issue_batch", BATCH_VALUES | {"naoh_lot": lot, "issued_by": "Q"}, state)["record"]
    words = record["html"].replace("\N{NO-BREAK SPACE}", " ")
    amounts = [f"{step['target_text']} {step['unit']}" for step in record["steps"] if step["kind"] == "weigh"]
    assert len(amounts) >= 4
    for amount in amounts:
        assert amount in words, amount


def test_caustic_of_a_large_block_is_asked_for_in_two_portions_on_the_finest_scale():
    # The demo's block takes some 5 kg of caustic: its bench scale of 6 kg by 1 g holds half of it with a jug.
    record = ask("issue_batch", BATCH_VALUES | {"naoh_lot": "a-naoh", "issued_by": "Q"})["record"]
    first, second = (step for step in record["steps"] if step["pour"] == "lye:naoh" and step["kind"] == "weigh")
    assert (first["scale"], second["scale"], first["twice"], second["twice"]) == ("Bench scale", "Bench scale", True, True)
    [pour] = [pour for pour in record["pours"] if pour["key"] == "lye:naoh"]
    assert 0 <= pour["exact_g"] - (first["target"] + second["target"]) < 1
    assert "first of two" in record["html"] and "second of two" in record["html"]
    # Both are asked back when all of it was put on at once.
    whole = first["target"] + second["target"]
    for step in (first, second):
        assert any(asked["low"] <= whole <= asked["high"] for asked in step["questions"])


def test_a_flash_point_typed_in_fahrenheit_is_told_in_whole_degrees_of_the_units_chosen():
    # 160 °F is 71.1111 °C (NIST SP 811, B.9).
    state = with_item("scent_lot", demo_state()["scent_lot"][0]["id"], flash_point_c="160", **{"flash_point_c.unit": "degF"})
    lot = f"lot:{state['scent_lot'][0]['id']}"
    asked = {"scent": lot, "oils_g": "22.05", "oils_g.unit": "lb", "formula": "", "pot_c": "80", "pot_c.unit": "degC"}
    for units, flash in (("metric", "71 °C"), ("us", "160 °F")):
        html = ask("fragrance", asked, state | {"units": units})["html"]["fragrance"].replace("\N{NO-BREAK SPACE}", " ")
        assert f"Flash point {flash}" in html
        assert "flash point 71 °C (160 °F)" in html
        assert "71.1" not in html


def test_a_scent_s_mass_stands_in_the_units_of_the_oils_with_what_the_scale_shows():
    asked = {"scent": "n-clove", "oils_g": "22.05", "oils_g.unit": "lb", "formula": "f-marsh-plain"}
    html = ask("fragrance", asked, demo_state() | {"units": "us"})["html"]["fragrance"].replace("\N{NO-BREAK SPACE}", " ")
    (headline,) = re.findall(r"<span>At most [\d.]+ % = (.*?)</span>", html)
    ounces, grams = (float(text) for text in re.fullmatch(r"([\d.]+) oz \(([\d.]+) g\)", headline).groups())
    # 1 oz = 28.349523125 g (NIST Handbook 44, Appendix C); rounded down, as a limit is.
    assert 0.0 <= grams - ounces * 28.349523125 < 0.3
    # A load in hand too: 3 % of 22.05 lb is 0.6615 lb, 10.584 oz.
    html = ask("fragrance", asked | {"load_fraction": "3"}, demo_state() | {"units": "us"})["html"]["fragrance"]
    assert "3 % = 10.6 oz" in html.replace("\N{NO-BREAK SPACE}", " ")


def test_a_sheet_issued_before_portions_were_kept_shows_and_weighs_as_it_was():
    """Of version 2: the lye to the nearest 20 g, pours without portions; 15.04 kg stays 15.04 kg."""
    record = ask("issue_batch", BATCH_VALUES | {"issued_by": "Q"}, with_item("floor", "floor", hold_back_fraction="0"))["record"]
    [lye] = [pour for pour in record["pours"] if pour["key"] == "lye:naoh"]
    [step] = [step for step in record["steps"] if step["key"] == "lye:naoh"]
    old = json.loads(json.dumps(record))
    for pour in old["pours"]:
        del pour["portions"]
    old["rules_version"] = "2"
    # Nearest: a hair over the middle between two divisions goes up.
    exact = lye["target_g"] + 12.0
    up = {"target": step["target"] + 2, "low": step["low"] + 2, "high": step["high"] + 2}
    up |= {"target_text": f"{up['target'] / 100:.2f}", "gross_text": f"{float(step['gross_text']) + 0.02:.2f}"}
    for pour in old["pours"]:
        if pour["key"] == "lye:naoh":
            pour.update(exact_g=exact, target_g=lye["target_g"] + 20.0)
    for each in old["steps"]:
        if each["key"] == "lye:naoh":
            each.update(up)
    ratio = exact / lye["exact_g"]
    for oil in old["chemistry"]["oils"]:
        oil.update(used=oil["used"] * ratio, low=oil["low"] * ratio, high=oil["high"] * ratio)
    events = block_as_planned(old["steps"][: [each["key"] for each in old["steps"]].index("lye:naoh")])
    state = demo_state() | {"record": old, "events": events}
    reply = ask("at_the_scale", {"batch": old["code"], "block": "1"}, state)
    assert reply["ok"] and reply["record"]["replaced"].get("lye:naoh", up)["target"] == up["target"]
    # The same amounts in a sheet of today are rounded down.
    for pour in old["pours"]:
        pour["portions"] = []
    reply = ask("at_the_scale", {"batch": old["code"], "block": "1"}, state)
    assert reply["record"]["replaced"]["lye:naoh"]["target"] == step["target"]


def test_a_record_names_units_as_people_read_them():
    record = ask("issue_batch", BATCH_VALUES | {"issued_by": "Q"})["record"]
    events = block_as_planned(record["steps"])
    [read] = [event for event in events if event["step"] == "temp:oils"]
    weighed = next(event for event in events if event["step"] == "oil:0")
    fixes = [
        {"id": f"z{number}", "at": f"2026-11-25T09:59:0{number}.000Z", "local": f"2026-11-25T09:59:0{number}+00:00", "person": "Q",
         "kind": "corrected", "corrects": event["id"], "reading": reading, "unit": event["unit"], "reason": "typed wrong"}
        for number, (event, reading) in enumerate([(read, "37"), (weighed, weighed["reading"])])
    ]  # fmt: skip
    reply = ask("at_the_scale", {"batch": record["code"], "block": "1"}, demo_state() | {"record": record, "events": [*events, *fixes]})
    words = reply["html"]["scale_record"]
    assert "degC" not in words
    assert f"{weighed['reading']} kg corrected to {weighed['reading']} kg" in words
    # Planned and stated superfat stand with the same decimals: 6.00 beside 6.00, not 6.0 beside 6.
    assert "Stated 6.00\N{NO-BREAK SPACE}%" in words
