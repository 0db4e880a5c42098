"""A tank filled step by step: what is frozen when it is begun, and what is told while it goes on."""

import math
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State
from answers.tasks.tanks import WATER, Shown
from calc.batch.pours import ALKALI_NAMES, lye_key, oil_key, source_of
from calc.chemistry.enthalpy import Part
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.scales.weighing import Scale
from calc.steps.frozen import frozen
from calc.steps.words import all_in_each_language, in_words
from calc.tables.reference import constant
from calc.tanks.declared import LoadPlan
from calc.tanks.dissolving import Additions, additions, hottest_c, koh_additions
from calc.tanks.filled import Fill, can_be_filled, read_fill, ways_on
from calc.tanks.filling import FillPlan, Goes, cooling_step, fill_steps, unread_step
from calc.tanks.heating import tank_loss_w_per_k
from calc.tanks.loading import LyeLoad, OilLoad, portions
from calc.tanks.lye_volume import lye_in_tank_ml
from calc.tanks.strength_question import LYE_TEMPERATURE
from calc.tanks.unread import unread_waits_s
from calc.workshop.equipment import ScaleItem
from calc.workshop.lots import AlkaliLot
from calc.workshop.scales import scales_of, vessel_scale


@dataclass(frozen=True)
class Planned:
    """What a fill would be: its steps' plan, or why there are none; and the oils that its lots are of, by row."""

    plan: FillPlan | None
    why_not: str = ""
    oils: tuple[str, ...] = ()


def tank_scale(shown: Shown, state: State) -> tuple[Scale, ScaleItem, bool] | None:
    """The scale that a fill is weighed on, its plate, and whether the tank stands on it; else the largest. None where there is none."""
    tank = shown.standing.tank
    scheme = state.shop().tolerance_scheme if state.stored("shop") else "R76"
    scales = scales_of(state.read_all("scale", ScaleItem), scheme)
    under = None
    with suppress(InputProblems):
        under = None if tank.scale is None else state.read_item("scale", ScaleItem, tank.scale, "tank", "scale")
    if under is None and not scales:
        return None
    return (*(scales[under.name] if under else vessel_scale(scales)), under is not None)


def lye_fill(load: LyeLoad, lot: AlkaliLot, wanted: float, shown: Shown, state: State) -> Planned:
    """Water, then caustic or bought lye into it, by portions where heat is to be reckoned with."""
    found = tank_scale(shown, state)
    if found is None:
        return Planned(None, tr("No steps for it: there is no scale yet. Enter one in Workshop."))
    scale, plate, on_scale = found
    source_g, solid = load.added.source_g, lot.form == "solid"
    fraction = source_of(lot).hydroxide_fraction
    goes = []
    if load.added.water_g >= 1.0:
        counts = portions(load.added.water_g, scale.display, plate.capacity_g, on_scale=on_scale)
        goes.append(Goes(key="water", kind="water", name=WATER, counts=counts))
    heat: Additions | None = None
    unread_s: tuple[float | None, ...] = ()
    if source_g >= 1.0:
        least = len(portions(source_g, scale.display, plate.capacity_g, on_scale=on_scale))
        try:
            heat, unread_s = _heat(load, Part(source_g, fraction, _room_c(), solid), lot.alkali, wanted, shown, state, least)
        except ValueError:
            heat = None
        if heat is None:
            return Planned(None, tr("No steps for it: how much heat this lye gives off as it is made isn’t known here. The supplier’s sheet may say."))
        if heat.never:
            return Planned(None, tr("No steps for it: the room is too warm for this tank to cool enough between portions. Use colder water, or a vessel that bears more."))
        counts = portions(source_g, scale.display, plate.capacity_g, on_scale=on_scale, least=len(heat.portions))
        goes.append(
            Goes(key=lye_key(lot.alkali), kind="alkali", name=ALKALI_NAMES[lot.alkali], counts=counts, lot=lot.code, alkali=lot.alkali, hydroxide_fraction=fraction)
        )
    if not goes or min(count for each in goes for count in each.counts) <= 0:
        return Planned(None)
    return Planned(
        FillPlan(tank=shown.standing.tank, goes=tuple(goes), scale=scale, display=scale.display, on_scale=on_scale, units=state.units,
                 before_g=shown.standing.left_g, wanted_fraction=wanted, heat=heat, unread_s=unread_s, solid=solid, check_weight_g=state.habits().check_weight_g)
    )  # fmt: skip


def _room_c() -> float:
    return 0.5 * (constant("room_usual_low").value + constant("room_usual_high").value)


def _heat(
    load: LyeLoad, added: Part, alkali: str, wanted: float, shown: Shown, state: State, least: int
) -> tuple[Additions | None, tuple[float | None, ...]]:
    """The portions by their heat, and how long each waits unread; None where it is not known. Raises ValueError beyond the tables."""
    stands, tank = shown.standing, shown.standing.tank
    have = shown.contents.strength.fraction if shown.contents.strength else 0.0
    start = [Part(stands.left_g, have, max(stands.temperature_c, added.temperature_c)), Part(load.added.water_g, 0.0, added.temperature_c)]
    if not any(part.mass_g > 0.0 for part in start):
        return None, ()
    most_c = hottest_c(tank.material, state.lye_limits().hottest_lye_c)
    if alkali == "koh":
        # How warm potash lye gets as it is thinned nobody has told.
        return (koh_additions(start, added, most_c, least) if added.solid else None), ()
    volume_ml = min(lye_in_tank_ml(load.total_g, alkali, wanted, LYE_TEMPERATURE.high), tank.volume_ml)
    loss = tank_loss_w_per_k(volume_ml, tank.volume_ml, tank.material, tank.lagging, tank.lagging_mm if tank.lagging == "lagged" else None)
    found = additions(start, added, most_c, added.temperature_c, loss.used, least, tank.volume_ml)
    return found, unread_waits_s(start, added, most_c, found, loss, tank.volume_ml)


def oil_fill(load: OilLoad, shown: Shown, state: State) -> Planned:
    """The oils of a blend, the largest share first as the plan has them."""
    found = tank_scale(shown, state)
    if found is None:
        return Planned(None, tr("No steps for it: there is no scale yet. Enter one in Workshop."))
    scale, plate, on_scale = found
    oils, lots = state.oils(), {lot.oil: lot for lot in state.lots_in_use().values()}
    goes = [
        Goes(key=oil_key(n), kind="oil", name=oils[oil].name, counts=portions(grams, scale.display, plate.capacity_g, on_scale=on_scale),
             lot=lots[oil].code if oil in lots else None, oil=oil)
        for n, (oil, grams) in enumerate((oil, grams) for oil, grams in load.added_g.items() if grams >= 1.0)
    ]  # fmt: skip
    goes = [each for each in goes if min(each.counts) > 0]
    if not goes:
        return Planned(None)
    plan = FillPlan(tank=shown.standing.tank, goes=tuple(goes), scale=scale, display=scale.display, on_scale=on_scale, units=state.units,
                    before_g=shown.standing.left_g, check_weight_g=state.habits().check_weight_g)  # fmt: skip
    added = [oil for oil, grams in load.added_g.items() if grams >= 1.0]
    return Planned(plan, oils=tuple(added))


def fill_record(planned: Planned, question: LoadPlan, shown: Shown, request: Request) -> dict[str, Any]:
    """What is frozen of a fill when it is begun."""
    plan, state, contents = planned.plan, request.state, shown.contents
    if any(fill.get("tank") == question.tank for fill in state.fills):
        message = tr("Somebody started filling {tank} and hasn’t finished.", tank=shown.standing.tank.name)
        raise InputProblems(Problem("tank", "fill-open", message, tr("Resume it from Today or from the tank’s page, or stop it there.")))
    if plan is None:
        message = planned.why_not or tr("There’s nothing to put in.")
        remedy = tr("Fill it by hand, then log what went in.") if planned.why_not else tr("Plan more blocks.")
        raise InputProblems(Problem("", "no-steps", message, remedy))
    as_lot = _as_lot(question, shown, state) if plan.alkali or contents.alkali else None
    values = {name: text for name, text in request.values.items() if text != ""}
    before = {"grams": plan.before_g, "hydroxide_fraction": contents.strength.fraction if contents.strength and plan.wanted_fraction else None}
    fields = {
        "tank": question.tank, "tank_name": shown.standing.tank.name,
        "steps": all_in_each_language(lambda: [frozen(step) for step in fill_steps(plan)]),
        "pours": [_frozen(goes, plan) for goes in plan.goes],
        "oils": [{"key": oil} for oil in planned.oils] or None,
        "phases": ["before", "protection", *(["weigh", "dissolve"] if plan.solid else []), "tank"] if plan.wanted_fraction else None,
        "as_lot": as_lot, "formulas": None if plan.wanted_fraction else list(dict.fromkeys(row.formula for row in question.made)),
        "cooling": all_in_each_language(lambda: [frozen(cooling_step()), frozen(unread_step())]) if plan.heat else None,
        "wanted_fraction": plan.wanted_fraction, "before": {name: value for name, value in before.items() if value is not None}, "values": values,
    }  # fmt: skip
    stamp = "".join(sign for sign in request.now[:19] if sign.isdigit())
    id_ = f"{question.tank}.{stamp}"
    return {"kind": "fill_issued", "subject": f"fill:{id_}", "id": id_, "fields": {name: value for name, value in fields.items() if value is not None}}


def _as_lot(question: LoadPlan, shown: Shown, state: State) -> str | None:
    """What batch sheets call the lye: as chosen, else as before."""
    if question.as_lot is not None:
        return state.read_item("alkali_lot", AlkaliLot, question.as_lot, "as_lot", "alkali lot").code
    if shown.contents.as_lot is not None:
        return shown.contents.as_lot
    raise InputProblems(
        Problem("as_lot", "as-lot-missing", tr("Nobody has said yet which lot this lye is on batch sheets."),
                tr("Choose its lot: only then does what blocks weigh out count as drawn."))
    )  # fmt: skip


def _frozen(goes: Goes, plan: FillPlan) -> dict[str, Any]:
    found = {
        "key": goes.key, "name": goes.name, "grams": math.fsum(map(plan.display.grams, goes.counts)), "lot": goes.lot, "oil": goes.oil,
        "alkali": goes.alkali, "hydroxide_fraction": goes.hydroxide_fraction,
    }  # fmt: skip
    return {name: value for name, value in found.items() if value is not None}


def tank_fill(request: Request) -> Answer:
    """The fill of `state.record` with its `state.events`: what is in by now, the ways on after a slip, and the load it comes to."""
    state, record, events = request.state, request.state.record, request.state.events
    if not can_be_filled(record, events):
        message = tr("What’s stored for this fill can’t be read. It’s damaged, or not from Tarewell.")
        raise InputProblems(Problem("fill", "record-damaged", message, tr("Log what went in on the tank’s page.")))
    try:
        return _told(read_fill(record, events, _known_lots(state)), state)
    except ValueError as unreadable:
        if isinstance(unreadable, InputProblems):
            raise
        message = tr("A stored reading can't be read: {why}.", why=unreadable)
        raise InputProblems(Problem("reading", "reading-unreadable", message, tr("Correct it."))) from unreadable


def _told(fill: Fill, state: State) -> Answer:
    record, pending, parts = fill.record, fill.events.pending, fill.parts()
    live = {"now": fill.strength(parts), "end": fill.strength(fill.parts(fill.to_come())), "wanted": record.get("wanted_fraction"),
            "parts": parts, "units": state.units, "left": _left(fill), "gates": [each for each in fill.gates() if each.inside]}  # fmt: skip
    html = {"scale_live": render("tank_fill_live.html", **live), "scale_recovery": "", "scale_record": render("tank_fill_record.html", **live)}
    choices = {}
    if pending is not None:
        ways = ways_on(fill, pending)
        html["scale_recovery"] = render("tank_fill_recovery.html", ways=ways, step=in_words(fill.events.done[pending].step))
        choices = {way.key: {"text": way.title, "steps": list(way.steps), "replaced": dict(way.replaced), "outcome": None} for way in ways}
    load = {name: value for name, value in (("parts", parts), ("as_lot", record.get("as_lot")), ("formulas", record.get("formulas"))) if value}
    return Answer(html, record={"choices": choices, "replaced": {}, "closing": load if parts else {}, "pending": pending, "asked": None})


def _left(fill: Fill) -> int:
    """The steps still to be done."""
    return sum(step["key"] not in fill.events.done for step in fill.events.steps)


def _known_lots(state: State) -> Mapping[str, float]:
    """How much of each lot of lye or caustic is pure hydroxide, as far as they can be read."""
    found = {}
    for entry in state.stored("alkali_lot"):
        with suppress(InputProblems):
            lot = state.read_item("alkali_lot", AlkaliLot, entry.id, "lot", "alkali lot")
            found[lot.code] = source_of(lot).hydroxide_fraction
    return found
