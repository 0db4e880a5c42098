"""What blocks are cut with, read from the workshop and checked: for the cut plan, and for the bars of a batch sheet."""

from typing import Any

from answers.state import State
from calc.entry.fields import check
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.workshop.equipment import Cutter
from calc.workshop.frames import BarFrame, LoafFrame
from calc.workshop.kinds import KINDS

FRAMES: dict[str, type[Any]] = {"loaf_frame": LoafFrame, "bar_frame": BarFrame, "cutter": Cutter}


def read_frame(state: State, kind: str, id_: str) -> Any:
    """The frame or cutter of that id; every fault of it is a problem of the field of that name."""
    try:
        found = state.read_item(kind, FRAMES[kind], id_, kind, KINDS[kind][1])
        check(found)
    except InputProblems as faults:
        raise InputProblems(*(Problem(kind, each.code, each.message, each.remedy) for each in faults.problems)) from faults
    return found


def one_frame_only(kind: str) -> Problem:
    """It takes both frames to make bars of a block, and the one of this kind is missing."""
    message = tr("A {what} is missing: it takes both frames to make bars of a block.", what=tr(KINDS[kind][1]))
    return Problem(kind, "one-frame-only", message, tr("Choose one, or add it in Workshop."))


def chosen_frames(state: State, loaf_id: str | None, bar_id: str | None) -> tuple[LoafFrame, BarFrame] | None:
    """The two frames chosen; None where neither is. Raises InputProblems for a faulty one, or one alone."""
    if loaf_id is None and bar_id is None:
        return None
    found, faults = [], []
    for kind, id_ in (("loaf_frame", loaf_id), ("bar_frame", bar_id)):
        if id_ is None:
            faults.append(one_frame_only(kind))
            continue
        try:
            found.append(read_frame(state, kind, id_))
        except InputProblems as faulty:
            faults.extend(faulty.problems)
    if faults:
        raise InputProblems(*faults)
    loaf, bar = found
    return loaf, bar
