"""Tanks at the one door: what is told of one, what goes in and out, and what does not fit."""

import copy
import html
import json
import re
from urllib.parse import parse_qsl

import pytest

from answers.demo import DEMO_NOW, LOAD_VALUES, PLAN_VALUES, demo_state
from answers.door import answer
from calc.entry.shown import plain_shortage

LYE_POUR = {"key": "lye:naoh", "kind": "alkali", "phase": "vessel", "lot": "LYE-1121", "target_g": 15_040.0}
SHEET = {"code": "QM-1", "soap": "Marsh Plain", "formula": "f-marsh-plain", "pours": [LYE_POUR], "tare_g": 11_400.0, "blocks": 3,
         "issued_on": "2026-11-24", "closed": [], "blended": False}  # fmt: skip


def asked(task, values, *, sheets=(), events=(), check=False, units="metric", **more):
    state = copy.deepcopy(demo_state()) | {"sheets": list(sheets), "units": units} | more
    state["contents"] = [*state["contents"], *events]
    return json.loads(answer(json.dumps({"task": task, "values": values, "state": state, "now": DEMO_NOW, "check": check})))


def said(reply, task):
    """The words, with spaces as they are typed."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", reply["html"][task]).replace("\u00a0", " "))


def weighed(block, grams, code="QM-1"):
    at = f"2026-11-25T07:0{block}:00.000Z"
    return {"id": f"w{block}", "at": at, "local": at, "kind": "weighed", "subject": f"block:{code}/{block}", "person": "Q",
            "step": "lye:naoh", "reading": str(grams), "unit": "g", "mode": "net", "lot": "LYE-1121"}  # fmt: skip


def test_the_lye_tank_says_for_how_many_blocks_it_lasts_and_by_how_much_it_is_short():
    # By hand: 80 - 12 = 68 kg left; 5 L of 33.1 % lye at 25 °C are 6.8 kg and stay; 61.2 kg are four blocks of 15.04 kg.
    five = SHEET | {"blocks": 5}
    words = said(asked("tank_standing", {"tank": "t-lye"}, sheets=[five]), "tank_standing")
    assert "68 kg left, enough for 4 of 5 blocks" in words
    assert re.search(r"Short by 14(\.0)? kg for block 5 of Marsh Plain", words), words


def test_what_a_block_has_weighed_is_gone_from_the_tank_and_from_what_is_wanted():
    words = said(asked("tank_standing", {"tank": "t-lye"}, sheets=[SHEET | {"closed": [1]}], events=[weighed(1, 15_040)]), "tank_standing")
    # By hand: 68 - 15.04 = 52.96 kg, and two blocks to come.
    assert re.search(r"(52\.96|53(\.0)?) kg left, enough for 2 of 2 blocks", words), words


def test_a_sheet_that_nobody_began_within_a_week_is_not_counted_on():
    old = SHEET | {"issued_on": "2026-11-10"}
    assert "blocks" not in said(asked("tank_standing", {"tank": "t-lye"}, sheets=[old]), "tank_standing").partition("Enough for")[0]
    assert "of 3 blocks" in said(asked("tank_standing", {"tank": "t-lye"}, sheets=[old], events=[weighed(1, 1_000)]), "tank_standing")


def test_a_load_is_kept_with_its_lots_and_what_of_it_is_hydroxide():
    reply = asked("tank_load", LOAD_VALUES | {"person": "Q"}, check=True)
    assert reply["ok"], reply
    record = reply["record"]
    assert (record["kind"], record["subject"], record["fields"]["person"]) == ("tank_loaded", "contents:t-lye", "Q")
    caustic, water = record["fields"]["parts"]
    assert (caustic["lot"], caustic["grams"], water) == ("NAO-0287", 10_000.0, {"name": "Water", "grams": 20_000.0})
    # By hand from the lot: 98.5 % total alkali as NaOH, of which 0.5 % carbonate counts as 2 x 39.997 / 105.988 of its weight.
    assert caustic["hydroxide_fraction"] == pytest.approx(0.985 - 0.005 * 2 * 39.997 / 105.988, abs=2e-4)


def test_what_does_not_fit_is_refused_with_what_would():
    reply = asked("tank_load", LOAD_VALUES | {"water_g": "300"})
    (problem,) = reply["problems"]
    assert problem["code"] == "tank-full" and "doesn't fit" in problem["message"] and "at most" in problem["remedy"]


@pytest.mark.parametrize(("tank", "lot"), [("t-oil", "a-naoh"), ("t-lye", "o-olv"), ("t-lye", "olive")])
def test_oil_goes_into_no_lye_tank_nor_caustic_into_an_oil_tank(tank, lot):
    values = {"tank": tank, "parts.0.lot": lot, "parts.0.mass_g": "1", "parts.0.mass_g.unit": "kg", "person": "Q"}
    (problem,) = asked("tank_load", values, check=True)["problems"]
    assert (problem["code"], problem["field"]) == ("other-tank", "parts.0.lot")


def test_a_first_load_of_lye_has_to_say_what_sheets_call_it():
    emptied = [each for each in demo_state()["contents"] if each["subject"] != "contents:t-lye"]
    state = {"contents": emptied}
    reply = json.loads(answer(json.dumps({"task": "tank_load", "values": LOAD_VALUES | {"person": "Q"}, "state": demo_state() | state, "now": DEMO_NOW, "check": True})))
    assert [problem["code"] for problem in reply["problems"]] == ["as-lot-missing"]
    named = LOAD_VALUES | {"person": "Q", "as_lot": "a-tank"}
    reply = json.loads(answer(json.dumps({"task": "tank_load", "values": named, "state": demo_state() | state, "now": DEMO_NOW, "check": True})))
    assert reply["record"]["fields"]["as_lot"] == "LYE-1121"


def test_more_drawn_than_put_in_is_told_and_not_hidden():
    words = said(asked("tank_standing", {"tank": "t-lye"}, events=[weighed(1, 100_000)]), "tank_standing")
    assert "32 kg more was drawn than was put in" in words


SECOND = {"name": "Second lye tank", "holds": "lye", "volume_ml": "100", "volume_ml.unit": "l", "dead_ml": "5", "dead_ml.unit": "l",
          "material": "polypropylene", "lagging": "none"}  # fmt: skip


def two_tanks(grams):
    """A second tank of the demo's lye, loaded with 33 % after the first."""
    at = "2026-11-25T06:00:00.000Z"
    load = {"id": "second", "at": at, "local": at, "kind": "tank_loaded", "subject": "contents:t-second", "person": "Q", "as_lot": "LYE-1121",
            "parts": [{"name": "Lye", "grams": grams, "alkali": "naoh", "hydroxide_fraction": 0.33}]}  # fmt: skip
    return {"tank": [*demo_state()["tank"], {"id": "t-second", "values": SECOND}]}, load


def test_two_tanks_of_one_lot_are_counted_together_on_both_pages_and_told_once():
    more, load = two_tanks(20_000)
    five = SHEET | {"blocks": 5}
    # By hand: the first gives 61.2 kg, the second 20 less 6.8; five blocks take 75.2, and 74.4 are there: 0.8 kg short.
    for tank in ("t-lye", "t-second"):
        words = said(asked("tank_standing", {"tank": tank}, sheets=[five], events=[load], **more), "tank_standing")
        assert "enough for 4 of 5 blocks" in words and re.search(r"Short by (7\d\d|8\d\d) g for block 5", words), words
    today = said(asked("tanks_today", {}, sheets=[five], events=[load], **more), "tanks_today")
    assert today.count("short by") == 1
    # To load the second, the blocks that the first gives are not asked for again.
    page = asked("tank_standing", {"tank": "t-second"}, sheets=[five], events=[load], **more)["html"]["tank_standing"]
    (plan,) = {html.unescape(each) for each in re.findall(r'href="\.\./plan/#([^"]+)"', page)}
    assert dict(parse_qsl(plan.partition("?")[2])) == {"made.0.formula": "f-marsh-plain", "made.0.blocks": "1"}
    assert "can give 61.2 kg more of it" in said(asked("tank_plan", PLAN_VALUES | {"tank": "t-second", "made.0.blocks": "1"}, events=[load], **more), "tank_plan")


def test_a_strength_beside_what_sheets_count_by_is_told():
    measured = {"id": "s", "at": "2026-11-25T07:00:00Z", "local": "2026-11-25T07:00:00Z", "kind": "tank_strength", "subject": "contents:t-lye",
                "person": "Q", "strength_fraction": 0.318}  # fmt: skip
    assert "Batch sheets are figured for LYE-1121 at 33 %" in said(asked("tank_standing", {"tank": "t-lye"}, events=[measured]), "tank_standing")
    assert "Batch sheets are figured" not in said(asked("tank_standing", {"tank": "t-lye"}), "tank_standing")


def test_all_of_it_taken_out_empties_the_tank():
    reply = asked("tank_draw", {"tank": "t-lye", "what": "all", "person": "Q", "reason": "Thrown away"}, check=True)
    assert (reply["record"]["kind"], reply["record"]["fields"]["reason"]) == ("tank_emptied", "Thrown away")
    assert "empty" in said(reply, "tank_draw")


def test_an_odd_entry_breaks_no_page():
    odd = [{"kind": "tank_loaded", "subject": "contents:t-lye"}, {"kind": 7}, {"id": 3, "kind": "tank_drawn", "at": 4, "local": 5, "subject": None}]
    assert "entries about tanks" in said(asked("tanks", {}, events=odd), "tanks")


def test_a_plan_for_blocks_says_what_goes_in_water_first_and_hands_it_on():
    reply = asked("tank_plan", PLAN_VALUES)
    words = said(reply, "tank_plan")
    assert words.index("Water") < words.index("Caustic soda") < words.index("Measure its strength")
    (load,) = [html.unescape(each) for each in re.findall(r'href="([^"]+)"', reply["html"]["tank_plan"]) if "load/" in each]
    handed = dict(parse_qsl(load.partition("?")[2]))
    caustic, water = float(handed["parts.0.mass_g"]), float(handed["water_g"])
    # By hand: with 68 kg of 33.1 % there, all of it together is lye of 33 %; hydroxide of NAO-0287 by its certificate.
    hydroxide = 0.985 - 0.005 * 2 * 39.997 / 105.988
    assert (68.0 * 0.331 + caustic * hydroxide) / (68.0 + caustic + water) == pytest.approx(0.33, abs=1e-4)
    # What the plan hands on is read by the load's own form, and fits.
    assert asked("tank_load", {"tank": "t-lye", "person": "Q", **handed}, check=True)["ok"]


def test_a_plan_that_does_not_fit_says_how_many_blocks_would():
    (problem,) = asked("tank_plan", PLAN_VALUES | {"made.0.blocks": "30"})["problems"]
    assert problem["code"] == "tank-full" and re.search(r"What fits: \d+ of Marsh Plain", problem["remedy"])
    fits = re.search(r"\d+", problem["remedy"]).group()
    assert asked("tank_plan", PLAN_VALUES | {"made.0.blocks": fits})["ok"]
    assert not asked("tank_plan", PLAN_VALUES | {"made.0.blocks": str(int(fits) + 1)})["ok"]


def test_of_two_formulas_the_common_blend_is_loaded_and_the_rest_is_weighed_at_the_pot():
    values = PLAN_VALUES | {"tank": "t-oil", "made.0.blocks": "1", "made.1.formula": "f-reed-lavender", "made.1.blocks": "1"}
    words = said(asked("tank_plan", values), "tank_plan")
    # Marsh Plain: olive 45, palm 30, coconut 25. Reed Lavender: olive 50, coconut 25, palm 20, castor 5.
    plain, reed = words.partition("Then at the pot")[2].split("Reed Lavender")
    assert "palm" in plain and "castor" not in plain
    assert "castor" in reed and "olive" in reed and "palm" not in reed.partition("How it")[0]


@pytest.mark.parametrize(("changed", "code"), [
    ({"source": "a-koh"}, "other-alkali"),
    ({"source": "a-tank", "lye_fraction": "40"}, "source-weak"),
    ({"lye_fraction": "25"}, "lye-too-weak"),
    ({"made.0.blocks": "1", "lye_fraction": "40"}, "cannot-reach"),
])  # fmt: skip
def test_what_can_not_be_loaded_is_told_with_what_to_do(changed, code):
    problems = asked("tank_plan", PLAN_VALUES | changed)["problems"]
    assert [problem["code"] for problem in problems] == [code] and all(problem["remedy"] for problem in problems)


def test_today_tells_which_tank_is_short_for_which_block_and_else_nothing():
    assert said(asked("tanks_today", {}, sheets=[SHEET]), "tanks_today").strip() == ""
    words = said(asked("tanks_today", {}, sheets=[SHEET | {"blocks": 5}]), "tanks_today")
    assert re.search(r"Lye tank short by 14(\.0)? kg Marsh Plain, block 5 QM-1", words), words
    # By hand: 14 kg are 30.9 lb; of what is left to the gram, 31.
    assert re.search(r"short by 3[01](\.\d)? lb", said(asked("tanks_today", {}, sheets=[SHEET | {"blocks": 5}], units="us"), "tanks_today"))


def test_what_a_plan_leaves_open_is_what_went_in_last_and_the_last_sheets_mold():
    plain = said(asked("tank_plan", PLAN_VALUES), "tank_plan")
    assert "NAO-0287" in plain
    twelve = PLAN_VALUES | {"made.0.blocks": "12"}
    chosen = asked("tank_plan", twelve | {"mould": "m-half"})
    of_last = asked("tank_plan", twelve, sheets=[SHEET | {"order": {"mould": "m-half"}, "closed": [1, 2, 3]}])
    assert said(chosen, "tank_plan") == said(of_last, "tank_plan") != plain


def test_without_any_caustic_a_plan_for_lye_says_what_is_missing():
    (problem,) = asked("tank_plan", PLAN_VALUES, alkali_lot=[], contents=[])["problems"]
    assert problem["code"] == "source-missing"


def test_with_enough_in_the_tank_nothing_has_to_go_in():
    assert "There’s enough in it" in said(asked("tank_plan", PLAN_VALUES | {"made.0.blocks": "1"}), "tank_plan")


def read_at(celsius, at="2026-11-25T07:00"):
    return {"id": "warm", "kind": "tank_temperature", "subject": "contents:t-lye", "at": at + ":00.000Z", "local": at + ":00+00:00", "person": "Q",
            "temperature_c": celsius, "instrument": "probe"}  # fmt: skip


def test_the_way_to_making_the_lye_hands_on_how_warm_the_tank_was_read_today():
    def handed(*events):
        link = re.search(r'href="\.\./dissolving/#t-lye\?([^"]*)"', asked("tank_plan", PLAN_VALUES, events=events)["html"]["tank_plan"]).group(1)
        return dict(parse_qsl(html.unescape(link)))

    assert float(handed(read_at(60.0))["have_c"]) == 60.0 and handed(read_at(60.0))["have_c.unit"] == "degC"
    assert "have_c" not in handed(read_at(60.0, "2026-11-24T07:00"))


@pytest.mark.parametrize(("percent", "ok"), [("33", True), ("30", False)])
def test_the_lot_that_sheets_are_to_call_it_says_how_strong_an_emptied_tank_is_loaded(percent, ok):
    lots = [*demo_state()["alkali_lot"], {"id": "a-new", "values": {"code": "LYE-N", "alkali": "naoh", "form": "premixed", "strength_fraction": percent, "strength_fraction.unit": "%"}}]
    emptied = {"id": "x", "kind": "tank_emptied", "subject": "contents:t-lye", "at": "2026-11-25T07:00:00.000Z", "local": "2026-11-25T07:00:00+00:00", "person": "Q"}
    reply = asked("tank_plan", PLAN_VALUES | {"as_lot": "a-new"}, events=[emptied], alkali_lot=lots, check=True)
    if ok:
        # What sheets count by is what is loaded: 33 %, where the formula alone would ask for 32.
        assert reply["record"]["fields"]["wanted_fraction"] == pytest.approx(0.33)
    else:
        assert [(problem["field"], problem["code"]) for problem in reply["problems"]] == [("as_lot", "lye-too-weak")]


def test_lye_that_was_read_below_its_crystals_is_told_wherever_it_is_drawn_on():
    # naoh_crystallisation.csv: 33 % lye drops crystals at 8 °C.
    for task, values in (("tank_standing", {"tank": "t-lye"}), ("tank_plan", PLAN_VALUES)):
        words = said(asked(task, values, events=[read_at(5.0)]), task)
        assert "33.1 % lye starts to crystallize below 8 °C. Warm it and stir before you draw or measure any." in words, words
        assert "starts to crystallize" not in said(asked(task, values, events=[read_at(12.0)]), task)


def test_what_is_short_is_never_said_to_be_less_than_it_is():
    # By hand: 68 kg less what stays below the valve, about 6.8 kg, for five blocks of 15.04 kg.
    reply = asked("tank_standing", {"tank": "t-lye"}, sheets=[SHEET | {"blocks": 5}])
    (words,) = re.findall(r"Short by ([\d.]+) kg", said(reply, "tank_standing"))
    assert [plain_shortage(grams, "metric") for grams in (14_010.0, 14_100.0, 960.2)] == ["14.1 kg", "14.1 kg", "961 g"]
    assert float(words) >= 5 * 15.04 - 61.2


def test_a_load_onto_more_drawn_than_put_in_lists_only_what_is_left_and_tells_it():
    load = {"id": "z", "kind": "tank_loaded", "subject": "contents:t-lye", "at": "2026-11-25T08:00:00.000Z", "local": "2026-11-25T08:00:00+00:00",
            "person": "Q", "parts": [{"name": "Water", "grams": 42_000.0}]}  # fmt: skip
    # By hand: 68 - 100 = -32 kg, and 42 more make 10.
    words = said(asked("tank_standing", {"tank": "t-lye"}, events=[weighed(1, 100_000), load]), "tank_standing")
    assert "32 kg more had been drawn than put in" in words and "10 kg left" in words and "Water: 10 kg" in words, words


def test_oils_that_are_all_drawn_are_not_counted_as_there():
    plan = PLAN_VALUES | {"tank": "t-oil", "made.0.blocks": "4"}
    gone = {"id": "g", "kind": "tank_drawn", "subject": "contents:t-oil", "at": "2026-11-25T07:00:00.000Z", "local": "2026-11-25T07:00:00+00:00", "person": "Q", "grams": 500_000.0}
    emptied = gone | {"kind": "tank_emptied"}
    masses = [float(re.search(r"Put in ([\d.]+) kg", said(asked("tank_plan", plan, events=[event]), "tank_plan")).group(1)) for event in (gone, emptied)]
    # What stays below the valve is weighed by the blend that was in it, or by the usual density.
    assert masses[0] == pytest.approx(masses[1], abs=0.2)
