"""Warming a tank, letting it cool, and the temperature of oils and lye that are poured together."""

import math
from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime
from typing import Any
from urllib.parse import quote, urlencode

from answers.heat_drawings import course_drawn
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State
from calc.cure.declared import By
from calc.entry.fields import check, read
from calc.entry.language import later, tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import duration, number
from calc.entry.units import convert
from calc.formula.declaration import Formula
from calc.formula.sheet import OILS_G, formula_sheet
from calc.tables.rows import Oil
from calc.tanks.fold import subject_of, tanks
from calc.tanks.heat_plan import Around, HeatPlan
from calc.tanks.heat_plan import heat_plan as planned
from calc.tanks.heating import DAY_S, HOUR_S
from calc.tanks.mixing import Mixed, Wanted, fats_that_set, heat_shares, mixed
from calc.tanks.questions import STRENGTH, HeatQuestion, MixQuestion
from calc.tanks.readings import Read, readings
from calc.tanks.spread import Spread
from calc.workshop.tanks import Tank

J_PER_KWH = 3.6e6
# What is poured together, by the names of the fields.
THREE: tuple[Wanted, ...] = ("oils", "lye", "batter")
ORDER: tuple[Wanted, ...] = ("batter", "oils", "lye")


def tank_heat(request: Request) -> Answer:
    """When to switch a tank on, or when it has cooled; what holds it there, and what that costs."""
    reading = read(HeatQuestion, request.values)
    question, state = reading.value, request.state
    check(question)
    tank = None if question.tank is None else state.read_item("tank", Tank, question.tank, "tank", later("tank"))
    fats = () if question.formula is None else _oils_of(state, question.formula)
    now = _now(request)
    held = None if question.tank is None else tanks(state.contents, now.date()).of(question.tank)
    around = Around(
        now, state.units, state.lye_limits().hottest_lye_c, fats,
        held_g=held.left_g if held and not held.empty else None, strength_fraction=held.strength.fraction if held and held.strength else None,
        alkali=held.alkali if held else None,
    )  # fmt: skip
    plan = planned(question, tank, around)
    cautions = (*reading.cautions, *plan.cautions)
    html = render(
        "tank_heat.html",
        plan=plan,
        units=state.units,
        cautions=cautions,
        curve=course_drawn(plan, lasting),
        lasting=lasting,
        kwh=_kwh,
        day_word=_day_word,
        hold_day=plan.hold_w.times(DAY_S),
        price=question.kwh_price,
        finite=math.isfinite,
        told=_told_earlier(question, state, now),
    )
    return Answer({"tank_heat": html}, cautions, _kept(request, question, plan) if request.check else None)


def _kept(request: Request, question: HeatQuestion, plan: HeatPlan) -> dict[str, Any]:
    """The switch-on as it is kept for Today."""
    if question.tank is None:
        message = tr("Only one of your own tanks can be kept on Today.")
        raise InputProblems(Problem("tank", "no-tank", message, tr("Choose the tank.")))
    if not plan.switches:
        message = tr("There’s nothing to switch on.")
        raise InputProblems(Problem("wanted_c", "no-switch", message, tr("Type a warmer temperature, or a later time.")))
    person = read(By, request.values).value.person
    fields = {"person": person, "name": plan.stands.name, "switch_at": plan.local(plan.switch_s), "wanted_c": question.wanted_c}
    return {"kind": "tank_switch_kept", "subject": subject_of(question.tank), "fields": fields}


def _told_earlier(question: HeatQuestion, state: State, now: datetime) -> tuple[Read, dict[str, str]] | None:
    """The temperature that the tank's entries tell of some hours ago, and what puts it into the form; None where there is none."""
    if question.tank is None or question.earlier_c is not None:
        return None
    apart = [(each, (now - each.at).total_seconds()) for each in readings(state.contents, question.tank)]
    fit = [each for each, seconds in apart if HOUR_S <= seconds < DAY_S]
    return (fit[0], _earlier_put(fit[0], state.units)) if fit else None


def _earlier_put(read: Read, units: str) -> dict[str, str]:
    return _temperature_put("earlier_c", read.temperature_c, units) | {"earlier_at": read.at.time().isoformat("minutes")}


def _temperature_put(name: str, value_c: float, units: str) -> dict[str, str]:
    unit = "degF" if units == "us" else "degC"
    return {name: number(convert(value_c, "degC", unit), 1).removesuffix(".0"), f"{name}.unit": unit}


def heat_address(tank: str, now_c: float, before: Sequence[Read], now: str, units: str) -> str:
    """What the page of a tank's heat opens with, as the end of its address: the tank, its temperature, and an earlier one of the last day."""
    puts = _temperature_put("now_c", now_c, units)
    with suppress(ValueError):
        at = datetime.fromisoformat(now[:16])
        earlier = [each for each in before if HOUR_S <= (at - each.at).total_seconds() < DAY_S]
        puts |= _earlier_put(earlier[0], units) if earlier else {}
    return f"{quote(tank, safe='')}?{urlencode(puts)}"


def mix_temperature(request: Request) -> Answer:
    """The batter of oils and lye as warm as typed, or how warm one of them has to be for the batter wanted."""
    reading = read(MixQuestion, request.values)
    question, state = reading.value, request.state
    check(question)
    formula = None if question.formula is None else state.formula(question.formula, "formula")[1]
    mix, potash = _mix(question, formula, state)
    temperatures: dict[Wanted, Any] = {name: getattr(question, f"{name}_c") for name in THREE}
    if formula is not None and not any(each is not None for each in temperatures.values()):
        temperatures |= {"oils": formula.oils_poured_c, "lye": formula.lye_poured_c}
    # Where all three are typed, it is the batter that follows.
    wanted: Wanted = next((name for name in ORDER if temperatures[name] is None), "batter")
    known = [temperatures[name] for name in THREE if name != wanted]
    if any(each is None for each in known):
        field = next(name for name in THREE if name != wanted and temperatures[name] is None)
        raise InputProblems(Problem(f"{field}_c", "one-temperature", tr("Two of the three temperatures are needed."), tr("Type two, and leave the one you want to know empty.")))
    found = _found(mix, wanted, (known[0], known[1]))
    temperatures[wanted] = found.used
    batter = found if wanted == "batter" else Spread(*(temperatures["batter"] + off for off in (-1.0, 0.0, 1.0)))
    cautions = (*reading.cautions, *_mix_cautions(potash))
    html = render(
        "mix_temperature.html", wanted=wanted, found=found, temperatures=temperatures, mix=mix, units=state.units, cautions=cautions,
        shares=heat_shares(mix, temperatures["oils"], temperatures["lye"]), formula=formula, potash=potash,
        setting=() if question.formula is None else fats_that_set(list(_oils_of(state, question.formula)), batter),
    )  # fmt: skip
    return Answer({"mix_temperature": html}, cautions)


def _found(mix: Mixed, wanted: Wanted, known: tuple[float, float]) -> Spread:
    found = mixed(mix, wanted, known)
    if found is None:
        message = tr("Oils at no usable temperature make that batter.") if wanted == "oils" else tr("Lye at no usable temperature makes that batter.")
        raise InputProblems(Problem("batter_c", "out-of-reach", message, tr("Type another batter temperature, or change the lye or oils.")))
    return found


def _mix(question: MixQuestion, formula: Formula | None, state: State) -> tuple[Mixed, bool]:
    """What is poured together, and whether caustic potash is in it."""
    oils_g, lye_g, strength, potash = question.oils_g, question.lye_g, question.strength_fraction, False
    if formula is not None:
        check(formula)
        sheet = formula_sheet(formula, state.oils(), state.lots_in_use())
        potash = sheet.koh_g > 0.0
        hydroxide_g = sheet.naoh_g + sheet.koh_g
        strength = sheet.lye_itself_fraction if strength is None else strength
        if oils_g is None:
            oils_g, lye_g = OILS_G, hydroxide_g / strength
    assert oils_g is not None and lye_g is not None and strength is not None
    if not STRENGTH.low <= strength <= STRENGTH.high:
        message = tr("There are no heat figures for lye as strong or weak as this formula’s.")
        raise InputProblems(Problem("strength_fraction", "unknown-heat", message, tr("Type a strength from 5 to 50 %.")))
    return Mixed(oils_g, lye_g, strength), potash


def _mix_cautions(potash: bool) -> tuple[Caution, ...]:
    if not potash:
        return ()
    return (Caution("formula", "potash", tr("Caustic potash is counted as caustic soda."), tr("Its lye takes a little less heat, so the batter ends up a little closer to the oils.")),)


def _oils_of(state: State, id_: str) -> tuple[Oil, ...]:
    _, formula = state.formula(id_, "formula")
    known = state.oils()
    return tuple(known[row.oil] for row in formula.oils if row.oil in known)


def _now(request: Request) -> datetime:
    try:
        return datetime.fromisoformat(request.now[:16])
    except (TypeError, ValueError) as unreadable:
        message = tr("This device doesn't say what time it is.")
        raise InputProblems(Problem("", "no-date", message, tr("Set its date and time."))) from unreadable


def lasting(seconds: float) -> str:
    """A length of time as people say one that is only about right: to five minutes, from ten hours on to hours, then days."""
    if seconds >= 4.0 * DAY_S:
        return tr("{number} days", number=round(seconds / DAY_S))
    step_s = HOUR_S if seconds >= 10.0 * HOUR_S else 300.0
    return duration(int(step_s * max(1, round(seconds / step_s))))


def _kwh(joules: float) -> float:
    return joules / J_PER_KWH


def _day_word(plan: HeatPlan, seconds: float) -> str:
    """Whether a time is of tomorrow; nothing for today."""
    at, today = plan.local(seconds)[:10], plan.around.now.date().isoformat()
    return "" if at == today else tr("tomorrow")
