"""The quick check of a scent: how much may go in, and why."""

from answers.rendering import render
from answers.request import Answer, PartlyAnswered, Request
from answers.state import State
from calc.entry.fields import read
from calc.entry.language import tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.formula.sheet import OILS_G, formula_sheet
from calc.scent.limits import rules_for
from calc.scent.quick_check import Base, ScentQuestion, base_of, oils_alone, scent_sheet
from calc.workshop.equipment import ScaleItem
from calc.workshop.scales import scales_of
from calc.workshop.shop import Shop


def fragrance(request: Request) -> Answer:
    """The largest amount of a scent for the oils in hand, pass or fail, and what the label names."""
    try:
        reading = read(ScentQuestion, request.values)
    except InputProblems as faults:
        if [(each.field, each.code) for each in faults.problems] == [("oils_g", "missing")]:
            raise PartlyAnswered(faults.problems, {"fragrance": _without_oils(request)}, {}) from faults
        raise
    reply, cautions = _answered(request, reading.value, "fragrance.html", reading.cautions)
    return Answer({"fragrance": reply}, cautions)


def _without_oils(request: Request) -> str:
    """The verdict in shares of the oils, which hold for any amount of them, and what is still needed for a weight."""
    question = read(ScentQuestion, {**request.values, "oils_g": str(int(OILS_G)), "oils_g.unit": "g"}).value
    return _answered(request, question, "fragrance_shares.html", ())[0]


def _answered(
    request: Request, question: ScentQuestion, template: str, of_reading: tuple[Caution, ...]
) -> tuple[str, tuple[Caution, ...]]:
    state = request.state
    scent, parts = state.scent(question.scent, "scent")
    shop = state.shop()
    base = oils_alone() if question.formula is None else _base(state, question.formula, shop)
    scales = [scale for scale, _ in scales_of(state.read_all("scale", ScaleItem), shop.tolerance_scheme).values()]
    if not scales:
        raise InputProblems(Problem("", "no-scale", tr("There's no scale to weigh the scent on."), tr("Add a scale in Workshop.")))
    sheet = scent_sheet(question, parts, base, scales, rules_for(shop.market, shop.scent_rules))
    cautions = (*of_reading, *sheet.cautions)
    market = shop.market or "both"
    return render(template, sheet=sheet, scent=scent, market=market, cautions=cautions, units=state.units), cautions


def _base(state: State, id_: str, shop: Shop) -> Base:
    _, formula = state.formula(id_, "formula")
    try:
        sheet = formula_sheet(formula, state.oils(), state.lots_in_use())
    except InputProblems as faults:
        first = faults.problems[0]
        raise InputProblems(Problem("formula", first.code, first.message, first.remedy)) from faults
    return base_of(sheet.batter_g / OILS_G - formula.scent_fraction, shop.cure_loss_fraction)
