"""The live batch sheet, and issuing it: the moment its inputs and amounts are frozen."""

from datetime import datetime
from typing import Any

from answers.frames_read import chosen_frames
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State, Stored
from calc.batch.order import BatchOrder, BatchSetting, Issue
from calc.batch.sheet import BatchSheet
from calc.batch.sheet import batch_sheet as made_sheet
from calc.entry.declare import describe
from calc.entry.fields import check, read
from calc.entry.language import later, tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.record.issued import batch_code, issued_record, may_be_issued, replaced_code
from calc.scent.batch import ChosenScent
from calc.steps.order_of_work import weigh_steps
from calc.steps.paper import paper
from calc.workshop.equipment import Cutter, Mould, ScaleItem, Vessel
from calc.workshop.lots import AlkaliLot
from calc.workshop.safety_place import LyeLimits
from calc.workshop.shop import Shop

LYE_LIMITS = {info.name for info in describe(LyeLimits)}
LOTS = {"naoh": later("caustic soda lot"), "koh": later("caustic potash lot")}


def batch_sheet(request: Request) -> Answer:
    """Every amount of the order being typed, with its superfat interval."""
    _, setting, sheet, cautions = _sheet(request)
    replaces = request.values.get("replaces", "").strip()
    shown = {"sheet": sheet, "replaces": replaces, "cautions": cautions, "units": request.state.units, "formula": request.values.get("formula", ""), "code": _proposed_code(request, setting.shop)}
    regions = ("batch_sheet", "batch_more")
    return Answer({region: render(f"{region}.html", **shown) for region in regions}, cautions)


def issue_batch(request: Request) -> Answer:
    """The sheet frozen under a batch code, as the record to store."""
    issue, faults = _issue(request)
    try:
        entry, setting, sheet, cautions = _sheet(request)
    except InputProblems as others:
        raise InputProblems(*others.problems, *faults) from others
    if issue is None:
        raise InputProblems(*faults)
    may_be_issued(sheet, issue)
    now = _now(request)
    code = batch_code(issue, setting.shop.code_prefix, now, request.state.batch_codes)
    replaces = replaced_code(issue, code, request.state.batch_codes)
    work = paper(weigh_steps(sheet, setting), sheet, request.state.units)
    html = render(
        "sheet_print.html",
        sheet=sheet,
        work=work,
        lines=sum(len(part.lines) for part in work),
        shop=setting.shop,
        cautions=cautions,
        code=code,
        issued_by=issue.issued_by,
        issued_at=f"{now:%Y-%m-%dT%H:%M}",
        reason=issue.reason,
        replaces=replaces,
        units=request.state.units,
    )
    record: dict[str, Any] = issued_record(sheet, setting, issue, code, _inputs(request, entry))
    record["formula"] = {
        "id": entry.id,
        "revision": entry.revision,
        "event": entry.event,
        "name": sheet.formula_name,
    }
    record["html"] = html
    return Answer({"issued": html}, cautions, record)


def _proposed_code(request: Request, shop: Shop) -> str | None:
    """The code that the sheet would be issued under; None where nothing can be said of it before it is issued."""
    try:
        typed = request.values.get("code", "").strip() or None
        return batch_code(Issue(code=typed, issued_by=""), shop.code_prefix, _now(request), request.state.batch_codes)
    except InputProblems:
        return None


def _now(request: Request) -> datetime:
    try:
        return datetime.fromisoformat(request.now)
    except ValueError as unreadable:
        message = tr("This device doesn't say what day it is.")
        raise InputProblems(Problem("", "no-date", message, tr("Set its date and time, then issue again."))) from unreadable


def _issue(request: Request) -> tuple[Issue | None, tuple[Problem, ...]]:
    try:
        return read(Issue, request.values).value, ()
    except InputProblems as faults:
        return None, faults.problems


def _sheet(request: Request) -> tuple[Stored, BatchSetting, BatchSheet, tuple[Caution, ...]]:
    reading = read(BatchOrder, request.values)
    entry, setting = setting_of(reading.value, request.state)
    try:
        sheet = made_sheet(reading.value, setting)
    except InputProblems as faults:
        raise InputProblems(*(_at_control(problem) for problem in faults.problems)) from faults
    return entry, setting, sheet, (*reading.cautions, *sheet.cautions)


def setting_of(order: BatchOrder, state: State) -> tuple[Stored, BatchSetting]:
    """Everything the order names; all that is missing or faulty is told at once."""
    faults: list[Problem] = []

    def found(kind: str, cls: type[Any], id_: str | None, field: str, called: str) -> Any:
        try:
            return state.read_item(kind, cls, id_, field, called)
        except InputProblems as missing:
            faults.extend(missing.problems)
            return None

    mould = found("mould", Mould, order.mould, "mould", "mold")
    vessel = found("vessel", Vessel, order.vessel, "vessel", "vessel")
    lots = {
        alkali: found("alkali_lot", AlkaliLot, id_, f"{alkali}_lot", LOTS[alkali])
        for alkali, id_ in (("naoh", order.naoh_lot), ("koh", order.koh_lot))
        if id_ is not None
    }
    cutter = None if order.cutter is None else found("cutter", Cutter, order.cutter, "cutter", "cutter")
    frames = None
    try:
        frames = chosen_frames(state, order.loaf_frame, order.bar_frame)
    except InputProblems as missing:
        faults.extend(missing.problems)
    try:
        entry, formula = state.formula(order.formula, "formula")
        check(formula)
    except InputProblems as missing:
        first = missing.problems[0]
        faults.append(Problem("formula", first.code, first.message, first.remedy))
        formula = None
    scent = None
    if formula is not None and formula.scent is not None:
        try:
            chosen, parts = state.scent(formula.scent, "formula")
            scent = ChosenScent(chosen.name, parts)
        except InputProblems as missing:
            faults.extend(missing.problems)
    if faults or formula is None:
        raise InputProblems(*faults)
    return entry, BatchSetting(
        formula=formula,
        revision=entry.revision,
        mould=mould,
        vessel=vessel,
        scales=state.read_all("scale", ScaleItem),
        alkali_lots=lots,
        cutter=cutter,
        frames=frames,
        oils=state.oils(),
        oil_lots=state.lots_in_use(),
        shop=state.shop(),
        habits=state.habits(),
        lye_limits=state.lye_limits(),
        scent=scent,
        units=state.units,
    )


def _at_control(problem: Problem) -> Problem:
    """A fault inside the chosen formula belongs to the control that chose it."""
    of_formula = problem.field.startswith(("oils", "additives", "lye_", "water_", "koh_share", "scent"))
    return Problem("formula", problem.code, problem.message, problem.remedy) if of_formula else problem


def _inputs(request: Request, formula: Stored) -> dict[str, Any]:
    """The strings behind the sheet: the order, the formula and what it named in the workshop."""
    state = request.state
    kinds = ("shop", "floor", "mould", "vessel", "cutter", "loaf_frame", "bar_frame", "scale", "alkali_lot", "oil_lot", "own_oil", "scent", "scent_lot")
    chosen = {*request.values.values(), formula.values.get("scent", "")}
    return {
        "order": dict(request.values),
        "formula": dict(formula.values),
        **{
            kind: {
                entry.id: dict(entry.values)
                for entry in state.stored(kind)
                if entry.id in chosen or kind in ("shop", "floor", "scale", "own_oil") or entry.values.get("in_use") == "yes"
            }
            for kind in kinds
        },
        # Nothing else of that form: a record is handed on, telephone numbers and address are not.
        "safety": {
            entry.id: {key: text for key, text in entry.values.items() if key.partition(".")[0] in LYE_LIMITS}
            for entry in state.stored("safety")
        },
    }
