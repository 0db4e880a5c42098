"""What a weighing on the rack is kept with, on the demo workshop's racks."""

import copy
import json
import re
from datetime import date, timedelta

from answers.demo import DEMO_NOW, demo_state
from answers.door import answer

TODAY = date.fromisoformat(DEMO_NOW[:10])


def asked(task, values, check=False, cure=None, **shop):
    state = copy.deepcopy(demo_state())
    state["shop"][0]["values"].update(shop)
    state["cure"] = state["cure"] if cure is None else cure
    reply = json.loads(answer(json.dumps({"task": task, "values": values, "state": state, "now": DEMO_NOW, "check": check, "id": ""})))
    assert "fault" not in reply, reply
    return reply


def weighing(total_g, **more):
    return {"batch": "QM-118:1", "total_g": total_g, "total_g.unit": "g", "person": "J"} | more


def kept(total_g, **shop):
    reply = asked("cure_batch", weighing(total_g), check=True, **shop)
    assert reply["ok"], reply
    return reply["record"]["fields"]


def refused(reply):
    assert not reply["ok"]
    return [(each["field"], each["code"]) for each in reply["problems"]]


def words(reply):
    (html,) = reply["html"].values()
    return " ".join(re.sub(r"<[^>]+>", " ", html).replace("\N{NO-BREAK SPACE}", " ").split())


def without_water():
    """The demo's racks, as if nobody had ever said how much water was in the soap."""
    return [{key: value for key, value in event.items() if key != "water"} for event in demo_state()["cure"]]


def in_days(days):
    return (TODAY + timedelta(days=days)).isoformat()


def test_a_weighing_is_kept_with_the_day_of_the_next_one_and_of_the_end_of_the_cure():
    # The demo's batch is eight days old. It is weighed by weeks after its first days: on its 14th. Four to six weeks: the 35th day.
    fields = kept("1336")
    assert (fields["next_on"], fields["ready_on"]) == (in_days(6), in_days(27))
    # The maker's own three weeks.
    assert kept("1336", cure_weeks="3")["ready_on"] == in_days(13)


def test_where_no_curve_tells_the_loss_that_the_rule_asks_for_no_day_is_promised():
    # More than it weighed three days ago: no curve dries so.
    fields = kept("1450", cure_weekly_loss_fraction="0.5", **{"cure_weekly_loss_fraction.unit": "%"})
    assert fields["next_on"] == in_days(6) and "ready_on" not in fields


def test_trays_are_counted_by_the_bar_that_the_issued_sheet_planned_whatever_frames_there_are_now():
    values = {"code": "QM-121", "block": "1", "bars": "120", "rack": "r-first", "stands": "yes", "person": "J"}
    sheet = {"code": "QM-121", "soap": "Marsh Plain", "poured": ["1"], "planned": {"total": 276, "bar_mm": [25.0, 90.0, 60.0]}}

    def told(**state):
        reply = json.loads(answer(json.dumps({"task": "cure_racked", "values": values, "state": demo_state() | state, "now": DEMO_NOW, "id": ""})))
        assert reply["ok"], reply
        return reply["html"]["cure_racked"].replace("\N{NO-BREAK SPACE}", " ")

    # Trays of 600 x 400 mm, common practice 3.2 mm between bars: on edge, 25 mm by 90 or 60, a tray holds more than 60 of them.
    assert "bars on each" in told(sheets=[sheet], cutter=[], loaf_frame=[], bar_frame=[])
    assert "bars on each" not in told(cutter=[], loaf_frame=[], bar_frame=[])


def test_a_weighing_that_no_such_bar_can_have_is_a_slip():
    # Ten bars weighed 1404 g fresh, a fifth of it water: 1270 g of one bar, or of ten a third of that, are none of them.
    assert refused(asked("cure_batch", weighing("1270", bars="1"), check=True)) == [("total_g", "no-such-bar")]
    assert refused(asked("cure_batch", weighing("450"), check=True)) == [("total_g", "no-such-bar")]
    assert refused(asked("cure_batch", weighing("1404", **{"total_g.unit": "oz"}), check=True)) == [("total_g", "no-such-bar")]
    # 252 bars lie on the racks.
    assert refused(asked("cure_batch", weighing("1270", bars="253"), check=True)) == [("bars", "more-than-batch")]
    # All of the water gone, and damp air, are possible.
    assert kept("1124") and kept("1410")


def test_no_day_is_still_to_come():
    assert refused(asked("cure_batch", weighing("1336", weighed_on=in_days(1)), check=True)) == [("weighed_on", "day-to-come")]
    racked = {"code": "QM-130", "block": "1", "bars": "252", "stands": "yes"}
    assert refused(asked("cure_racked", racked | {"cut_on": in_days(1)})) == [("cut_on", "day-to-come")]
    assert refused(asked("cure_racked", racked | {"sell_on": in_days(-1)})) == [("sell_on", "before-cut")]
    bars = {"batch": "QM-114:1", "weights": "127 128 127", "weighed_in": "g"}
    assert refused(asked("net_quantity", bars | {"weighed_on": in_days(30)})) == [("weighed_on", "day-to-come")]


def test_what_is_kept_names_its_batch_as_addresses_do():
    racked = {"code": "QM-130/b", "block": "2", "bars": "252", "stands": "yes", "person": "J"}
    assert asked("cure_racked", racked, check=True)["record"]["id"] == "QM-130/b:2"


def test_more_alkali_than_soap_is_no_result():
    titrated = {"batch": "QM-114:1", "method": "free_caustic", "alkali": "naoh", "acid_ml": "12.5", "acid_mol_per_l": "1"}
    # 12.5 mmol of 40 g/mol are half a gram.
    assert refused(asked("cure_test", titrated | {"sample_g": "0.4"})) == [("sample_g", "more-than-sample")]
    assert asked("cure_test", titrated | {"sample_g": "5"})["ok"]


def test_where_nobody_knows_the_water_the_weights_and_the_makers_day_are_shown_all_the_same():
    said = words(asked("cure_batch", {"batch": "QM-114:1"}, cure=without_water(), cure_weeks="5"))
    # Cut 24 days ago: five weeks are in eleven days, Dec 6.
    assert "Now 127.7 g from 140.0 g" in said and "Ready Dec 6" in said and "At sale" not in said
    assert "Ready Dec 6" in words(asked("cure_rack", {}, cure=without_water(), cure_weeks="5"))
    # Nothing is promised of a label.
    bars = {"batch": "QM-114:1", "weights": "127 128 127", "weighed_in": "g", "sell_on": in_days(11)}
    assert "what they still lose isn" in words(asked("net_quantity", bars, cure=without_water()))


def test_bars_weighed_before_the_sample_last_was_may_still_lose_all_of_their_water():
    # 140.4 g fresh with a fifth of water, 136.1 g three days later; these bars were weighed on the first day.
    bars = {"batch": "QM-118:1", "weights": "140 140.5 140.2 140.4", "weighed_in": "g", "weighed_on": in_days(-8)}
    assert "weighs at least 80 % of what it weighed" in words(asked("net_quantity", bars))
    # 0.8 x 140.4 / 136.1 = 0.8252.
    assert "weighs at least 82.5 % of what it weighed" in words(asked("net_quantity", bars | {"weighed_on": in_days(-5)}))


def test_of_many_batches_each_tells_its_day_and_its_trays_come_free():
    # Twelve batches, five weeks each: the oldest is listed last, and is the first to free its tray.
    many = []
    for number in range(12):
        values = {"code": f"QM-{number}", "block": "1", "bars": "80", "rack": "r-first", "stands": "yes"}
        many.append({"id": f"m{number}", "kind": "cure_racked", "subject": f"cure:QM-{number}/1", "days_ago": number, "person": "Q",
                     "soap": "Marsh Plain", "water": 0.2, "places": [number + 1], "values": values})  # fmt: skip
    said = words(asked("cure_rack", {}, cure=many, cure_weeks="5"))
    assert "not known yet" not in said and said.count("Ready ") == 12
    # 35 - 11 days from Nov 25.
    assert "1 more tray free on Dec 19" in said


def test_a_batch_off_the_racks_stays_within_reach():
    off = {"id": "off", "kind": "cure_ready", "subject": "cure:QM-114/1", "days_ago": 1, "person": "Q", "values": {"batch": "QM-114:1", "to": "ready"}}
    reply = asked("cure_rack", {}, cure=[*demo_state()["cure"], off])
    assert re.search(r'href="drying/#QM-114:1"', reply["html"]["cure_rack"]) and "Off the racks" in words(reply)
    # Its block can be racked anew, with what it weighed.
    assert asked("cure_racked", {"code": "QM-114", "block": "1", "bars": "60", "stands": "yes"}, cure=[*demo_state()["cure"], off])["ok"]


def test_trays_that_somebody_counted_are_not_shared_out_anew():
    racked = {"code": "QM-130", "block": "1", "bars": "252", "rack": "r-first", "cutter": "c-frames", "stands": "yes"}
    assert "3 trays , 84 bars on each" in words(asked("cure_racked", racked))
    assert "on each" not in words(asked("cure_racked", racked | {"trays": "5"}))
