"""What a weighing on the rack is kept with, on the demo workshop's racks."""

import copy
import json
from datetime import date, timedelta

from answers.demo import DEMO_NOW, demo_state
from answers.door import answer

TODAY = date.fromisoformat(DEMO_NOW[:10])


def kept(total_g, **shop):
    state = copy.deepcopy(demo_state())
    state["shop"][0]["values"].update(shop)
    values = {"batch": "QM-118:1", "total_g": total_g, "total_g.unit": "g", "person": "J"}
    reply = json.loads(answer(json.dumps({"task": "cure_batch", "values": values, "state": state, "now": DEMO_NOW, "check": True, "id": ""})))
    assert reply["ok"], reply
    return reply["record"]["fields"]


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
    fields = kept("1420", cure_weekly_loss_fraction="0.5", **{"cure_weekly_loss_fraction.unit": "%"})
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
