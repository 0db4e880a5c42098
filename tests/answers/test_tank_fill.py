"""A tank filled step by step, at the one door: what is frozen, what it comes to, the ways on after a slip."""

import copy
import html
import json
import math
import re

import pytest

from answers.demo import DEMO_NOW, PLAN_VALUES, block_as_planned, demo_state
from answers.door import answer

OIL_VALUES = PLAN_VALUES | {"tank": "t-oil", "made.0.blocks": "4"}
# Of NAO-0287, from its certificate: 98.5 % total alkali as NaOH, of which 0.5 % carbonate counts as 2 x 39.997 / 105.988 of its weight.
HYDROXIDE = 0.985 - 0.005 * 2 * 39.997 / 105.988
# What stands in the demo's lye tank.
HAVE_G, HAVE_FRACTION = 68_000.0, 0.331


def asked(task, values, *, check=False, units="metric", **more):
    state = copy.deepcopy(demo_state()) | {"units": units} | more
    reply = json.loads(answer(json.dumps({"task": task, "values": values, "state": state, "now": DEMO_NOW, "check": check})))
    assert "fault" not in reply, reply["report"]
    return reply


def planned(values=PLAN_VALUES, **more):
    reply = asked("tank_plan", values, check=True, **more)
    assert reply["ok"], reply
    return reply["record"]


def empty(tank="t-lye"):
    return [event for event in demo_state()["contents"] if event["subject"] != f"contents:{tank}"]


def deeds(record, until=None, **readings):
    """Of somebody who meets every target but for these readings, up to a step."""
    steps = record["fields"]["steps"]
    keys = [step["key"] for step in steps]
    told = block_as_planned(steps, {key.replace("__", ":"): text for key, text in readings.items()})
    return [{**event, "kind": f"fill_{event['kind']}"} for event in told[: len(told) if until is None else keys.index(until) + 1]]


def live(record, events, **more):
    return asked("tank_fill", {"fill": record["id"]}, record=record["fields"], events=events, **more)


def words(text):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html.unescape(text)).replace("\u00a0", " "))


def test_lye_is_filled_in_the_order_that_hurts_nobody():
    steps = planned(PLAN_VALUES | {"as_lot": "a-tank"}, contents=empty())["fields"]["steps"]
    keys = [step["key"] for step in steps]
    # 29 CFR 1910.132, .151(c): protection and eyewash before anything; ICSC 0360: never water onto caustic.
    assert keys[:3] == ["check:protect", "check:eyewash", "check:tank"]
    assert all(step["safety"] for step in steps[:3])
    assert keys.index("water:1") < keys.index("lye:naoh:1")
    caustic = [step for step in steps if step["kind"] == "weigh" and step["pour_kind"] == "alkali"]
    assert len(caustic) > 3 and all(step["twice"] for step in caustic)
    for number in range(2, len(caustic) + 1):
        at = keys.index(f"lye:naoh:{number}")
        # Cooled, read, weighed, put in: each portion by itself.
        assert keys[at - 2 : at + 2] == [f"wait:{number}", f"lye:temp:{number}", f"lye:naoh:{number}", f"lye:in:lye:naoh:{number}"]
    # 29 CFR 1910.1200(f)(6): what holds a dangerous chemical says so.
    assert keys[-2:] == ["lye:stir", "tank:label"] and "severe burns" in steps[-1]["how"]


def test_no_portion_is_let_in_where_it_would_pass_what_the_tank_bears():
    """The demo's tank is of polypropylene: about 80 °C (safety_and_records.md A3). A portion of 15 K at most: common practice, no source."""
    steps = planned(PLAN_VALUES | {"as_lot": "a-tank"}, contents=empty())["fields"]["steps"]
    gates = [step["high"] / 10 for step in steps if step["kind"] == "temperature"]
    assert gates and all(80.0 - 16.0 <= gate <= 80.0 for gate in gates)


def test_what_goes_in_makes_the_lye_that_was_planned():
    record = planned()
    fields = record["fields"]
    assert (record["kind"], record["subject"]) == ("fill_issued", f"fill:{record['id']}") and record["id"].startswith("t-lye.")
    grams = {pour["key"]: pour["grams"] for pour in fields["pours"]}
    # By hand: hydroxide and mass balance of what is there and what goes in; the floor scale rounds to 20 g.
    made = (HAVE_G * HAVE_FRACTION + grams["lye:naoh"] * HYDROXIDE) / (HAVE_G + grams["water"] + grams["lye:naoh"])
    assert made == pytest.approx(0.33, abs=1e-4)
    weighed = {}
    for step in fields["steps"]:
        if step["kind"] == "weigh":
            weighed[step["pour"]] = weighed.get(step["pour"], 0.0) + float(step["target_text"]) * 1000
    assert weighed == pytest.approx(grams)


def test_water_that_goes_onto_lye_is_a_deed_with_lye():
    keys = [step["key"] for step in planned()["fields"]["steps"]]
    assert "lye:water:1" in keys and "water:1" not in keys and "lye:temp:1" in keys


def test_the_load_is_what_was_weighed_lot_by_lot():
    record = planned()
    events = deeds(record, lye__naoh__2="4.02")
    for event in events:
        if event.get("step") == "lye:naoh:1":
            event["lot"] = "A-SECOND-BAG"
    load = live(record, events)["record"]["closing"]
    assert load["as_lot"] == "LYE-1121"
    assert [(part["name"], part.get("lot"), part["grams"]) for part in load["parts"]] == [
        ("Water", None, 15_920.0), ("Caustic soda (NaOH)", "A-SECOND-BAG", 3_980.0), ("Caustic soda (NaOH)", "NAO-0287", 4_020.0),
    ]  # fmt: skip
    # The tank's own page reads such a load as ever: by hand 68 + 15.92 + 3.98 + 4.02 = 91.92 kg.
    told = {"id": "l", "at": "2026-11-25T12:00:00Z", "local": "2026-11-25T12:00:00Z", "kind": "tank_loaded", "subject": "contents:t-lye", "person": "Q", **load}
    standing = asked("tank_standing", {"tank": "t-lye"}, contents=[*demo_state()["contents"], told])
    assert "91.9 kg left" in words(standing["html"]["tank_standing"])


def test_what_stands_weighed_in_its_pail_is_not_in_the_tank():
    record = planned()
    outside = live(record, deeds(record, until="lye:naoh:1"))["record"]["closing"]
    assert [part["name"] for part in outside["parts"]] == ["Water"]
    inside = live(record, deeds(record, until="lye:in:lye:naoh:1"))["record"]["closing"]
    assert [part["grams"] for part in inside["parts"]] == [15_920.0, 3_980.0]


def test_a_corrected_reading_counts_and_the_first_one_stays():
    record = planned()
    events = deeds(record)
    water = next(event for event in events if event.get("step") == "lye:water:1")
    wrong = {**water, "reading": "15.92"}
    put_right = {"id": "c1", "at": "2026-11-25T11:00:00.000Z", "local": "2026-11-25T11:00:00+00:00", "kind": "fill_corrected", "person": "J",
                 "corrects": wrong["id"], "reading": "15.94", "unit": "kg", "reason": "The display was misread"}  # fmt: skip
    load = live(record, [*events, put_right])["record"]["closing"]
    assert load["parts"][0]["grams"] == 15_940.0
    assert wrong["reading"] == "15.92"


def decided(event, way, choice):
    return {"id": "d1", "at": "2026-11-25T10:30:00.000Z", "local": "2026-11-25T10:30:00+00:00", "kind": "fill_decided", "person": "Q", "step": event,
            "choice": choice, "reason": "The valve was closed too late", "text": way["text"], "steps": way["steps"], "replaced": way["replaced"]}  # fmt: skip


def read_as(events, **fields):
    """The same, but for what stands at the temperature before the second portion."""
    return [{**{key: part for key, part in event.items() if key not in ("reading", "unit")}, **fields} if event["step"] == "lye:temp:2" else event for event in events]


def test_lye_read_too_warm_and_gone_on_with_stands_in_the_record_with_its_reason():
    record = planned()
    wait, _ = record["fields"]["cooling"]
    # At least five minutes between portions: common practice, no source.
    assert wait["kind"] == "timer" and wait["seconds"] == 300 and wait["es"]["title"] != wait["title"]
    events = deeds(record)
    warm = read_as(events, reading="79", unit="degC", note="too-warm")
    way = {"text": "Too warm, but added anyway", "steps": [], "replaced": {}}
    told = decided("lye:temp:2", way, "too-warm") | {"reason": "Another thermometer reads less"}
    assert "but added anyway. Another thermometer reads less. Q" in words(live(record, [*warm, told])["html"]["scale_record"])
    assert "added anyway" not in words(live(record, events)["html"]["scale_record"])


def test_a_portion_that_nobody_read_the_lye_for_stands_in_the_record_with_why():
    record = planned()
    plain, unread = deeds(record), read_as(deeds(record), note="not-read")
    way = {"text": "Nobody read it, but it was added anyway", "steps": [], "replaced": {}}
    told = decided("lye:temp:2", way, "unread") | {"reason": "Whoever runs the shop said so"}

    def record_of(events):
        return words(live(record, events)["html"]["scale_record"])

    assert "Read it before portion 2: nobody read it, but it was added anyway. Whoever runs the shop said so. Q" in record_of([*unread, told])
    # As phones kept it before they asked why.
    assert "Read it before portion 2: nobody read it." in record_of(unread)
    assert "nobody read it" not in record_of(plain) and "no thermometer" not in record_of(plain)
    # The step says for how long it had to stand.
    hours, minutes = divmod(next(step["seconds"] for step in record["fields"]["steps"] if step["key"] == "lye:temp:2") // 60, 60)
    by_clock = record_of(read_as(plain, note="by-clock"))
    assert f"Read it before portion 2: no thermometer, but at least {hours} h {minutes} min after the last portion. Q" in by_clock


def test_a_reading_corrected_to_too_warm_is_told_whether_its_portion_is_in_or_not():
    record = planned()
    events = deeds(record)
    (read,) = (event for event in events if event["step"] == "lye:temp:2")
    corrected = {"id": "c1", "at": "2026-11-25T11:00:00.000Z", "local": "2026-11-25T11:00:00+00:00", "kind": "fill_corrected", "person": "J",
                 "corrects": read["id"], "reading": "79.5", "unit": "degC", "reason": "The display was misread"}  # fmt: skip
    after = live(record, [*events, corrected])["html"]
    for shown in ("scale_record", "scale_live"):
        assert "Read it before portion 2: corrected to 79.5 °C once its portion was in, and that was too warm for it." in words(after[shown])
        assert "too warm" not in words(live(record, [*events, corrected | {"reading": "70"}])["html"][shown])
    # Before its portion is in it is asked about on the page, and nothing has happened that were to be told.
    before = [event for event in events if event["id"] <= read["id"]]
    assert "too warm" not in words(live(record, [*before, corrected])["html"]["scale_record"])


def test_each_portion_has_a_time_that_is_long_enough_without_a_thermometer_where_one_is_known():
    fields = planned(PLAN_VALUES | {"as_lot": "a-tank"}, contents=empty())["fields"]
    read = [step for step in fields["steps"] if step["kind"] == "temperature"]
    assert read and all(step["seconds"] >= 300 and step["seconds"] % 60 == 0 for step in read)
    # Over water, the first caustic can't come near what the tank bears; later on nobody knows but by an hour and more.
    assert read[0]["seconds"] == 300 and read[-1]["seconds"] > 3600
    unread = fields["cooling"][1]
    assert (unread["key"], unread["kind"]) == ("wait:unread", "timer") and unread["es"]["title"] != unread["title"]
    # Lye that stands there already: before its first portion nothing went in that a time could be counted from.
    first, second = (step for step in planned()["fields"]["steps"] if step["kind"] == "temperature")
    assert first["seconds"] is None and second["seconds"] > 3600


def test_of_potash_no_time_is_told_since_nobody_knows_how_it_cools():
    formula = koh_formulas()
    lots = copy.deepcopy(demo_state())["alkali_lot"]
    lots.append({"id": "a-koh-lye", "values": {"code": "KLYE-1", "alkali": "koh", "form": "premixed", "strength_fraction": "33"}})
    values = PLAN_VALUES | {"made.0.formula": formula[0]["id"], "lye_fraction": "33", "as_lot": "a-koh-lye"}
    steps = planned(values, formula=formula, alkali_lot=lots, contents=empty())["fields"]["steps"]
    read = [step for step in steps if step["kind"] == "temperature"]
    assert read and all(step["seconds"] is None for step in read)


@pytest.mark.parametrize(("units", "unit", "sign"), [("metric", "degC", "°C"), ("us", "degF", "°F")])
def test_a_fill_asks_and_tells_warmth_in_the_unit_that_it_takes(units, unit, sign):
    record = planned(PLAN_VALUES | {"as_lot": "a-tank"}, contents=empty(), units=units)
    other = "°F" if sign == "°C" else "°C"
    for step in record["fields"]["steps"]:
        for said in (step, step["es"]):
            assert other not in " ".join(str(said[part]) for part in ("title", "how", "stop", "band_text", "next"))
        if step["kind"] == "temperature":
            assert step["unit"] == unit and step["band_text"] in step["how"].replace("At most", "at most") and sign in step["band_text"]
            # What is said is what is judged by: whole degrees, kept in tenths.
            assert step["high"] == 10 * int(re.search(r"(\d+)", step["band_text"])[1])
    # The same vessel bears the same in both: 66 °C and 151 °F (by hand 66 * 1.8 + 32 = 150.8) before the second portion, each rounded down.
    (second,) = (step for step in record["fields"]["steps"] if step["key"] == "lye:temp:2")
    assert second["band_text"].replace("\u00a0", " ") == {"degC": "at most 66 °C", "degF": "at most 151 °F"}[unit]
    # A fill that was begun in one unit goes on in it, whatever the phone at hand is set to.
    warm = read_as(deeds(record), reading={"degC": "70", "degF": "158"}[unit], unit=unit)
    for phone in ("metric", "us"):
        told = words(live(record, warm, units=phone)["html"]["scale_record"])
        assert f"corrected to {'70' if unit == 'degC' else '158'} {sign}" in told and other not in told


def test_too_much_water_is_met_by_what_is_still_to_come():
    record = planned()
    events = deeds(record, until="lye:water:1", lye__water__1="17.00")
    found = live(record, events)["record"]
    assert found["pending"] == "lye:water:1" and list(found["choices"]) == ["taken-out", "balanced", "as-it-is"]
    replaced = found["choices"]["balanced"]["replaced"]
    caustic = 1000 * math.fsum(float(step["target_text"]) for step in replaced.values())
    # By hand, as above: so much caustic that all of it is lye of 33 % again.
    wants = (0.33 * (HAVE_G + 17_000) - HAVE_FRACTION * HAVE_G) / (HYDROXIDE - 0.33)
    assert caustic == pytest.approx(wants, abs=40)
    after = live(record, [*events, decided("lye:water:1", found["choices"]["balanced"], "balanced")])["record"]
    assert after["pending"] is None


def test_too_much_in_a_pail_is_taken_out_and_weighed_anew_and_only_that_counts():
    record = planned()
    events = deeds(record, until="lye:water:1", lye__water__1="17.00")
    found = live(record, events)["record"]
    way = found["choices"]["taken-out"]
    (step,) = way["steps"]
    # By hand: 17.00 kg where 15.92 kg was asked for.
    assert "take 1.08 kg out" in way["text"] and step["target_text"] == "15.92" and not way["replaced"]
    events.append(decided("lye:water:1", way, "taken-out"))
    after = live(record, events)["record"]
    assert after["pending"] is None and after["closing"] == {}
    anew = {**events[-2], "id": "a1", "at": "2026-11-25T10:40:00.000Z", "step": step["key"], "reading": "15.92"}
    parts = live(record, [*events, anew])["record"]["closing"]["parts"]
    assert [(part["name"], part["grams"]) for part in parts] == [("Water", 15_920.0)]


def test_caustic_weighed_anew_is_in_the_tank_only_once_it_is_put_in():
    record = planned()
    events = deeds(record, until="lye:naoh:1", lye__naoh__1="5.00")
    way = live(record, events)["record"]["choices"]["taken-out"]
    anew = {**events[-1], "id": "a1", "at": "2026-11-25T10:40:00.000Z", "step": way["steps"][0]["key"], "reading": "3.98"}
    events += [decided("lye:naoh:1", way, "taken-out"), anew]
    assert [part["name"] for part in live(record, events)["record"]["closing"]["parts"]] == ["Water"]
    into = {"id": "a2", "at": "2026-11-25T10:41:00.000Z", "local": "2026-11-25T10:41:00+00:00", "person": "Q", "kind": "fill_checked", "step": "lye:in:lye:naoh:1"}
    assert live(record, [*events, into])["record"]["closing"]["parts"][1]["grams"] == 3_980.0


def test_a_tank_that_is_being_filled_says_so_and_its_strength_is_of_before():
    fills = [{"id": "t-lye.20261125070000", "tank": "t-lye"}]
    for task, values in (("tanks", {}), ("tank_standing", {"tank": "t-lye"})):
        text, plain = (words(asked(task, values, **more)["html"][task]) for more in ({"fills": fills}, {}))
        assert "don’t draw from it until it’s done and measured" in text and "Before this fill:" in text
        assert "don’t draw from it" not in plain and "Before this fill" not in plain


def test_too_much_of_the_last_caustic_is_met_by_water():
    record = planned()
    events = deeds(record, until="lye:naoh:2", lye__naoh__2="5.00")
    found = live(record, events)["record"]
    (more,) = found["choices"]["balanced"]["steps"]
    pure, mass = HAVE_G * HAVE_FRACTION + (3_980 + 5_000) * HYDROXIDE, HAVE_G + 15_920 + 3_980 + 5_000
    assert more["pour"] == "water" and 1000 * float(more["target_text"]) == pytest.approx(pure / 0.33 - mass, abs=20)


def test_what_is_missing_comes_in_a_step_of_its_own_and_counts_once_it_is_in():
    record = planned()
    events = deeds(record, until="lye:naoh:1", lye__naoh__1="3.50")
    found = live(record, events)["record"]
    way = found["choices"]["missing"]
    assert [step["kind"] for step in way["steps"]] == ["weigh", "confirm"] and way["steps"][0]["target_text"] == "0.48"
    assert way["steps"][0]["twice"] and way["steps"][0]["es"]["title"] != way["steps"][0]["title"]
    events.append(decided("lye:naoh:1", way, "missing"))
    added = {"id": "a1", "at": "2026-11-25T10:40:00.000Z", "local": "2026-11-25T10:40:00+00:00", "person": "Q"}
    step = way["steps"][0]
    weighed = {**added, "kind": "fill_weighed", "step": step["key"], "reading": "0.48", "unit": "kg", "mode": "net", "lot": "NAO-0287", "question": None,
               "asked": {name: step[name] for name in ("target", "low", "high", "decimals", "unit", "division")}}  # fmt: skip
    assert [part["name"] for part in live(record, [*events, weighed])["record"]["closing"]["parts"]] == ["Water"]
    into = {**added, "id": "a2", "at": "2026-11-25T10:41:00.000Z", "kind": "fill_checked", "step": way["steps"][1]["key"]}
    assert live(record, [*events, weighed, into])["record"]["closing"]["parts"][1]["grams"] == 480.0


def test_oils_are_weighed_in_the_order_of_the_plan_and_too_much_of_one_is_told_as_its_share():
    record = planned(OIL_VALUES, contents=empty("t-oil"))
    steps = record["fields"]["steps"]
    assert not any(step["safety"] for step in steps) and not any(step["key"].startswith("lye") for step in steps)
    assert record["fields"]["formulas"] == ["f-marsh-plain"] and "phases" not in record["fields"]
    first = next(step for step in steps if step["kind"] == "weigh")
    more = f"{float(first['target_text']) + 5:.2f}"
    found = live(record, deeds(record, until=first["key"], **{first["key"].replace(":", "__"): more}))
    assert list(found["record"]["choices"]) == ["taken-out", "as-it-is"]
    # By hand: Marsh Plain has 45 % olive; 5 kg more of it are so much more of all.
    grams = [pour["grams"] for pour in record["fields"]["pours"]]
    share = 100 * (grams[0] + 5_000) / (math.fsum(grams) + 5_000)
    assert re.search(rf"{share:.2f}".rstrip("0").rstrip(".").replace(".", r"\.") + r" % of what goes in", words(found["html"]["scale_recovery"]))
    parts = live(record, deeds(record))["record"]["closing"]["parts"]
    assert (parts[0]["oil"], parts[0]["lot"]) == ("olive", "OLV-0412")


def test_a_tank_on_its_scale_is_tared_for_each_and_a_missed_tare_is_asked_back():
    tanks = copy.deepcopy(demo_state())["tank"]
    for tank in tanks:
        tank["values"] = {**tank["values"], "scale": "s-floor"}
    record = planned(PLAN_VALUES | {"as_lot": "a-tank"}, tank=tanks, contents=empty())
    caustic = [step for step in record["fields"]["steps"] if step["kind"] == "weigh" and step["pour_kind"] == "alkali"]
    assert all("tare" in step["how"] and step["gross"] is None for step in caustic)
    assert any(question["code"].startswith("untared") or "tare" in question["text"] for question in caustic[1]["questions"])


@pytest.mark.parametrize("units", ["metric", "us"])
def test_each_step_stands_in_both_languages(units):
    for values in (PLAN_VALUES, OIL_VALUES):
        for step in planned(values, units=units)["fields"]["steps"]:
            assert step["es"]["title"] and step["es"]["title"] != step["title"], step["key"]


def test_one_fill_of_a_tank_at_a_time_and_none_of_nothing():
    (problem,) = asked("tank_plan", PLAN_VALUES, check=True, fills=[{"id": "t-lye.20261125070000", "tank": "t-lye"}])["problems"]
    assert problem["code"] == "fill-open"
    assert planned(fills=[{"id": "t-oil.20261125070000", "tank": "t-oil"}])
    (problem,) = asked("tank_plan", PLAN_VALUES | {"made.0.blocks": "1"}, check=True)["problems"]
    assert problem["code"] == "no-steps"


def test_a_first_fill_of_lye_has_to_say_what_sheets_call_it():
    (problem,) = asked("tank_plan", PLAN_VALUES, check=True, contents=empty())["problems"]
    assert (problem["code"], problem["field"]) == ("as-lot-missing", "as_lot")


def koh_formulas():
    formulas = copy.deepcopy(demo_state())["formula"]
    formulas[0]["values"] = {**formulas[0]["values"], "alkali": "koh"}
    return formulas


def test_potash_is_planned_as_potash_and_goes_in_by_portions_that_can_not_boil():
    formula = koh_formulas()
    values = PLAN_VALUES | {"made.0.formula": formula[0]["id"], "lye_fraction": "33"}
    lots = copy.deepcopy(demo_state())["alkali_lot"]
    lots.append({"id": "a-koh-lye", "values": {"code": "KLYE-1", "alkali": "koh", "form": "premixed", "strength_fraction": "33"}})
    record = planned(values | {"as_lot": "a-koh-lye"}, formula=formula, alkali_lot=lots, contents=empty())
    (caustic,) = [pour for pour in record["fields"]["pours"] if pour.get("alkali")]
    soda = planned(PLAN_VALUES | {"as_lot": "a-tank"}, contents=empty())
    (of_soda,) = [pour for pour in soda["fields"]["pours"] if pour.get("alkali")]
    # The same oils take 56.1053 g of KOH for each 39.9971 g of NaOH (CIAAW 2021 atomic weights). In a mold of one size there are fewer
    # of them, for the lye takes more room: by hand 0.140 g of NaOH to a gram of this blend, so 0.425 g of lye of 33 %, or 0.596.
    pure = [each["grams"] * each["hydroxide_fraction"] for each in (caustic, of_soda)]
    assert caustic["alkali"] == "koh" and pure[0] / pure[1] == pytest.approx(56.1053 / 39.9971 * 1.425 / 1.596, rel=0.02)
    steps = record["fields"]["steps"]
    portions = [step for step in steps if step["kind"] == "weigh" and step["pour_kind"] == "alkali"]
    # CRC/Parker: -57.61 kJ/mol at most; koh_thermal.csv has 2.4 kJ/(kg K) at the least, of which 4 % may be off.
    heats = 1000 * portions[0]["target"] / 100 * caustic["hydroxide_fraction"] / 56.1053 * 57.61
    mass_g = next(pour["grams"] for pour in record["fields"]["pours"] if pour["key"] == "water")
    assert heats / (mass_g * 4.18) < 15.5
    assert all(step["kind"] != "temperature" or step["high"] <= 900 for step in steps)


def test_an_empty_tank_for_a_potash_formula_is_not_loaded_with_soda():
    formula = koh_formulas()
    reply = asked("tank_plan", PLAN_VALUES | {"made.0.formula": formula[0]["id"]}, formula=formula, contents=empty())
    text = words(reply["html"]["tank_plan"])
    assert "Caustic potash" in text and "Caustic soda" not in text
    (problem,) = asked("tank_plan", PLAN_VALUES | {"made.0.formula": formula[0]["id"], "source": "a-naoh"}, formula=formula, contents=empty())["problems"]
    assert problem["code"] == "alkali-unused"


def test_where_the_heat_of_lye_is_not_known_the_plan_says_so_and_gives_no_steps():
    """Potash lye that is thinned: koh_thermal.csv has no heats of thinning."""
    lots = copy.deepcopy(demo_state())["alkali_lot"]
    lots.append({"id": "a-koh-45", "values": {"code": "KLYE-45", "alkali": "koh", "form": "premixed", "strength_fraction": "45"}})
    formula = koh_formulas()
    values = PLAN_VALUES | {"made.0.formula": formula[0]["id"], "source": "a-koh-45", "lye_fraction": "33", "as_lot": "a-koh-45"}
    shown = asked("tank_plan", values, formula=formula, alkali_lot=lots, contents=empty())
    assert "isn’t known here" in words(shown["html"]["tank_plan"])
    (problem,) = asked("tank_plan", values, check=True, formula=formula, alkali_lot=lots, contents=empty())["problems"]
    assert problem["code"] == "no-steps"


def test_what_can_not_be_read_of_a_fill_is_told():
    record = planned()
    for odd in ({"steps": 3}, {}, {**record["fields"], "pours": []}, {**record["fields"], "pours": [{"key": "other", "name": "x", "grams": 1.0}]}):
        (problem,) = asked("tank_fill", {"fill": record["id"]}, record=odd, events=[])["problems"]
        assert problem["code"] == "record-damaged"


def _without_each(whole):
    """A value with each of its parts left out, and with each made into something else, at every depth."""
    parts = list(whole.items()) if isinstance(whole, dict) else list(enumerate(whole)) if isinstance(whole, list) else []
    for key, part in parts:
        rest = [each for each in parts if each[0] != key]
        for found in (*([[], None, -1, "x"] if key != "es" else []), *(() if key == "es" else _without_each(part))):
            changed = [(name, found if name == key else each) for name, each in parts]
            yield dict(changed) if isinstance(whole, dict) else [each for _, each in changed]
        yield dict(rest) if isinstance(whole, dict) else [each for _, each in rest]


def test_a_damaged_fill_ends_in_no_fault():
    record = planned()
    fields = {**record["fields"], "steps": [step for step in record["fields"]["steps"] if step["key"] in ("lye:water:1", "lye:temp:2", "lye:naoh:2", "wait:2")], "values": {}}
    events = [event for event in deeds(record, lye__water__1="17.00") if event["step"] in ("lye:water:1", "lye:temp:2", "lye:naoh:2")]
    for odd in _without_each(fields):
        asked("tank_fill", {"fill": record["id"]}, record=odd, events=events)
    for odd in _without_each(events):
        asked("tank_fill", {"fill": record["id"]}, record=fields, events=odd)
