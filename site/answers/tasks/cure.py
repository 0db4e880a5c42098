"""The cure rack: what lies where, how a batch dries, and its tests."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from answers import cure_drawings
from answers.racks_read import (
    about_batch,
    batch_of,
    day_on,
    not_to_come,
    outlook_of,
    racks_of,
    read_with_who,
    recorded,
    today_of,
)
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State
from calc.batch.size import bar_size_mm
from calc.cure.declared import Move, Racked, SoapTest, Weighing
from calc.cure.drying import FEWEST
from calc.cure.forecast import LONGEST, Outlook
from calc.cure.net_quantity import OZ_G, sample_of
from calc.cure.rack import GroupWeighed, RackBatch, Racks, result_of
from calc.cure.soap_tests import FreeAlkali
from calc.cure.trays import bars_per_tray, free_places, trays_needed
from calc.entry.language import ntr, tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import bar_weight, calendar_day
from calc.formula.sheet import formula_sheet
from calc.record.set_aside import water_fraction
from calc.tables.reference import constant
from calc.workshop.equipment import Cutter, Rack

# Of a long list, so many batches get their curve drawn at once; the page of each has its own.
CURVES_LISTED = 10
# And so many that came off the racks last stay in sight.
OFF_LISTED = 20
POINTS = 36


@dataclass(frozen=True)
class Row:
    """One batch in the list: where it lies, what it weighs, what is to be done."""

    batch: RackBatch
    mark: str
    age: int
    due: bool
    outlook: Outlook


def cure_rack(request: Request) -> Answer:
    """Every batch on the racks with its next deed, then the racks as they stand."""
    today = today_of(request)
    found = racks_of(request.state, today)
    rows = []
    for number, batch in enumerate(found.on_racks):
        outlook = outlook_of(batch, request.state, today, curve=number < CURVES_LISTED)
        rows.append(Row(batch, _mark(number), batch.age(today), batch.is_due(today), outlook))
    waiting = [sheet for sheet in _waiting(request.state, found) if sheet["blocks"]]
    html = render(
        "cure_rack.html",
        rows=rows,
        racks=_racks_drawn(request.state, found, rows),
        waiting=waiting,
        off=found.off_racks[:OFF_LISTED],
        unread=found.unread,
        today=today,
        day_of=day_on,
        units=request.state.units,
    )
    return Answer({"cure_rack": html})


def cure_batch(request: Request) -> Answer:
    """One batch: how it dries and when it is ready; and its next weighing, once there is one to keep."""
    reading = read_with_who(Weighing, request)
    today = today_of(request)
    found = racks_of(request.state, today)
    batch = batch_of(found, reading.value.batch)
    record = None
    if request.check:
        not_to_come("weighed_on", reading.value.weighed_on, today)
        counted = _weighing_values(reading.value, batch, request.state, today)
        record = about_batch(
            request,
            "cure_weighed",
            batch,
            counted,
            _days_then(reading.value, int(counted["bars"]), batch, request.state, today),
        )
    outlook = outlook_of(batch, request.state, today)
    water = batch.water_fraction
    html = render(
        "cure_batch.html",
        batch=batch,
        outlook=outlook,
        rack=_rack(request.state, batch.rack),
        age=batch.age(today),
        due=batch.is_due(today),
        curve=_curve(batch, outlook, request.state.units),
        singles=_singles(batch),
        reminders=_reminders(batch, outlook, today),
        day_of=day_on,
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
    reading = read_with_who(Racked, request)
    values, state, today = reading.value, request.state, today_of(request)
    found = racks_of(state, today)
    not_to_come("cut_on", values.cut_on, today)
    _not_before_cut("sell_on", values.sell_on or today, values.cut_on or today)
    subject = f"cure:{values.code}/{values.block}"
    if any(batch.subject == subject and batch.rack for batch in found.on_racks):
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
        record = recorded(request, "cure_racked", subject, {"soap": soap, "water": water, "places": list(places)})
    html = render(
        "cure_racked.html", values=values, soap=soap, water=water, rack=rack, per_tray=per_tray, needed=needed, places=places,
        units=state.units,
    )  # fmt: skip
    return Answer({"cure_racked": html}, reading.cautions, record)


def cure_test(request: Request) -> Answer:
    """What a test of the soap found, and what its method means."""
    reading = read_with_who(SoapTest, request)
    values, today = reading.value, today_of(request)
    batch = batch_of(racks_of(request.state, today), values.batch)
    not_to_come("tested_on", values.tested_on, today)
    try:
        result = result_of(values)
    except ValueError as refused:
        message = tr("The sample weighs more than before the oven.")
        raise InputProblems(Problem("dried_g", "gained", message, tr("Check both weighings."))) from refused
    if isinstance(result, FreeAlkali) and abs(result.fraction) > 1.0:
        message = tr("That is more alkali than the sample weighs.")
        raise InputProblems(
            Problem(
                "sample_g",
                "more-than-sample",
                message,
                tr("Check the milliliters, the moles per liter and the sample."),
            )
        )
    moisture = [test.fraction for test in batch.tests if test.method == "moisture"]
    html = render(
        "cure_test.html", batch=batch, values=values, result=result, is_alkali=isinstance(result, FreeAlkali),
        moisture=moisture[-1] if moisture else None, units=request.state.units,
    )  # fmt: skip
    record = about_batch(request, "cure_tested", batch, {}) if request.check else None
    return Answer({"cure_test": html}, reading.cautions, record)


def cure_move(request: Request) -> Answer:
    """A batch that changes its rack, or leaves it."""
    reading = read_with_who(Move, request)
    values, state, today = reading.value, request.state, today_of(request)
    found = racks_of(state, today)
    batch = batch_of(found, values.batch)
    rack: Rack | None = None
    places: tuple[int, ...] = ()
    if values.to == "rack":
        rack = state.read_item("rack", Rack, values.rack, "rack", "rack")
        places = _places(found, values.rack, rack, values.trays or len(batch.places) or batch.trays, batch)
    html = render(
        "cure_move.html", batch=batch, rack=rack, places=places, outlook=outlook_of(batch, state, today), age=batch.age(today),
        day_of=day_on, today=today, units=state.units,
    )  # fmt: skip
    record = None
    if request.check:
        kind = "cure_moved" if values.to == "rack" else "cure_ready"
        record = about_batch(request, kind, batch, {}, {"places": list(places)} if values.to == "rack" else {})
    return Answer({"cure_move": html}, reading.cautions, record)


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
            rack.shelves, rack.trays_per_shelf, {place: marks[batch.id] for place, batch in taken.items()}, said
        )
        drawn.append({"said": said, "picture": picture, "freed": _freed(found, entry.id, state)})
    return drawn


def _freed(found: Racks, rack: str, state: State) -> list[tuple[date, int]]:
    """The days on which trays come free, and how many: of batches whose day is known."""
    days: dict[date, int] = {}
    for number, batch in enumerate(found.on_racks):
        ready = (
            outlook_of(batch, state, batch.cut_on, curve=number < CURVES_LISTED).ready.band
            if batch.rack == rack
            else None
        )
        if ready:
            day = day_on(batch, ready.middle)
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
    bar_mm = _bar_mm(values, state)
    if rack is None or bar_mm is None:
        return None
    gap_mm = constant("drying_gap").value if rack.gap_mm is None else rack.gap_mm
    found = bars_per_tray((rack.tray_length_mm, rack.tray_width_mm), bar_mm, values.stands == "yes", gap_mm)
    if found == 0 and values.cutter is None:
        return None
    if found == 0:
        message = tr("A bar of this cutter doesn't fit on a tray of {rack}.", rack=rack.name)
        raise InputProblems(Problem("cutter", "bar-too-large", message, tr("Choose another rack or cutter.")))
    return found


def _bar_mm(values: Racked, state: State) -> tuple[float, float, float] | None:
    """A bar's size [mm] by the cutter that is named, else as its issued sheet planned it; None where neither tells."""
    if values.cutter is not None:
        return bar_size_mm(state.read_item("cutter", Cutter, values.cutter, "cutter", "cutter"))
    sheet = next((each for each in state.sheets if each.get("code") == values.code), None)
    planned = None if sheet is None else sheet.get("planned")
    if not isinstance(planned, Mapping):
        return None
    length_mm, width_mm, height_mm = planned["bar_mm"]
    return length_mm, width_mm, height_mm


def _places(
    found: Racks, id_: str | None, rack: Rack | None, needed: int | None, batch: RackBatch | None
) -> tuple[int, ...]:
    """The first free places for so many trays; a problem where the rack has too few."""
    if id_ is None or rack is None or needed is None:
        return ()
    free = free_places(rack.places, found.taken(id_, but=batch))
    if len(free) < needed:
        message = tr(
            "{rack} has {free} trays free, {needed} are needed.", rack=rack.name, free=len(free), needed=needed
        )
        raise InputProblems(Problem("rack", "rack-full", message, tr("Choose another rack, or take a batch off it.")))
    return free[:needed]


def _weighing_values(values: Weighing, batch: RackBatch, state: State, today: date) -> Mapping[str, str]:
    """What the form left open, as it is stored."""
    if values.total_g is None:
        message = tr("What the bars weigh together is missing.")
        raise InputProblems(Problem("total_g", "missing", message, tr("Type what the scale shows.")))
    _not_before_cut("weighed_on", values.weighed_on or today, batch.cut_on)
    bars = values.bars or (batch.weighed[-1].bars if batch.weighed else int(constant("cure_group_usual").value))
    if batch.racked.bars and bars > batch.racked.bars:
        message = ntr("This batch has {number} bar.", "This batch has {number} bars.", batch.racked.bars)
        raise InputProblems(Problem("bars", "more-than-batch", message, tr("Correct how many lie on the scale.")))
    low_g, high_g = batch.likely_g
    if not low_g <= values.total_g / bars <= high_g:
        raise InputProblems(_slip(values.total_g / bars, batch, state.units))
    return {"bars": str(bars)}


def _slip(bar_g: float, batch: RackBatch, units: str) -> Problem:
    one = bar_weight(bar_g, units)
    if not batch.weighings:
        message, remedy = (
            tr("That makes {weight} a bar.", weight=one),
            tr("Correct the weight, its unit, or how many bars lie on the scale."),
        )
    else:
        message = tr(
            "That makes {weight} a bar; the first weighing was {first}.",
            weight=one,
            first=bar_weight(batch.weighings[0].bar_g, units),
        )
        remedy = tr(
            "Correct the weight, its unit, or how many bars lie on the scale. If the first weighing was wrong, take it back first."
        )
    return Problem("total_g", "no-such-bar", message, remedy)


def _not_before_cut(field: str, day: date, cut_on: date) -> None:
    if day < cut_on:
        raise InputProblems(
            Problem(field, "before-cut", tr("That is before the bars were cut."), tr("Correct the day."))
        )


def _days_then(values: Weighing, bars: int, batch: RackBatch, state: State, today: date) -> Mapping[str, str]:
    """What this weighing brings: the day of the next one, and when the batch is then ready. Today tells both with no calculation."""
    if values.total_g is None:
        return {}
    told = GroupWeighed("", values.weighed_on or today, "", bars, values.total_g, values.scale)
    then = replace(batch, weighed=[*batch.weighed, told])
    outlook = outlook_of(then, state, today)
    days = {"next_on": day_on(then, then.next_weighing).isoformat()}
    if outlook.ready.band:
        days["ready_on"] = day_on(then, outlook.ready.band.middle).isoformat()
    return days


def _curve(batch: RackBatch, outlook: Outlook, units: str) -> Any:
    if outlook.drying is None or outlook.at_sale is None:
        return None
    last = max(outlook.sale_day, outlook.drying.last.day) * 1.05
    # Closer together at first, where a bar loses most.
    days = [last * (step / POINTS) ** 2 for step in range(POINTS + 1)]
    bands = [(day, outlook.drying.on(day)) for day in days]
    sale = day_on(batch, batch.first_age + outlook.sale_day)
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


def _reminders(batch: RackBatch, outlook: Outlook, today: date) -> list[dict[str, str]]:
    """Days for a calendar file: the next weighing, and when the batch is ready."""
    named = f"{batch.soap}, {batch.code} / {batch.block}"
    next_day = max(day_on(batch, batch.next_weighing), today)
    found = [{"day": next_day.isoformat(), "title": tr("Weigh the sample bars: {batch}", batch=named)}]
    if outlook.ready.band:
        ready = day_on(batch, outlook.ready.band.middle)
        if ready >= today:
            found.append({"day": ready.isoformat(), "title": tr("Ready by forecast: {batch}", batch=named)})
    return found
