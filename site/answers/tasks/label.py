"""The weight on the label: what may be printed, from bars weighed one by one and what they still lose."""

import math
from contextlib import suppress
from dataclasses import dataclass
from datetime import date

from answers.racks_read import about_batch, batch_of, day_on, not_to_come, outlook_of, racks_of, read_with_who, today_of
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State
from calc.cure.declared import LabelQuestion
from calc.cure.net_quantity import OZ_G, allowable_variation_g, allowed, sample_of, tolerable_error_g
from calc.cure.rack import RackBatch, weights_of
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.tables.reference import constant


def net_quantity(request: Request) -> Answer:
    """What may be printed on the label, from bars weighed one by one and what they still lose until the sale."""
    reading = read_with_who(LabelQuestion, request)
    values, state, today = reading.value, request.state, today_of(request)
    found = racks_of(state, today)
    batch = None if values.batch is None else batch_of(found, values.batch)
    weights_g: tuple[float, ...] = ()
    not_to_come("weighed_on", values.weighed_on, today)
    weighed_on = values.weighed_on or today
    if values.weights:
        try:
            weights_g = weights_of(values.weights, values.weighed_in)
        except InputProblems as faults:
            first = faults.problems[0]
            raise InputProblems(Problem("weights", first.code, first.message, first.remedy)) from faults
    elif batch and batch.singles:
        weights_g, weighed_on = batch.singles[-1].weights_g, batch.singles[-1].day
    elif request.check and batch and values.label_g is not None:
        return Answer({}, reading.cautions, about_batch(request, "cure_bars", batch, {}))
    else:
        message = tr("No bars are weighed yet.")
        raise InputProblems(Problem("weights", "no-bars", message, tr("Weigh some bars one by one and type each weight.")))
    fall = fall_of(batch, state, weighed_on, values.sell_on, today)
    ratio = fall.ratio
    sample = sample_of(weights_g)
    market = values.market or market_of(state)
    step = "oz" if state.units == "us" or values.weighed_in == "oz" else "g"
    label = allowed(sample, ratio, market, step)
    html = render(
        "net_quantity.html", label=label, sample=sample, at_sale=sample.at(ratio), fall=fall, batch=batch,
        weighed_on=weighed_on, market=market, oz=OZ_G, step=step, said_g=values.label_g or (batch.racked.label_g if batch else None),
        tolerable_g=tolerable_error_g(label.limit.label_g), variation_g=allowable_variation_g(label.limit.label_g),
        confidence=constant("label_confidence").value, units=state.units,
    )  # fmt: skip
    record = None
    if request.check:
        if batch is None:
            raise InputProblems(Problem("batch", "batch-missing", tr("No batch is chosen to keep these weights with."), tr("Choose it.")))
        if not values.weights and values.label_g is None:
            raise InputProblems(Problem("weights", "no-bars", tr("Nothing new is typed."), tr("Weigh some bars one by one, or type the weight on the label.")))
        record = about_batch(request, "cure_bars", batch, {})
    return Answer({"net_quantity": html}, reading.cautions, record)


def lawful_g(batch: RackBatch, state: State, market: str, today: date) -> float | None:
    """The most that may be printed on bars of a batch at its sale [g], by those weighed one by one last; None where none were, or no label can hold."""
    if not batch.singles:
        return None
    last = batch.singles[-1]
    ratio = fall_of(batch, state, last.day, None, today).ratio
    with suppress(InputProblems):
        return allowed(sample_of(last.weights_g), ratio, market, "g").limit.label_g
    return None


def market_of(state: State) -> str:
    """Where the workshop sells: "us", "eu" or "both"."""
    with suppress(InputProblems):
        return state.shop().market or "both"
    return "both"


@dataclass(frozen=True)
class Fall:
    """By how much a bar's weight falls from its weighing to the sale, at worst; `counted` is False where nobody can say."""

    ratio: float
    sale: date | None
    counted: bool


def fall_of(batch: RackBatch | None, state: State, weighed_on: date, sell_on: date | None, today: date) -> Fall:
    """By the curve's lower end; without a curve all the water that is left may go."""
    if batch is None:
        return Fall(1.0, sell_on, counted=False)
    outlook = outlook_of(batch, state, today)
    sale = sell_on or day_on(batch, batch.first_age + outlook.sale_day)
    if sale <= weighed_on:
        return Fall(1.0, sale, counted=True)
    if batch.water_fraction is None:
        return Fall(1.0, sale, counted=False)
    if outlook.drying is None:
        return Fall(_without_curve(batch, batch.water_fraction, weighed_on), sale, counted=True)
    days = [float((day - batch.cut_on).days - batch.first_age) for day in (weighed_on, sale)]
    then, later = (outlook.drying.masses_g(max(day, 0.0)) for day in days)
    falls = sorted(after / before for before, after in zip(then, later, strict=True))
    return Fall(min(falls[math.floor(0.05 * len(falls))], 1.0), sale, counted=True)


def _without_curve(batch: RackBatch, water: float, weighed_on: date) -> float:
    """All of the water gone, beside what the bars weighed that day at most: what their last weighing till then says."""
    till = (weighed_on - batch.cut_on).days - batch.first_age
    known = [each.bar_g for each in batch.weighings if each.day <= till]
    return min(batch.weighings[0].bar_g * (1.0 - water) / known[-1], 1.0) if known else 1.0 - water
