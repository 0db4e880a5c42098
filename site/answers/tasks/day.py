"""A day laid out: who works which block when, what is in the way, and what to be reminded of."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from answers import day_drawings
from answers.day_read import DayRead, read_day
from answers.day_tanks import Tank, heated_tanks, leads, on_hand, warm_from
from answers.rendering import render
from answers.request import Answer, Request
from answers.state import State
from answers.tasks.tank_heat import lasting
from calc.cure.rack import racks
from calc.cure.trays import free_places
from calc.day.conflicts import too_long, trays_short, waits
from calc.day.declared import DayQuestion, Planner
from calc.day.durations import STEP_MIN, Duration, durations
from calc.day.plan import HOIST, MIXER, VESSEL, Make, Out, floor_of, jobs
from calc.day.schedule import BAR, CHANGE, CUTTER, Bound, Floor, Job, Placed, Schedule, schedule, why
from calc.entry.fields import read
from calc.entry.language import later, tr
from calc.entry.problems import InputProblems, Problem
from calc.tables.reference import constant
from calc.workshop.equipment import Rack

# The letter that marks a stage in the picture is its word's first: no two of them may begin alike, in any language.
STAGE_WORDS = {
    "weigh": later("weigh"), "mix": later("mix"), "pour": later("pour"), "unmould": later("unmold"), "loaves": later("loaves"),
    "change": later("change the frame"), "bars": later("bars"), "rack": later("rack"),
}  # fmt: skip


@dataclass(frozen=True)
class Line:
    """One block as the page tells it. earlier: the order in which it is begun one place sooner; "" where that means nothing."""

    mark: str
    soap: str
    code: str
    placed: tuple[Placed, ...]
    out_at: datetime | None
    due: bool
    bound: Bound | None
    earlier: str


def day(request: Request) -> Answer:
    """The plan of a day; with its entries for Today, once it is to be kept."""
    reading = read(DayQuestion, request.values)
    question, state = reading.value, request.state
    now = _now(request, question.on)
    found = read_day(question, request.values, state, now)
    asked = [made.mark for made in found.makes] + [out.mark for out in found.outs]
    order = _order(question, asked)
    heated = leads(question, request, found.makes)
    warm = warm_from(question, heated, found.makes, now)
    makes = [replace(make, not_before=max(make.not_before, warm)) for make in found.makes]
    planned = jobs(makes, found.outs, question.on, now)
    floor = _floor(question, found, state, now)
    best = schedule(planned.waiting, floor, planned.done, order)
    fits = best is not None
    soonest = schedule(planned.waiting, floor, planned.done) if order else best
    assert soonest is not None  # where none is fixed there is always one
    best = best or soonest
    counted = heated_tanks(question, heated, found.makes, best, now)
    tanks = [tank for tank in counted if tank.is_told]
    stock = on_hand(question, request, found.makes, best)
    lines = _lines(found, best, floor, question.on, warm)
    entries = _entries(found, lines, tanks, question.on)
    shown = {
        "on": question.on, "at": lambda minute: _local(question.on, minute), "question": question, "found": found, "best": best, "lines": lines,
        "tanks": tanks, "entries": entries, "now": now, "fits": fits, "by_hand": bool(order) and fits, "soonest": soonest,
        "waits": waits(best, floor), "stock": stock, "short": [each for each in stock if each.short], "counted": counted, "shown_stages": {part.stage for line in lines for each in line.placed for part, _, _ in each.stages()} - {CHANGE},
        "faulty": [tank for tank in counted if tank.lead.fault or tank.never],
        "finite": math.isfinite, "lasting": lasting,
        "trays": trays_short(_to_rack(found.outs, best), _free_trays(state, question.on)), "late": _late(planned.waiting, planned.done, floor, best, question),
        "durations": _durations(found), "picture": _picture(found, lines, best, tanks, question.on, now, state.units),
        "reminders": _reminders(entries), "vessel": VESSEL, "stage_words": STAGE_WORDS, "units": state.units, "numbered": [name for name in found.people if name.startswith("+")], "step": STEP_MIN, "least": int(constant("own_blocks_least").value),
    }  # fmt: skip
    record = None
    if request.check:
        if not found.makes and not found.outs:
            raise InputProblems(Problem("blocks", "no-blocks", tr("Nothing is planned yet."), tr("Add a block.")))
        record = _record(request, question.on, entries)
    filling = {str(fill.get("tank")) for fill in state.fills}
    being_filled = [entry for entry in state.stored("tank") if entry.id in filling]
    return Answer({"day": render("day.html", **shown, being_filled=being_filled)}, reading.cautions, record)


def _now(request: Request, on: date) -> int | None:
    """The minute of the day; None where the plan is of another one."""
    try:
        now = datetime.fromisoformat(request.now[:16])
    except (TypeError, ValueError) as unreadable:
        message = tr("This device doesn't say what day it is.")
        raise InputProblems(Problem("", "no-date", message, tr("Set its date and time."))) from unreadable
    return now.hour * 60 + now.minute if now.date() == on else None


def _minute(at: time) -> int:
    return at.hour * 60 + at.minute


def _order(question: DayQuestion, marks: Sequence[str]) -> list[str]:
    """The marks of the order fixed by hand; what it doesn't name comes when it suits. A mark of no block is passed over."""
    typed = (question.order or "").replace(",", " ").upper().split()
    return list(dict.fromkeys(mark for mark in typed if mark in marks))


def _floor(question: DayQuestion, found: DayRead, state: State, now: int | None) -> Floor:
    counts = {MIXER: question.mixers or 1, HOIST: question.hoists or 1, CUTTER: question.cutters or 1}
    start = _minute(question.starts_at)
    if now is not None:
        # Nobody begins anything earlier than now.
        start = max(start, -(-now // STEP_MIN) * STEP_MIN)
    kinds = {each.mould for each in found.blocks if each.mould}
    moulds: dict[str, tuple[int, ...]] = {}
    if question.moulds is not None:
        moulds = {kind: (start,) * max(0, question.moulds - found.inside.get(kind, 0)) for kind in sorted(kinds)}
    change = durations([], "")["change"].minutes if not found.outs else found.outs[0].durations["change"].minutes
    vessels = dict.fromkeys(make.vessel for make in found.makes)
    return floor_of(found.people, list(vessels), counts, moulds, start, change)


def _lines(found: DayRead, best: Schedule, floor: Floor, on: date, warm: int) -> list[Line]:
    blocks = found.blocks
    first = {each.mark: best.of(each.mark) for each in blocks}
    order = [mark for mark, placed in sorted(first.items(), key=lambda pair: min(each.start for each in pair[1])) if placed]
    waiting = [mark for mark in order if not any(each.done for each in first[mark])]
    lines = []
    for block in sorted(blocks, key=lambda block: order.index(block.mark)):
        placed = tuple(sorted(first[block.mark], key=lambda each: each.start))
        ahead = waiting.index(block.mark) if block.mark in waiting else 0
        sooner = [*waiting[: ahead - 1], block.mark, waiting[ahead - 1], *waiting[ahead + 1 :]] if ahead else []
        out_at = _local(on, placed[-1].end + block.rests) if isinstance(block, Make) else None
        bound = None if placed[0].done else why(best, placed[0], floor)
        if bound is not None and bound.kind == "due" and isinstance(block, Make) and placed[0].start == warm:
            bound = Bound("tanks")
        lines.append(Line(block.mark, block.soap, found.codes.get(block.mark, ""), placed, out_at, isinstance(block, Out), bound, " ".join(sooner)))
    return lines


def _local(on: date, minute: int) -> datetime:
    return datetime(on.year, on.month, on.day) + timedelta(minutes=minute)


def _entries(found: DayRead, lines: Sequence[Line], tanks: Sequence[Tank], on: date) -> list[dict[str, Any]]:
    """What Today tells and the phone reminds of: by instant, with the block it is about."""
    told: list[tuple[int, dict[str, Any]]] = [(tank.begin, _switch_on(tank)) for tank in tanks if not tank.on]
    for line in lines:
        for each in line.placed:
            if not each.done:
                kind = "bars" if each.job.frame == BAR else "unmould" if line.due else "make"
                told.append((each.start, {"kind": kind, "mark": line.mark, "soap": line.soap, "subject": found.subject(line.mark)}))
    return [{"at": _local(on, minute).isoformat(timespec="minutes"), **entry} for minute, entry in sorted(told, key=lambda pair: pair[0])]


def _switch_on(tank: Tank) -> dict[str, Any]:
    """Of a tank that the workshop has, its name and which it is: where somebody keeps or taps its switch-on, that is told instead."""
    entry = {"mark": "", "subject": ""}
    if tank.lead.shown is None:
        return {"kind": "oil_on" if tank.lead.holds == "oils" else "lye_on", "soap": "", **entry}
    return {"kind": "tank_on", "soap": tank.lead.name, "tank": tank.lead.shown.id, **entry}


def _said(entry: Mapping[str, Any]) -> str:
    """An entry as a calendar says it."""
    told = {"mark": entry["mark"], "soap": entry["soap"]}
    if entry["kind"] == "oil_on":
        return tr("Switch on the oil tank")
    if entry["kind"] == "lye_on":
        return tr("Switch on the lye tank")
    if entry["kind"] == "tank_on":
        return tr("Switch on: {tank}", tank=entry["soap"])
    if entry["kind"] == "make":
        return tr("Start block {mark}: {soap}", **told)
    return tr("Cut the bars of block {mark}: {soap}", **told) if entry["kind"] == "bars" else tr("Unmold block {mark}: {soap}", **told)


def _reminders(entries: Sequence[Mapping[str, Any]]) -> list[dict[str, str]]:
    return [{"at": entry["at"], "title": _said(entry)} for entry in entries]


def _to_rack(outs: Sequence[Out], best: Schedule) -> list[Out]:
    """Those whose bars stand on no tray yet."""
    waiting = {each.job.block for each in best.placed if each.job.frame == BAR and not each.done}
    return [out for out in outs if out.mark in waiting]


def _free_trays(state: State, today: date) -> int | None:
    """Trays free on all racks together; None where the workshop has said of no rack."""
    stored = state.stored("rack")
    if not stored:
        return None
    found = racks(state.cure, today)
    free = 0
    for entry in stored:
        rack = state.read_item("rack", Rack, entry.id, "", "rack")
        free += len(free_places(rack.places, found.taken(entry.id)))
    return free


def _late(waiting: Sequence[Job], done: Sequence[Placed], floor: Floor, best: Schedule, question: DayQuestion) -> Any:
    if question.ends_at is None:
        return None
    ends_at = _minute(question.ends_at)
    if best.end <= ends_at:
        return None
    # Only what is made can wait for another day; what is out of its mold is cut.
    makes = [job for job in waiting if job.parts[0].stage == "weigh"]
    ends = {}
    for left_out in makes:
        without = schedule([job for job in waiting if job is not left_out], floor, done)
        if without is not None:
            ends[left_out.block] = without.end
    return too_long(best, ends, ends_at)


def _durations(found: DayRead) -> list[tuple[list[str], list[tuple[str, Duration]]]]:
    """What the stages are counted with: for each formula those that it goes through that day, alike ones together."""
    stages: dict[str, dict[str, Duration]] = {}
    for each in found.blocks:
        gone = ("weigh", "mix", "pour") if isinstance(each, Make) else ("unmould", "loaves", "change", "bars", "rack")
        stages.setdefault(each.soap, {}).update({stage: each.durations[stage] for stage in gone})
    alike: dict[tuple[tuple[str, Duration], ...], list[str]] = {}
    for soap, own in stages.items():
        alike.setdefault(tuple(own.items()), []).append(soap)
    return [(soaps, list(own)) for own, soaps in alike.items()]


def _picture(
    found: DayRead, lines: Sequence[Line], best: Schedule, tanks: Sequence[Tank], on: date, now: int | None, units: str
) -> Any:
    if not lines:
        return None
    rows = [day_drawings.Row(tank.lead.name, (("on", tank.begin, tank.ready, tank.on),)) for tank in tanks]
    for line in lines:
        bars = tuple((part.stage, begin, end, each.done) for each in line.placed for part, begin, end in each.stages())
        rows.append(day_drawings.Row(f"{line.mark}  {line.soap}", bars, rests=line.out_at is not None))
    held = [(begin, end) for each in best.placed for use, begin, end in each.uses() if use == HOIST]
    if held:
        rows.append(day_drawings.Row(tr("Hoist"), tuple(("hoist", begin, end, False) for begin, end in sorted(held))))
    described = tr("The day as a timeline; the table below says the same.")
    letters = {stage: tr(words)[0] for stage, words in STAGE_WORDS.items() if stage != CHANGE}
    return day_drawings.timeline(rows, best.end, now, described, letters, twelve=units == "us")


def _record(request: Request, on: date, entries: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """The plan as it is kept: the form as it was typed, and what Today tells of it."""
    person = read(Planner, request.values).value.person
    typed = {name: text for name, text in request.values.items() if text != "" and name != "person"}
    return {"kind": "day_planned", "subject": f"day:{on.isoformat()}", "fields": {"person": person, "values": typed, "entries": list(entries)}}
