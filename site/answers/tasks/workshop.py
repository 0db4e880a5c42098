"""The workshop list and the small live answer beside each of its forms."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

from answers.doubles import refuse_double
from answers.facts import details, facts
from answers.racks_read import day_of, not_to_come
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State
from calc.entry.declare import describe
from calc.entry.fields import Reading, control_of, read
from calc.entry.language import all_of, lower_first, tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.workshop.equipment import ASSUMED
from calc.workshop.kinds import KINDS, ONE_OF_A_KIND
from calc.workshop.setup import still_needed

# What stands together on the Workshop page, in its order.
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Equipment", ("mould", "vessel", "tank", "scale", "loaf_frame", "bar_frame", "cutter", "rack")),
    ("Caustic, oils, scents and packaging", ("alkali_lot", "oil_lot", "scent", "scent_lot", "additive_lot", "packaging_lot", "own_oil")),
    ("People and how you work", ("shop", "person", "floor", "safety", "upkeep")),
    ("Before the sale", ("release_checks", "outlet")),
)


@dataclass(frozen=True)
class Deed:
    """What is to be done next: where to, and why."""

    words: str
    path: str
    why: str = ""


def workshop(request: Request) -> Answer:
    """Everything the workshop owns, by kind; first what is to be done next."""
    groups = [(title, [_kind(kind, request.state) for kind in kinds]) for title, kinds in GROUPS]
    return Answer({"workshop": render("workshop.html", groups=groups, next=_next(request.state))})


def _kind(kind: str, state: State) -> dict[str, Any]:
    many = KINDS[kind][2]
    items = [
        {
            "id": entry.id,
            "title": entry.values.get("name") or entry.values.get("code") or "set up",
            "details": details(kind, entry.values, state),
        }
        for entry in state.stored(kind)
    ]
    return {"key": kind, "many": many, "items": items, "single": kind in ONE_OF_A_KIND}


def _next(state: State) -> Deed:
    """The first thing without which no sheet can be made; then what is only assumed; then a sheet."""
    lacks = still_needed([kind for kind in KINDS if state.stored(kind)])
    if lacks:
        missing = all_of([lower_first(KINDS[kind][1]) for kind in lacks])
        return Deed("Set up my workshop", "setup/", f"Still missing for a batch: {missing}.")
    for kind in ("mould", "scale", "vessel"):
        for entry in state.stored(kind):
            if entry.values.get("figures") == ASSUMED:
                name = entry.values.get("name", "")
                return Deed(f"Enter real figures: {name}", f"edit/#{kind}/{entry.id}", "Its figures are assumed for now, and each batch sheet says so.")
    if not state.stored("formula"):
        return Deed("Write a formula", "../formula/edit/#new")
    return Deed("Batch sheet", "../batch/")


def _ask_back(cautions: Iterable[Caution]) -> None:
    """Raises InputProblems for what is asked back before it is saved, and not affirmed yet."""
    again = tr("Look at the plate again. If it says exactly that, check the box below.")
    asked = [Problem(each.field, each.code, each.message, again) for each in cautions if each.field == "plate_says"]
    if asked:
        raise InputProblems(*asked)


def item_task(kind: str) -> Callable[[Request], Answer]:
    """The task that checks one kind of item and says what follows from its values."""
    declaration, one, _ = KINDS[kind]

    def item(request: Request) -> Answer:
        reading: Reading[Any] = read(declaration, request.values)
        for info in describe(declaration):
            if info.past and getattr(reading.value, info.name) is not None:
                not_to_come(info.name, getattr(reading.value, info.name), day_of(request.now))
        refuse_double(request, kind)
        try:
            found, cautions = facts(reading.value, request.state)
        except InputProblems as faults:
            raise InputProblems(
                *(replace(each, field=control_of(declaration, request.values, each.field)) for each in faults.problems)
            ) from faults
        every = (*reading.cautions, *cautions)
        if request.check:
            _ask_back(every)
        html = render("item.html", kind=kind, title=one, facts=found, cautions=every, units=request.state.units)
        return Answer({kind: html}, every)

    return item
