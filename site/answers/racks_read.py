"""The racks as a request carries them, and what its forms leave for the page to store."""

import math
from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import date
from typing import Any, TypeVar, cast

from answers.request import Request
from answers.state import State
from calc.cure.declared import By
from calc.cure.forecast import Outlook, ReadyRule, forecast
from calc.cure.rack import GroupWeighed, RackBatch, Racks, racks
from calc.entry.fields import Reading, read
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem, told_at_once
from calc.record.set_aside import water_fraction
from calc.workshop.equipment import ScaleItem

T = TypeVar("T")


def today_of(request: Request) -> date:
    """The day it is where the page stands; a problem where the device doesn't say."""
    return day_of(request.now)


def day_of(now: str) -> date:
    """The day of a request's time; a problem where the device doesn't say it."""
    try:
        return date.fromisoformat(now[:10])
    except (TypeError, ValueError) as unreadable:
        message = tr("This device doesn't say what day it is.")
        raise InputProblems(Problem("", "no-date", message, tr("Set its date and time."))) from unreadable


def racks_of(state: State, today: date) -> Racks:
    """What all events about the racks come to."""
    water = {str(sheet.get("code")): found for sheet in state.sheets if (found := water_fraction(sheet)) is not None}
    return racks(state.cure, today, water)


def batch_of(found: Racks, id_: str | None) -> RackBatch:
    """The batch that a form chose; a problem where it is none of them."""
    batch = found.find(id_)
    if batch is None:
        raise InputProblems(
            Problem("batch", "on-rack-missing", tr("No batch is chosen."), tr("Choose a batch on the rack."))
        )
    return batch


def outlook_of(batch: RackBatch, state: State, today: date, *, curve: bool = True) -> Outlook:
    """What can be said of a batch. curve: False leaves its weighings out: then only the maker's weeks tell when it is ready."""
    water, weighings = batch.water_fraction, batch.weighings if curve else ()
    sale_age = None if batch.racked.sell_on is None else max(batch.age(batch.racked.sell_on), 0)
    return forecast(
        weighings, water if water is not None and 0.0 < water < 1.0 else None, _scale_g(batch.weighed, state),
        _rule(state), batch.first_age, sale_age,
        batch.age(today), batch.racked.label_g,
    )  # fmt: skip


def _rule(state: State) -> ReadyRule:
    with suppress(InputProblems):
        shop = state.shop()
        return ReadyRule(shop.cure_weeks, shop.cure_weekly_loss_fraction)
    return ReadyRule()


def _scale_g(weighed: Sequence[GroupWeighed], state: State) -> float:
    """How far the scale's own steps put one bar off [g], at the coarsest of its weighings."""
    worst = 0.0
    for each in weighed:
        with suppress(InputProblems):
            if each.scale:
                division_g = state.read_item("scale", ScaleItem, each.scale, "scale", "scale").division_g
                worst = max(worst, division_g / math.sqrt(6.0) / each.bars)  # JCGM 100: two rectangular readings
    return worst


def day_on(batch: RackBatch, age: float) -> date:
    """The day of that age; where a wrong clock puts it past the calendar's end, its last day."""
    return date.fromordinal(min(batch.cut_on.toordinal() + math.ceil(age), date.max.toordinal()))


def not_to_come(field: str, day: date | None, today: date) -> None:
    """Refuses a day that is still to come: nobody has weighed, cut or tested then."""
    if day is not None and day > today:
        raise InputProblems(Problem(field, "day-to-come", tr("That day hasn't come yet."), tr("Correct the day.")))


def read_with_who(declared: type[T], request: Request) -> Reading[T]:
    """A form; where it is about to be saved, what is wrong with it and that nobody has said who does it are told at once."""
    if not request.check:
        return read(declared, request.values)
    reading, _ = told_at_once(lambda: read(declared, request.values), lambda: read(By, request.values))
    return cast("Reading[T]", reading)


def about_batch(
    request: Request, kind: str, batch: RackBatch, values: Mapping[str, str], fields: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    """The event of a form about a batch; values: what the form left open, as it is stored."""
    return recorded(request, kind, batch.subject, dict(fields or {}), values)


def recorded(
    request: Request, kind: str, subject: str, fields: Mapping[str, Any], values: Mapping[str, str] | None = None
) -> dict[str, Any]:
    """An event for the page to store: who did it, and the form as it was typed; and the batch, as addresses name it."""
    person = read(By, request.values).value.person
    typed = {name: text for name, text in request.values.items() if text != "" and name != "person"} | dict(values or {})
    told = {"person": person, "values": typed, **{name: value for name, value in fields.items() if value is not None}}
    return {"kind": kind, "subject": subject, "id": ":".join(subject.removeprefix("cure:").rsplit("/", 1)), "fields": told}
