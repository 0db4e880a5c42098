"""The cut plan: bars of a block, what is lost, and the batch sheet for the bars wanted."""

from typing import Any
from urllib.parse import quote, urlencode

from answers.cut_drawings import block_cut, faces
from answers.frames_read import FRAMES, one_frame_only, read_frame
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State
from calc.cut.block import FILL_MM, OWN_BLOCKS, WIRE_MM, batter_g_per_ml
from calc.cut.plan import CutPlan, CutSetting
from calc.cut.plan import cut_plan as made_plan
from calc.cut.question import CutQuestion
from calc.cut.ways import OwnFrames, Way
from calc.entry.fields import check, read
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import number
from calc.entry.units import convert
from calc.formula.declaration import Formula
from calc.workshop.equipment import Mould
from calc.workshop.frames import GAP_MM
from calc.workshop.kinds import KINDS


def cut_plan(request: Request) -> Answer:
    """The best way of cutting the block, the others, and where its numbers come from."""
    reading = read(CutQuestion, request.values)
    state, question = request.state, reading.value
    formula = None if question.formula is None else _formula(question.formula, state)
    setting = CutSetting(
        mould=state.read_item("mould", Mould, question.mould, "mould", KINDS["mould"][1]),
        frames=_frames(question, state),
        shop=state.shop(),
        batter_g_per_ml=None if formula is None else _batter(formula, state),
        own_soap=None if formula is None else state.own_soap(formula.name),
        units=state.units,
    )
    plan = made_plan(question, setting)
    cautions = (*reading.cautions, *plan.cautions)
    shown = {
        "plan": plan,
        "units": state.units,
        "cautions": cautions,
        "block": block_cut(plan.way, state.units),
        "faces": faces(plan.way, state.units),
        "measured_fill": {} if plan.lower is None else _fill(plan.lower.fill_mm, state.units),
        "higher_fill": {} if plan.higher is None else _fill(plan.higher.fill_mm, state.units),
        "puts": [_put(way) for way in plan.others],
        "sheet": _sheet_values(question, plan, request),
        "wire_mm": WIRE_MM,
        "fill_mm": FILL_MM,
        "gap_mm": GAP_MM,
        "earlier": setting.own_soap,
        "own_blocks": OWN_BLOCKS,
    }
    return Answer({"cut_plan": render("cut_plan.html", **shown)}, cautions)


def _frames(question: CutQuestion, state: State) -> OwnFrames:
    """All that the workshop cuts with; what is faulty is left out where something else will do, unless it is chosen."""
    if not any(state.stored(kind) for kind in FRAMES):
        raise InputProblems(
            Problem("loaf_frame", "no-frame", tr("There is nothing to cut with in the workshop."), tr("Add a loaf frame and a bar frame in Workshop."))
        )
    found: dict[str, dict[str, Any]] = {kind: {} for kind in FRAMES}
    faults: list[Problem] = []
    others: list[Problem] = []
    for kind in FRAMES:
        chosen = getattr(question, kind)
        for id_ in dict.fromkeys([*(entry.id for entry in state.stored(kind)), *([chosen] if chosen else [])]):
            try:
                found[kind][id_] = read_frame(state, kind, id_)
            except InputProblems as faulty:
                (faults if id_ == chosen else others).extend(faulty.problems)
    if faults:
        raise InputProblems(*faults)
    if not found["cutter"] or question.loaf_frame or question.bar_frame:
        lacking = [one_frame_only(kind) for kind in ("loaf_frame", "bar_frame") if not found[kind]]
        if lacking:
            raise InputProblems(*(others or lacking))
    return OwnFrames(found["loaf_frame"], found["bar_frame"], found["cutter"])


def _formula(id_: str, state: State) -> Formula:
    _, formula = state.formula(id_, "formula")
    return formula


def _batter(formula: Formula, state: State) -> float:
    try:
        check(formula)
        return batter_g_per_ml(formula, state.oils(), state.lots_in_use())
    except InputProblems as faults:
        first = faults.problems[0]
        raise InputProblems(Problem("formula", first.code, first.message, first.remedy)) from faults


def _fill(fill_mm: float, units: str) -> dict[str, str]:
    unit = "in" if units == "us" else "mm"
    return {"fill_height_mm": number(convert(fill_mm, "mm", unit)), "fill_height_mm.unit": unit}


def _put(way: Way) -> dict[str, str]:
    """What chooses this way in the form."""
    return {kind: way.ids.get(kind, "") for kind in FRAMES}


def _size(plan: CutPlan, request: Request) -> dict[str, str]:
    """How far the sheet's blocks are filled: to the mold's usual level, else as it was typed, else in whole steps of a rule."""
    if plan.fill_mm == plan.mould.fill_height_mm:
        return {"scale_to": "blocks"}
    typed = {name: request.values.get(name, "") for name in ("fill_height_mm", "fill_height_mm.unit")}
    return {"scale_to": "fill_height", **(typed if plan.fill_mm == plan.highest_mm else _fill(plan.fill_mm, request.state.units))}


def _sheet_values(question: CutQuestion, plan: CutPlan, request: Request) -> str | None:
    """What the batch sheet opens with, as the end of its address; None without a formula."""
    if question.formula is None:
        return None
    blocks = 1 if plan.wanted is None else plan.wanted.blocks
    values = {"mould": question.mould, "blocks": str(blocks), **_size(plan, request)}
    # Wires that do not hang so yet are no frame of the workshop: the sheet would count other bars.
    as_they_are = plan.wanted is None or plan.wanted.heavy_enough
    chosen = _put(plan.way) if as_they_are else dict.fromkeys(FRAMES, "")
    return f"{quote(question.formula, safe='')}?{urlencode({**values, **chosen})}"
