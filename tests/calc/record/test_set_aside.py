"""What lies set aside of a block, folded from its events: masses, water by age and weighings, what a gram of it holds."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from scents import lot as scent_lot
from soap_lots import lot as soap_lot
from soap_lots import scent
from workshops import order, setting

from calc.batch.order import Issue, SoapTaken
from calc.batch.sheet import batch_sheet
from calc.chemistry.superfat import SuperfatInterval
from calc.cure import rack as on_racks
from calc.cure.declared import Racked
from calc.cure.rack import GroupWeighed, RackBatch
from calc.record.issued import issued_record
from calc.record.set_aside import set_aside, water_fraction
from calc.scent.batch import ChosenScent
from calc.scent.material import Part

CUT = date(2026, 11, 26)


def issued(made=None, **ordered):
    made = made or setting()
    sheet = batch_sheet(order(**ordered), made)
    return issued_record(sheet, made, Issue(issued_by="Q"), "A", {"shop": {"shop": {"tolerance_scheme": "HB44"}}}) | {
        "formula": {"id": "f", "event": "e", "name": "Example"}
    }


def told(record, *events, closed=None):
    found = [("closed", {"outcome": "poured", "record": closed}), *events]
    at = "2026-11-26T10:00:{n:02}"
    return {
        "id": "A:1", "block": 1, "sheet": record,
        "events": [
            {"id": f"e{n}", "at": f"{at.format(n=n)}.000Z", "local": f"{at.format(n=n)}+00:00", "kind": kind, "person": "Q",
             "subject": "block:A/1", **fields}
            for n, (kind, fields) in enumerate(found)
        ],
    }  # fmt: skip


TRIM = ("measured", {"step": "after:trim", "reading": "2.00", "unit": "kg"})


def on_rack(*weighed, tests=()):
    rack = RackBatch("A", 1, "Example", Racked(code="A", block=1, bars=9, stands="yes"), 0.2, CUT, None, (), CUT)
    rack.weighed = [GroupWeighed(f"w{n}", CUT + timedelta(days=day), "Q", 1, grams, None) for n, (day, grams) in enumerate(weighed)]
    rack.tests = [on_racks.Tested(f"t{n}", CUT, "Q", "free_caustic", "naoh", fraction) for n, fraction in enumerate(tests)]
    return rack


def lot_of(record, *events, rack=None, on=CUT, closed=None, uses=()):
    found = set_aside(told(record, TRIM, *events, closed=closed), uses, rack, None, on)
    return None if found is None else found.lot


def test_fresh_soap_holds_what_the_sheet_poured():
    record = issued()
    found = lot_of(record)
    oils = [pour for pour in record["pours"] if pour["key"].startswith("oil:")]
    values = (190.0, 199.5, 256.5)  # physics_check_values.csv, D3
    demand_g = sum(pour["target_g"] * value / 1000.0 for pour, value in zip(oils, values, strict=True))
    assert found.demand_low_koh_per_g == found.demand_high_koh_per_g == pytest.approx(demand_g / record["batter_g"])
    lye_g = next(pour for pour in record["pours"] if pour["key"] == "lye:naoh")["exact_g"]
    assert found.water_low_fraction == found.water_high_fraction == pytest.approx(0.67 * lye_g / record["batter_g"])
    assert (found.superfat_fraction, found.superfat_low_fraction) == (record["superfat"]["value"], record["superfat"]["low"])
    assert found.told_g == found.left_g == 2000.0 and found.asks == ""


def test_what_was_weighed_counts_where_the_block_was_closed():
    record = issued()
    weighed = SuperfatInterval(0.08, 0.01, 0.06, 0.1, 0.0, (), 0.08, None)
    amounts = [{"pour": pour["key"], "actual_g": 2.0 * pour["target_g"]} for pour in record["pours"]]
    closed = {"amounts": amounts, "superfat": {"value": weighed.value, "low": weighed.low, "high": weighed.high}}
    found, plain = lot_of(record, closed=closed), lot_of(record)
    assert (found.superfat_low_fraction, found.superfat_fraction, found.superfat_high_fraction) == (0.06, 0.08, 0.1)
    assert found.demand_low_koh_per_g == pytest.approx(plain.demand_low_koh_per_g)  # twice of everything


def test_water_runs_between_the_recipes_bounds_until_the_rack_tells_it():
    record = issued()
    fresh = water_fraction(record)
    later = lot_of(record, on=date(2026, 12, 20))
    assert (later.water_low_fraction, later.water_high_fraction) == (0.0, pytest.approx(fresh))
    assert later.demand_high_koh_per_g == pytest.approx(later.demand_low_koh_per_g / (1.0 - fresh))
    # By hand: 100 g with 20 % of water that weigh 90 g hold 10 of 90.
    found = lot_of(record, on=date(2026, 12, 20), rack=on_rack((0, 100.0), (20, 90.0)))
    now = (100.0 * fresh - 10.0) / 90.0
    assert found.water_low_fraction == found.water_high_fraction == pytest.approx(now)
    # Dry matter is what it was: its oils are in so much less.
    assert found.demand_low_koh_per_g * 0.9 == pytest.approx(later.demand_low_koh_per_g)
    # First weighed late, nobody knows what had gone by then; more gone than there was is a slip.
    for rack in (on_rack((9, 100.0), (20, 90.0)), on_rack((0, 100.0), (20, 30.0))):
        assert lot_of(record, on=date(2026, 12, 20), rack=rack).water_low_fraction == 0.0


def test_bars_count_at_their_first_weight_else_at_the_plan():
    aside = ("measured", {"step": "after:set-aside", "reading": "3", "unit": "bars", "reason": "Ash or color"})
    first = ("measured", {"step": "after:first-bar", "reading": "150", "unit": "g"})
    record = issued()
    assert set_aside(told(record, aside, first), (), None, 140.0, CUT).lot.told_g == pytest.approx(450.0)
    assert set_aside(told(record, aside), (), None, 140.0, CUT).lot.told_g == pytest.approx(420.0)
    assert set_aside(told(record, aside), (), None, None, CUT) is None  # nobody knows what they weigh
    assert set_aside(told(record), (), None, 140.0, CUT) is None


@pytest.mark.parametrize(
    ("tests", "superfat", "asks"),
    [
        ((), None, ""),
        ((0.0004,), None, ""),  # 0.05 % is where it is asked about: common practice, no source
        ((0.002,), None, "a test found 0.2 % of free caustic in it"),
        ((0.002, 0.0), None, ""),  # the newest test counts
        ((), {"value": 0.02, "low": -0.01, "high": 0.05}, "its own superfat may be below 0 %"),
    ],
)
def test_what_may_hold_free_lye_asks_first(tests, superfat, asks):
    record = issued()
    assert lot_of(record, rack=on_rack(tests=tests), closed=superfat and {"superfat": superfat}).asks == asks


def test_scent_and_soap_of_its_own_go_on_with_it():
    material = scent_lot(certificate_max_fraction=0.05, certificate_edition="51")
    chosen = ChosenScent("Reed", (Part(material, 1.0),))
    older = soap_lot("Z:1", scents=(scent("Marsh", load=0.02, limit=0.1, allergens={"Linalool": 0.2}),), ingredients=("Castor oil",))
    made = replace(setting({"scent_fraction": 0.03, "scent": "n"}), scent=chosen, set_aside={older.id: older})
    record = issued(made, soaps=(SoapTaken(lot="Z:1", taken_g=3000.0),))
    found = lot_of(record)
    own, carried = found.scents
    by_key = {pour["key"]: pour["target_g"] for pour in record["pours"]}
    assert own.load_fraction == pytest.approx(by_key["scent"] / record["batter_g"]) and own.limit_fraction == pytest.approx(0.05)
    assert carried.load_fraction == pytest.approx(0.02 * by_key["soap:0"] / record["batter_g"])
    assert carried.allergens == {"Linalool": 0.2} and "Castor oil" in found.ingredients
    # What the oils of the older soap take is in it too; by hand 0.13 g KOH/g.
    oils_g = sum(by_key[f"oil:{n}"] * value / 1000.0 for n, value in enumerate((190.0, 199.5, 256.5)))
    assert found.demand_low_koh_per_g == pytest.approx((oils_g + 0.13 * by_key["soap:0"]) / record["batter_g"])
    # So is its water, in the bound of what the racks can lose.
    lye_g = next(pour for pour in record["pours"] if pour["key"] == "lye:naoh")["exact_g"]
    assert water_fraction(record) == pytest.approx((0.67 * lye_g + 0.2 * by_key["soap:0"]) / record["batter_g"])
    # A sheet from before allergens were kept has the names on its label alone.
    before = {key: part for key, part in record["scent"].items() if key != "allergens"} | {"label": ["Geraniol"]}
    old = lot_of(record | {"scent": before}).scents[0]
    assert old.allergens is None and old.named == ("Geraniol",)
    unnamed = lot_of(record | {"scent": None}).scents[0]
    assert unnamed.unknown == ("the scent of A",)
