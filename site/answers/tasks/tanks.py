"""Tanks: what is in each, for how many blocks, and what goes in or comes out."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any
from urllib.parse import urlencode

from markupsafe import Markup

from answers import tank_drawings
from answers.heat_address import heat_address
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State
from calc.batch.pours import ALKALI_NAMES, source_of
from calc.cure.declared import By
from calc.entry.declare import describe
from calc.entry.fields import read
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import percent, plain_weight, warmth
from calc.tanks.declared import TankChosen, TankDraw, TankLoad
from calc.tanks.fold import Contents, Tanks, subject_of, tanks
from calc.tanks.liquid import crystals_below_c
from calc.tanks.questions import TankTemperature
from calc.tanks.readings import readings
from calc.tanks.standing import Standing, drawable_g, is_same, per_block, standing
from calc.tanks.strength import told_apart
from calc.workshop.lots import AlkaliLot, OilLot
from calc.workshop.tanks import Tank

WATER = "Water"


@dataclass(frozen=True)
class Shown:
    """One tank as its page shows it."""

    id: str
    standing: Standing
    picture: Markup
    assumed_fraction: float | None  # what batch sheets count its lye by
    beside: tuple[str, ...]  # the names of the other tanks that hold the same and still give some
    like: Mapping[str, Any] | None  # the newest sheet that draws on it, with what a block of it takes

    @property
    def contents(self) -> Contents:
        return self.standing.contents

    @property
    def crystals_below_c(self) -> float | None:
        """Where its lye drops crystals, if it was read at or below that [°C]."""
        contents = self.contents
        if contents.empty or contents.strength is None or contents.temperature_c is None or self.standing.tank.holds != "lye":
            return None
        return crystals_below_c(contents.alkali or "naoh", contents.strength.fraction, contents.temperature_c)

    @property
    def apart(self) -> bool:
        """Whether its strength is another than batch sheets count by."""
        strength = self.contents.strength
        return strength is not None and self.assumed_fraction is not None and abs(strength.fraction - self.assumed_fraction) > told_apart(strength.unsure)


def tanks_listed(request: Request) -> Answer:
    """Every tank with what is in it."""
    found = _found(request)
    shown = [_shown(entry.id, request, found) for entry in request.state.stored("tank")]
    return Answer({"tanks": render("tanks.html", tanks=shown, filling={str(each.get("tank")) for each in request.state.fills}, unread=found.unread, units=request.state.units)})


def tanks_today(request: Request) -> Answer:
    """The tanks that are short for blocks of open sheets; of a workshop that can't be read, none."""
    shown = []
    for each in tanks_shown(request):
        with suppress(InputProblems):
            shown.append(each())
    # Tanks that hold the same lack the same: it is told once.
    short: list[Shown] = []
    for tank in shown:
        if tank.standing.short_for is not None and not any(is_same(tank.contents, other.contents) for other in short):
            short.append(tank)
    return Answer({"tanks_today": render("tanks_today.html", short=short, units=request.state.units)})


def tank_standing(request: Request) -> Answer:
    """One tank: what is left, for which blocks, how strong; and all that was told of it."""
    reading = read(TankChosen, request.values)
    found = _found(request)
    shown = _shown(reading.value.tank, request, found)
    fill = next((str(each.get("id")) for each in request.state.fills if each.get("tank") == shown.id), "")
    html = render("tank_standing.html", shown=shown, fill=fill, standing=shown.standing, contents=shown.contents, subject=subject_of(shown.id), plan_address=_plan_address(shown), unread=found.unread, today=_today(request), units=request.state.units)
    return Answer({"tank_standing": html}, reading.cautions)


def tank_load(request: Request) -> Answer:
    """What would be in the tank with all that was put in."""
    reading = read(TankLoad, request.values)
    values, state = reading.value, request.state
    tank = _tank(state, values.tank)
    before = _found(request).of(values.tank)
    parts = _parts(values, tank, state)
    as_lot = None if values.as_lot is None else state.read_item("alkali_lot", AlkaliLot, values.as_lot, "as_lot", "alkali lot").code
    if request.check and tank.holds == "lye" and as_lot is None and before.as_lot is None:
        message = tr("Nobody has said yet which lot this lye is on batch sheets.")
        raise InputProblems(Problem("as_lot", "as-lot-missing", message, tr("Choose its lot: only then does what blocks weigh out count as drawn.")))
    fields = {"parts": parts, "as_lot": as_lot, "formulas": None if values.formula is None else [state.find("formula", values.formula, "formula", "formula").id]}
    record = _recorded(request, "tank_loaded", values.tank, fields)
    after = _after(request, record, values.tank)
    _must_fit(after, parts, state.units)
    html = render("tank_load.html", shown=after, standing=after.standing, contents=after.contents, before=before, units=state.units)
    return Answer({"tank_load": html}, reading.cautions, _by(request, record) if request.check else None)


def tank_draw(request: Request) -> Answer:
    """What stays in the tank after something was taken out of it."""
    reading = read(TankDraw, request.values)
    values = reading.value
    _tank(request.state, values.tank)
    reason = {"reason": values.reason} if values.reason else {}
    if values.what == "all":
        record = _recorded(request, "tank_emptied", values.tank, reason)
    else:
        record = _recorded(request, "tank_drawn", values.tank, {"grams": values.mass_g, **reason})
    after = _after(request, record, values.tank)
    html = render("tank_draw.html", shown=after, standing=after.standing, contents=after.contents, values=values, units=request.state.units)
    return Answer({"tank_draw": html}, reading.cautions, _by(request, record) if request.check else None)


def tank_temperature(request: Request) -> Answer:
    """How warm a tank is, and how fast that changed since it was read last."""
    reading = read(TankTemperature, request.values)
    values = reading.value
    tank = _tank(request.state, values.tank)
    record = _recorded(request, "tank_temperature", values.tank, {"temperature_c": values.temperature_c, "instrument": values.instrument})
    before = readings(request.state.contents, values.tank)
    html = render(
        "tank_temperature.html", tank=tank, values=values, last=before[-1] if before else None, now=request.now[:16], units=request.state.units,
        heat=heat_address(values.tank, values.temperature_c, before, request.now, request.state.units),
    )  # fmt: skip
    return Answer({"tank_temperature": html}, reading.cautions, _by(request, record) if request.check else None)


def _parts(values: TankLoad, tank: Tank, state: State) -> list[dict[str, Any]]:
    """What went in, as it is stored; its words are those of the code, for they are never translated again."""
    found = [_part(n, row.lot, row.mass_g, tank, state) for n, row in enumerate(values.parts)]
    if values.water_g is not None:
        if tank.holds == "oils":
            raise InputProblems(Problem("water_g", "water-in-oil", tr("This tank is for oils."), tr("Leave the water empty.")))
        found.append({"name": WATER, "grams": values.water_g})
    if not found:
        message = tr("Nothing went in yet.")
        raise InputProblems(Problem("parts", "nothing-loaded", message, tr("Add what went in, and how much of it.")))
    return found


def _part(row: int, id_: str, mass_g: float, tank: Tank, state: State) -> dict[str, Any]:
    field = f"parts.{row}.lot"
    if any(entry.id == id_ for entry in state.stored("alkali_lot")):
        lot = state.read_item("alkali_lot", AlkaliLot, id_, field, "alkali lot")
        _must_be(tank, "lye", field)
        return {"name": ALKALI_NAMES[lot.alkali], "lot": lot.code, "grams": mass_g, "alkali": lot.alkali, "hydroxide_fraction": source_of(lot).hydroxide_fraction}
    oils, of_lot = state.oils(), {}
    if any(entry.id == id_ for entry in state.stored("oil_lot")):
        of_oil = state.read_item("oil_lot", OilLot, id_, field, "oil lot")
        of_lot, id_ = {"lot": of_oil.code}, of_oil.oil
    if id_ not in oils:
        raise InputProblems(Problem(field, "oil-unknown", tr("This isn't in the workshop."), tr("Choose one from the list.")))
    _must_be(tank, "oils", field)
    return {"name": oils[id_].name, "oil": id_, "grams": mass_g, **of_lot}


def _must_be(tank: Tank, holds: str, field: str) -> None:
    if tank.holds != holds:
        message = tr("{tank} is for oils.", tank=tank.name) if tank.holds == "oils" else tr("{tank} is for lye.", tank=tank.name)
        raise InputProblems(Problem(field, "other-tank", message, tr("Choose another tank, or something else to put in.")))


def _must_fit(after: Shown, parts: Sequence[Mapping[str, Any]], units: str) -> None:
    """By mass, since a warm liter weighs less; told in liters too."""
    found = after.standing
    most_g = found.tank.volume_ml * found.density_g_per_ml
    over_g = found.left_g - most_g
    if over_g <= 0.0:
        return
    message = tr(
        "It doesn't fit: {tank} takes {most} of it at {warmth}, and that would be {all}.",
        tank=found.tank.name, most=plain_weight(most_g, units), warmth=warmth(found.temperature_c, units), all=plain_weight(found.left_g, units),
    )  # fmt: skip
    loaded_g = math.fsum(part["grams"] for part in parts)
    remedy = tr("Put in {mass} less.", mass=plain_weight(over_g, units))
    if over_g < loaded_g:
        remedy = tr("Put in at most {mass}.", mass=plain_weight(loaded_g - over_g, units))
    raise InputProblems(Problem("parts", "tank-full", message, remedy))


def _today(request: Request) -> date:
    try:
        return date.fromisoformat(request.now[:10])
    except (TypeError, ValueError) as unreadable:
        message = tr("This device doesn't say what day it is.")
        raise InputProblems(Problem("", "no-date", message, tr("Set its date and time."))) from unreadable


def _found(request: Request, *more: Mapping[str, Any]) -> Tanks:
    sheets = request.state.sheets
    tares_g = {str(sheet.get("code")): float(sheet["tare_g"]) for sheet in sheets if isinstance(sheet.get("tare_g"), (int, float))}
    formulas = {str(sheet.get("code")): str(sheet.get("formula")) for sheet in sheets}
    return tanks((*request.state.contents, *more), _today(request), tares_g, formulas)


def _tank(state: State, id_: str | None) -> Tank:
    tank: Tank = state.read_item("tank", Tank, id_, "tank", "tank")
    return tank


def shown_tank(id_: str, request: Request) -> Shown:
    """One tank as it stands."""
    return _shown(id_, request, _found(request))


def tanks_shown(request: Request) -> Iterator[Callable[[], Shown]]:
    """Every tank as it stands, each to be read by itself: one whose form is faulty raises InputProblems alone."""
    found = _found(request)
    for entry in request.state.stored("tank"):
        yield partial(_shown, entry.id, request, found)


def _shown(id_: str, request: Request, found: Tanks) -> Shown:
    state, today = request.state, _today(request)
    tank, contents = _tank(state, id_), found.of(id_)
    beside = _beside(id_, contents, state, found, today)
    stands = standing(tank, contents, state.sheets, today, state.oils(), beside)
    names = tuple(each.tank.name for each in beside if drawable_g([each]) > 0.0)
    return Shown(id_, stands, _picture(stands, state.units), _assumed(contents, state), names, _like(stands, state))


def _beside(id_: str, contents: Contents, state: State, found: Tanks, today: date) -> list[Standing]:
    """The other tanks that hold the same; one whose form is faulty is told on its own page."""
    held = []
    for entry in state.stored("tank"):
        if entry.id != id_ and is_same(contents, found.of(entry.id)):
            with suppress(InputProblems):
                held.append(standing(_tank(state, entry.id), found.of(entry.id), state.sheets, today, state.oils()))
    return held


def _plan_address(shown: Shown) -> str:
    """Where the plan of a load is asked: with the blocks that open sheets still want of it."""
    blocks: dict[str, int] = {}
    for need in shown.standing.left_to_it:
        blocks[need.formula] = blocks.get(need.formula, 0) + 1
    return plan_address(shown.id, blocks)


def plan_address(tank: str, blocks: Mapping[str, int]) -> str:
    """Where the plan of a load is asked for so many blocks of these formulas, by the formula's id."""
    handed = {f"made.{n}.{name}": text for n, (formula, number) in enumerate(blocks.items()) for name, text in (("formula", formula), ("blocks", str(number)))}
    return f"{tank}?{urlencode(handed)}" if handed else tank


def _picture(stands: Standing, units: str) -> Markup:
    full_ml = stands.tank.volume_ml
    full_g = full_ml * stands.density_g_per_ml
    at_g, marks = stands.left_g, []
    for need in stands.needs[: stands.served_alone]:
        marks.append((at_g / full_g, (at_g - need.grams) / full_g, tr("block {n}", n=need.block)))
        at_g -= need.grams
    described = tr(
        "{tank}, {share} full: {left} of {most}.", tank=stands.tank.name, share=percent(stands.left_ml / full_ml, 0),
        left=plain_weight(stands.left_g, units), most=plain_weight(full_g, units),
    )  # fmt: skip
    return tank_drawings.tank(stands.left_ml / full_ml, stands.tank.dead_ml / full_ml, marks, described)


def _assumed(contents: Contents, state: State) -> float | None:
    """What batch sheets count the lye by that is in it: the strength of its lot's form."""
    for entry in state.stored("alkali_lot"):
        if contents.as_lot is not None and entry.values.get("code") == contents.as_lot:
            return state.read_item("alkali_lot", AlkaliLot, entry.id, "tank", "alkali lot").strength_fraction
    return None


def _like(stands: Standing, state: State) -> Mapping[str, Any] | None:
    for sheet in sorted(state.sheets, key=lambda each: str(each.get("issued_on")), reverse=True):
        per_block_g = per_block(stands.tank.holds, stands.contents, sheet)
        if per_block_g > 0.0:
            return {"soap": str(sheet.get("soap")), "blocks": stands.blocks_of(per_block_g), "grams": per_block_g}
    return None


def _after(request: Request, record: Mapping[str, Any], tank: str) -> Shown:
    """The tank with an event that is not stored yet."""
    event = {**record["fields"], "id": "~", "at": "~", "local": request.now, "kind": record["kind"], "subject": record["subject"], "person": ""}
    return _shown(tank, request, _found(request, event))


def _recorded(request: Request, kind: str, tank: str, fields: Mapping[str, Any]) -> dict[str, Any]:
    names = {info.name for info in describe(By)}
    typed = {name: text for name, text in request.values.items() if text != "" and name not in names}
    return {"kind": kind, "subject": subject_of(tank), "fields": {"values": typed, **{key: value for key, value in fields.items() if value is not None}}}


def _by(request: Request, record: Mapping[str, Any]) -> dict[str, Any]:
    """The event to store, with who did it."""
    person = read(By, request.values).value.person
    return {**record, "fields": {"person": person, **record["fields"]}}
