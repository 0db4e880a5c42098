"""The one door: every demo request is answered, faults come back as data, hostile text stays text."""

import json
import re
from pathlib import Path

import pytest
from odd_requests import form_requests

from answers.demo import BATCH_VALUES, DEMO_NOW, demo_requests, demo_state, practice_batch, stored_values
from answers.door import answer, warm
from answers.tasks import TASKS
from calc.entry.language import LANGUAGES
from calc.tables.reference import lines_of


def ask(task, values=None, state=None, now=DEMO_NOW):
    request = {"task": task, "values": values or {}, "state": state or demo_state(), "now": now}
    return json.loads(answer(json.dumps(request)))


def with_item(kind, id_, **changes):
    """The demo workshop with some typed texts of one item changed."""
    state = json.loads(json.dumps(demo_state()))
    item = next(entry for entry in state[kind] if entry["id"] == id_)
    item["values"].update(changes)
    return state


@pytest.mark.parametrize("request_", demo_requests(), ids=lambda request: request["task"])
def test_demo_workshop_gets_an_answer(request_):
    assert json.loads(answer(json.dumps(request_)))["ok"]


def test_every_formula_and_item_of_the_demo_is_in_order():
    for kind in set(TASKS) & set(demo_state()):
        for entry in demo_state()[kind]:
            reply = ask(kind, entry["values"])
            if kind == "safety":
                # An invented number or address must never stand on the emergency card: they are asked for.
                assert {each["field"] for each in reply["problems"]} == {"emergency_number", "address", "eyewash"}, reply
            else:
                assert reply["ok"], (kind, entry["id"], reply)


def test_warming_needs_no_second_try():
    warm()


def test_once_warm_no_rows_of_a_table_are_held_that_something_was_made_of():
    """They would lie in the memory snapshot that every start loads."""
    warm()
    assert lines_of.cache_info().currsize == 0


def test_once_warm_no_answer_needs_a_file(monkeypatch):
    """As in the browser, whose memory snapshot has no files: a table or template that is wanted only then ends in a fault."""
    warm()

    def refused(path, *_args, **_more):
        raise FileNotFoundError(f"{path} is not in the snapshot")

    monkeypatch.setattr("builtins.open", refused)
    monkeypatch.setattr(Path, "open", refused)
    monkeypatch.setattr("io.open", refused)
    answered = set()
    for task in TASKS:
        if task == "at_the_scale":
            continue
        for request in form_requests(task, 1, 60):
            for language in LANGUAGES:
                reply = json.loads(answer(json.dumps(json.loads(request) | {"language": language})))
                assert "fault" not in reply, (reply["report"], request)
                answered |= {task} if reply["ok"] else set()
    for request in demo_requests():
        assert json.loads(answer(json.dumps(request)))["ok"]
    assert len(answered) > len(TASKS) / 2
    with pytest.raises(FileNotFoundError):
        lines_of("oils")


@pytest.mark.parametrize(
    "text", ["", "nonsense", "{}", "[]", '{"task": "no_such_task", "values": {}, "state": {}, "now": ""}']
)
def test_what_is_no_request_comes_back_as_a_fault(text):
    reply = json.loads(answer(text))
    assert set(reply) == {"fault", "report"}


@pytest.mark.parametrize(
    "task", ["formula", "batch_sheet", "mould", "scale", "oil_lot", "alkali_lot", "own_oil", "cutter"]
)
def test_empty_form_names_every_missing_field(task):
    reply = ask(task)
    assert reply["ok"] is False
    assert len(reply["problems"]) >= 3
    assert all(problem["field"] and problem["message"] and problem["remedy"] for problem in reply["problems"])


def test_problem_of_a_row_names_the_row_on_the_page():
    # Row 1 was removed on the page: the second oil that is left stands in row 2.
    values = dict(stored_values("formula", "f-marsh-plain"))
    for key in [key for key in values if key.startswith("oils.1.")]:
        del values[key]
    values["oils.0.share_fraction"] = "75"
    values["oils.2.oil"] = "olive"
    reply = ask("formula", values)
    assert [problem["field"] for problem in reply["problems"]] == ["oils.2.oil"]


def test_markup_in_names_is_shown_as_text():
    name = '<img src=x onerror=alert(1)> & "quoted"'
    state = with_item("mould", "m-block", name=name)
    for task in ("batch_sheet", "workshop"):
        html = "".join(ask(task, BATCH_VALUES, state)["html"].values())
        assert "<img" not in html
        assert "&lt;img src=x onerror=alert(1)&gt;" in html


def test_fault_in_a_stored_item_is_told_at_the_control_that_chose_it():
    reply = ask("batch_sheet", BATCH_VALUES, with_item("mould", "m-block", length_mm="six hundred"))
    assert [(problem["field"], problem["code"]) for problem in reply["problems"]] == [("mould", "stored-item-faulty")]
    assert "Block mold" in reply["problems"][0]["message"]


def test_items_that_are_gone_are_all_named_at_once():
    reply = ask("batch_sheet", BATCH_VALUES | {"mould": "gone", "vessel": "gone", "formula": "gone"})
    assert {problem["field"] for problem in reply["problems"]} == {"mould", "vessel", "formula"}


def test_issuing_makes_a_record_with_the_next_code_and_its_inputs():
    state = json.loads(json.dumps(demo_state()))
    state["batch_codes"] = ["QM-261125-1"]
    reply = ask("issue_batch", BATCH_VALUES | {"issued_by": "Q"}, state)
    record = reply["record"]
    assert record["code"] == "QM-261125-2"
    assert record["formula"]["revision"] == 3
    assert record["inputs"]["order"]["blocks"] == "2"
    assert set(record["inputs"]["mould"]) == {"m-block"}
    assert record["html"] == reply["html"]["issued"]


def test_issued_sheet_gives_the_total_of_all_blocks_for_each_amount():
    # 2 blocks: twice what one block is given, by the display of the scale (demo: kg in steps of 20 g).
    record = ask("issue_batch", BATCH_VALUES | {"issued_by": "Q"})["record"]
    words = record["html"].replace("\N{NO-BREAK SPACE}", " ")
    in_kg = [pour["target_g"] for pour in record["pours"] if pour["unit"] == "kg"]
    weighed = [step for step in record["steps"] if step["kind"] == "weigh"]
    assert in_kg and words.count("All 2 blocks: ") == len(weighed)
    whole = {pour["key"]: pour["target_g"] for pour in record["pours"] if pour["unit"] == "kg"}
    for step in weighed:
        if step["key"] in whole:
            assert f"All 2 blocks: {2 * whole[step['key']] / 1000:.2f} kg" in words
        else:
            twice = 2 * step["target"] / 10 ** step["decimals"]
            assert f"All 2 blocks: {twice:.{step['decimals']}f} {step['unit']}" in words


def test_batch_answer_comes_in_two_parts():
    html = ask("batch_sheet", BATCH_VALUES)["html"]
    assert "Into the vessel" in html["batch_sheet"] and "How sure the superfat is" in html["batch_sheet"]
    assert "Values used for the oils" in html["batch_more"] and "Values used" not in html["batch_sheet"]


def test_the_sheet_leads_with_one_line_an_amount_and_the_code_it_would_be_issued_under():
    state = json.loads(json.dumps(demo_state()))
    state["batch_codes"] = ["QM-261125-1"]
    first, behind = ask("batch_sheet", BATCH_VALUES, state)["html"]["batch_sheet"].replace("\N{NO-BREAK SPACE}", " ").split('<div class="folds">')
    assert "Batch QM-261125-2." in first
    record = ask("issue_batch", BATCH_VALUES | {"issued_by": "Q"}, state)["record"]
    # 4 figures are more than anybody says of a block: tenths of a kilogram.
    assert f"<dd>{record['batter_g'] / 1000:.1f} kg</dd>" in first
    # An amount in two portions has both together in its line, and how much of it the second is.
    for pour in record["pours"]:
        assert f"{pour['target_g'] / 1000:.2f} kg" in first or f"{pour['target_g']:.0f} g" in first, pour["name"]
    assert "723 g of it from the pitcher" in first
    assert "In the vessel after that" in behind and "In the vessel after that" not in first
    # What was typed is proposed; a code that is taken is not.
    for code, told in (("QM-OWN", "Batch QM-OWN."), ("QM-261125-1", None)):
        html = ask("batch_sheet", BATCH_VALUES | {"code": code}, state)["html"]["batch_sheet"]
        assert (told in html) if told else ("Batch QM" not in html)


def test_risky_sheet_is_issued_only_with_a_reason():
    # 0.5 % superfat lies within the spread of three oils (physics_check_values.csv D4: some 1.2 points).
    state = with_item("formula", "f-marsh-plain", superfat_fraction="0.5")
    refused = ask("issue_batch", BATCH_VALUES | {"issued_by": "Q"}, state)
    assert [problem["field"] for problem in refused["problems"]] == ["reason"]
    issued = ask("issue_batch", BATCH_VALUES | {"issued_by": "Q", "reason": "Trial"}, state)
    assert issued["record"]["reason"] == "Trial"


def test_own_oil_can_be_used_in_a_formula():
    state = json.loads(json.dumps(demo_state()))
    own = {
        "name": "Hemp of ours", "source": "certificate 12", "ester": "triglyceride",
        "saponification_low_value": "190", "saponification_high_value": "194",
    }  # fmt: skip
    state["own_oil"] = [{"id": "w-1", "values": own}]
    values = dict(stored_values("formula", "f-marsh-plain")) | {"oils.0.oil": "own:w-1"}
    reply = ask("formula", values, state)
    assert reply["ok"], reply
    assert "Hemp of ours" in reply["html"]["formula_more"]


def milky(**more):
    values = dict(stored_values("formula", "f-marsh-plain"))
    values |= {"additives.3.kind": "milk", "additives.3.share_fraction": "18", "lye_strength_fraction": "32"}
    return values | more


def test_water_that_is_left_blank_is_told_beside_its_own_field_and_a_stated_one_is_not():
    # additives.csv: milk 87 %. Rows may have gaps in their numbers: the control is row 3, the additive is the first.
    assert ask("formula", milky())["understood"] == {"additives.3.water_fraction": "Counted as 87 % water: usual for it."}
    assert ask("formula", milky(**{"additives.3.water_fraction": "3"}))["understood"] == {}
    acid = {"additives.3.kind": "lactic", "additives.3.share_fraction": "1", "additives.3.strength_fraction": "80"}
    assert ask("formula", milky(**acid))["understood"] == {
        "additives.3.water_fraction": "Counted as 20 % water: what its strength leaves."
    }
    assert ask("formula", milky(**{"additives.3.kind": "clay"}))["understood"] == {"additives.3.water_fraction": "Counted as dry."}


def test_a_sheet_tells_the_lye_itself_and_the_water_counted_for_milk():
    state = with_item("formula", "f-marsh-plain", **milky(**{"additives.3.share_fraction": "10"}))
    lots = {"naoh_lot": next(each["id"] for each in state["alkali_lot"] if each["values"]["form"] == "solid")}
    reply = ask("batch_sheet", BATCH_VALUES | lots, state)
    assert reply["ok"], reply
    assert "usual-water-counted" in {caution["code"] for caution in reply["cautions"]}
    assert "The lye itself" in reply["html"]["batch_more"] + reply["html"]["batch_sheet"]


def test_a_fifth_of_milk_at_32_percent_is_a_problem_in_formula_and_sheet_and_no_fault():
    values = milky(**{"additives.3.share_fraction": "20"})
    reply = ask("formula", values)
    assert [(each["field"], each["code"]) for each in reply["problems"]] == [("additives", "lye-short-of-water")]
    state = with_item("formula", "f-marsh-plain", **values)
    lots = {"naoh_lot": next(each["id"] for each in state["alkali_lot"] if each["values"]["form"] == "solid")}
    reply = ask("batch_sheet", BATCH_VALUES | lots, state)
    assert ("formula", "lye-short-of-water") in [(each["field"], each["code"]) for each in reply["problems"]]


def test_own_wax_with_and_without_an_acid_value():
    state = json.loads(json.dumps(demo_state()))
    wax = {
        "name": "Wax of ours", "source": "certificate 7", "ester": "wax",
        "saponification_low_value": "90", "saponification_high_value": "100",
    }  # fmt: skip
    values = dict(stored_values("formula", "f-marsh-plain")) | {"oils.1.oil": "own:w-1", "superfat_fraction": "5"}
    told = {}
    for acid in ("", "20"):
        state["own_oil"] = [{"id": "w-1", "values": wax | {"acid_value": acid}}]
        reply = ask("formula", values, state)
        assert reply["ok"], reply
        (caution,) = [each for each in reply["cautions"] if each["code"] == "wax-saponifies-in-part"]
        assert caution["message"].startswith("If none of the wax of ours reacts, the superfat is \N{MINUS SIGN}")
        assert "data-free-lye" in reply["html"]["formula"]
        told[acid] = float(caution["message"].rsplit("\N{MINUS SIGN}", 1)[1].removesuffix(" %."))
    assert told["20"] < told[""]
    reply = ask("own_oil", wax | {"acid_value": "95", "saponification_low_value": "90"})
    assert reply["ok"] is False
    reply = ask("own_oil", wax | {"acid_value": "55", "saponification_low_value": "52"})
    assert [(each["field"], each["code"]) for each in reply["problems"]] == [("acid_value", "acid-over-saponification")]


def test_a_formula_of_wax_alone_is_answered_with_its_danger_and_no_fault():
    values = dict(stored_values("formula", "f-marsh-plain"))
    alone = {key: text for key, text in values.items() if not key.startswith("oils.")}
    for wax in ("jojoba", "lanolin", "beeswax"):
        reply = ask("formula", alone | {"oils.0.oil": wax, "oils.0.share_fraction": "100", "oils.0.added": "main"})
        assert reply["ok"], reply
        assert "data-free-lye" in reply["html"]["formula"]


def test_the_mean_stands_beside_the_stated_superfat_where_they_differ():
    # Almond: used 190.8 of 190 to 200; by hand 1 - 0.95·190.8·ln(200/190)/10 = 7.03 %.
    values = dict(stored_values("formula", "f-marsh-plain"))
    alone = {key: text for key, text in values.items() if not key.startswith("oils.")}
    almond = alone | {"oils.0.oil": "almond", "oils.0.share_fraction": "100", "oils.0.added": "main", "superfat_fraction": "5"}
    state = demo_state() | {"oil_lot": []}
    html = ask("formula", almond, state)["html"]["formula_more"].replace("\N{NO-BREAK SPACE}", " ")
    assert "Stated 5 %, 7.0 % on average" in html
    olive = almond | {"oils.0.oil": "olive"}
    html = ask("formula", olive, state)["html"]["formula"].replace("\N{NO-BREAK SPACE}", " ")
    assert "Stated 5 %, 5.0 %" not in html


def test_cleared_workshop_says_what_to_set_up():
    reply = ask("batch_sheet", BATCH_VALUES, {"units": "metric"})
    assert reply["ok"] is False
    assert {"mould", "vessel", "formula"} <= {problem["field"] for problem in reply["problems"]}
    assert ask("workshop", {}, {"units": "metric"})["ok"]
    assert ask("formula_list", {}, {"units": "metric"})["ok"]


def test_us_units_change_the_words_and_not_the_amounts():
    metric = ask("issue_batch", BATCH_VALUES | {"issued_by": "Q"})
    us = ask("issue_batch", BATCH_VALUES | {"issued_by": "Q"}, demo_state() | {"units": "us"})
    assert metric["record"]["pours"] == us["record"]["pours"]


def test_issuing_names_faults_of_the_order_and_of_the_issue_together():
    reply = ask("issue_batch", BATCH_VALUES | {"blocks": "0"})
    assert {problem["field"] for problem in reply["problems"]} == {"blocks", "issued_by"}


def test_us_units_reach_every_sentence():
    stock = {"scale_to": "oil_left", "oil_left": "coconut", "oil_left_g": "40", "oil_left_g.unit": "lb"}
    html = ask("batch_sheet", BATCH_VALUES | stock, demo_state() | {"units": "us"})["html"]["batch_sheet"]
    assert "40 lb of coconut oil" in html.replace("\N{NO-BREAK SPACE}", " ")


def test_oils_that_come_blended_stand_on_the_first_screen_as_their_one_weighing():
    blended = with_item("floor", "floor", oils="blend")
    html = ask("batch_sheet", BATCH_VALUES, blended)["html"]["batch_sheet"]
    lines = re.search(r'<ul class="pour-lines">.*?</ul>', html, re.DOTALL)[0].replace("\N{NO-BREAK SPACE}", " ")
    step = next(s for s in ask("issue_batch", BATCH_VALUES | {"issued_by": "Q"}, blended)["record"]["steps"] if s["key"] == "oil:blend")
    assert "Oil blend" in lines
    assert f"<strong>{step['target_text']} {step['unit']}</strong>" in lines


def test_issued_record_holds_the_steps_by_the_shop_s_ways_and_freezes_them():
    values = BATCH_VALUES | {"issued_by": "Q"}
    record = ask("issue_batch", values)["record"]
    assert record["inputs"]["floor"]["floor"] == stored_values("floor", "floor")
    assert "check:tare-oils" in [step["key"] for step in record["steps"]]
    untared = ask("issue_batch", values, with_item("floor", "floor", tare="never"))["record"]
    assert "check:tare-oils" not in [step["key"] for step in untared["steps"]]


@pytest.mark.parametrize(
    ("values", "high"),
    [
        ({"hottest_lye_c": "45", "hottest_lye_c.unit": "degC"}, 450),
        # 113 °F = 45 °C (NIST SP 811, Appendix B.9).
        ({"hottest_lye_c": "113", "hottest_lye_c.unit": "degF"}, 450),
        # Looser than the built-in 60 °C: none, and the other limit counts all the same.
        ({"hottest_lye_c": "80", "hottest_lye_c.unit": "degC"}, None),
        ({}, None),
    ],
)
def test_issued_sheet_freezes_the_safety_form_s_limits_into_the_lye_s_reading(values, high):
    # The demo's form is not whole: nobody's address is invented.
    cold = {"coldest_tank_c": "25", "coldest_tank_c.unit": "degC"}
    state = with_item("safety", "safety", **values, **cold, address="Mill Lane 3")
    floor = {"lye_lowest_c": "", "lye_highest_c": ""}
    state["floor"][0]["values"].update(floor)
    record = ask("issue_batch", BATCH_VALUES | {"issued_by": "Q"}, state)["record"]
    (lye,) = [step for step in record["steps"] if step["key"] == "temp:lye"]
    assert (lye["low"], lye["high"]) == (250, high)
    assert record["inputs"]["safety"] == {"safety": {**values, **cold}}


def test_shop_that_says_nothing_of_its_ways_gets_every_step():
    state = {kind: items for kind, items in demo_state().items() if kind != "floor"}
    record = ask("issue_batch", BATCH_VALUES | {"issued_by": "Q"}, state)["record"]
    keys = [step["key"] for step in record["steps"]]
    assert {"check:protect", "check:eyewash", "check:vessel", "temp:oils", "reserve:lye", "cover", "unmould"} <= set(keys)


def test_crossed_temperatures_are_told_in_the_form_and_at_the_batch():
    state = with_item("floor", "floor", oil_lowest_c="50")
    form = ask("floor", next(iter(state["floor"]))["values"], state)
    assert [problem["field"] for problem in form["problems"]] == ["oil_highest_c"]
    reply = ask("batch_sheet", BATCH_VALUES, state)
    assert [problem["code"] for problem in reply["problems"]] == ["stored-item-faulty"]
    assert "Work at the scale" in reply["problems"][0]["message"]


def test_workshop_lists_what_there_is_one_of_without_a_way_to_add_another():
    html = ask("workshop")["html"]["workshop"]
    assert 'href="edit/#floor/floor"' in html
    assert "#floor/new" not in html and "#shop/new" not in html
    none = {kind: items for kind, items in demo_state().items() if kind not in ("floor", "shop")}
    html = ask("workshop", state=none)["html"]["workshop"]
    assert 'href="edit/#floor/new"' in html and 'href="edit/#shop/new"' in html


def test_a_vessel_that_holds_no_whole_block_says_so_before_a_batch_sheet_does():
    # 24 x 16 x 7.5 in = 2880 in3, and 231 in3 are a US gallon (NIST Handbook 44, Appendix C): 12.47 gal.
    sides = {"length_mm": "24", "width_mm": "16", "height_mm": "8", "fill_height_mm": "7.5"}
    values = {"name": "Block", **sides, **{f"{side}.unit": "in" for side in sides}}
    state = {**demo_state(), "units": "us", "mould": [{"id": "m", "values": values}, {"id": "faulty", "values": {}}]}
    for gallons, told in (("12.4", ["smaller-than-mould"]), ("12.5", [])):
        vessel = {"name": "Pot", "capacity_ml": gallons, "capacity_ml.unit": "gal", "tare_g": "1", "tare_g.unit": "lb"}
        reply = ask("vessel", vessel, state)
        assert [caution["code"] for caution in reply["cautions"]] == told
        assert ("Block takes 12.5 gal at its usual fill" in reply["html"]["vessel"].replace("\u00a0", " ")) == bool(told)


def test_temperatures_notes_and_stated_superfat_stand_on_the_live_and_on_the_issued_sheet():
    state = json.loads(json.dumps(demo_state()))
    (formula,) = [entry for entry in state["formula"] if entry["id"] == BATCH_VALUES["formula"]]
    formula["values"] |= {"oil_temperature_c": "44", "lye_temperature_c": "31", "notes": "Do <not> gel."}
    for task, region in (("batch_sheet", "batch_sheet"), ("issue_batch", "issued")):
        asked = {"task": task, "values": BATCH_VALUES | {"issued_by": "Q"}, "state": state, "now": DEMO_NOW}
        html = json.loads(answer(json.dumps(asked)))["html"][region].replace("\N{NO-BREAK SPACE}", " ")
        assert "44 °C" in html and "31 °C" in html and "Do &lt;not&gt; gel." in html
        assert "6 % stated" in html
        # 44 °C is 111.2 °F, 31 °C is 87.8 °F.
        asked["state"] = state | {"units": "us"}
        html = json.loads(answer(json.dumps(asked)))["html"][region].replace("\N{NO-BREAK SPACE}", " ")
        assert "111 °F" in html and "88 °F" in html


@pytest.mark.parametrize(("kind", "field"), [("mould", "name"), ("formula", "name"), ("alkali_lot", "code")])
def test_what_could_not_be_told_apart_is_refused_when_it_is_saved(kind, field):
    first, second = demo_state()[kind][:2]
    values, other = first["values"], second["id"]
    taken = f"  {second['values'][field].upper()} "
    asked = {"task": kind, "values": values | {field: taken}, "state": demo_state(), "now": DEMO_NOW, "id": ""}
    assert json.loads(answer(json.dumps(asked)))["ok"]
    (problem,) = json.loads(answer(json.dumps(asked | {"check": True})))["problems"]
    assert (problem["field"], problem["code"]) == (field, "double")
    # Its own name is no double.
    assert json.loads(answer(json.dumps(asked | {"check": True, "id": other})))["ok"]


def test_a_lot_code_is_one_of_all_lots():
    oils, alkalis = demo_state()["oil_lot"], demo_state()["alkali_lot"]
    values = oils[0]["values"] | {"code": alkalis[0]["values"]["code"]}
    asked = {"task": "oil_lot", "values": values, "state": demo_state(), "now": DEMO_NOW, "id": oils[0]["id"], "check": True}
    assert json.loads(answer(json.dumps(asked)))["problems"][0]["code"] == "double"


def test_the_batch_that_waits_in_practice_says_so_on_its_sheet_and_can_be_issued_anew_under_another_code_and_time():
    built = practice_batch()
    record = built["record"]
    assert record["code"] == "PRACTICE-1" and "PRACTICE-1" in record["html"]
    assert all(step["es"]["title"] for step in record["steps"])
    # The page puts a new code and time in their places, by text alone.
    anew = json.dumps(built).replace("PRACTICE-1", "PRACTICE-2")
    for at, now in ((built["issued_at"], "2027-01-02T09:30"), (built["issued_at"].replace("T", " "), "2027-01-02 09:30")):
        anew = anew.replace(at, now)
    html = json.loads(anew)["record"]["html"]
    assert "PRACTICE-2" in html and '<time datetime="2027-01-02T09:30"' in html and "2027-01-02 09:30" in html and DEMO_NOW[:10] not in html
