"""The answers of the heat pages: what stands first, in both units and languages, and what the maker is warned of."""

import json
import re
from copy import deepcopy

from answers.demo import BATCH_VALUES, DEMO_NOW, HEAT_VALUES, MIX_VALUES, demo_state
from answers.door import answer


def asked(task: str, values: dict[str, str], *, units: str = "metric", language: str = "en", now: str = DEMO_NOW, state=None) -> dict:
    state = deepcopy(state or demo_state()) | {"units": units}
    return json.loads(answer(json.dumps({"task": task, "values": values, "state": state, "now": now, "language": language})))


def told(task: str, values: dict[str, str], **how) -> str:
    reply = asked(task, values, **how)
    assert reply.get("ok"), reply
    return " ".join(re.sub(r"<[^>]+>", " ", reply["html"][task]).split()).replace(" :", ":")


def problem(task: str, values: dict[str, str], **how) -> dict:
    (found,) = asked(task, values, **how)["problems"]
    return found


def test_the_switch_on_comes_first_with_its_earliest_and_latest():
    words = told("tank_heat", HEAT_VALUES)
    assert re.match(r"Switch on at 05:\d[05] tomorrow, full power 0[34]:\d[05] to 05:\d[05] for 45.°C at 07:00", words), words[:120]
    assert "Set the thermostat to 45" in words and "Stir as soon as it’s soft" in words


def test_each_time_is_one_that_the_page_tells_in_the_readers_way():
    html = asked("tank_heat", HEAT_VALUES)["html"]["tank_heat"]
    times = re.findall(r'<time datetime="2026-11-26T(\d\d:\d\d)" data-tells="time">(\d\d:\d\d)</time>', html)
    assert len(times) >= 4 and all(at == shown for at, shown in times)
    assert re.search(r'<text [^>]*data-datetime="2026-11-26T07:00" data-tells="time">07:00</text>', html)
    assert re.search(r'data-remind="2026-11-26T05:\d[05]" data-name="tank" data-title="Switch on: Oil tank"', html)


def test_the_curve_has_its_words():
    html = asked("tank_heat", HEAT_VALUES)["html"]["tank_heat"]
    assert re.search(r'role="img" [^>]*aria-label="Course of the temperature: 2\d.°C at first; 45.°C after', html)


def test_without_a_thermostat_somebody_has_to_switch_it_off():
    words = told("tank_heat", HEAT_VALUES | {"thermostat": "no"})
    assert "No thermostat: left on, it keeps going to" in words and "switch it off at 07:00" in words
    assert "A timer alone switches on a heater that nobody watches" in words


def test_lye_is_told_of_its_fumes_and_oils_are_not():
    lye = HEAT_VALUES | {"holds": "lye", "strength_fraction": "33", "oils_are": ""}
    assert "what rises off warm lye burns" in told("tank_heat", lye)
    assert "lye" not in told("tank_heat", HEAT_VALUES)


def test_a_price_makes_a_cost_of_it():
    # By hand: what the answer says in kilowatt-hours, times the price.
    words = told("tank_heat", HEAT_VALUES | {"kwh_price": "0.20"})
    kwh, cost = re.search(r"Heating takes ([\d.]+).kWh costs ([\d.]+)", words).groups()
    assert abs(float(kwh) * 0.20 - float(cost)) <= 0.02
    a_day, its_cost = re.search(r"A day at .*? takes ([\d.]+) kWh .*? that’s ([\d.]+) a day", words).groups()
    assert abs(float(a_day) * 0.20 - float(its_cost)) <= 0.02


def test_too_late_and_cooling_and_there_each_have_their_own_first_line():
    assert told("tank_heat", HEAT_VALUES, now="2026-11-26T06:40:00+00:00").startswith("Too late for 07:00: switch on now 45")
    assert told("tank_heat", HEAT_VALUES | {"ready_at": ""}).startswith("Switch on now, full power")
    assert told("tank_heat", HEAT_VALUES | {"now_c": "70", "oils_are": "clear"}).startswith("Down to 45")
    assert told("tank_heat", HEAT_VALUES | {"now_c": "45"}).startswith("It’s at 45")


def test_us_units_and_spanish():
    assert "113 °F" in told("tank_heat", HEAT_VALUES, units="us").replace("\xa0", " ")
    assert told("tank_heat", HEAT_VALUES, language="es").startswith("Encienda a las 05:")
    assert told("mix_temperature", MIX_VALUES, language="es").startswith("La masa quedará a 36")


def test_the_mix_is_told_all_three_ways():
    # Row C14 and C15 of physics_check_values.csv, with the amounts typed.
    amounts = {"oils_g": "34.98", "oils_g.unit": "kg", "lye_g": "15.04", "lye_g.unit": "kg", "strength_fraction": "33"}
    c = {name: {f"{name}_c": value, f"{name}_c.unit": "degC"} for name, value in (("oils", "44"), ("lye", "30"), ("batter", "38"))}
    assert told("mix_temperature", amounts | c["lye"] | c["batter"]).startswith("Oils at 44")
    assert told("mix_temperature", amounts | c["oils"] | c["lye"]).startswith("Batter will be 38")
    assert told("mix_temperature", amounts | c["oils"] | c["batter"]).startswith("Lye at 30")


def test_without_temperatures_those_of_the_formula_count():
    assert told("mix_temperature", {"formula": "f-marsh-plain"}).startswith("Batter will be 36")


def test_a_batch_sheet_leads_to_the_mix_of_its_formula():
    html = asked("batch_sheet", BATCH_VALUES)["html"]["batch_more"]
    assert 'href="../tanks/mix/#f-marsh-plain"' in html


def test_a_fat_that_may_set_is_named_with_its_melting_range():
    assert "Palm oil melts at 33 to 39" in told("mix_temperature", MIX_VALUES)
    warm = MIX_VALUES | {"oils_c": "60", "lye_c": "40"}
    assert "None of this formula’s fats sets" in told("mix_temperature", warm)


def test_one_temperature_is_too_few_and_some_batters_are_out_of_reach():
    lone = {"formula": "f-marsh-plain", "lye_c": "30", "lye_c.unit": "degC"}
    assert problem("mix_temperature", lone)["code"] == "one-temperature"
    out = {"formula": "f-marsh-plain", "lye_c": "5", "lye_c.unit": "degC", "batter_c": "80", "batter_c.unit": "degC"}
    assert problem("mix_temperature", out)["code"] == "out-of-reach"


def test_a_tank_that_is_no_longer_there_is_a_problem_of_its_field():
    assert problem("tank_heat", HEAT_VALUES | {"tank": "gone"})["field"] == "tank"


def entry(id_: str, local: str, kind: str, **fields: object) -> dict[str, object]:
    return {"id": id_, "kind": kind, "subject": "contents:t-oil", "at": f"{local}:00.000Z", "local": f"{local}:00+00:00", "person": "Q", **fields}


LOADED = entry("a", "2026-11-24T20:00", "tank_loaded", parts=[{"name": "Olive oil", "oil": "olive", "grams": 120_000.0}])
WARM = entry("b", "2026-11-24T21:00", "tank_temperature", temperature_c=45.0, instrument="probe")


def test_what_the_tanks_entries_say_counts_where_nothing_is_typed():
    blank = {name: text for name, text in HEAT_VALUES.items() if not name.startswith("amount_g")}
    nothing = demo_state() | {"contents": []}
    assert problem("tank_heat", blank, state=nothing)["field"] == "amount_g"
    loaded = demo_state() | {"contents": [LOADED]}
    typed = blank | {"amount_g": "120", "amount_g.unit": "kg"}
    assert told("tank_heat", blank, state=loaded) == told("tank_heat", typed, state=nothing)


def test_an_earlier_temperature_of_the_entries_is_asked_about_and_put_in_at_a_tap():
    now = {"now_c": "40", "wanted_c": "45", "oils_are": "clear"}
    state = demo_state() | {"contents": [LOADED, WARM]}
    reply = asked("tank_heat", HEAT_VALUES | now, state=state)
    assert "Has the heater been off since?" in reply["html"]["tank_heat"]
    put = re.search(r'data-put="([^"]*earlier_at[^"]*)"', reply["html"]["tank_heat"])
    assert put is not None
    puts = json.loads(put[1].replace("&#34;", '"'))
    assert puts == {"earlier_c": "45", "earlier_c.unit": "degC", "earlier_at": "21:00"}
    words = told("tank_heat", HEAT_VALUES | now | puts, state=state)
    assert "by its two temperatures" in words and "Has the heater been off" not in words


def test_a_temperature_is_kept_as_an_entry_and_leads_on():
    values = {"tank": "t-oil", "temperature_c": "104", "temperature_c.unit": "degF", "instrument": "probe", "person": "Q"}
    state = deepcopy(demo_state()) | {"units": "us", "contents": [LOADED, WARM]}
    reply = json.loads(answer(json.dumps({"task": "tank_temperature", "values": values, "state": state, "now": DEMO_NOW, "check": True})))
    record = reply["record"]
    assert (record["kind"], record["subject"]) == ("tank_temperature", "contents:t-oil")
    assert record["fields"]["temperature_c"] == 40.0 and record["fields"]["person"] == "Q"
    # 45 °C at 21:00 is 113 °F.
    assert "../heat/#t-oil?now_c=104&amp;now_c.unit=degF&amp;earlier_c=113&amp;earlier_c.unit=degF&amp;earlier_at=21%3A00" in reply["html"]["tank_temperature"]


def test_the_skin_is_warned_of():
    values = {"tank": "t-oil", "temperature_c": "40", "temperature_c.unit": "degC", "instrument": "infrared"}
    assert "only the surface" in told("tank_temperature", values)


def test_a_switch_on_is_kept_with_its_tank_and_time_and_only_where_there_is_one():
    def kept(values: dict[str, str]) -> dict:
        state = deepcopy(demo_state())
        return json.loads(answer(json.dumps({"task": "tank_heat", "values": values | {"person": "J"}, "state": state, "now": DEMO_NOW, "check": True})))

    reply = kept(HEAT_VALUES)
    shown = re.search(r'<h2 data-announce>[^<]*<time datetime="([^"]+)"', reply["html"]["tank_heat"])
    assert shown and reply["record"] == {
        "kind": "tank_switch_kept", "subject": "contents:t-oil",
        "fields": {"person": "J", "name": "Oil tank", "switch_at": shown[1], "wanted_c": 45.0},
    }  # fmt: skip
    assert "data-can-keep" in reply["html"]["tank_heat"]
    cools = HEAT_VALUES | {"now_c": "60"}
    assert [each["code"] for each in kept(cools)["problems"]] == ["no-switch"]
    assert "data-can-keep" not in asked("tank_heat", cools)["html"]["tank_heat"]
    no_tank = {name: text for name, text in HEAT_VALUES.items() if name != "tank"} | {"heater_w": "2000", "heater_w.unit": "W", "holds": "oils"}
    assert [each["code"] for each in kept(no_tank)["problems"]] == ["no-tank"]
    nobody = json.loads(answer(json.dumps({"task": "tank_heat", "values": HEAT_VALUES, "state": demo_state(), "now": DEMO_NOW, "check": True})))
    assert [each["field"] for each in nobody["problems"]] == ["person"]


def told_of(tank: str, kind: str, **fields) -> dict:
    at = "2026-11-25T07:00:00"
    return {"id": "x", "kind": kind, "subject": f"contents:{tank}", "at": f"{at}.000Z", "local": f"{at}+00:00", "person": "Q", **fields}


def test_a_tank_that_holds_no_more_than_stays_below_its_valve_is_not_switched_on():
    dead = next(entry["values"] for entry in demo_state()["tank"] if entry["id"] == "t-lye")
    assert (dead["dead_ml"], dead.get("dead_ml.unit")) == ("5", "l")
    values = {"tank": "t-lye", "now_c": "20", "wanted_c": "30", "heater_w": "500", "strength_fraction": "33", "amount_g.unit": "kg"}
    # By hand: at 25 °C 33 % lye weighs 1.36 kg/L, so that 5 L are 6.8 kg.
    found = problem("tank_heat", values | {"amount_g": "6.5"})
    assert (found["field"], found["code"]) == ("amount_g", "element-bare") and "Don’t switch it on" in found["message"]
    assert "Switch on" in told("tank_heat", values | {"amount_g": "7.5"})
    # Nobody heats it to let it cool.
    assert "Down to" in told("tank_heat", values | {"amount_g": "6.5", "now_c": "40", "room_c": "15"})


def test_lye_below_its_crystals_is_told_before_it_is_heated():
    values = {"tank": "t-lye", "wanted_c": "30", "heater_w": "500", "room_c": "10"}
    codes = {now_c: [each["code"] for each in asked("tank_heat", values | {"now_c": now_c})["cautions"]] for now_c in ("5", "12")}
    # naoh_crystallisation.csv: 33 % at 8 °C.
    assert "crystals" in codes["5"] and "crystals" not in codes["12"]
