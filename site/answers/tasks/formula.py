"""The formula list and the live answer beside the formula form."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TypeVar
from urllib.parse import quote

from answers.doubles import refuse_double
from answers.oils_typed import oils_typed
from answers.rendering import render
from answers.request import Answer, PartlyAnswered, Request
from answers.scent_read import scent_in_bar
from answers.state import State
from calc.entry.fields import check, control_of, read
from calc.entry.language import tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import percent, warmth
from calc.formula.chemistry import counted_water
from calc.formula.declaration import Formula, water_text
from calc.formula.older_water import strength_typed
from calc.formula.sheet import OILS_G, FormulaSheet, formula_sheet
from calc.scent.batch import scent_cautions
from calc.tables.rows import Oil

Said = TypeVar("Said", Problem, Caution)


def formula_list(request: Request) -> Answer:
    """All formulas with their oils; one that can't be read any more is listed with its first fault."""
    names = {key: oil.name for key, oil in request.state.oils().items()}
    formulas = [_summary(request.state, entry.id, names) for entry in request.state.stored("formula")]
    html = render("formula_list.html", formulas=formulas, units=request.state.units)
    return Answer({"formula_list": html})


def _summary(state: State, id_: str, names: dict[str, str]) -> dict[str, object]:
    entry = state.find("formula", id_, "formula", "formula")
    common: dict[str, object] = {
        "id": entry.id,
        "revision": entry.revision,
        "name": entry.values.get("name", entry.id),
        "used_in": entry.used_in,
    }
    try:
        values = read(Formula, entry.values).value
    except InputProblems as faults:
        return common | {"fault": faults.problems[0].message}
    return common | {
        "oils": [(names.get(row.oil, row.oil), row.share_fraction) for row in values.oils],
        "superfat_fraction": values.superfat_fraction,
        "water": water_text(values),
        "scent_fraction": values.scent_fraction,
    }


def formula(request: Request) -> Answer:
    """What the formula being typed is by chemistry, per kilogram of oils; with its oils as text, and as rows."""
    oils = request.state.oils()
    others = [entry.values for entry in request.state.stored("formula") if entry.id != request.id]
    typed = oils_typed(request.values, oils, _oils_of(others), [values.get("name", "").strip() for values in others])
    # One that is stored keeps asking for its name: emptied by a slip, it is not to be called otherwise.
    nameless = not request.id and not request.values.get("name", "").strip()
    named = {"name": typed.called} if nameless and typed.called else {}
    asked = replace(request, values={**typed.values, **named})
    puts = {**typed.puts, **named}
    found = {"oils_total": render("oils_total.html", typed=typed, oils=oils)}
    try:
        answered = _answered(asked, oils)
    except InputProblems as faults:
        raise PartlyAnswered(typed.told(faults.problems), found, puts) from faults
    if typed.problems:
        raise PartlyAnswered(typed.problems, found, puts)
    return replace(answered, html={**answered.html, **found}, puts=puts)


def _oils_of(formulas: Iterable[Mapping[str, str]]) -> list[str]:
    """The oils of these formulas, the ones of most of them first."""
    used = Counter(text for values in formulas for name, text in values.items() if re.fullmatch(r"oils\.[0-9]+\.oil", name))
    return [key for key, _ in used.most_common()]


def _answered(request: Request, oils: Mapping[str, Oil]) -> Answer:
    reading = read(Formula, request.values)
    refuse_double(request, "formula")
    try:
        check(reading.value)
        sheet = formula_sheet(reading.value, oils, request.state.lots_in_use())
    except InputProblems as faults:
        raise InputProblems(*(_at_control(problem, request) for problem in faults.problems)) from faults
    scent_g = reading.value.scent_fraction * OILS_G
    scent = scent_in_bar(reading.value, sheet.batter_g, request.state, "scent")
    said = (*sheet.cautions, *(replace(each, field="scent") for each in scent_cautions(scent, scent_g)))
    cautions = (*reading.cautions, *(_at_control(caution, request) for caution in said))
    shown = {
        "sheet": sheet,
        "scent": scent,
        "cautions": cautions,
        "strength_put": _as_lye_strength(reading.value, request.values, sheet),
        "water_stated": water_text(reading.value),
        "unscented": reading.value.scent_fraction == 0.0,
        "units": request.state.units,
        "id": quote(request.id, safe=""),
    }
    html = {region: render(f"{region}.html", **shown) for region in ("formula", "formula_more")}
    return Answer(html, cautions, notes=_notes(reading.value, request))


def _as_lye_strength(formula: Formula, values: Mapping[str, str], sheet: FormulaSheet) -> dict[str, str]:
    """For a formula of before, whose water is stated otherwise: the controls with that water as a lye strength."""
    if formula.lye_strength_fraction is not None:
        return {}
    strength = strength_typed(formula, values, OILS_G, sheet.naoh_g + sheet.koh_g)
    return {"water_as": "lye_strength", "lye_strength_fraction": strength, "lye_strength_fraction.unit": "%"}


def _notes(formula: Formula, request: Request) -> dict[str, str]:
    """What a blank counts as, by control: the water of additives, the temperatures, no scent."""
    found = {}
    for number, row in enumerate(formula.additives):
        water = counted_water(row)
        share = percent(water.fraction)
        words = {
            "usual": tr("Counted as {percent} water: usual for it.", percent=share),
            "strength": tr("Counted as {percent} water: what its strength leaves.", percent=share),
            "dry": tr("Counted as dry."),
        }
        if water.basis in words:
            found[control_of(Formula, request.values, f"additives.{number}.water_fraction")] = words[water.basis]
    usual = {"oil_temperature_c": formula.oils_poured_c, "lye_temperature_c": formula.lye_poured_c}
    for name, value in usual.items():
        if getattr(formula, name) is None:
            found[name] = tr("Counted as {at}: usual.", at=warmth(value, request.state.units))
    if formula.scent is None and not request.values.get("scent_fraction", "").strip():
        found["scent_fraction"] = tr("No scent.")
    return found


def _at_control(said: Said, request: Request) -> Said:
    return replace(said, field=control_of(Formula, request.values, said.field))
