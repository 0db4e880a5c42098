"""The answer to a formula: oils as text and as rows, what is asked back, the usual where nothing is said, older water."""

import copy
import json
import re
from html import unescape
from typing import Any

import pytest

from answers.demo import BATCH_VALUES, DEMO_NOW, demo_state, stored_values
from answers.door import answer

MARSH = stored_values("formula", "f-marsh-plain")
ROWLESS = {name: text for name, text in MARSH.items() if not name.startswith("oils.")}


def ask(task: str, values: dict[str, str], state: dict[str, Any] | None = None, **more: str) -> dict[str, Any]:
    asked = {"task": task, "values": values, "state": state or demo_state(), "now": DEMO_NOW, **more}
    reply: dict[str, Any] = json.loads(answer(json.dumps(asked)))
    return reply


def puts_in(html: str) -> list[dict[str, str]]:
    return [json.loads(unescape(found)) for found in re.findall(r'data-put="([^"]*)"', html)]


def plain(html: str) -> str:
    return " ".join(unescape(re.sub("<[^>]*>", " ", html)).split())


def test_a_text_gives_the_very_answer_of_its_rows():
    rows, text = ask("formula", MARSH), ask("formula", ROWLESS | {"oils_text": "olive 45, palm 30, coconut 25"})
    assert rows["ok"] and text["ok"]
    assert rows["html"]["formula"] == text["html"]["formula"]
    assert rows["html"]["formula_more"] == text["html"]["formula_more"]
    # The one that leads puts the other: the demo's rows as its maker typed them (shared/demo/workshop.json).
    assert rows["puts"] == {"oils_text": "olive 45, palm 30, coconut 25"}
    assert text["puts"] == {
        name: typed for name, typed in MARSH.items() if name.startswith("oils.") and not name.endswith(".unit")
    }


def test_a_blank_load_is_unscented_and_said_so_and_asked_with_a_scent_chosen():
    # 0 %, typed, is the same formula: the very answer.
    blank, zero = (ask("formula", MARSH | {"scent": "", "scent_fraction": load}) for load in ("", "0"))
    assert blank["ok"] and blank["html"] == zero["html"]
    assert "unscented" in plain(blank["html"]["formula"])
    assert blank["understood"]["scent_fraction"] == "No scent." and "scent_fraction" not in zero["understood"]
    assert "unscented" not in plain(ask("formula", MARSH | {"scent": "", "scent_fraction": "2"})["html"]["formula"])
    asked = ask("formula", MARSH | {"scent": "lavender", "scent_fraction": ""})
    assert [(each["field"], each["code"]) for each in asked["problems"]] == [("scent_fraction", "missing")]


def test_what_keeps_a_text_from_being_rows_is_told_at_it_and_offered_in_taps():
    reply = ask("formula", ROWLESS | {"oils_text": "olive 45, sunflowr 5, coconut 25"})
    assert [(each["field"], each["code"]) for each in reply["problems"]] == [("oils_text", "oil-not-known")]
    assert {"oils_text": "olive 45, sunflower 5, coconut 25"} in puts_in(reply["html"]["oils_total"])
    assert "25 % to go" in plain(reply["html"]["oils_total"])
    assert "formula" not in reply["html"]


@pytest.mark.parametrize(
    ("text", "code"),
    [("olive 45, palm 30", "shares-do-not-sum"), ("olive 1 500, palm 30", "spaced-number"), ("olive 50, olive 50", "oil-twice"),
     ("olive 100 g", "unknown-unit"), ("", "too-few-rows"), ("olive " * 1000, "too-long")],
)  # fmt: skip
def test_faults_of_the_rows_stand_at_the_text_where_it_leads(text, code):
    told = [(each["field"], each["code"]) for each in ask("formula", ROWLESS | {"oils_text": text})["problems"]]
    assert ("oils_text", code) in told
    assert all(field == "oils_text" for field, _ in told)


def test_a_rest_is_put_where_it_is_tapped():
    reply = ask("formula", ROWLESS | {"oils_text": "olive 45, palm, coconut 25"})
    (put,) = puts_in(reply["html"]["oils_total"])
    assert put == {"oils_text": "olive 45, palm 30, coconut 25"}
    assert ask("formula", ROWLESS | put)["ok"]


def test_the_oils_of_own_formulas_may_come_next_before_the_usual_ones():
    state = copy.deepcopy(demo_state())
    state["formula"] = [{"id": "f", "values": {"oils.0.oil": "argan", "oils.1.oil": "palm"}}]
    puts = [put["oils_text"] for put in puts_in(ask("formula", {"oils_text": "palm 30"}, state)["html"]["oils_total"])]
    # What bars are made of beside that: common practice, no source.
    assert puts[:3] == ["palm 30, argan ", "palm 30, olive ", "palm 30, coconut "]
    whole = ask("formula", {"oils_text": "palm 30, olive 70"}, state)["html"]["oils_total"]
    assert puts_in(whole) == []


def test_a_formula_that_nobody_has_named_is_called_by_its_oils_and_else_as_typed():
    unnamed = {name: text for name, text in ROWLESS.items() if name != "name"} | {"oils_text": "palm 30, olive 70"}
    reply = ask("formula", unnamed)
    assert reply["ok"] and reply["puts"]["name"] == "Olive, palm"
    state = copy.deepcopy(demo_state())
    state["formula"][0]["values"]["name"] = "olive, Palm"
    assert ask("formula", unnamed, state)["puts"]["name"] == "Olive, palm 2"
    assert "name" not in ask("formula", unnamed | {"name": "Fen"})["puts"]
    stored = ask("formula", unnamed, id="f-marsh-plain")
    assert "name" not in stored["puts"] and [each["field"] for each in stored["problems"]] == ["name"]
    missing = ask("formula", {"name": " "})
    assert "name" not in missing["puts"] and "name" in {each["field"] for each in missing["problems"]}


def test_temperatures_that_nobody_states_are_the_usual_ones_and_marked():
    blank = {name: text for name, text in MARSH.items() if "temperature" not in name}
    reply = ask("formula", blank)
    # Common practice, no source: constants.csv, oil_pour_usual and lye_pour_usual.
    assert reply["understood"]["oil_temperature_c"] == "Counted as 40 °C: usual."
    assert reply["understood"]["lye_temperature_c"] == "Counted as 30 °C: usual."
    assert reply["html"]["formula"] == ask("formula", MARSH)["html"]["formula"]


@pytest.mark.parametrize(
    "water", [{"water_as": "water_to_lye", "water_to_lye_ratio": "1.8"}, {"water_as": "share_of_oils", "water_share_fraction": "38"}]
)
def test_an_older_formula_pours_the_same_water_after_its_maker_took_the_lye_strength_over(water):
    older = {name: text for name, text in MARSH.items() if not name.startswith("lye_strength")} | water
    (put,) = puts_in(ask("formula", older)["html"]["formula"])
    sheets = []
    for values in (older, {**{name: text for name, text in older.items() if name not in water}, **put}):
        state = copy.deepcopy(demo_state())
        next(each for each in state["formula"] if each["id"] == "f-marsh-plain")["values"] = values
        record = ask("issue_batch", BATCH_VALUES | {"naoh_lot": "a-naoh", "issued_by": "Q"}, state)["record"]
        # What stands on the displays; a share of the oils hangs on their rounded masses, a strength does not.
        sheets.append([(pour["key"], pour["portions"]) for pour in record["pours"]])
    assert sheets[0] == sheets[1]
    assert puts_in(ask("formula", {**MARSH})["html"]["formula"]) == []


def test_a_formula_may_name_a_scent_lot_itself_and_its_code_stands_in_the_record():
    state = copy.deepcopy(demo_state())
    lot = state["scent_lot"][0]
    values = MARSH | {"scent": f"lot:{lot['id']}", "scent_fraction": "1"}
    assert ask("formula", values)["ok"]
    next(each for each in state["formula"] if each["id"] == "f-marsh-plain")["values"] = values
    reply = ask("issue_batch", BATCH_VALUES | {"issued_by": "Q", "reason": "a trial"}, state)
    assert reply["ok"], reply.get("problems")
    assert lot["values"]["code"] in json.dumps(reply["record"]["scent"])
