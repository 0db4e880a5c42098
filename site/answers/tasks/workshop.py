"""The workshop list and the small live answer beside each of its forms."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from answers.doubles import refuse_double
from answers.facts import details, facts
from answers.rendering import render
from answers.request import Answer, Request
from calc.entry.fields import Reading, control_of, read
from calc.entry.language import tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.workshop.kinds import KINDS, ONE_OF_A_KIND


def workshop(request: Request) -> Answer:
    """Everything the workshop owns, by kind."""
    kinds = [
        (
            kind,
            many,
            [
                {
                    "id": entry.id,
                    "title": entry.values.get("name") or entry.values.get("code") or many,
                    "details": details(kind, entry.values, request.state),
                }
                for entry in request.state.stored(kind)
            ],
            kind in ONE_OF_A_KIND,
        )
        for kind, (_, _, many) in KINDS.items()
    ]
    return Answer({"workshop": render("workshop.html", kinds=kinds, units=request.state.units)})


def _ask_back(cautions: Iterable[Caution]) -> None:
    """Raises InputProblems for what is asked back before it is saved, and not affirmed yet."""
    again = tr("Look at the plate again. If it says just that, tick it below.")
    asked = [Problem(each.field, each.code, each.message, again) for each in cautions if each.field == "plate_says"]
    if asked:
        raise InputProblems(*asked)


def item_task(kind: str) -> Callable[[Request], Answer]:
    """The task that checks one kind of item and says what follows from its values."""
    declaration, one, _ = KINDS[kind]

    def item(request: Request) -> Answer:
        reading: Reading[Any] = read(declaration, request.values)
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
