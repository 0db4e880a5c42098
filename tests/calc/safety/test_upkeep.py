"""The usual tasks: nobody reaches a step before what can hurt is said."""

import re

import pytest

from calc.entry.fields import check, read
from calc.entry.problems import InputProblems
from calc.safety.upkeep import usual_tasks
from calc.tables.safety import values
from calc.workshop.upkeep import UpkeepTask

TASKS = {task.key: task for task in usual_tasks()}


def test_the_usual_tasks_are_there_each_with_its_danger_a_few_steps_and_how_often():
    # The project's own plan of records: what a workshop of this kind sees to. Common practice, no source.
    assert set(TASKS) == {"vessel", "mold", "rods", "cutter", "wires", "cylinders", "bearings", "bowl", "weights", "thermometers"}
    for task in TASKS.values():
        assert task.danger and 2 <= len(task.steps) <= 5, task.key
        assert (task.every_days is None) != (task.every_blocks is None), task.key


def test_what_runs_on_air_is_shut_off_locked_blocked_bled_and_tried_before_anybody_reaches_in():
    """29 CFR 1910.147(d): shut down, cut off, lock and tag, hold back or release what is stored, try to start."""
    order = ("Shut the air valve", "Lock", "Block the frame", "Bleed the air", "Try to start", "Only then reach in")
    for key in ("cutter", "wires", "cylinders", "bearings", "bowl"):
        first = TASKS[key].danger[0].en
        found = [first.find(part) for part in order]
        assert -1 not in found and found == sorted(found), key
    # And the mixer by its plug, out and in sight: 29 CFR 1910.147(a)(2)(iii).
    assert re.search(r"unplug.*Only then touch", TASKS["vessel"].danger[0].en)


def test_rods_of_a_mold_are_tightened_by_hand():
    # Common practice, no source: a wrench bows the panels.
    assert any("hand-tight" in step.en and "No wrench" in step.en for step in TASKS["rods"].steps)


def test_how_often_is_a_habit_and_says_so():
    for task in TASKS.values():
        (figure,) = task.every.uses
        assert values()[figure].how == task.every.how == "common practice", task.key
        assert str(task.every_days or task.every_blocks) in task.every.en and str(task.every_days or task.every_blocks) in task.every.es


@pytest.mark.parametrize(("every", "is_fine"), [({}, False), ({"every_days": "7"}, True), ({"every_blocks": "20"}, True), ({"every_days": "7", "every_blocks": "20"}, True)])
def test_a_task_says_when_it_is_due(every, is_fine):
    task = read(UpkeepTask, {"name": "Hoist hook", **every}).value
    if is_fine:
        check(task)
        return
    with pytest.raises(InputProblems) as found:
        check(task)
    assert [problem.code for problem in found.value.problems] == ["no-interval"]
