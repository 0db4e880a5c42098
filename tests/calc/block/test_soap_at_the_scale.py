"""A block with set-aside soap in it, as it is weighed: superfat and lye follow what went in."""

import periodictable
import pytest
from block_records import event, weighed
from soap_lots import lot
from workshops import order, setting

from calc.batch.order import Issue, SoapTaken
from calc.batch.sheet import batch_sheet
from calc.block.chemistry import Block
from calc.block.recovery import recovery
from calc.block.shape import can_be_weighed
from calc.block.with_oils import asked
from calc.record.issued import issued_record

R = periodictable.formula("KOH").mass / periodictable.formula("NaOH").mass
VALUES = (190.0, 199.5, 256.5)  # of the example's oils, physics_check_values.csv, D3


def record(grams=3000.0, **of_soap):
    old = lot(**of_soap)
    made = setting(set_aside={old.id: old})
    sheet = batch_sheet(order(soaps=(SoapTaken(lot=old.id, taken_g=grams),)), made)
    return issued_record(sheet, made, Issue(issued_by="Q", reason="x"), "B", {"shop": {"shop": {"tolerance_scheme": "HB44"}}})


def told_upto(made, upto, readings):
    events = []
    for number, step in enumerate(made["steps"]):
        if step["kind"] == "weigh":
            events.append(weighed(number, step, readings.get(step["key"], step["target_text"])))
        else:
            events.append(event(number, "checked", step=step["key"]))
        if step["key"] == upto:
            return events
    raise AssertionError(upto)


def test_a_sheet_with_soap_can_be_weighed_by():
    made = record()
    assert can_be_weighed(made, told_upto(made, "soap:0", {}))


@pytest.mark.parametrize("superfat", [-0.02, 0.01, 0.05, 0.12])
def test_the_superfat_counts_the_soap_as_it_was_weighed(superfat):
    made = record(superfat_fraction=superfat, superfat_low_fraction=superfat - 0.02, superfat_high_fraction=superfat + 0.02)
    block = Block(made, told_upto(made, "lye:naoh:top-up", {"soap:0": "3.26"}))
    amounts = block.weighed
    assert amounts["soap:0"].g == pytest.approx(3260.0)
    demand_g = sum(amounts[f"oil:{n}"].g * value / 1000.0 for n, value in enumerate(VALUES))
    alkali_g = 0.33 * amounts["lye:naoh"].g * R + (1.0 - superfat) * 0.13 * 3260.0
    assert block.superfat(amounts).value == pytest.approx(1.0 - alkali_g / (demand_g + 0.13 * 3260.0), abs=1e-6)


@pytest.mark.parametrize(("superfat", "less_koh_g"), [(0.01, 0.04 * 0.13 * 1000.0), (0.12, 0.0)])
def test_lye_still_to_come_follows_lean_soap_and_never_fat_soap(superfat, less_koh_g):
    # A kilogram more than planned; by hand, 4 % of 0.13 g KOH/g is what it brings beyond 5 %.
    made = record(superfat_fraction=superfat, superfat_low_fraction=0.0, superfat_high_fraction=0.15)
    planned, more = (Block(made, told_upto(made, "soap:0", {"soap:0": kg})) for kg in ("3.00", "4.00"))
    lye_g = [sum(block.lye_targets().values()) for block in (planned, more)]
    assert 0.33 * R * (lye_g[0] - lye_g[1]) == pytest.approx(less_koh_g, abs=0.5)


def test_soap_is_never_asked_for_anew_by_the_oils_nor_ladled_out():
    made = record()
    oils = told_upto(made, "oil:2", {"oil:0": "16.60"})
    at_soap = Block(made, oils)
    assert asked(at_soap, "metric") is None
    over = Block(made, told_upto(made, "soap:0", {"soap:0": "4.00"}))
    keys = {choice.key for choice in recovery(over, "soap:0").choices}
    assert "ladle" not in keys and "leave" in keys


def test_soap_fills_the_mould_at_its_own_density():
    made = record()
    block = Block(made, told_upto(made, "soap:0", {}))
    only = {"soap:0": block.weighed["soap:0"]}
    assert block.batter(only).volume_ml == pytest.approx(only["soap:0"].g / 1.04)  # the workshop's set density
