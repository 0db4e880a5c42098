"""What goes into a tank for some blocks: amounts, in which order, in how many portions on which scale."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any
from urllib.parse import urlencode

from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State
from answers.tasks.tank_fill import fill_record, lye_fill, oil_fill, tank_scale
from answers.tasks.tanks import WATER, Shown, shown_tank
from answers.usual_sheet import usual_sheet
from calc.batch.pours import ALKALI_NAMES, source_of
from calc.batch.sheet import BatchSheet
from calc.chemistry.density import lye_density_g_per_ml
from calc.entry.fields import read
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import number, percent, plain_weight, warmth
from calc.steps.pour_names import within
from calc.tanks.declared import LoadPlan
from calc.tanks.dilution import CannotReach
from calc.tanks.loading import LyeLoad, Recipe, blocks_that_fit, foreign, lye_load, oil_load, portions
from calc.tanks.readings import readings
from calc.tanks.strength import told_apart
from calc.workshop.lots import AlkaliLot

# Whole percents of lye strength are as fine as anybody mixes to.
PER_CENT = 100.0


@dataclass(frozen=True)
class Goes:
    """One thing that goes in: its name and lot, its mass [g], and that on its scale, portion by portion [g] and in words."""

    name: str
    lot: str | None
    grams: float
    portions_g: tuple[float, ...]
    texts: tuple[str, ...]
    scale: str
    item: str = ""  # by which the form of a load names it


def tank_plan(request: Request) -> Answer:
    """What to weigh, in which order, for so many blocks of these formulas; and what of them fits."""
    reading = read(LoadPlan, request.values)
    plan, state = reading.value, request.state
    shown = shown_tank(plan.tank, request)
    made = _lye(plan, shown, request) if shown.standing.tank.holds == "lye" else _oils(plan, shown, state)
    html = render("tank_plan.html", shown=shown, standing=shown.standing, contents=shown.contents, units=state.units, **made)
    record = fill_record(made["fill"], plan, shown, request) if request.check else None
    return Answer({"tank_plan": html}, reading.cautions, record)


def _lye(plan: LoadPlan, shown: Shown, request: Request) -> dict[str, Any]:
    state = request.state
    plan = replace(plan, source=plan.source or _usual_source(plan, shown, state))
    if plan.source is None:
        message = tr("There is no lot of caustic to make lye from.")
        raise InputProblems(Problem("source", "source-missing", message, tr("Enter one in Workshop.")))
    lot = state.read_item("alkali_lot", AlkaliLot, plan.source, "source", "alkali lot")
    stands, contents = shown.standing, shown.contents
    if contents.alkali not in (None, lot.alkali):
        message = tr("{tank} has lye made from the other caustic in it.", tank=stands.tank.name)
        raise InputProblems(Problem("source", "other-alkali", message, tr("Choose a lot of the same caustic, or empty the tank first.")))
    recipes = _recipes(plan, lot, state)
    if not any(recipe.hydroxide_g > 0.0 for recipe in recipes):
        message = tr("No formula here takes {alkali}.", alkali=within(ALKALI_NAMES[lot.alkali]))
        raise InputProblems(Problem("source", "alkali-unused", message, tr("Choose a lot of the caustic that they take.")))
    named = None if plan.as_lot is None else state.read_item("alkali_lot", AlkaliLot, plan.as_lot, "as_lot", "alkali lot").strength_fraction
    wanted = plan.lye_fraction or named or shown.assumed_fraction or math.ceil(PER_CENT * max(each.lye_fraction for each in recipes) - 1e-9) / PER_CENT
    source = source_of(lot).hydroxide_fraction
    if source <= wanted:
        message = tr("{lot} is no stronger than the lye you want, {percent}.", lot=lot.code, percent=percent(wanted))
        raise InputProblems(Problem("source", "source-weak", message, tr("Choose caustic, or stronger lye.")))
    for recipe in recipes:
        if recipe.lye_fraction > wanted + 1e-9:
            message = tr("{formula} takes stronger lye than that: {percent}.", formula=recipe.name, percent=percent(recipe.lye_fraction))
            raise InputProblems(Problem("lye_fraction" if plan.lye_fraction or not named else "as_lot", "lye-too-weak", message, tr("Load it at least that strong; weaker formulas get water at the pot.")))
    # At the strength wanted: what stays below the valve, and what the tank takes.
    density = lye_density_g_per_ml(lot.alkali, wanted, min(max(stands.temperature_c, 15.0), 80.0))
    dead_g, most_g = stands.tank.dead_ml * density, stands.tank.volume_ml * density
    have, unsure = (contents.strength.fraction, contents.strength.unsure) if contents.strength else (0.0, None)
    try:
        load = lye_load(recipes, wanted, source, stands.left_g, have, dead_g, told_apart(unsure))
    except CannotReach as beyond:
        raise InputProblems(_cannot(beyond, stands.left_g, wanted, most_g, state.units)) from beyond
    _must_fit(load.total_g, most_g, dead_g, recipes, [each_g for _, _, each_g in load.per_block_g], shown, state.units)
    goes = [Goes(WATER, None, load.added.water_g, *_weighed(load.added.water_g, shown, state))] if load.added.water_g >= 1.0 else []
    if load.added.source_g >= 1.0:
        goes.append(Goes(ALKALI_NAMES[lot.alkali], lot.code, load.added.source_g, *_weighed(load.added.source_g, shown, state), item=plan.source))
    return {"load": load, "wanted": wanted, "goes": goes, "solid": lot.form == "solid", "at_pot": [], "foreign": (), "address": _address(plan.tank, goes),
            "fill": lye_fill(load, lot, wanted, shown, state), "dissolving": _dissolving(plan, load, wanted, shown, _read_today_c(shown, request))}  # fmt: skip


def _usual_source(plan: LoadPlan, shown: Shown, state: State) -> str | None:
    """The lot that went into the tank last, else the first of solid caustic that one of the formulas takes; of any, where none does."""
    lots = {entry.values.get("code"): entry.id for entry in state.stored("alkali_lot")}
    last = next((lots[part.lot] for part in reversed(shown.contents.parts) if part.alkali and part.lot in lots), None)
    if last:
        return last
    taken = {state.formula(row.formula, f"made.{n}.formula")[1].alkali for n, row in enumerate(plan.made)}
    solids = [entry for entry in state.stored("alkali_lot") if entry.values.get("form") == "solid"]
    fits = [entry for entry in solids if "both" in taken or entry.values.get("alkali") in taken]
    return next((entry.id for entry in (*fits, *solids)), None)


def _oils(plan: LoadPlan, shown: Shown, state: State) -> dict[str, Any]:
    recipes = _recipes(plan, None, state)
    stands, contents = shown.standing, shown.contents
    have_g: dict[str, float] = {}
    # More drawn than put in: what is listed is gone.
    for part in contents.parts if stands.left_g > 0.0 else ():
        have_g[part.oil or part.name] = have_g.get(part.oil or part.name, 0.0) + part.grams
    density = stands.density_g_per_ml
    dead_g, most_g = stands.tank.dead_ml * density, stands.tank.volume_ml * density
    try:
        load = oil_load(recipes, have_g, dead_g)
    except ValueError as none:
        message = tr("These formulas have no oil in common.")
        raise InputProblems(Problem("made", "no-blend", message, tr("Load for one of them."))) from none
    _must_fit(load.total_g, most_g, dead_g, recipes, [pot.blend_g for pot in load.pots], shown, state.units)
    oils, lots = state.oils(), {lot.oil: lot for lot in state.lots_in_use().values()}
    ids = {entry.values.get("oil"): entry.id for entry in state.stored("oil_lot") if entry.values.get("in_use") == "yes"}
    goes = [
        Goes(oils[oil].name, lots[oil].code if oil in lots else None, grams, *_weighed(grams, shown, state), item=ids.get(oil, oil))
        for oil, grams in load.added_g.items()
        if grams >= 1.0
    ]
    at_pot = [(pot, [(oils[oil].name, grams) for oil, grams in pot.rest_g.items()]) for pot in load.pots]
    other = tuple(oils[oil].name if oil in oils else oil for oil in foreign(load.shares, have_g))
    return {"load": load, "wanted": None, "goes": goes, "solid": False, "at_pot": at_pot, "foreign": other, "address": _address(plan.tank, goes, plan),
            "fill": oil_fill(load, shown, state), "dissolving": ""}  # fmt: skip


def _recipes(plan: LoadPlan, lot: AlkaliLot | None, state: State) -> list[Recipe]:
    """Each formula as one block of it is made in the mould."""
    found = []
    for n, row in enumerate(plan.made):
        sheet = _sheet(n, row.formula, plan, state)
        oils_g: dict[str, float] = {}
        for pour in sheet.pours:
            if pour.kind == "oil" and pour.phase == "vessel":
                key = sheet.oils[int(pour.key.rpartition(":")[2])].key
                oils_g[key] = oils_g.get(key, 0.0) + pour.exact_g
        hydroxide_g = 0.0 if lot is None else sheet.naoh_g if lot.alkali == "naoh" else sheet.koh_g
        found.append(Recipe(sheet.formula_name, row.blocks, oils_g, hydroxide_g, sheet.lye_itself_fraction))
    return found


def _sheet(row: int, formula: str, plan: LoadPlan, state: State) -> BatchSheet:
    try:
        return usual_sheet(formula, plan.mould, plan.source, state)
    except InputProblems as faults:
        fields = {"mould": "mould", "formula": f"made.{row}.formula"}
        raise InputProblems(*(Problem(fields.get(each.field, ""), each.code, each.message, each.remedy) for each in faults.problems)) from faults


def _cannot(beyond: CannotReach, have_g: float, wanted: float, most_g: float, units: str) -> Problem:
    """More lye there than is wanted, too strong or too weak for it."""
    least, strength = plain_weight(beyond.least_g, units), percent(wanted)
    message = tr("The {have} in it makes at least {least} of lye at {percent}.", have=plain_weight(have_g, units), least=least, percent=strength)
    remedy = tr("Plan more blocks, or draw some out first.")
    if not math.isfinite(beyond.least_g) or beyond.least_g > most_g:
        remedy = tr("That doesn't fit either: draw some out first.")
    return Problem("made", "cannot-reach", message, remedy)


def _must_fit(total_g: float, most_g: float, dead_g: float, recipes: Sequence[Recipe], each_g: Sequence[float], shown: Shown, units: str) -> None:
    """By mass at the tank's temperature; refused with what would fit."""
    if total_g <= most_g:
        return
    tank = shown.standing.tank
    message = tr(
        "It doesn't fit: that takes {all}, and {tank} holds {most} at {warmth}.",
        all=plain_weight(total_g, units), tank=tank.name, most=plain_weight(most_g, units), warmth=warmth(shown.standing.temperature_c, units),
    )  # fmt: skip
    fits = ", ".join(tr("{n} of {formula}", n=blocks, formula=name) for name, blocks in blocks_that_fit(recipes, each_g, most_g - dead_g))
    raise InputProblems(Problem("made", "tank-full", message, tr("What fits: {blocks}.", blocks=fits)))


def _weighed(mass_g: float, shown: Shown, state: State) -> tuple[tuple[float, ...], tuple[str, ...], str]:
    """An amount as its scale shows it, portion by portion, and the scale: the tank's own, else the largest."""
    found = tank_scale(shown, state)
    if found is None:
        return (mass_g,), (plain_weight(mass_g, state.units),), ""
    scale, plate, on_scale = found
    counts = portions(mass_g, scale.display, plate.capacity_g, on_scale=on_scale)
    return tuple(map(scale.display.grams, counts)), tuple(map(scale.display.said, counts)), scale.name


def _address(tank: str, goes: Sequence[Goes], plan: LoadPlan | None = None) -> str:
    """Where the load is written down once it is in, with what went in."""
    handed: dict[str, str] = {}
    # A row for each portion, to be put right by what its scale really showed.
    rows = [(each.item, grams) for each in goes if each.item for grams in each.portions_g]
    for n, (item, grams) in enumerate(rows):
        handed |= {f"parts.{n}.lot": item, f"parts.{n}.mass_g": _kg(grams), f"parts.{n}.mass_g.unit": "kg"}
    for each in goes:
        if not each.item:
            handed |= {"water_g": _kg(math.fsum(each.portions_g)), "water_g.unit": "kg"}
    if plan is not None and len(plan.made) == 1:
        handed["formula"] = plan.made[0].formula
    return f"{tank}?{urlencode(handed)}"


def _kg(mass_g: float) -> str:
    """A mass [g] as an address hands it on."""
    return number(mass_g / 1000.0, 3)


def _read_today_c(shown: Shown, request: Request) -> float | None:
    """How warm the tank's fill was at its last reading of today [°C]."""
    today = date.fromisoformat(request.now[:10])
    last = next(reversed(readings(request.state.contents, shown.id, today)), None)
    return last.temperature_c if last is not None and last.at.date() == today else None


def _dissolving(plan: LoadPlan, load: LyeLoad, wanted: float, shown: Shown, read_c: float | None) -> str:
    """Where its heat, portions and waits are told."""
    handed: Mapping[str, str] = {
        "total_g": _kg(load.total_g), "total_g.unit": "kg", "wanted_fraction": number(PER_CENT * wanted, 2), "lot": plan.source or "",
    }  # fmt: skip
    there = shown.contents.strength
    if there and shown.standing.left_g > 0.0:
        handed = {**handed, "have_g": _kg(shown.standing.left_g), "have_g.unit": "kg", "have_fraction": number(PER_CENT * there.fraction, 2)}
        if read_c is not None:
            handed = {**handed, "have_c": number(read_c, 1), "have_c.unit": "degC"}
    return f"{plan.tank}?{urlencode(handed)}"
