"""What could stand in for an oil of a formula that is gone or short."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from urllib.parse import quote, urlencode

from answers.rendering import render
from answers.request import Answer, Request
from answers.scent_read import scent_in_bar
from answers.state import OWN_OIL_PREFIX, State
from calc.entry.declare import NAME_LENGTH
from calc.entry.fields import read
from calc.entry.language import all_of, tr
from calc.entry.problems import InputProblems, Problem
from calc.formula.as_text import OilNames, write_oils
from calc.formula.changed_oils import row_texts
from calc.formula.declaration import Formula
from calc.formula.stand_in import points_per_value, shelf_of
from calc.formula.stand_in_plan import Lack, Stock, Way, lacks, plan, worst
from calc.formula.stand_in_question import StandInQuestion
from calc.scent.batch import BatchScent
from calc.tables.rows import Oil
from calc.workshop.lots import OilLot


@dataclass(frozen=True)
class Shown:
    """A way with what only the page knows of it: its oils as text, its scent in a bar, and where the tap that takes it leads."""

    way: Way
    oils: str
    scent: BatchScent | None
    address: str


def stand_in(request: Request) -> Answer:
    """The best ways to do without an oil; which oil is missing, where none is named."""
    reading = read(StandInQuestion, request.values)
    question, state = reading.value, request.state
    entry, formula = state.formula(question.formula, "formula")
    oils, stock = _stock(state)
    names = OilNames(oils)

    def said(oil: str) -> str:
        return names.written(oil).strip('"')

    found = lacks(question, entry.values, stock.shelf)
    lack = worst(found) if question.oil is None else next((each for each in found if each.oil == question.oil), None)
    if lack is None and question.oil is not None:
        message = tr("{formula} has no such oil.", formula=formula.name)
        raise InputProblems(Problem("oil", "oil-not-in-formula", message, tr("Choose one of its oils.")))
    shown = {
        "formula": formula,
        "formula_id": entry.id,
        "lacks": found,
        "lack": lack,
        "said": said,
        "said_all": lambda each: all_of([said(oil) for oil in each]),
        "oils": oils,
        "stock": stock,
        "question": question,
        "units": state.units,
        "points": points_per_value(),
        "plan": None,
        "from_shelf": [],
        "to_get": [],
    }
    if lack is not None and not lack.enough:
        try:
            made = plan(lack, entry.values, stock, question, _name(formula, lack, said(lack.oil), state))
        except InputProblems as faults:
            raise InputProblems(*(_at_control(problem) for problem in faults.problems)) from faults
        shown |= {
            "plan": made,
            "from_shelf": list(_shown(made.ways, entry.id, names, state)),
            "to_get": list(_shown(made.to_get, entry.id, names, state)),
        }
    return Answer({"stand_in": render("stand_in.html", **shown)}, reading.cautions)


def _stock(state: State) -> tuple[Mapping[str, Oil], Stock]:
    oils = state.oils()
    formulas = {text for entry in state.stored("formula") for name, text in entry.values.items() if name.startswith("oils.") and name.endswith(".oil")}
    return oils, Stock(
        oils=oils,
        in_use=state.lots_in_use(),
        shelf={oil: there for oil, there in shelf_of(state.read_all("oil_lot", OilLot)).items() if oil in oils},
        of_formulas=frozenset(formulas & oils.keys()),
        own=frozenset(oil for oil in oils if oil.startswith(OWN_OIL_PREFIX)),
    )


def _shown(ways: tuple[Way, ...], id_: str, names: OilNames, state: State) -> Iterator[Shown]:
    for way in ways:
        oils = write_oils(row_texts(way.rows), names)
        puts = {"name": way.texts["name"], "oils_text": oils}
        # What is changed stands in the address: each way has a draft of its own, beside those of other copies.
        changed = "-".join(f"{each.oil}-{each.after}" for each in way.stand_in.changes)
        address = f"copy/{quote(id_, safe='')}/{quote(changed, safe='')}?{urlencode(puts)}"
        yield Shown(way, oils, scent_in_bar(way.formula, way.sheet.batter_g, state, "formula"), address)


def _name(formula: Formula, lack: Lack, oil: str, state: State) -> str:
    """What the changed formula is called, as no other is; of a long name so much goes that the rest fits."""

    def called(base: str) -> str:
        if lack.kept:
            return tr("{formula} with less {oil}", formula=base, oil=oil)
        return tr("{formula} without {oil}", formula=base, oil=oil)

    taken = {entry.values.get("name", "").strip().casefold() for entry in state.stored("formula")}
    for number in range(1, len(taken) + 2):
        behind = "" if number == 1 else f" {number}"
        room = max(NAME_LENGTH - len(called("")) - len(behind), 1)
        name = (called(formula.name[:room].rstrip())[: NAME_LENGTH - len(behind)] + behind).strip()
        if name.casefold() not in taken:
            break
    return name


def _at_control(problem: Problem) -> Problem:
    """A fault inside the chosen formula belongs to the control that chose it."""
    if problem.field in ("formula", "oil", "left_g", "oils_g"):
        return problem
    return Problem("formula", problem.code, problem.message, problem.remedy)
