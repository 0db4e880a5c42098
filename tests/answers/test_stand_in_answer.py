"""What could stand in, through the door: what is asked, what is told, and where its tap leads."""

import copy
import html
import json
import re
from urllib.parse import parse_qsl, unquote

from answers.demo import BATCH_VALUES, DEMO_NOW, STAND_IN_VALUES, demo_state, stored_values
from answers.door import answer


def ask(task, values, state=None, language="en"):
    request = {"task": task, "values": values, "state": state or demo_state(), "now": DEMO_NOW, "language": language}
    return json.loads(answer(json.dumps(request)))


def told(reply):
    return " ".join(re.sub(r"<[^>]+>", " ", html.unescape(reply["html"]["stand_in"])).replace("\xa0", " ").split())


def puts_of(address):
    """What an address hands over, by control."""
    return dict(parse_qsl(address.partition("?")[2], keep_blank_values=True))


def addresses(reply, page):
    return [html.unescape(found) for found in re.findall(rf'href="[^"]*{page}#([^"]*)"', json.dumps(reply["html"]).replace('\\"', '"'))]


def with_lot(oil, left):
    state = copy.deepcopy(demo_state())
    for lot in state["oil_lot"]:
        if lot["values"]["oil"] == oil:
            lot["values"]["left_g"] = left
    return state


def test_no_oil_named_and_none_short_asks_which_one_is_out():
    reply = ask("stand_in", {"formula": "f-marsh-plain"})
    assert "Marsh Plain: which oil is out?" in told(reply)
    offered = [json.loads(html.unescape(put)) for put in re.findall(r'data-put="([^"]*)"', reply["html"]["stand_in"])]
    assert offered == [{"oil": oil, "left_g": "0"} for oil in ("olive", "palm", "coconut")]


def test_an_oil_that_the_shelf_has_none_of_is_asked_about_by_itself():
    assert "Palm is out" in told(ask("stand_in", {"formula": "f-marsh-plain"}, with_lot("palm", "0")))


def test_the_tap_makes_a_whole_formula_with_its_own_name_and_the_same_superfat_as_was_told():
    reply = ask("stand_in", STAND_IN_VALUES)
    first = addresses(reply, "formula/edit/")[0]
    assert unquote(first).startswith("copy/f-marsh-plain/")
    puts = puts_of(first)
    assert set(puts) == {"name", "oils_text"} and puts["name"] == "Marsh Plain without palm"
    old = {name: text for name, text in stored_values("formula", "f-marsh-plain").items() if not name.startswith("oils.")}
    made = ask("formula", {**old, **puts})
    assert made["ok"] and "oils.0.oil" in made["puts"]
    assert not any(text == "palm" for text in made["puts"].values())
    low, high = re.search(r"Superfat ([\d.]+) to ([\d.]+ %)", told(reply)).groups()
    assert low in made["html"]["formula"] and high.replace(" ", "\xa0") in made["html"]["formula"]


def test_a_name_that_is_taken_gets_a_number_and_a_long_one_gives_way():
    state = copy.deepcopy(demo_state())
    state["formula"].append({"id": "f-other", "values": {"name": "marsh plain WITHOUT palm"}})
    assert puts_of(addresses(ask("stand_in", STAND_IN_VALUES, state), "formula/edit/")[0])["name"] == "Marsh Plain without palm 2"
    state["formula"][0]["values"]["name"] = "M" * 60
    name = puts_of(addresses(ask("stand_in", STAND_IN_VALUES, state), "formula/edit/")[0])["name"]
    assert len(name) <= 60 and name.endswith("M without palm")


def test_a_batch_that_a_lot_is_short_for_leads_to_it_with_nothing_to_retype():
    # Two blocks of 35 kg of oils take 31.5 kg of olive oil; 28.5 kg are there.
    state = with_lot("olive", "28.5")
    sheet = ask("batch_sheet", BATCH_VALUES, state)
    (address,) = addresses(sheet, "formula/stand-in/")
    assert address.startswith("f-marsh-plain?")
    puts = puts_of(address)
    assert puts["oil"] == "olive" and puts["left_g"] == ""
    short = re.search(r"Olive oil is short by ([\d.]+) kg", html.unescape(sheet["html"]["batch_sheet"]).replace("\xa0", " "))[1]
    reply = ask("stand_in", {"formula": "f-marsh-plain", **puts}, state)
    assert abs(float(re.search(r"Olive is short by ([\d.]+) kg", told(reply))[1]) - float(short)) <= 0.02
    whole_kg = float(puts["oils_g"])
    kept = int(100.0 * 28.5 / whole_kg)
    assert f"There’s enough for {kept} %" in told(reply)
    assert all(f"olive {kept}" in puts_of(each)["oils_text"] for each in addresses(reply, "formula/edit/"))
    assert puts_of(addresses(reply, "formula/edit/")[0])["name"] == "Marsh Plain with less olive"


def test_a_batch_with_enough_of_everything_leads_nowhere():
    assert not addresses(ask("batch_sheet", BATCH_VALUES), "formula/stand-in/")


def test_a_lot_that_is_not_in_use_yet_counts_too():
    state = with_lot("olive", "28.5")
    state["oil_lot"].append({"id": "o-next", "values": {"code": "OLV-0500", "oil": "olive", "in_use": "no", "left_g": "50", "left_g.unit": "kg"}})
    sheet = ask("batch_sheet", BATCH_VALUES, state)
    assert not addresses(sheet, "formula/stand-in/") and "OLV-0412" in sheet["html"]["batch_sheet"]


def test_the_scent_of_the_changed_formula_is_told_against_its_limit():
    reply = ask("stand_in", {**STAND_IN_VALUES, "formula": "f-reed-lavender"})
    # 2.5 % of the oils, as the formula says.
    assert "Reed lavender: 2.5 % of the oils" in told(reply)


def test_in_spanish_the_oils_are_handed_over_in_spanish_and_read_so():
    reply = ask("stand_in", STAND_IN_VALUES, language="es")
    puts = puts_of(addresses(reply, "formula/edit/")[0])
    assert "oliva" in puts["oils_text"]
    old = {name: text for name, text in stored_values("formula", "f-marsh-plain").items() if not name.startswith("oils.")}
    assert ask("formula", {**old, **puts})["ok"]


def test_an_oil_that_the_formula_lacks_is_refused_at_its_field():
    reply = ask("stand_in", {"formula": "f-marsh-plain", "oil": "castor"})
    assert [(each["field"], each["code"]) for each in reply["problems"]] == [("oil", "oil-not-in-formula")]
