"""The live batch sheet, and issuing it: the moment its inputs and amounts are frozen."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from typing import Any
from urllib.parse import quote, urlencode

from answers.frames_read import chosen_frames
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State, Stored
from answers.tasks.aside import lots_named
from calc.batch.order import BatchOrder, BatchSetting, Issue
from calc.batch.sheet import BatchSheet
from calc.batch.sheet import batch_sheet as made_sheet
from calc.entry.declare import describe
from calc.entry.fields import check, read
from calc.entry.language import later, tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import number
from calc.entry.units import convert
from calc.formula.stand_in import shelf_of
from calc.record.issued import batch_code, issued_record, may_be_issued, replaced_code
from calc.record.recalls import under_recall
from calc.scent.batch import ChosenScent
from calc.steps.after_pour import after_steps
from calc.steps.order_of_work import weigh_steps
from calc.steps.paper import after_paper, paper
from calc.workshop.equipment import Cutter, Mould, ScaleItem, Vessel
from calc.workshop.lot_codes import lot_key
from calc.workshop.lots import AlkaliLot, OilLot
from calc.workshop.safety_place import LyeLimits
from calc.workshop.shop import Shop

LYE_LIMITS = {info.name for info in describe(LyeLimits)}
LOTS = {"naoh": later("caustic soda lot"), "koh": later("caustic potash lot")}


def batch_sheet(request: Request) -> Answer:
    """Every amount of the order being typed, with its superfat interval."""
    entry, setting, sheet, cautions = _sheet(request)
    shown = {
        "sheet": sheet,
        "replaces": request.values.get("replaces", "").strip(),
        "cautions": cautions,
        "units": request.state.units,
        "formula": request.values.get("formula", ""),
        "code": _proposed_code(request, setting.shop),
        "short_oils": list(_short_oils(sheet, entry, request.state)),
    }
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
        after=after_paper(after_steps(sheet, setting), sheet, request.state.units),
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


def _short_oils(sheet: BatchSheet, formula: Stored, state: State) -> Iterator[tuple[str, float, str]]:
    """Oils of which all lots together hold less than all blocks take: name, what is missing [g], and where a stand-in is found."""
    lots = state.read_all("oil_lot", OilLot)
    shelf, noted = shelf_of(lots), {lot.oil for lot in lots}
    wanted_g: dict[str, float] = {}
    for row, pour in zip(sheet.oils, (pour for pour in sheet.pours if pour.kind == "oil"), strict=True):
        wanted_g[row.key] = wanted_g.get(row.key, 0.0) + pour.target_g * sheet.blocks
    unit = "lb" if state.units == "us" else "kg"
    whole = number(convert(sheet.oils_g * sheet.blocks, "g", unit), 2)
    for row in {row.key: row for row in sheet.oils}.values():
        left_g = shelf[row.key].left_g if row.key in shelf else 0.0
        if row.key in noted and left_g is not None and left_g < wanted_g[row.key]:
            asked = urlencode({"oil": row.key, "left_g": "", "oils_g": whole, "oils_g.unit": unit})
            yield row.name, wanted_g[row.key] - left_g, f"{quote(formula.id, safe='')}?{asked}"


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
    wanted = {row.lot for row in reading.value.soaps}
    setting = replace(setting, set_aside=lots_named(request.state, wanted, request.now))
    try:
        sheet = made_sheet(reading.value, setting)
    except InputProblems as faults:
        raise InputProblems(*(_at_control(problem) for problem in faults.problems)) from faults
    return entry, setting, sheet, (*reading.cautions, *sheet.cautions, *_recalled(sheet, request.state))


def _recalled(sheet: BatchSheet, state: State) -> list[Caution]:
    """What is said of each lot of the sheet that is under recall: whoever weighs takes what the sheet names."""
    keys = under_recall(state.after_sale)
    named = [lot for pour in sheet.pours for lot in (pour.lot or "").split(", ")]
    lots = list(dict.fromkeys(lot for lot in named if lot and lot_key(lot) in keys))
    why = tr("Weigh none of it: put another lot in use.")
    return [Caution("", "lot-recalled", tr("A recall of lot {lot} was begun.", lot=lot), why) for lot in lots]


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
        additive_lots=state.additive_lots_in_use(),
        shop=state.shop(),
        habits=state.habits(),
        lye_limits=state.lye_limits(),
        scent=scent,
        own_soap=state.own_soap(formula.name),
        units=state.units,
    )


def _at_control(problem: Problem) -> Problem:
    """A fault inside the chosen formula belongs to the control that chose it."""
    of_formula = problem.field.startswith(("oils", "additives", "lye_", "water_", "koh_share", "scent"))
    return Problem("formula", problem.code, problem.message, problem.remedy) if of_formula else problem


def _inputs(request: Request, formula: Stored) -> dict[str, Any]:
    """The strings behind the sheet: the order, the formula and what it named in the workshop."""
    state = request.state
    kinds = ("shop", "floor", "mould", "vessel", "cutter", "loaf_frame", "bar_frame", "scale", "alkali_lot", "oil_lot", "own_oil", "scent", "scent_lot", "additive_lot")
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
