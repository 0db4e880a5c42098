"""What of a day the workshop and its records tell: the blocks of the form, those still in their molds, who and what is there."""

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from answers.state import State
from answers.tasks.batch import setting_of
from calc.batch.order import BatchOrder
from calc.batch.sheet import batch_sheet
from calc.cure.trays import bars_per_tray, trays_needed
from calc.day.declared import MOST_BLOCKS, BlockRow, DayQuestion
from calc.day.durations import Deed, durations, minute_of, moments
from calc.day.plan import OVER, Make, Out
from calc.entry.fields import control_of
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.formula.declaration import Formula
from calc.tables.reference import constant
from calc.workshop.equipment import Mould, Rack, Vessel
from calc.workshop.lots import AlkaliLot
from calc.workshop.people import Person

SHEET, FORMULA = "sheet:", "formula:"
HOUR_MIN, DAY_MIN = 60, 24 * 60
# Nobody unmolds by the plan so long after the time: such a block was never told of again.
LONG_OVER_DAYS = 3


@dataclass(frozen=True)
class DayRead:
    """All that the plan is made of. inside: molds in use by kind, blocks that are begun and not poured included."""

    makes: tuple[Make, ...]
    outs: tuple[Out, ...]
    people: tuple[str, ...]
    inside: Mapping[str, int]
    notes: tuple[str, ...]
    codes: Mapping[str, str] = field(default_factory=dict)  # by mark, which block of which batch

    def subject(self, mark: str) -> str:
        """What the events of a block are about; "" of one that no sheet is issued for."""
        return next((each.subject for each in self.blocks if each.mark == mark), "")

    @property
    def blocks(self) -> tuple[Make | Out, ...]:
        return (*self.makes, *self.outs)


@dataclass(frozen=True)
class _Block:
    """One block of an issued sheet, with its events in order."""

    sheet: Mapping[str, Any]
    number: int
    events: tuple[Deed, ...]

    @property
    def name(self) -> str:
        return f"{self.sheet['code']} / {self.number}"

    @property
    def subject(self) -> str:
        return f"block:{self.sheet['code']}/{self.number}"

    @property
    def mould(self) -> str:
        return str((self.sheet.get("mould") or {}).get("name") or "")

    def closed_on(self) -> str | None:
        """The day its record was closed, or it was ended; None where it is open."""
        return next((str(event.get("local"))[:10] for event in self.events if event.get("kind") in OVER), None)

    def poured(self) -> bool:
        return any(event.get("kind") == "closed" and event.get("outcome") == "poured" for event in self.events)


def read_day(question: DayQuestion, values: Mapping[str, str], state: State, now: int | None) -> DayRead:
    """The blocks of the day; raises InputProblems for rows that mean nothing. now: minute of the day, None on another day."""
    blocks = [block for sheet in state.made for block in _blocks(sheet)]
    history = [(_soap(block.sheet), block.events) for block in blocks]
    people = _people(question, state)
    makes: list[Make] = []
    notes: list[str] = []
    codes: dict[str, str] = {}
    taken: set[str] = set()
    own = {row.what.removeprefix(SHEET) for row in question.blocks if row.what.startswith(SHEET)}
    faults: list[Problem] = []
    for n, row in enumerate(question.blocks):
        try:
            for make, block in _makes(row, n, question, state, blocks, history, taken, own, now, notes):
                mark = str(len(makes) + 1)
                makes.append(Make(mark, *make))
                if block is not None:
                    codes[mark] = block.name
        except InputProblems as found:
            faults += [Problem(control_of(DayQuestion, values, each.field), each.code, each.message, each.remedy) for each in found.problems]
    if len(makes) > MOST_BLOCKS:
        message = tr("{n} blocks are more than a plan holds.", n=len(makes))
        faults.append(Problem("blocks", "too-many-blocks", message, tr("Plan at most {most} for one day.", most=MOST_BLOCKS)))
    if faults:
        raise InputProblems(*faults)
    outs: list[Out] = []
    for block in _to_unmould(question, blocks):
        mark = chr(ord("A") + len(outs)) if len(outs) < 26 else f"A{len(outs)}"
        outs.append(_out(block, mark, question.on, history, state))
        codes[mark] = block.name
    return DayRead(tuple(makes), tuple(outs), people, _inside(blocks, question.on), tuple(dict.fromkeys(notes)), codes)


def _blocks(sheet: Mapping[str, Any]) -> Iterator[_Block]:
    told = sheet.get("told") or {}
    for number in range(1, int(sheet.get("blocks") or 1) + 1):
        events = told.get(str(number)) or ()
        yield _Block(sheet, number, tuple(event for event in events if isinstance(event, Mapping)))


def _soap(sheet: Mapping[str, Any]) -> str:
    return str((sheet.get("formula") or {}).get("name") or sheet.get("code") or "")


def _people(question: DayQuestion, state: State) -> tuple[str, ...]:
    """Who is there; those whom a row names first. Where more hands are there than names, the rest are numbered."""
    names = {entry.id: state.read_item("person", Person, entry.id, "people", "person").name for entry in state.stored("person")}
    wanted = [names[row.who] for row in question.blocks if row.who in names]
    order = list(dict.fromkeys([*wanted, *names.values()]))
    count = question.hands or len(order) or 1
    count = max(count, len(set(wanted)))
    return tuple([*order, *(f"+{n}" for n in range(1, count + 1))][:count])


def _makes(
    row: BlockRow, n: int, question: DayQuestion, state: State, blocks: Sequence[_Block], history: Sequence[tuple[str, Sequence[Deed]]],
    taken: set[str], own: set[str], now: int | None, notes: list[str],
) -> Iterator[tuple[tuple[Any, ...], _Block | None]]:  # fmt: skip
    who = None if row.who is None else state.read_item("person", Person, row.who, f"blocks.{n}.who", "person").name
    not_before = 0 if row.start_at is None else row.start_at.hour * HOUR_MIN + row.start_at.minute
    if row.what.startswith(SHEET):
        code = row.what.removeprefix(SHEET)
        left = [block for block in blocks if block.sheet["code"] == code and block.subject not in taken and _may_be_made(block, question.on, now)]
        if not any(block.sheet["code"] == code for block in blocks):
            message = tr("This batch sheet isn't among the newest on this device.")
            raise InputProblems(Problem(f"blocks.{n}.what", "to-make-missing", message, tr("Choose another one.")))
        if len(left) < (row.blocks or 1):
            message = tr("{code} has {n} blocks left to make.", code=code, n=len(left))
            raise InputProblems(Problem(f"blocks.{n}.blocks", "too-few-left", message, tr("Plan that many at most.")))
        for block in left[: row.blocks or 1]:
            taken.add(block.subject)
            vessel = str((block.sheet.get("vessel") or {}).get("name") or "")
            rests = int(block.sheet.get("rests") or 0) // 60
            yield (
                _soap(block.sheet), durations(history, _soap(block.sheet)), vessel, block.mould, who, not_before, block.subject, rests,
                _lye_of(block.sheet), block.events if now is not None else (), str((block.sheet.get("formula") or {}).get("id") or ""), _blend_of(block.sheet),
            ), block  # fmt: skip
        return
    _, formula = state.formula(row.what.removeprefix(FORMULA), f"blocks.{n}.what")
    mould, vessel, lye, blend_g = _planned(row, n, formula, state, notes)
    rests = (state.habits().unmould_hours or round(constant("unmould_usual").value)) * HOUR_MIN
    begun = [
        block for block in blocks
        if now is not None and (block.sheet.get("formula") or {}).get("id") == row.what.removeprefix(FORMULA)
        and block.sheet.get("day") == question.on.isoformat() and block.sheet["code"] not in own and block.subject not in taken
    ]  # fmt: skip
    for k in range(row.blocks or 1):
        own_block = begun[k] if k < len(begun) else None
        if own_block is not None:
            taken.add(own_block.subject)
        yield (
            formula.name, durations(history, formula.name), vessel, mould, who, not_before, "" if own_block is None else own_block.subject,
            rests, lye, () if own_block is None else own_block.events, row.what.removeprefix(FORMULA), blend_g,
        ), own_block  # fmt: skip


def _may_be_made(block: _Block, on: date, now: int | None) -> bool:
    """Whether it is still open on that day; one begun earlier is made on the day it was begun."""
    closed = block.closed_on()
    if now is None:
        return closed is None and "began" not in moments(block.events)
    return closed is None or closed >= on.isoformat()


def _planned(row: BlockRow, n: int, formula: Formula, state: State, notes: list[str]) -> tuple[str | None, str, dict[str, float] | None, float]:
    """The mold, the vessel, the lye and the blend of a block that no sheet is issued for, as the batch sheet would have them."""
    mould_id = row.mould or next((entry.id for entry in state.stored("mould")), None)
    vessel_id = next((entry.id for entry in state.stored("vessel")), None)
    mould = None if mould_id is None else state.read_item("mould", Mould, mould_id, f"blocks.{n}.mould", "mold").name
    vessel = "" if vessel_id is None else state.read_item("vessel", Vessel, vessel_id, "", "vessel").name
    with suppress(InputProblems, ArithmeticError):
        lots = {}
        for alkali in ("naoh", "koh"):
            of_alkali = [entry for entry in state.stored("alkali_lot") if entry.values.get("alkali") == alkali]
            premixed = [entry for entry in of_alkali if state.read_item("alkali_lot", AlkaliLot, entry.id, "", "alkali lot").form == "premixed"]
            lots[alkali] = next((entry.id for entry in (*premixed, *of_alkali)), None)
        wanted = {"naoh": ("naoh",), "koh": ("koh",)}.get(formula.alkali, ("naoh", "koh"))
        order = BatchOrder(
            formula=row.what.removeprefix(FORMULA), mould=mould_id or "", scale_to="blocks", blocks=1, vessel=vessel_id or "",
            naoh_lot=lots["naoh"] if "naoh" in wanted else None, koh_lot=lots["koh"] if "koh" in wanted else None,
        )  # fmt: skip
        _, setting = setting_of(order, state)
        sheet = batch_sheet(order, setting)
        pours = [{"kind": pour.kind, "phase": pour.phase, "lot": pour.lot, "target_g": pour.target_g} for pour in sheet.pours]
        return mould, vessel, by_lot(pours), blend_in(pours) if sheet.oil_blend is not None else 0.0
    notes.append(tr("{formula}: no batch sheet can be made from it yet, so what it takes from tanks isn’t counted.", formula=formula.name))
    return mould, vessel, None, 0.0


def _lye_of(sheet: Mapping[str, Any]) -> dict[str, float] | None:
    """Premixed lye of one block by its issued sheet [g], by lot; None where the sheet doesn't tell it so that it can be read."""
    with suppress(AttributeError, KeyError, TypeError, ValueError):
        return by_lot(sheet["pours"])
    return None


def _blend_of(sheet: Mapping[str, Any]) -> float:
    """What one block of an issued sheet takes out of a tank of oils [g]; nothing where its oils don't come blended, or it can't be read."""
    with suppress(AttributeError, KeyError, TypeError, ValueError):
        return blend_in(sheet["pours"]) if sheet.get("blended") else 0.0
    return 0.0


def blend_in(pours: Sequence[Mapping[str, Any]]) -> float:
    """All oils of the vessel together [g]. KeyError, TypeError, ValueError where pours can't be read."""
    return math.fsum(float(pour["target_g"]) for pour in pours if pour["kind"] == "oil" and pour["phase"] == "vessel")


def by_lot(pours: Sequence[Mapping[str, Any]]) -> dict[str, float]:
    """Premixed lye by the lot that pours name [g]; "" of one without. KeyError, TypeError, ValueError where they can't be read."""
    found: dict[str, float] = {}
    for pour in pours:
        if pour["kind"] == "alkali" and pour["phase"] == "vessel":
            lot = str(pour.get("lot") or "")
            found[lot] = math.fsum((found.get(lot, 0.0), float(pour["target_g"])))
    return found


def _to_unmould(question: DayQuestion, blocks: Sequence[_Block]) -> list[_Block]:
    """The poured blocks whose time in the mold ends on that day at the latest, and those that are on their way to the rack."""
    if question.earlier == "no":
        return []
    found = []
    for block in blocks:
        due = _due(block, question.on)
        at = {name: minute_of(question.on, when) for name, when in moments(block.events).items()}
        if due is None or any(event.get("kind") == "ended" for event in block.events):
            continue
        lately = max(at.get("lifted", due), due) >= -LONG_OVER_DAYS * DAY_MIN
        if due < DAY_MIN and lately and not ("rack" in at and at["rack"] < 0):
            found.append((due, block))
    return [block for _, block in sorted(found, key=lambda pair: (pair[0], pair[1].name))]


def _due(block: _Block, on: date) -> int | None:
    """When it may come out of its mold [minute of the day]; None of a block that isn't poured, or is told nothing of afterwards."""
    due = (block.sheet.get("due") or {}).get(str(block.number))
    if not due or not block.poured():
        return None
    with suppress(ValueError):
        return round((datetime.fromisoformat(str(due)[:16]) - datetime(on.year, on.month, on.day)).total_seconds() / 60.0)
    return None


def _out(block: _Block, mark: str, on: date, history: Sequence[tuple[str, Sequence[Deed]]], state: State) -> Out:
    soap = _soap(block.sheet)
    return Out(
        mark, soap, durations(history, soap), max(_due(block, on) or 0, 0), block.mould, block.subject, _trays(block.sheet, state), block.events
    )


def _trays(sheet: Mapping[str, Any], state: State) -> int | None:
    """Trays for the bars of one block, as the first rack has them; None where bars or trays aren't known."""
    racks = state.stored("rack")
    with suppress(InputProblems, KeyError, TypeError, ValueError):
        bars = sheet["planned"]
        rack = state.read_item("rack", Rack, racks[0].id, "", "rack") if racks else None
        if rack is None or not bars:
            return None
        gap_mm = constant("drying_gap").value if rack.gap_mm is None else rack.gap_mm
        length, width, height = (float(each) for each in bars["bar_mm"])
        per_tray = bars_per_tray((rack.tray_length_mm, rack.tray_width_mm), (length, width, height), True, gap_mm)
        return trays_needed(int(bars["total"]), per_tray) if per_tray else None
    return None


def _inside(blocks: Sequence[_Block], on: date) -> dict[str, int]:
    """How many molds of each kind hold a block: begun, or poured and not lifted yet, and not given up."""
    found: dict[str, int] = {}
    for block in blocks:
        at = moments(block.events)
        over = any(event.get("kind") == "ended" or event.get("outcome") == "quarantined" for event in block.events)
        due = _due(block, on)
        forgotten = block.closed_on() is not None and (due is None or due < -LONG_OVER_DAYS * DAY_MIN)
        if "began" in at and "lifted" not in at and not over and not forgotten:
            found[block.mould] = found.get(block.mould, 0) + 1
    return found
