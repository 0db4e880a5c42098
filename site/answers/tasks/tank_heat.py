"""Warming a tank, letting it cool, and the temperature of oils and lye that are poured together."""

import math
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from typing import Any

from answers.heat_address import earlier_put
from answers.heat_drawings import course_drawn
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State
from answers.tasks.tanks import shown_tank
from calc.cure.declared import By
from calc.entry.fields import check, read
from calc.entry.language import later, tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import duration
from calc.formula.declaration import Formula
from calc.formula.sheet import OILS_G, formula_sheet
from calc.tanks.fold import subject_of
from calc.tanks.heat_plan import HeatPlan
from calc.tanks.heat_plan import heat_plan as planned
from calc.tanks.heating import DAY_S, HOUR_S
from calc.tanks.melting import Fat
from calc.tanks.mixing import Mixed, Wanted, fats_that_set, heat_shares, mixed
from calc.tanks.questions import STRENGTH, HeatQuestion, MixQuestion
from calc.tanks.readings import Read, readings
from calc.tanks.spread import Spread
from calc.tanks.switching import running
from calc.tanks.warm_up import as_told
from calc.tanks.warming import Around
from calc.workshop.tanks import Tank

J_PER_KWH = 3.6e6
# A difference that no thermometer shows is none [°C].
SHOWN_APART_C = 0.05
# What is poured together, by the names of the fields.
THREE: tuple[Wanted, ...] = ("oils", "lye", "batter")
ORDER: tuple[Wanted, ...] = ("batter", "oils", "lye")


def tank_heat(request: Request) -> Answer:
    """When to switch a tank on, or when it has cooled; what holds it there, and what that costs."""
    reading = read(HeatQuestion, request.values)
    question, state = reading.value, request.state
    check(question)
    tank = None if question.tank is None else state.read_item("tank", Tank, question.tank, "tank", later("tank"))
    now = _now(request)
    told = () if question.tank is None else readings(state.contents, question.tank, now.date())
    on = None if question.tank is None else running(state.contents, now.date()).get(question.tank)
    around = _around(question, request, now, told)
    plan = planned(question, tank, replace(around, on_at=None if on is None else on.at))
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
        on=on,
        told=_told_earlier(question, told, now, state.units),
        last=_told_last(question, told, now),
        subject="" if question.tank is None else subject_of(question.tank),
    )
    return Answer({"tank_heat": html}, cautions, _kept(request, question, plan) if request.check else None)


def _around(question: HeatQuestion, request: Request, now: datetime, told: Sequence[Read]) -> Around:
    """What is known beside the question; of one of the workshop's tanks, what its entries say, as the plan of a day counts with it."""
    state = request.state
    formulas: tuple[str, ...] = ()
    around, lye = Around(now, state.units, state.lye_limits().hottest_lye_c), question.holds in ("lye", "potash")
    if question.tank is not None:
        shown = shown_tank(question.tank, request)
        around, formulas, lye = as_told(shown.standing, told, state.oils(), around), shown.contents.formulas, shown.standing.tank.holds == "lye"
    if question.formula is not None:
        around, formulas = replace(around, fats=_fats_of(state, question.formula)), (question.formula,)
    poured_c = []
    for each in formulas:
        # One that is gone wants nothing.
        with suppress(InputProblems):
            formula = state.formula(each, "formula")[1]
            poured_c.append(formula.lye_poured_c if lye else formula.oils_poured_c)
    return replace(around, wanted_c=max(poured_c, default=None))


def _kept(request: Request, question: HeatQuestion, plan: HeatPlan) -> dict[str, Any]:
    """The switch-on as it is kept for Today, and which day it is for."""
    if question.tank is None:
        message = tr("Only one of your own tanks can be kept on Today.")
        raise InputProblems(Problem("tank", "no-tank", message, tr("Choose the tank.")))
    if not plan.switches:
        message = tr("There’s nothing to switch on.")
        raise InputProblems(Problem("wanted_c", "no-switch", message, tr("Type a warmer temperature, or a later time.")))
    person = read(By, request.values).value.person
    ready_s = next(each for each in (plan.wanted_s, plan.ready_s.used) if each is not None)
    fields = {
        "person": person, "name": plan.stands.name, "switch_at": plan.local(plan.switch_s),
        "ready_at": plan.local(ready_s, 1), "wanted_c": plan.warm.wanted_c,
    }  # fmt: skip
    return {"kind": "tank_switch_kept", "subject": subject_of(question.tank), "fields": fields}


def _told_earlier(question: HeatQuestion, told: Sequence[Read], now: datetime, units: str) -> tuple[Read, dict[str, str]] | None:
    """The temperature that the tank's entries tell of some hours ago, and what puts it beside the one typed; None where there is none."""
    if question.now_c is None or question.earlier_c is not None:
        return None
    fit = [each for each in told if HOUR_S <= (now - each.at).total_seconds() < DAY_S]
    return (fit[0], earlier_put(fit[0], units)) if fit else None


def _told_last(question: HeatQuestion, told: Sequence[Read], now: datetime) -> Read | None:
    """What was read of the tank last, where something else is typed."""
    last = next((each for each in reversed(told) if each.at <= now), None)
    return last if last and question.now_c is not None and abs(question.now_c - last.temperature_c) > SHOWN_APART_C else None


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
        setting=() if question.formula is None else fats_that_set([fat.oil for fat in _fats_of(state, question.formula)], batter),
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


def _fats_of(state: State, id_: str) -> tuple[Fat, ...]:
    _, formula = state.formula(id_, "formula")
    known = state.oils()
    return tuple(Fat(known[row.oil], row.share_fraction) for row in formula.oils if row.oil in known)


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
