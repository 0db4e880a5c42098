"""The order of work from the mould to the rack."""

from dataclasses import replace

from cut.test_ways import bar, loaf
from workshops import order, setting

from calc.batch.sheet import batch_sheet
from calc.steps.after_pour import after_steps
from calc.workshop.equipment import Cutter
from calc.workshop.habits import USUAL_HABITS

# A block of 600 x 400 x 200 mm, from wire to wire 25 x 90 x 60 mm, 5 mm of trim, kerf 0: 23 x 4 x 3 bars
# (physics_check_values.csv: 276).
CUTTER = Cutter(name="Wires", pitch_length_mm=25.0, pitch_width_mm=90.0, pitch_height_mm=60.0, trim_mm=5.0, kerf_mm=0.0)


def steps(cutter=CUTTER, **changes):
    made_for = setting(cutter=cutter, **changes)
    return {step.key: step for step in after_steps(batch_sheet(order(), made_for), made_for)}


def test_the_work_goes_from_the_cover_to_the_rack():
    # Common practice, no source: lift, open, loaves, skim; frame changed and checked; bars; what is weighed and counted; rack.
    assert [(step.key, step.kind) for step in steps().values()] == [
        ("after:cover", "cover"), ("after:gel", "gel"), ("after:lift", "lift"), ("after:demould", "confirm"),
        ("after:loaves", "confirm"), ("after:skim", "confirm"), ("after:frame", "confirm"), ("after:bars", "confirm"),
        ("after:first-bar", "measure"), ("after:trim", "measure"), ("after:good", "measure"), ("after:set-aside", "measure"),
        ("after:rack", "rack"),
    ]  # fmt: skip


def test_what_can_crush_or_cut_is_a_safety_step_with_its_stop():
    safe = {key: step for key, step in steps().items() if step.safety}
    assert set(safe) == {"after:lift", "after:loaves", "after:frame"}
    assert all(step.stop for step in safe.values())
    # The order of 29 CFR 1910.147(d), as rows cut_jam of the safety pages have it.
    how = safe["after:frame"].how
    order_said = ("Shut the air valve", "cut the power", "Lock and tag", "Block what can fall", "Bleed the air", "Try to start", "change the frame")
    assert sorted(order_said, key=how.index) == list(order_said)


def test_planned_bars_and_what_one_weighs_are_told_where_a_cutter_is_chosen():
    planned = steps()
    assert (planned["after:good"].target, planned["after:good"].target_text) == (276, "276")
    assert planned["after:bars"].how.startswith("The plan is 276 bars with “Wires”.")
    assert planned["after:loaves"].how.startswith("The plan is 12 loaves with “Wires”.")
    assert "It should weigh 136" in planned["after:first-bar"].how and "The plan is about" in planned["after:trim"].how
    bare = steps(cutter=None)
    assert bare["after:good"].target is None and "The plan" not in bare["after:bars"].how + bare["after:loaves"].how
    assert "should weigh" not in bare["after:first-bar"].how


def test_a_bar_is_weighed_on_the_finest_scale_that_holds_it_and_trim_on_the_widest():
    found = steps()
    bar, trim = found["after:first-bar"], found["after:trim"]
    assert (bar.scale, bar.unit) == ("Fine", "g")
    assert (trim.scale, trim.unit) == ("Floor", "kg")
    assert bar.low is bar.high is bar.target is None


def test_the_time_in_the_mould_is_the_workshops_habit_or_a_day():
    # Row unmould_usual of constants.csv: 24 h, common practice.
    assert steps(habits=replace(USUAL_HABITS, unmould_hours=None))["after:lift"].seconds == 86_400
    assert steps(habits=replace(USUAL_HABITS, unmould_hours=30))["after:lift"].seconds == 108_000
    assert steps()["after:gel"].seconds == 4 * 3600


def test_the_cutter_is_told_the_frames_of_the_plan_and_how_high_the_loaves_are_stacked():
    # By hand: loaves 60 mm high under an opening of 180 mm less 50 mm of room, common practice: two layers.
    found = steps(frames=(loaf(), bar(opening_mm=180.0)))
    assert "with “L”" in found["after:loaves"].how
    assert found["after:bars"].how.startswith("The plan is 276 bars with “B”, loaves stacked 2 high.")
