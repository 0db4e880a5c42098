"""The printed sheet is the list of steps at the scale, line for line."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from workshops import BENCH, FINE, FLOOR, order, setting

from calc.batch.sheet import batch_sheet
from calc.steps.after_pour import after_steps
from calc.steps.order_of_work import weigh_steps
from calc.steps.paper import after_paper, paper
from calc.workshop.habits import USUAL_HABITS
from steps.test_order_of_work import WITH_LATE_THINGS, blocks


def sheet_and_steps(formula=None, blocks_=1, **changes):
    made_for = setting(formula, **changes)
    sheet = batch_sheet(order(blocks=blocks_), made_for)
    return sheet, weigh_steps(sheet, made_for)


@settings(deadline=None, max_examples=40)
@given(blocks())
def test_paper_has_the_steps_of_the_phone_in_their_order_with_their_amounts_and_lots(block):
    sheet, made_for = block
    steps = weigh_steps(sheet, made_for)
    parts = paper(steps, sheet, made_for.units)
    lines = [line for part in parts for line in part.lines]
    assert [(line.key, line.title, line.safety, line.lot) for line in lines] == [
        (step.key, step.title, step.safety, step.lot) for step in steps
    ]
    for line, step in zip(lines, steps, strict=True):
        assert line.target == (f"{step.target_text} {step.unit}" if step.kind == "weigh" else None)
        if step.kind == "weigh":
            assert step.scale in line.notes and any(step.band_text in note for note in line.notes)
    assert len({part.heading for part in parts}) == len(parts)
    # What stands in the vessel at the end is all of the batter, as its scale shows it: to half a division.
    grams = {"kg": Decimal(1000), "lb": Decimal("453.59237")}  # NIST Handbook 44, Appendix C
    number, unit = [line.in_vessel for line in lines if line.in_vessel not in (None, "separately")][-1].split(" ")
    display = sheet.tare.display
    half_g = display.division / 2 / 10**display.decimals * float(grams[unit])
    assert float(Decimal(number) * grams[unit]) == pytest.approx(sheet.batter_g, abs=half_g + 1e-6)


def test_parts_of_the_work_have_their_headings_and_what_is_set_by_is_not_in_the_vessel():
    sheet, steps = sheet_and_steps(WITH_LATE_THINGS)
    parts = {part.heading: {line.key: line for line in part.lines} for part in paper(steps, sheet, "us")}
    assert list(parts) == ["Before anything is weighed", "Into the vessel, in this order", "Mix, and at trace", "Into the mold"]
    vessel, trace = parts["Into the vessel, in this order"], parts["Mix, and at trace"]
    assert vessel["scent"].in_vessel == "separately" and trace["scent:in"].in_vessel is not None
    assert vessel["lye:naoh:short"].notes[-1] == "read it twice"
    assert "quart" in vessel["reserve:lye"].notes[0] and "of caustic soda (NaOH) lye" in vessel["reserve:lye"].notes[0]
    # 200 mm are 7.87 in; rounding to the scales leaves the block a hair lower.
    assert parts["Before anything is weighed"]["mould:ready"].notes[0] in ("filled to 7.87 in", "filled to 7.86 in")


def test_the_tank_is_filled_with_what_the_line_of_the_blend_says_in_pounds_too():
    # 0.05 lb are 22.6796185 g (NIST Handbook 44, Appendix C): the display's hundredths stay on the sum of all blocks.
    pounds = replace(FLOOR, division_g=22.6796185, reads_in="lb")
    sheet, steps = sheet_and_steps(blocks_=3, habits=replace(USUAL_HABITS, oils="blend"), scales=(pounds, BENCH, FINE), units="us")
    (blend,) = [line for part in paper(steps, sheet, "us") for line in part.lines if line.key.startswith("oil:")]
    assert re.fullmatch(r"\d+\.\d\d lb", blend.all_blocks)
    assert sheet.tank.total_text == blend.all_blocks


def test_a_blend_is_one_line_and_the_tank_is_filled_for_all_blocks():
    sheet, steps = sheet_and_steps(blocks_=3, habits=replace(USUAL_HABITS, oils="blend"))
    lines = [line for part in paper(steps, sheet, "metric") for line in part.lines]
    (blend,) = [line for line in lines if line.key.startswith("oil:")]
    assert (blend.title, blend.lot) == ("Pour the oil blend", None)
    one, all_ = (Decimal(text.removesuffix(" kg")) for text in (blend.target, blend.all_blocks))
    assert all_ == 3 * one
    # 45, 30 and 25 % of three blocks' blend, on the floor scale of 20 g or, what it holds with its jug, on a finer one.
    for oil, share in zip(sheet.tank.oils, (Decimal("0.45"), Decimal("0.30"), Decimal("0.25")), strict=True):
        assert oil.scale == "Floor" and abs(Decimal(oil.text.removesuffix(" kg")) - share * all_) <= Decimal("0.01")
    assert sheet.tank.total_text == blend.all_blocks
    assert [oil.lot for oil in sheet.tank.oils] == ["OLIVE", "PALM", "COCONUT"]
    assert batch_sheet(order(), setting()).tank is None


@settings(deadline=None, max_examples=10)
@given(blocks())
def test_paper_goes_on_after_the_pour_with_the_steps_of_the_phone_and_room_for_what_is_told(block):
    sheet, made_for = block
    steps = after_steps(sheet, made_for)
    lines = after_paper(steps, sheet, made_for.units)
    assert [(line.key, line.title, line.safety) for line in lines] == [(step.key, step.title, step.safety) for step in steps]
    for line, step in zip(lines, steps, strict=True):
        # Something is written for every step that asks something; what is only done is ticked.
        assert line.reads == (step.kind != "confirm")
        notes = " ".join(line.notes)
        if step.safety:
            assert step.how in notes and step.stop in notes
        if step.scale is not None:
            assert step.scale in line.notes


def test_on_paper_too_the_bars_planned_stand_where_they_are_counted():
    # physics_check_values.csv: 23 x 4 x 3 bars; a bar of 135 cm³ at 1.04 g/ml, wires half a millimeter off, 135.7 to 145.2 g.
    made_for = setting()
    sheet = batch_sheet(order(), made_for)
    notes = {line.key: line.notes for line in after_paper(after_steps(sheet, made_for), sheet, "metric")}
    assert notes["after:good"] == ("276 planned",)
    assert notes["after:first-bar"][-1].replace("\N{NO-BREAK SPACE}", " ") == "the plan is 136 g to 145 g"
