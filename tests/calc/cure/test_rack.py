"""The racks as their events leave them."""

from datetime import date

import pytest

from calc.cure.rack import racks, weights_of
from calc.entry.problems import InputProblems

TODAY = date(2026, 11, 25)
RACKED = {
    "id": "1", "kind": "cure_racked", "subject": "cure:QM-1/2", "local": "2026-11-01T10:00:00+01:00", "person": "Q",
    "soap": "Marsh Plain", "water": 0.2, "places": [1, 2],
    "values": {"code": "QM-1", "block": "2", "bars": "100", "rack": "r-first", "stands": "yes"},
}  # fmt: skip


def event(number, kind, day, values, **more):
    return {"id": str(number), "kind": kind, "subject": "cure:QM-1/2", "local": f"2026-11-{day:02}T08:00:00Z", "person": "J", "values": {"batch": "QM-1:2", **values}} | more


def weighed(number, day, total, **values):
    return event(number, "cure_weighed", day, {"bars": "10", "total_g": total, "total_g.unit": "g", **values})


def test_a_batch_lies_where_it_was_put_until_it_is_moved():
    found = racks([RACKED], TODAY)
    assert {place: batch.id for place, batch in found.taken("r-first").items()} == {1: "QM-1:2", 2: "QM-1:2"}
    moved = event(2, "cure_moved", 9, {"to": "rack", "rack": "r-2"}, places=[7])
    (batch,) = racks([RACKED, moved], TODAY).on_racks
    assert (batch.rack, batch.places, batch.since) == ("r-2", (7,), date(2026, 11, 9))


def test_a_batch_that_is_ready_frees_its_trays():
    found = racks([RACKED, event(2, "cure_ready", 20, {"to": "ready"})], TODAY)
    assert found.taken("r-first") == {} and found.batches[0].ready_on == date(2026, 11, 20)


def test_a_batch_taken_off_by_mistake_is_moved_back():
    ready, moved = event(2, "cure_ready", 20, {"to": "ready"}), event(3, "cure_moved", 21, {"to": "rack", "rack": "r-2"}, places=[7])
    found = racks([RACKED, ready, moved], TODAY)
    assert found.off_racks == () and found.on_racks[0].places == (7,)


def test_what_was_told_of_a_block_before_it_got_its_trays_stays():
    cutter = {"id": "5", "kind": "racked", "subject": "block:QM-1/2", "local": "2026-10-30T08:00:00Z", "person": "Q", "step": "after:rack", "trays": 3, "bars": 84, "of_formula": "Reed"}
    first, untold = weighed(2, 1, "1400"), {key: value for key, value in RACKED.items() if key != "water"}
    (batch,) = racks([cutter, first, untold, weighed(3, 8, "1330")], TODAY, {"QM-1": 0.19}).batches
    assert [each.bar_g for each in batch.weighed] == [140.0, 133.0]
    assert (batch.cut_on, batch.water_fraction, batch.rack) == (date(2026, 10, 30), 0.19, "r-first")


def test_weighings_are_of_one_bar_by_days_since_the_first():
    (batch,) = racks([RACKED, weighed(2, 2, "1400"), weighed(3, 8, "1330", bars=["9", "5"][0])], TODAY).batches
    assert batch.first_age == 1
    assert [(each.day, round(each.bar_g, 2)) for each in batch.weighings] == [(0.0, 140.0), (6.0, round(1330 / 9, 2))]


def test_the_sample_is_weighed_on_the_third_day_then_weekly():
    # Common practice, no source: three days after cutting, then every seven.
    def after(*weighings):
        return racks([RACKED, *weighings], TODAY).batches[0]

    assert (after().next_weighing, after(weighed(2, 1, "1400")).next_weighing) == (0, 3)
    batch = after(weighed(2, 1, "1400"), weighed(3, 9, "1330"))
    assert batch.next_weighing == 14 and not batch.is_due(date(2026, 11, 14)) and batch.is_due(date(2026, 11, 15))


def test_a_sample_bar_weighs_between_dry_and_fresh():
    # 140 g with a fifth of water are 112 g dry; a tenth of 140 more either way is play (common practice, no source).
    assert racks([RACKED, weighed(2, 1, "1400")], TODAY).batches[0].likely_g == pytest.approx((98.0, 154.0))
    assert racks([RACKED], TODAY).batches[0].likely_g == (5.0, 5000.0)


def test_of_two_weighings_of_a_day_the_later_one_counts():
    (batch,) = racks([RACKED, weighed(2, 2, "1400"), weighed(3, 2, "1390")], TODAY).batches
    assert [each.bar_g for each in batch.weighings] == [139.0]


def test_what_is_taken_back_counts_no_more():
    back = {"id": "9", "kind": "cure_taken_back", "subject": "cure:QM-1/2", "local": "2026-11-03T08:00:00Z", "person": "Q", "takes": "2"}
    (batch,) = racks([RACKED, weighed(2, 2, "1400"), back], TODAY).batches
    assert batch.weighed == []


def test_what_cannot_be_read_is_counted_and_hides_nothing_else():
    found = racks([RACKED, weighed(2, 2, "many"), weighed(3, 3, "1390") | {"subject": "cure:QM-9/1"}, {"kind": "cure_racked"}], TODAY)
    assert len(found.batches) == 1 and found.unread == 3


def test_a_block_that_tells_of_its_trays_at_the_cutter_is_on_the_racks():
    told = {"id": "5", "kind": "racked", "subject": "block:QM-2/1", "local": "2026-11-20T08:00:00Z", "person": "Q", "step": "racked", "trays": 3, "bars": 84, "place": "by the door", "of_formula": "Reed"}
    (batch,) = racks([told], TODAY, {"QM-2": 0.19}).on_racks
    assert (batch.id, batch.soap, batch.trays, batch.where, batch.water_fraction) == ("QM-2:1", "Reed", 3, "by the door", 0.19)


def test_practice_is_never_out_of_date():
    old = {key: value for key, value in RACKED.items() if key != "local"} | {"days_ago": 24}
    assert racks([old], TODAY).batches[0].age(TODAY) == 24


def test_weights_are_typed_one_after_another():
    assert weights_of("4 4.5\n4,25", "oz") == pytest.approx((113.398, 127.573, 120.486), abs=1e-3)
    # As people type a list: commas between, a unit at each.
    assert weights_of("121.5, 119.8,\n122 g; 120g, 4.25 oz", "g") == pytest.approx((121.5, 119.8, 122.0, 120.0, 120.486), abs=1e-3)
    for typed in ("121 about-that", "g 121", "121.5,119.8,122"):
        with pytest.raises(InputProblems):
            weights_of(typed, "g")


def test_an_entry_from_before_the_calendar_is_counted_as_unread():
    # A phone whose clock was reset stands at the calendar's first day.
    ago = {"id": "3", "kind": "cure_weighed", "subject": "cure:QM-1/2", "days_ago": 3, "person": "J", "values": {"bars": "10", "total_g": "1400"}}
    found = racks([RACKED, ago], date.min)
    assert len(found.batches) == 1 and found.unread == 1
