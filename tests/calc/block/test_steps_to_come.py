"""Before anything is weighed the scale asks for just what the sheet has frozen: both reckon from the same amounts."""

from dataclasses import replace

from hypothesis import given, settings
from steps.test_order_of_work import blocks
from workshops import BENCH, FINE, FLOOR, order, setting

from calc.batch.order import Issue
from calc.batch.sheet import batch_sheet
from calc.block.chemistry import Block
from calc.block.steps_to_come import changed_by_now
from calc.formula.declaration import AdditiveShare, OilShare
from calc.record.issued import issued_record
from calc.workshop.habits import USUAL_HABITS


def block_of(sheet, made_for, events=()):
    issue = Issue(code=None, issued_by="Q", reason=None)
    shop = {"shop": {"tolerance_scheme": made_for.shop.tolerance_scheme}}
    return Block(issued_record(sheet, made_for, issue, "QM-261130-1", {"shop": shop}), events)


@settings(deadline=None, max_examples=40)
@given(blocks())
def test_nothing_is_asked_for_otherwise_before_anything_is_weighed(made):
    sheet, made_for = made
    assert changed_by_now(block_of(sheet, made_for), made_for.units) == {}


def test_an_oil_kept_for_trace_a_blend_and_an_acid_leave_the_top_up_as_it_was_frozen():
    # Where the sheet rounded oils of a blend one by one, and reckoned an acid unrounded, the scale asked for another top-up.
    for acid in ((), (AdditiveShare(kind="citric_anhydrous", share_fraction=0.005),)):
        for late, habit in (("main", "each"), ("late", "each"), ("main", "blend"), ("late", "blend")):
            oils = tuple(
                OilShare(oil=oil, share_fraction=share, added=added)
                for oil, share, added in (("olive", 0.41, "main"), ("palm", 0.02, "main"), ("coconut", 0.5, "main"), ("castor", 0.07, late))
            )
            made_for = setting(
                {"oils": oils, "additives": acid}, scales=(FLOOR, BENCH, FINE), habits=replace(USUAL_HABITS, oils=habit)
            )
            for mass_g in (15_666.0, 33_315.0, 45_969.0):
                sheet = batch_sheet(order(scale_to="batch_mass", batch_mass_g=mass_g), made_for)
                assert changed_by_now(block_of(sheet, made_for)) == {}, (late, habit, mass_g)


def done(record, keys, **readings):
    """The events that do these steps as planned, or by other counts."""
    events = []
    for number, step in enumerate(step for step in record["steps"] if step["key"] in keys):
        event = {"id": f"e{number:03}", "at": f"2026-11-30T08:{number:02}:00.000Z", "local": f"2026-11-30T08:{number:02}:00",
                 "step": step["key"], "person": "Q", "kind": "checked"}  # fmt: skip
        if step["kind"] == "weigh":
            gross = step["gross_text"] is not None and not any(each["key"].startswith("check:tare") for each in record["steps"])
            count = readings.get(step["key"].replace(":", "_"), step["target"]) + (step["gross"] - step["target"] if gross else 0)
            digits = str(count).rjust(step["decimals"] + 1, "0")
            at = len(digits) - step["decimals"]
            event |= {"kind": "weighed", "reading": f"{digits[:at]}.{digits[at:]}".rstrip("."), "unit": step["unit"],
                      "mode": "gross" if gross else "net",
                      "asked": {name: step[name] for name in ("target", "low", "high", "decimals", "unit", "division")}}  # fmt: skip
        events.append(event)
    return events


def test_a_scent_that_stands_by_covered_is_not_on_the_vessels_scale_until_it_is_stirred_in():
    made_for = setting({"scent_fraction": 0.02}, habits=replace(USUAL_HABITS, tare="never", temperatures="no"))
    sheet = batch_sheet(order(), made_for)
    record = block_of(sheet, made_for).record
    keys = [step["key"] for step in record["steps"]]
    until = keys[: keys.index("scent") + 1]
    block = Block(record, done(record, until))
    oils_g = sum(pour.target_g for pour in sheet.pours if pour.kind == "oil")
    assert abs(block.on_scale_g - (11_400.0 + oils_g)) < 1e-6
    assert "scent" in block.weighed and "scent" not in block.in_vessel
    assert changed_by_now(block) == {}
    stirred = Block(record, done(record, keys[: keys.index("scent:in") + 1]))
    assert "scent" in stirred.in_vessel
    assert abs(stirred.on_scale_g - (11_400.0 + sheet.batter_g)) < 1e-6


def test_the_pour_says_what_the_weighed_amounts_fill_the_mould_to():
    made_for = setting()
    sheet = batch_sheet(order(), made_for)
    record = block_of(sheet, made_for).record
    # 1.20 kg of olive oil too much, and the lye for it: 1200 g / 0.91 g/ml and about 510 g / 1.35 g/ml are 1.7 L, which on
    # 600 x 400 mm stand 7 mm high (densities as in the example block of physics_check_values.csv).
    block = Block(record, done(record, [step["key"] for step in record["steps"][:9]], oil_0=record["steps"][7]["target"] + 120))
    assert record["steps"][7]["key"] == "oil:0"
    assert "about 207 mm" in changed_by_now(block)["pour"]["how"]
    assert "about 200 mm" in next(step for step in record["steps"] if step["key"] == "pour")["how"]
    # A sheet from before the mould had its own step keeps its words.
    older = {**record, "steps": [step for step in record["steps"] if step["key"] != "mould:ready"]}
    assert "pour" not in changed_by_now(Block(older, block.events.events))
