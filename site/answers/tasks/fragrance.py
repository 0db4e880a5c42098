"""The quick check of a scent: how much may go in, and why."""

from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State
from calc.entry.fields import read
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.formula.sheet import OILS_G, formula_sheet
from calc.scent.limits import rules_for
from calc.scent.quick_check import Base, ScentQuestion, base_of, oils_alone, scent_sheet
from calc.workshop.equipment import ScaleItem
from calc.workshop.scales import scales_of
from calc.workshop.shop import Shop


def fragrance(request: Request) -> Answer:
    """The largest amount of a scent for the oils in hand, pass or fail, and what the label names."""
    reading = read(ScentQuestion, request.values)
    state, question = request.state, reading.value
    scent, parts = state.scent(question.scent, "scent")
    shop = state.shop()
    base = oils_alone() if question.formula is None else _base(state, question.formula, shop)
    scales = [scale for scale, _ in scales_of(state.read_all("scale", ScaleItem), shop.tolerance_scheme).values()]
    if not scales:
        raise InputProblems(Problem("", "no-scale", tr("There's no scale to weigh the scent on."), tr("Add a scale in Workshop.")))
    sheet = scent_sheet(question, parts, base, scales, rules_for(shop.market, shop.scent_rules))
    cautions = (*reading.cautions, *sheet.cautions)
    market = shop.market or "both"
    html = render("fragrance.html", sheet=sheet, scent=scent, market=market, cautions=cautions, units=state.units)
    return Answer({"fragrance": html}, cautions)


def _base(state: State, id_: str, shop: Shop) -> Base:
    _, formula = state.formula(id_, "formula")
    try:
        sheet = formula_sheet(formula, state.oils(), state.lots_in_use())
    except InputProblems as faults:
        first = faults.problems[0]
        raise InputProblems(Problem("formula", first.code, first.message, first.remedy)) from faults
    return base_of(sheet.batter_g / OILS_G - formula.scent_fraction, shop.cure_loss_fraction)
