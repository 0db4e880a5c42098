"""The answers of the heat pages: what stands first, in both units and languages, and what the maker is warned of."""

import json
import re
from copy import deepcopy
from html import unescape
from urllib.parse import parse_qsl

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


def test_the_switch_on_comes_first_by_its_safe_end_and_the_middle_stands_behind():
    words = told("tank_heat", HEAT_VALUES)
    found = re.match(r"Switch on at (0[34]:\d[05]) tomorrow, full power sure to be 45.°C by 07:00 likely at 0[56]:\d[05]", words)
    assert found, words[:120]
    # What is told is the earlier end of the range that the fold tells.
    behind = re.search(r"In the middle of its range it’s (05:\d[05]) , and nine times out of ten between (0[34]:\d[05]) and 05:\d[05]", words)
    assert behind and found[1] == behind[2] < behind[1], words[-1500:]
    assert "Set the thermostat to 45" in words and "Stir as soon as it’s soft" in words


def test_each_time_is_one_that_the_page_tells_in_the_readers_way():
    html = asked("tank_heat", HEAT_VALUES)["html"]["tank_heat"]
    times = re.findall(r'<time datetime="2026-11-26T(\d\d:\d\d)" data-tells="time">(\d\d:\d\d)</time>', html)
    assert len(times) >= 4 and all(at == shown for at, shown in times)
    assert re.search(r'<text [^>]*data-datetime="2026-11-26T07:00" data-tells="time">07:00</text>', html)
    assert re.search(r'data-remind="2026-11-26T0[34]:\d[05]" data-name="tank" data-title="Switch on: Oil tank"', html)


def test_the_curve_has_its_words():
    html = asked("tank_heat", HEAT_VALUES)["html"]["tank_heat"]
    assert re.search(r'role="img" [^>]*aria-label="Course of the temperature: 2\d.°C at first; 45.°C after', html)


# A letter of the app's face is at most so wide where it is 12 high, measured on the built page. "12:30 p. m." and "Wed, Dec 12" have
# eleven, of which some are narrow.
LETTER, MOST_LETTERS, ON_AVERAGE = 8.6, 11, 7.4


def test_no_letter_of_the_curve_stands_outside_it_or_on_another():
    evening = "2026-11-25T20:00:00+00:00"
    for change in ({}, {"ready_at": ""}, {"now_c": "44", "ready_at": ""}, {"ready_at": "21:30"}, {"now_c": "80", "ready_at": ""}, {"now_c": "-5"}, {"now_c": "46"}, {"heater_w": "300"}):
        for units in ("metric", "us"):
            reply = asked("tank_heat", HEAT_VALUES | change, units=units, now=evening)
            if not reply.get("ok"):
                continue
            picture = re.search(r"<svg.*?</svg>", reply["html"]["tank_heat"], re.DOTALL)[0]
            boxes = []
            for x, y, anchor, told_, words in re.findall(r'<text [^>]*x="([\d.]+)" y="([\d.]+)" text-anchor="(\w+)"( data-datetime)?[^>]*>([^<]+)<', picture):
                # What tells a time is drawn in the reader's own way, whose length nobody knows here.
                wide = ON_AVERAGE * MOST_LETTERS if told_ else LETTER * len(words)
                left = float(x) if anchor == "start" else float(x) - wide
                assert left >= 0.0 and left + wide <= 300.0, (change, words)
                boxes.append((left, left + wide, float(y) - 12.0, float(y)))
            assert boxes
            for n, one in enumerate(boxes):
                for other in boxes[n + 1 :]:
                    assert one[1] <= other[0] or other[1] <= one[0] or one[3] <= other[2] or other[3] <= one[2], (change, one, other)


def test_without_a_thermostat_somebody_has_to_switch_it_off():
    words = told("tank_heat", HEAT_VALUES | {"thermostat": "no"})
    # Switched on by the safe end, it may be there long before seven.
    assert "No thermostat: left on, it keeps going to" in words
    assert re.search(r"has to switch it off once it reads 45.°C: from 0[456]:\d[05] on", words), words[:700]
    assert "A timer alone switches on a heater that nobody watches" in words


def test_lye_is_told_of_its_fumes_and_oils_are_not():
    lye = HEAT_VALUES | {"holds": "lye", "strength_fraction": "33", "oils_are": ""}
    assert "what rises off warm lye burns" in told("tank_heat", lye)
    assert "lye" not in told("tank_heat", HEAT_VALUES)


def test_a_price_makes_a_cost_of_it():
    words = told("tank_heat", HEAT_VALUES | {"kwh_price": "0.20"})
    # By hand: 150 kg at 2.036 kJ/(kg K) (Choi and Okos) and a wall of some 15 kJ/K from about 21 to 45 °C, a quarter of it to melt at
    # 115 kJ/kg, and 0.2 MJ lost meanwhile: 12.2 MJ are 3.4 kWh.
    by_hand_kwh = (24.0 * (150.0 * 2.036 + 15.0) + 0.25 * 150.0 * 115.0 + 200.0) / 3600.0
    kwh, cost = map(float, re.search(r"Heating takes ([\d.]+).kWh costs ([\d.]+)", words).groups())
    assert abs(kwh / by_hand_kwh - 1.0) < 0.1 and abs(cost - 0.20 * by_hand_kwh) < 0.1 * 0.20 * by_hand_kwh + 0.005
    # 50 mm of foam lose 1.1 to 3 W/K (row C16 and its sheet); by 27 K that is 30 to 81 W, 0.7 to 2 kWh a day.
    a_day, its_cost = map(float, re.search(r"for a day takes ([\d.]+) kWh .*? that’s ([\d.]+) a day", words).groups())
    assert 0.7 <= a_day <= 2.0 and 0.14 <= its_cost <= 0.40


def test_too_late_and_cooling_and_there_each_have_their_own_first_line():
    assert told("tank_heat", HEAT_VALUES, now="2026-11-26T06:40:00+00:00").startswith("Too late for 07:00: switch on now 45")
    assert told("tank_heat", HEAT_VALUES | {"ready_at": ""}).startswith("Switch on now, full power")
    assert told("tank_heat", HEAT_VALUES | {"now_c": "70", "oils_are": "clear", "ready_at": ""}).startswith("Down to 45")
    assert told("tank_heat", HEAT_VALUES | {"now_c": "45", "ready_at": ""}).startswith("It’s at 45")
    # Warm now, it has cooled by the next morning.
    assert told("tank_heat", HEAT_VALUES | {"now_c": "45"}).startswith("Switch on at")


def test_us_units_and_spanish():
    assert "113 °F" in told("tank_heat", HEAT_VALUES, units="us").replace("\xa0", " ")
    assert told("tank_heat", HEAT_VALUES, language="es").startswith("Encienda a las 04:")
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


UNTYPED = {"tank": "t-oil", "ready_at": "07:00"}
NEXT_EVENING = "2026-11-25T20:00:00+00:00"
READ = entry("c", "2026-11-25T18:00", "tank_temperature", temperature_c=42.0, instrument="probe")


def test_a_tank_that_was_read_needs_nothing_typed_and_its_day_says_the_same_time():
    state = demo_state() | {"contents": [LOADED, READ]}
    words = told("tank_heat", UNTYPED, state=state, now=NEXT_EVENING)
    assert re.match(r"Switch on at 0\d:\d[05] tomorrow, full power sure to be 40", words), words[:120]
    assert "Going by 42 °C, read" in words
    # The plan of that day, whose first block begins at seven, by the same entries.
    values = {"on": "2026-11-26", "starts_at": "07:00", "earlier": "yes", "blocks.0.what": "formula:f-marsh-plain", "blocks.0.mould": "m-block"}
    day = told("day", values, state=state, now=NEXT_EVENING)
    at = re.match(r"Switch on at (\d\d:\d\d)", words)[1]
    assert re.search(rf"Oil tank {at} switch on, 07:00 ready", day), (at, day[:900])
    # And leads to the page of its heat, which then says so again.
    html = asked("day", values, state=state, now=NEXT_EVENING)["html"]["day"]
    handed = dict(parse_qsl(unescape(re.search(r'\.\./tanks/heat/#t-oil\?([^"]+)"', html)[1]), keep_blank_values=True))
    assert told("tank_heat", {"tank": "t-oil"} | handed, state=state, now=NEXT_EVENING).startswith(f"Switch on at {at} tomorrow")
    # What is typed overrules it, and one tap goes back to the reading.
    typed = UNTYPED | {"now_c": "20", "now_c.unit": "degC"}
    assert not told("tank_heat", typed, state=state, now=NEXT_EVENING).startswith(f"Switch on at {at}")
    assert 'data-put="{&#34;now_c&#34;: &#34;&#34;}"' in asked("tank_heat", typed, state=state, now=NEXT_EVENING)["html"]["tank_heat"]


def test_a_tank_that_nobody_read_counts_as_cold_and_says_so():
    words = told("tank_heat", UNTYPED, state=demo_state() | {"contents": [LOADED]}, now=NEXT_EVENING)
    assert words.startswith("Switch on at") and "counts as cold as the room" in words
    assert problem("tank_heat", {"wanted_c": "40", "amount_g": "100", "heater_w": "2000"})["field"] == "now_c"


KEPT = entry("k", "2026-11-25T19:00", "tank_switch_kept", name="Oil tank", switch_at="2026-11-26T05:00", ready_at="2026-11-26T07:00")
ON = entry("o", "2026-11-26T05:00", "tank_switched_on", takes="k")


def test_a_tank_that_is_on_says_since_when_and_by_whom_and_can_be_taken_back():
    state, at_six = demo_state() | {"contents": [LOADED, READ, KEPT, ON]}, "2026-11-26T06:00:00+00:00"
    words = told("tank_heat", UNTYPED, state=state, now=at_six)
    assert re.match(r"It’s on: 40.°C by 0[67]:\d[05]|It’s on, and at 40.°C by now", words) and "On since 05:00, Q." in words.replace(" ,", ","), words[:200]
    html = asked("tank_heat", UNTYPED, state=state, now=at_six)["html"]["tank_heat"]
    assert 'data-take-back="o" data-subject="contents:t-oil" data-kind="tank_taken_back"' in html and "data-can-keep" not in html
    back = state | {"contents": [*state["contents"], entry("b", "2026-11-26T05:30", "tank_taken_back", takes="o")]}
    assert not told("tank_heat", UNTYPED, state=back, now=at_six).startswith("It’s on")
    off = state | {"contents": [*state["contents"], entry("b", "2026-11-26T05:30", "tank_switched_off", takes="o")]}
    assert not told("tank_heat", UNTYPED, state=off, now=at_six).startswith("It’s on")


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
        "fields": {"person": "J", "name": "Oil tank", "switch_at": shown[1], "ready_at": "2026-11-26T07:00", "wanted_c": 45.0},
    }  # fmt: skip
    assert "data-can-keep" in reply["html"]["tank_heat"]
    cools = HEAT_VALUES | {"now_c": "60", "ready_at": ""}
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
