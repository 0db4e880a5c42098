"""The cure rack: what lies where, how a batch dries, its tests, and what may be printed on its label."""

import math
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from answers import cure_drawings
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State
from answers.tasks.aside import day_of
from calc.batch.size import bar_size_mm
from calc.cure.declared import By, LabelQuestion, Move, Racked, SoapTest, Weighing
from calc.cure.drying import FEWEST
from calc.cure.forecast import LONGEST, Outlook, ReadyRule, forecast
from calc.cure.net_quantity import OZ_G, allowable_variation_g, allowed, sample_of, tolerable_error_g
from calc.cure.rack import GroupWeighed, RackBatch, Racks, racks, result_of, weights_of
from calc.cure.soap_tests import FreeAlkali
from calc.cure.trays import bars_per_tray, free_places, trays_needed
from calc.entry.fields import read
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import bar_weight, calendar_day
from calc.formula.sheet import formula_sheet
from calc.record.set_aside import water_fraction
from calc.tables.reference import constant
from calc.workshop.equipment import Cutter, Rack, ScaleItem

# Of a long list, so many batches get their curve drawn at once; the page of each has its own.
CURVES_LISTED = 10
POINTS = 36


@dataclass(frozen=True)
class Row:
    """One batch in the list: where it lies, what it weighs, what is to be done."""

    batch: RackBatch
    mark: str
    age: int
    due: bool
    outlook: Outlook | None


def cure_rack(request: Request) -> Answer:
    """Every batch on the racks with its next deed, then the racks as they stand."""
    today = day_of(request.now)
    found = _racks(request.state, today)
    rows = []
    for number, batch in enumerate(found.on_racks):
        outlook = _outlook(batch, request.state, today) if number < CURVES_LISTED else None
        rows.append(Row(batch, _mark(number), batch.age(today), _due(batch, today), outlook))
    waiting = [sheet for sheet in _waiting(request.state, found) if sheet["blocks"]]
    html = render(
        "cure_rack.html",
        rows=rows,
        racks=_racks_drawn(request.state, found, rows),
        waiting=waiting,
        unread=found.unread,
        today=today,
        day_of=_day_of,
        units=request.state.units,
    )
    return Answer({"cure_rack": html})


def cure_batch(request: Request) -> Answer:
    """One batch: how it dries and when it is ready; and its next weighing, once there is one to keep."""
    reading = read(Weighing, request.values)
    today = day_of(request.now)
    found = _racks(request.state, today)
    batch = _batch(found, reading.value.batch)
    record = None
    if request.check:
        counted = _weighing_values(reading.value, batch, today)
        record = _event(request, "cure_weighed", batch, counted, _days_then(reading.value, int(counted["bars"]), batch, request.state, today))
    outlook = _outlook(batch, request.state, today)
    water = batch.water_fraction
    html = render(
        "cure_batch.html",
        batch=batch,
        outlook=outlook,
        rack=_rack(request.state, batch.rack),
        age=batch.age(today),
        due=_due(batch, today),
        curve=_curve(batch, outlook, request.state.units),
        singles=_singles(batch),
        reminders=_reminders(batch, outlook, today),
        day_of=_day_of,
        today=today,
        usual=int(constant("cure_group_usual").value),
        fewest=FEWEST,
        water=water,
        longest=LONGEST,
        oz=OZ_G,
        units=request.state.units,
    )
    return Answer({"cure_batch": html}, reading.cautions, record)


def cure_racked(request: Request) -> Answer:
    """A block's bars that go on a rack: how many trays, at which places, and how much water can leave."""
    reading = read(Racked, request.values)
    values, state, today = reading.value, request.state, day_of(request.now)
    found = _racks(state, today)
    subject = f"cure:{values.code}/{values.block}"
    if any(batch.subject == subject and batch.rack for batch in found.batches):
        message = tr("Block {block} of {code} is on a rack already.", block=values.block, code=values.code)
        raise InputProblems(Problem("code", "racked-already", message, tr("Open it on the cure rack.")))
    soap, water = _soap_of(values, state)
    rack = None if values.rack is None else state.read_item("rack", Rack, values.rack, "rack", "rack")
    per_tray = _per_tray(values, rack, state)
    needed = values.trays or (trays_needed(values.bars, per_tray) if per_tray else None)
    places = _places(found, values.rack, rack, needed, None)
    record = None
    if request.check:
        if rack is not None and needed is None:
            message = tr("How many trays the bars need isn't known.")
            raise InputProblems(Problem("trays", "trays-missing", message, tr("Type it, or choose the cutter.")))
        record = _recorded(request, "cure_racked", subject, {"soap": soap, "water": water, "places": list(places)})
    html = render(
        "cure_racked.html", values=values, soap=soap, water=water, rack=rack, per_tray=per_tray, needed=needed, places=places,
        units=state.units,
    )  # fmt: skip
    return Answer({"cure_racked": html}, reading.cautions, record)


def cure_test(request: Request) -> Answer:
    """What a test of the soap found, and what its method means."""
    reading = read(SoapTest, request.values)
    values, today = reading.value, day_of(request.now)
    batch = _batch(_racks(request.state, today), values.batch)
    try:
        result = result_of(values)
    except ValueError as refused:
        message = tr("The sample weighs more than before the oven.")
        raise InputProblems(Problem("dried_g", "gained", message, tr("Check both weighings."))) from refused
    moisture = [test.fraction for test in batch.tests if test.method == "moisture"]
    html = render(
        "cure_test.html", batch=batch, values=values, result=result, is_alkali=isinstance(result, FreeAlkali),
        moisture=moisture[-1] if moisture else None, units=request.state.units,
    )  # fmt: skip
    record = _event(request, "cure_tested", batch, {}) if request.check else None
    return Answer({"cure_test": html}, reading.cautions, record)


def cure_move(request: Request) -> Answer:
    """A batch that changes its rack, or leaves it."""
    reading = read(Move, request.values)
    values, state, today = reading.value, request.state, day_of(request.now)
    found = _racks(state, today)
    batch = _batch(found, values.batch)
    rack: Rack | None = None
    places: tuple[int, ...] = ()
    if values.to == "rack":
        rack = state.read_item("rack", Rack, values.rack, "rack", "rack")
        places = _places(found, values.rack, rack, values.trays or len(batch.places) or batch.trays, batch)
    html = render(
        "cure_move.html", batch=batch, rack=rack, places=places, outlook=_outlook(batch, state, today), age=batch.age(today),
        day_of=_day_of, today=today, units=state.units,
    )  # fmt: skip
    record = None
    if request.check:
        kind = "cure_moved" if values.to == "rack" else "cure_ready"
        record = _event(request, kind, batch, {}, {"places": list(places)} if values.to == "rack" else {})
    return Answer({"cure_move": html}, reading.cautions, record)


def net_quantity(request: Request) -> Answer:
    """What may be printed on the label, from bars weighed one by one and what they still lose until the sale."""
    reading = read(LabelQuestion, request.values)
    values, state, today = reading.value, request.state, day_of(request.now)
    found = _racks(state, today)
    batch = None if values.batch is None else _batch(found, values.batch)
    weights_g: tuple[float, ...] = ()
    weighed_on = values.weighed_on or today
    if values.weights:
        try:
            weights_g = weights_of(values.weights, values.weighed_in)
        except InputProblems as faults:
            first = faults.problems[0]
            raise InputProblems(Problem("weights", first.code, first.message, first.remedy)) from faults
    elif batch and batch.singles:
        weights_g, weighed_on = batch.singles[-1].weights_g, batch.singles[-1].day
    else:
        message = tr("No bars are weighed yet.")
        raise InputProblems(Problem("weights", "no-bars", message, tr("Weigh some bars one by one and type each weight.")))
    ratio, sale = _ratio(batch, state, weighed_on, values.sell_on, today)
    sample = sample_of(weights_g)
    market = values.market or _market(state)
    step = "oz" if state.units == "us" or values.weighed_in == "oz" else "g"
    label = allowed(sample, ratio, market, step)
    html = render(
        "net_quantity.html", label=label, sample=sample, at_sale=sample.at(ratio), ratio=ratio, sale=sale, batch=batch,
        weighed_on=weighed_on, market=market, oz=OZ_G, step=step,
        tolerable_g=tolerable_error_g(label.limit.label_g), variation_g=allowable_variation_g(label.limit.label_g),
        confidence=constant("label_confidence").value, units=state.units,
    )  # fmt: skip
    record = None
    if request.check:
        if batch is None or not values.weights:
            message = tr("No batch is chosen to keep these weights with.")
            raise InputProblems(Problem("batch", "batch-missing", message, tr("Choose it, and type the weights.")))
        record = _event(request, "cure_bars", batch, {})
    return Answer({"net_quantity": html}, reading.cautions, record)


def _racks(state: State, today: date) -> Racks:
    water = {str(sheet.get("code")): found for sheet in state.sheets if (found := water_fraction(sheet)) is not None}
    return racks(state.cure, today, water)


def _batch(found: Racks, id_: str | None) -> RackBatch:
    batch = found.find(id_)
    if batch is None:
        raise InputProblems(Problem("batch", "on-rack-missing", tr("No batch is chosen."), tr("Choose a batch on the rack.")))
    return batch


def _rule(state: State) -> ReadyRule:
    with suppress(InputProblems):
        shop = state.shop()
        return ReadyRule(shop.cure_weeks, shop.cure_weekly_loss_fraction)
    return ReadyRule()


def _market(state: State) -> str:
    with suppress(InputProblems):
        return state.shop().market or "both"
    return "both"


def _outlook(batch: RackBatch, state: State, today: date) -> Outlook | None:
    """None where the water is not known: nothing bounds the loss then."""
    if batch.water_fraction is None or not 0.0 < batch.water_fraction < 1.0:
        return None
    sale_age = None if batch.racked.sell_on is None else max(batch.age(batch.racked.sell_on), 0)
    return forecast(
        batch.weighings, batch.water_fraction, _scale_g(batch.weighed, state), _rule(state), batch.first_age, sale_age,
        batch.age(today), batch.racked.label_g,
    )  # fmt: skip


def _scale_g(weighed: Sequence[GroupWeighed], state: State) -> float:
    """How far the scale's own steps put one bar off [g], at the coarsest of its weighings."""
    worst = 0.0
    for each in weighed:
        with suppress(InputProblems):
            if each.scale:
                division_g = state.read_item("scale", ScaleItem, each.scale, "scale", "scale").division_g
                worst = max(worst, division_g / math.sqrt(6.0) / each.bars)  # JCGM 100: two rectangular readings
    return worst


def _day_of(batch: RackBatch, age: float) -> date:
    """The day of that age; where a wrong clock puts it past the calendar's end, its last day."""
    return date.fromordinal(min(batch.cut_on.toordinal() + math.ceil(age), date.max.toordinal()))


def _next_weighing(batch: RackBatch) -> int:
    """The age on which the sample group is weighed next: by the usual steps from the last one."""
    if not batch.weighed:
        return 0
    last = batch.age(max(each.day for each in batch.weighed))
    first, every = constant("cure_first_weighing_days").value, constant("cure_weighing_every_days").value
    return round(first if last < first else (math.floor(last / every) + 1) * every)


def _due(batch: RackBatch, today: date) -> bool:
    return batch.age(today) >= _next_weighing(batch)


def _mark(number: int) -> str:
    """A, B, ... Z, then numbers."""
    return chr(ord("A") + number) if number < 26 else str(number + 1)


def _rack(state: State, id_: str | None) -> Rack | None:
    with suppress(InputProblems):
        return None if id_ is None else state.read_item("rack", Rack, id_, "rack", "rack")
    return None


def _racks_drawn(state: State, found: Racks, rows: Sequence[Row]) -> list[dict[str, Any]]:
    marks = {row.batch.id: row.mark for row in rows}
    drawn = []
    for entry in state.stored("rack"):
        rack = _rack(state, entry.id)
        if rack is None:
            continue
        taken = {place: batch for place, batch in found.taken(entry.id).items() if place <= rack.places}
        free = free_places(rack.places, taken)
        said = tr("{rack}: {free} of {places} trays free", rack=rack.name, free=len(free), places=rack.places)
        picture = cure_drawings.rack(
            rack.shelves, rack.trays_per_shelf, {place: (marks[batch.id], False) for place, batch in taken.items()}, said
        )
        drawn.append({"said": said, "picture": picture, "freed": _freed(found, entry.id, state)})
    return drawn


def _freed(found: Racks, rack: str, state: State) -> list[tuple[date, int]]:
    """The days on which trays come free, and how many: of batches whose day is known."""
    days: dict[date, int] = {}
    for batch in found.on_racks[:CURVES_LISTED]:
        outlook = _outlook(batch, state, batch.cut_on) if batch.rack == rack else None
        if outlook and outlook.ready.band:
            day = _day_of(batch, outlook.ready.band.middle)
            days[day] = days.get(day, 0) + len(batch.places)
    return sorted(days.items())


def _waiting(state: State, found: Racks) -> list[dict[str, Any]]:
    """Blocks of issued sheets that are poured and lie on no rack."""
    there = {batch.subject for batch in found.batches}
    return [
        {"code": str(sheet.get("code")), "soap": str(sheet.get("soap")),
         "blocks": [block for block in sheet.get("poured") or () if f"cure:{sheet.get('code')}/{block}" not in there]}
        for sheet in state.sheets
    ]  # fmt: skip


def _soap_of(values: Racked, state: State) -> tuple[str, float | None]:
    """What the soap is called, and the water in it fresh [g/g]: as typed, else by its issued sheet, else by its formula."""
    sheet = next((each for each in state.sheets if each.get("code") == values.code), None)
    name, water = (str(sheet.get("soap") or values.code), water_fraction(sheet)) if sheet else (values.code, None)
    if values.formula is not None:
        _, formula = state.formula(values.formula, "formula")
        name = formula.name
        if water is None:
            water = formula_sheet(formula, state.oils(), state.lots_in_use()).water_share_fraction
    return name, values.water_fraction if values.water_fraction is not None else water


def _per_tray(values: Racked, rack: Rack | None, state: State) -> int | None:
    """Bars on one tray; None where tray or bar is not known."""
    if rack is None or values.cutter is None:
        return None
    bar_mm = bar_size_mm(state.read_item("cutter", Cutter, values.cutter, "cutter", "cutter"))
    gap_mm = constant("drying_gap").value if rack.gap_mm is None else rack.gap_mm
    found = bars_per_tray((rack.tray_length_mm, rack.tray_width_mm), bar_mm, values.stands == "yes", gap_mm)
    if found == 0:
        message = tr("A bar of this cutter doesn't fit on a tray of {rack}.", rack=rack.name)
        raise InputProblems(Problem("cutter", "bar-too-large", message, tr("Choose another rack or cutter.")))
    return found


def _places(found: Racks, id_: str | None, rack: Rack | None, needed: int | None, batch: RackBatch | None) -> tuple[int, ...]:
    """The first free places for so many trays; a problem where the rack has too few."""
    if id_ is None or rack is None or needed is None:
        return ()
    free = free_places(rack.places, found.taken(id_, but=batch))
    if len(free) < needed:
        message = tr("{rack} has {free} trays free, {needed} are needed.", rack=rack.name, free=len(free), needed=needed)
        raise InputProblems(Problem("rack", "rack-full", message, tr("Choose another rack, or take a batch off it.")))
    return free[:needed]


def _weighing_values(values: Weighing, batch: RackBatch, today: date) -> Mapping[str, str]:
    """What the form left open, as it is stored."""
    if values.total_g is None:
        message = tr("What the bars weigh together is missing.")
        raise InputProblems(Problem("total_g", "missing", message, tr("Type what the scale shows.")))
    if (values.weighed_on or today) < batch.cut_on:
        message = tr("That is before the bars were cut.")
        raise InputProblems(Problem("weighed_on", "before-cut", message, tr("Correct the day.")))
    bars = values.bars or (batch.weighed[-1].bars if batch.weighed else int(constant("cure_group_usual").value))
    return {"bars": str(bars)}


def _days_then(values: Weighing, bars: int, batch: RackBatch, state: State, today: date) -> Mapping[str, str]:
    """What this weighing brings: the day of the next one, and when the batch is then ready. Today tells both with no calculation."""
    if values.total_g is None:
        return {}
    told = GroupWeighed("", values.weighed_on or today, "", bars, values.total_g, values.scale)
    then = replace(batch, weighed=[*batch.weighed, told])
    outlook = _outlook(then, state, today)
    days = {"next_on": _day_of(then, _next_weighing(then)).isoformat()}
    if outlook and outlook.ready.band:
        days["ready_on"] = _day_of(then, outlook.ready.band.middle).isoformat()
    return days


def _event(
    request: Request, kind: str, batch: RackBatch, values: Mapping[str, str], fields: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    return _recorded(request, kind, batch.subject, dict(fields or {}), values)


def _recorded(
    request: Request, kind: str, subject: str, fields: Mapping[str, Any], values: Mapping[str, str] | None = None
) -> dict[str, Any]:
    """An event for the page to store: who did it, and the form as it was typed."""
    person = read(By, request.values).value.person
    typed = {name: text for name, text in request.values.items() if text != "" and name != "person"} | dict(values or {})
    return {"kind": kind, "subject": subject, "fields": {"person": person, "values": typed, **{k: v for k, v in fields.items() if v is not None}}}


def _curve(batch: RackBatch, outlook: Outlook | None, units: str) -> Any:
    if outlook is None or outlook.drying is None or outlook.at_sale is None:
        return None
    last = max(outlook.sale_day, outlook.drying.last.day) * 1.05
    # Closer together at first, where a bar loses most.
    days = [last * (step / POINTS) ** 2 for step in range(POINTS + 1)]
    bands = [(day, outlook.drying.on(day)) for day in days]
    sale = _day_of(batch, batch.first_age + outlook.sale_day)
    described = tr(
        "Weight of a bar: {now} at the last weighing, {low} to {high} on {day}.",
        now=bar_weight(outlook.drying.last.bar_g, units), low=bar_weight(outlook.at_sale.low, units),
        high=bar_weight(outlook.at_sale.high, units), day=calendar_day(sale),
    )  # fmt: skip
    return cure_drawings.curve(
        bands, outlook.weighings, cure_drawings.Sale(outlook.sale_day, calendar_day(sale)), batch.racked.label_g,
        lambda mass_g: bar_weight(mass_g, units), described,
    )  # fmt: skip


def _singles(batch: RackBatch) -> Any:
    return sample_of(batch.singles[-1].weights_g) if batch.singles and len(batch.singles[-1].weights_g) > 2 else None


def _reminders(batch: RackBatch, outlook: Outlook | None, today: date) -> list[dict[str, str]]:
    """Days for a calendar file: the next weighing, and when the batch is ready."""
    named = f"{batch.soap}, {batch.code} / {batch.block}"
    next_day = max(_day_of(batch, _next_weighing(batch)), today)
    found = [{"day": next_day.isoformat(), "title": tr("Weigh the sample bars: {batch}", batch=named)}]
    if outlook and outlook.ready.band:
        ready = _day_of(batch, outlook.ready.band.middle)
        if ready >= today:
            found.append({"day": ready.isoformat(), "title": tr("Ready by forecast: {batch}", batch=named)})
    return found


def _ratio(
    batch: RackBatch | None, state: State, weighed_on: date, sell_on: date | None, today: date
) -> tuple[float, date | None]:
    """By how much a bar's weight falls from its weighing to the sale, at worst, and the day of sale.

    By the curve's lower end; without a curve all the water that is left may go. 1 where nobody says what is still to come.
    """
    outlook = None if batch is None else _outlook(batch, state, today)
    if batch is None:
        return 1.0, sell_on
    if outlook is None:
        return 1.0, sell_on or batch.racked.sell_on
    sale = sell_on or _day_of(batch, batch.first_age + outlook.sale_day)
    if sale <= weighed_on:
        return 1.0, sale
    if outlook.drying is None:
        lowest = outlook.at_sale.low if outlook.at_sale else None
        last_g = batch.weighings[-1].bar_g if batch.weighings else None
        water = batch.water_fraction or 0.0
        return (min(lowest / last_g, 1.0) if lowest and last_g else 1.0 - water), sale
    days = [float((day - batch.cut_on).days - batch.first_age) for day in (weighed_on, sale)]
    then, later = (outlook.drying.masses_g(max(day, 0.0)) for day in days)
    falls = sorted(after / before for before, after in zip(then, later, strict=True))
    return min(falls[math.floor(0.05 * len(falls))], 1.0), sale
