"""One code in, where it went and what was in it out; the list to get bars back by, and lots and samples that run out."""

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import Any

from answers import trace_drawings
from answers.doubles import LOTS
from answers.racks_read import racks_of, today_of
from answers.rendering import render
from answers.request import Answer, Request
from answers.sale_read import SaleBlock, sale_of
from answers.state import State
from calc.entry.fields import read
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.record.packed import packed
from calc.record.release import Sample, releases
from calc.record.sale_forms import TraceQuestion
from calc.record.trace import Kind, Trace, trace
from calc.record.unlogged import with_unlogged
from calc.tables.reference import additives, constant, oils
from calc.workshop.lot_codes import LotCodes, lot_key

PACKAGING = "packaging_lot"


@dataclass(frozen=True)
class Expiring:
    """A lot that is near its expiry, or over it."""

    code: str
    day: date
    over: bool


def traced(request: Request) -> Answer:
    """What a code leads to; without one, what runs out."""
    reading = read(TraceQuestion, request.values)
    values, state, today = reading.value, request.state, today_of(request)
    if values.code is None:
        html = render("trace_start.html", expiring=_expiring(state, today), samples=_samples(state, today), today=today)
        return Answer({"trace": html}, reading.cautions)
    codes = LotCodes(state.lot_saves, {each: [(entry.id, entry.values) for entry in _stored(state, each)] for each in LOTS if each != PACKAGING})
    racked = racks_of(state, today).batches
    logged = with_unlogged(state.every_entry, racked, packed(state.packed_events, today), releases(state.release_events, today))
    entries, contents = [codes.in_entry(entry) for entry in logged], [codes.in_event(event) for event in state.contents]
    found = _meant(values.code, values.kind, state, codes, entries, contents, today)
    kind, key = found[0]
    if kind == "lot" and _is_packaging(key, state, entries, contents):
        kind = "packaging"
    if kind == "packaging" and not packed(state.packed_events, today).wrapped_in(key):
        message = tr("{code} is packaging: which bars it went round isn’t recorded.", code=key)
        raise InputProblems(Problem("code", "packaging-not-traced", message, tr("Trace the packed lots of those days instead.")))
    told = trace(kind, key, entries, contents, state.packed_events, state.release_events, today, state.stock, racked)
    names = _outlet_names(state, told)
    html = render(
        "trace.html",
        trace=told,
        code=values.code,
        title=_title(kind, key, values.code, state, names),
        others=[(each, other, f"{other if each == 'lot' else values.code}") for each, other in found[1:]],
        called=codes.once_called(key) if kind == "lot" else (),
        picture=trace_drawings.ways(told, values.code, names),
        names=names,
        reach=_reach(state),
        lot_words={lot: _lot_words(lot, state) for lot in told.lots},
        table=_table(told, names, _reach(state)),
        today=today,
        shop=next((entry.values.get("name", "") for entry in _stored(state, "shop")), ""),
    )
    return Answer({"trace": html}, reading.cautions)


def _meant(
    code: str, kind: str | None, state: State, codes: LotCodes, entries: Sequence[Mapping[str, Any]], contents: Sequence[Mapping[str, Any]], today: date
) -> list[tuple[Kind, str]]:
    """Everything that the code may mean, the likeliest first. A problem where it means nothing that is known.

    codes: by which the lots of entries and contents are called as they are now.
    """
    wanted = code.strip().casefold()
    batches = [str(entry.get("code")) for entry in entries if str(entry.get("code")).casefold() == wanted]
    known = [lot for entry in entries for lot in _lots_of(entry)]
    known += [str(part.get("lot")) for event in contents for part in event.get("parts") or () if part.get("lot")]
    known += [entry.values.get("code", "") for each in LOTS for entry in _stored(state, each)]
    lots = [*codes.meant(code), *(lot for lot in known if lot_key(lot) == lot_key(code))]
    sold = packed(state.packed_events, today)
    outlets = [entry.id for entry in state.stored("outlet") if wanted in (entry.values.get("name", "").casefold(), entry.id.casefold())]
    outlets += [move.outlet for lot in sold.lots for move in lot.moves if wanted in (move.name.casefold(), move.outlet.casefold())]
    every: list[tuple[Kind, str]] = [
        *(("batch", each) for each in batches),
        *(("packed", lot.id) for lot in sold.lots if wanted in (lot.code.casefold(), lot.id.casefold())),
        *(("lot", each) for each in lots),
        *(("outlet", each) for each in outlets),
    ]
    found = [each for each in dict.fromkeys(every) if kind in (None, each[0])]
    if not found:
        message = tr("No lot, batch, packed lot or outlet is called {code} here.", code=code.strip())
        raise InputProblems(Problem("code", "code-unknown", message, tr("Check the code. What another phone recorded is here once its copy is loaded.")))
    return found


def _is_packaging(code: str, state: State, entries: Sequence[Mapping[str, Any]], contents: Sequence[Mapping[str, Any]]) -> bool:
    """Whether a code is one of packaging, and of nothing that went into soap."""
    bears = {lot_key(entry.values.get("code", "")) for entry in _stored(state, PACKAGING)}
    used = any(lot_key(lot) == lot_key(code) for entry in entries for lot in _lots_of(entry))
    return lot_key(code) in bears and not used and not any(part.get("lot") == code for event in contents for part in event.get("parts") or ())


def _lots_of(entry: Mapping[str, Any]) -> list[str]:
    return [*filter(None, map(str, entry.get("lots") or ())), *(str(row.get("lot")) for row in entry.get("drawn") or () if row.get("lot"))]


def _stored(state: State, kind: str) -> Sequence[Any]:
    with suppress(KeyError):
        return state.stored(kind)
    return ()


def _outlet_names(state: State, told: Trace) -> dict[str, str]:
    """What each outlet is called: as it is now, else as it was when bars went there."""
    names = {move.outlet: move.name for lot in told.packed for move in lot.moves}
    return names | {entry.id: entry.values.get("name", entry.id) for entry in state.stored("outlet")}


def _reach(state: State) -> dict[str, str]:
    return {entry.id: " ".join(entry.values.get("reach", "").split()) for entry in state.stored("outlet")}


def _title(kind: Kind, key: str, code: str, state: State, names: Mapping[str, str]) -> str:
    if kind == "lot":
        return tr("Lot {code}", code=key)
    if kind == "batch":
        return tr("Batch {code}", code=key)
    if kind == "packaging":
        return tr("Packaging {code}", code=key)
    if kind == "packed":
        return tr("Packed lot {code}", code=code.strip() if code.strip() != key else key)
    return names.get(key, code)


def _lot_words(code: str, state: State) -> str:
    """What a lot is of, and whose: as Workshop has it; "" where it has none of that code."""
    for kind in LOTS:
        for entry in _stored(state, kind):
            values = entry.values
            if lot_key(values.get("code", "")) == lot_key(code):
                oil, additive = oils().get(values.get("oil", "")), additives().get(values.get("additive", ""))
                what = values.get("name", "") or (tr(oil.name) if oil else tr(additive.label) if additive else "")
                return ", ".join(part for part in (what, values.get("supplier", "")) if part)
    return ""


def _table(told: Trace, names: Mapping[str, str], reach: Mapping[str, str]) -> str:
    """The rows of the recall list as JSON, its heads first: what is out, what is here, what may belong to it, what went otherwise and why.
    A script makes the file (rules/csv.mjs)."""
    heads = [tr("Where"), tr("How to reach them"), tr("Packed lot"), tr("Batches"), tr("Bars"), tr("Sent on"), tr("Why")]
    rows: list[Sequence[str | int]] = [
        [names.get(each.outlet, each.outlet), reach.get(each.outlet, ""), each.lot.code, _blocks(each.lot), each.bars, " ".join(day.isoformat() for day in each.days), ""]
        for each in told.at_outlets
    ]
    rows += [[tr("In store, packed"), "", lot.code, _blocks(lot), lot.in_store, "", ""] for lot in told.in_store_packed]
    rows += [[tr("In store, not packed"), "", "", each.block.id, "" if each.bars is None else each.bars, "", ""] for each in told.in_store]
    rows += [[tr("In store, not for sale"), "", "", each.block.id, "" if each.bars is None else each.bars, "", ""] for each in told.barred]
    rows += [[tr("Kept as a sample"), sample.place, "", f"{sample.code}/{sample.block}", sample.bars, "", ""] for sample in told.samples]
    unlogged = tr("Not recorded what went in: look at its paper sheet")
    rows += [[unlogged, "", "", each.block.id, "" if each.block.bars is None else each.block.bars, "", ""] for each in told.unlogged]
    words = {"stock_thrown": tr("Thrown or given away"), "stock_counted": tr("Missing at a count"), "released": tr("Left out of the release")}
    rows += [[words[gone.kind], "", "", store.id, gone.bars, gone.day, gone.reason] for store, gone in told.gone]
    return json.dumps([heads, *rows], ensure_ascii=False)


def _blocks(lot: Any) -> str:
    return " ".join(dict.fromkeys(part.block_id for part in lot.parts))


def _expiring(state: State, today: date) -> list[Expiring]:
    """Lots whose expiry is near or over, the first one first."""
    near, found = constant("near_expiry_days_usual").value, []
    for kind in LOTS:
        for entry in _stored(state, kind):
            with suppress(ValueError):
                day = date.fromisoformat(entry.values.get("expires_on", ""))
                if (day - today).days <= near:
                    found.append(Expiring(entry.values.get("code", ""), day, day < today))
    return sorted(found, key=lambda each: (each.day, each.code))


def _samples(state: State, today: date) -> list[tuple[Sample, SaleBlock | None]]:
    """Samples that are still kept, the one to be kept the shortest first."""
    blocks = sale_of(state, today).blocks
    kept = [sample for each in releases(state.release_events, today).values() for sample in each.samples]
    return sorted(((sample, blocks.get(f"{sample.code}/{sample.block}")) for sample in kept), key=lambda each: (each[0].until or date.max, each[0].code))
