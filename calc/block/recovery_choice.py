"""One way on after a slip, and the order in which ways are offered."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from calc.chemistry.superfat import SuperfatInterval
from calc.entry.language import tr
from calc.entry.shown import points
from calc.steps.frozen import Step
from calc.tables.reference import constant

LEAVE_FRACTION = constant("superfat_move_left").value
STILL_FRACTION = constant("superfat_move_still").value


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One way on."""

    key: str
    title: str
    explanation: str
    superfat: SuperfatInterval | None
    batter_g: float
    fill_height_mm: float
    overflow_g: float  # batter above the free height below the mould's rim: it is set aside
    aside_text: str  # the same on the display of the vessel's scale, rounded up; empty when all fits
    vessel_overflow: bool
    safe: bool
    extra: Mapping[str, float] = field(default_factory=dict)  # grams to add, by pour ("oil:blend" for the blend)
    steps: tuple[Step, ...] = ()
    then: tuple[Step, ...] = ()  # steps to come that get another target, or have nothing left to pour
    replaced: Mapping[str, Step] = field(default_factory=dict)
    outcome: str | None = None

    def work(self, pour: str | None) -> tuple[bool, int, bool, float]:
        """What ranks a choice lower: batter set aside, the number of pours, a pour other than this one, grams."""
        other = bool(self.extra) and pour not in self.extra
        return self.overflow_g > 0.0, len(self.steps), other, math.fsum(self.extra.values())


@dataclass(frozen=True)
class Impossible:
    """A way that can't be gone, and why."""

    title: str
    why: str


@dataclass(frozen=True)
class Recovery:
    """The choices, best first and to stop always last; and the ways that can't be gone."""

    choices: tuple[Choice, ...]
    impossible: tuple[Impossible, ...]


def ranked(
    pour_on: Sequence[Choice], leave: Choice | None, others: Sequence[Choice], goal_fraction: float
) -> tuple[Choice, ...]:
    """The ways on, best first. The first one says why it is first.

    pour_on: for a short pour, before all others. leave: None when it isn't safe; it comes before the others only while
    it hardly moves the superfat from the goal. others: least work first.
    """
    if leave is None:
        return (*pour_on, *others)
    moved = 0.0 if leave.superfat is None else abs(leave.superfat.value - goal_fraction)
    figure = points(moved)
    second = bool(others) and not pour_on and moved >= LEAVE_FRACTION
    found = [others[0], leave, *others[1:]] if second else [*pour_on, leave, *others]
    if pour_on:
        why = tr("The best way: it gets back to the plan and changes nothing else.")
    elif second:
        why = tr("The best way: leaving it would move the superfat by {figure} percentage points.", figure=figure)
    elif moved < STILL_FRACTION:
        why = tr("The best way: the superfat stays as it was.")
    else:
        why = tr("The best way: it moves the superfat by only {figure} percentage points.", figure=figure)
    if len(found) == 1 and moved >= LEAVE_FRACTION:
        return tuple(found)
    return (replace(found[0], explanation=f"{found[0].explanation} {why}".strip()), *found[1:])
