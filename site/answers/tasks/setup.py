"""The sixth question of the set-up: who works here and what the workshop is called, as the items that come of it."""

from answers.rendering import render
from answers.request import Answer, Request
from calc.entry.fields import Reading, read
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.workshop.setup import SHOP_NAME, Crew, names_of, prefix_of, shop_values


def crew(request: Request) -> Answer:
    """What follows from the names; the workshop and each person who is new, as items to store."""
    reading: Reading[Crew] = read(Crew, request.values)
    names = names_of(reading.value)
    if not names:
        raise InputProblems(Problem("people", "nobody", tr("Nobody is named."), tr("Type a first name or an initial.")))
    standing = next((entry.values for entry in request.state.stored("shop")), {})
    name = reading.value.name or standing.get("name") or tr(SHOP_NAME)
    shop = shop_values(name, request.state.units, standing)
    known = {entry.values.get("name", "").casefold() for entry in request.state.stored("person")}
    items = [{"kind": "shop", "id": "shop", "values": shop}]
    items += [{"kind": "person", "id": "", "values": {"name": each}} for each in names if each.casefold() not in known]
    shown = {"prefix": shop["code_prefix"] or prefix_of(name), "names": names, "scheme": shop["tolerance_scheme"]}
    measured = bool(shop.get("set_density_g_per_ml"))
    return Answer({"setup_crew": render("setup_crew.html", measured=measured, **shown)}, record={"items": items})
