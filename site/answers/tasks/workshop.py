"""The workshop list and the small live answer beside each of its forms."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from answers.doubles import refuse_double
from answers.facts import details, facts
from answers.rendering import render
from answers.request import Answer, Request
from calc.entry.fields import Reading, control_of, read
from calc.entry.problems import InputProblems
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
        html = render("item.html", kind=kind, title=one, facts=found, cautions=every, units=request.state.units)
        return Answer({kind: html}, every)

    return item
