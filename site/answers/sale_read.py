"""What the pages from the rack to the customer read: blocks with their release, packed lots, and the facts that checks are held against."""

import math
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from answers.racks_read import racks_of
from answers.state import State
from answers.tasks.label import fall_of, market_of
from calc.cure.net_quantity import allowed, sample_of
from calc.cure.rack import RackBatch, Racks
from calc.entry.language import all_of, tr
from calc.entry.problems import InputProblems
from calc.entry.shown import bar_weight, calendar_day
from calc.record.packed import Packed, packed
from calc.record.release import Found, Release, left_to_pack, releases
from calc.scent.batch import cured_g
from calc.scent.carried import CarriedScent, taken_fraction
from calc.stock.bars import counted_bars
from calc.workshop.selling import ReleaseChecks
from calc.workshop.shop import Shop

# Of these nothing is to be decided: nothing was made yet, or it is no soap for sale.
NOT_YET = ("issued", "weighing", "poured")


@dataclass(frozen=True)
class SaleBlock:
    """One block as selling sees it. bars: the good ones, as counted; None where nobody has."""

    id: str
    code: str
    block: int
    soap: str
    state: str
    bars: int | None
    release: Release
    packed: int
    apart: str | None = None  # why it was set apart at the scale
    in_store: int | None = None  # as reckoned, less what was thrown or counted off; None where no log tells its bars

    @property
    def chosen(self) -> str:
        """How lists and addresses name it, "CODE:N"."""
        return f"{self.code}:{self.block}"

    @property
    def left(self) -> int:
        """Released bars that are in no packed lot yet."""
        last = self.release.last
        if last is None or last.kind != "released":
            return 0
        return left_to_pack(last.bars or 0, self.release.kept, self.packed, self.in_store)

    @property
    def over(self) -> int:
        """Bars that are packed or kept as samples beyond those there are for it, as when two phones pack the same; 0 where none are."""
        last = self.release.last
        released = last.bars if last is not None and last.kind == "released" else self.bars
        return 0 if released is None else max(self.packed + self.release.kept - released, -(self.in_store or 0), 0)


@dataclass(frozen=True)
class Sale:
    """All blocks that the page has handed over, by "CODE/N", and the packed lots of their bars."""

    blocks: Mapping[str, SaleBlock]
    packed: Packed
    racks: Racks

    def find(self, chosen: str | None) -> SaleBlock | None:
        """The block that a list names, "CODE:N"."""
        return self.blocks.get("/".join((chosen or "").rsplit(":", 1)))


def sale_of(state: State, today: date) -> Sale:
    """What can be decided on, packed and sent."""
    sold, decided, on_racks = packed(state.packed_events, today), releases(state.release_events, today), racks_of(state, today)
    left = {store.id: store.left for store in counted_bars(state.log_entries, (*state.packed_events, *state.release_events), state.stock)}
    apart = {f"{sheet.get('code')}/{n}": str(told["apart"]) for sheet in state.sheets for n, told in (sheet.get("closed") or {}).items() if told.get("apart")}
    found: dict[str, SaleBlock] = {}
    for entry in state.log_entries:
        for part in entry.get("parts") or ():
            code, number = str(entry.get("code")), int(part["n"])
            soap, bars = str(entry.get("formulaName") or code), part.get("bars")
            block = _block(code, number, soap, str(part.get("state")), bars, decided, sold, on_racks)
            found[block.id] = replace(block, in_store=left.get(block.id), apart=apart.get(block.id))
    for batch in on_racks.batches:
        id_ = f"{batch.code}/{batch.block}"
        # The invented workshop's own are on its racks and in no log.
        if id_ not in found:
            found[id_] = _block(batch.code, batch.block, batch.soap, "cured" if batch.ready_on else "curing", None, decided, sold, on_racks)
    return Sale(found, sold, on_racks)


def _block(
    code: str, number: int, soap: str, state: str, bars: int | None, decided: Mapping[str, Release], sold: Packed, on_racks: Racks
) -> SaleBlock:
    racked = on_racks.find(f"{code}:{number}")
    counted = bars if bars is not None else (racked.racked.bars or None) if racked else None
    release = decided.get(f"{code}/{number}", Release())
    last = release.last
    return SaleBlock(f"{code}/{number}", code, number, soap, last.kind if last else state, counted, release, sold.bars_of(code, number))


def asked_of(state: State) -> ReleaseChecks:
    """The checks that the workshop has set; none where it has set none, or nobody can read them."""
    with suppress(InputProblems):
        found = state.read_all("release_checks", ReleaseChecks)
        return found[0] if found else ReleaseChecks()
    return ReleaseChecks()


def facts_of(block: SaleBlock, sale: Sale, state: State, look: str | None, today: date) -> dict[str, Found]:
    """What the app knows of a block, by check, each with where it is from."""
    batch = sale.racks.find(f"{block.code}:{block.block}")
    sheet = next((each for each in state.sheets if each.get("code") == block.code), None)
    found = {"superfat": _superfat(sheet, block.block), "scent": _scent(sheet, _shop(state))}
    if batch is not None:
        found |= {"free_caustic": _tested(batch, "free_caustic"), "moisture": _tested(batch, "moisture"), "loss": _loss(batch), "weight": _weight(batch, state, today)}
    if look is not None:
        found["look"] = Found(holds=look == "yes", source=tr("whoever decides says so"))
    elif block.release.last and (said := next((check for check in block.release.last.checks if check["key"] == "look" and check["state"] != "unknown"), None)):
        found["look"] = Found(holds=said["state"] == "passed", source=str(said.get("source", "")))
    return found


def _shop(state: State) -> Shop | None:
    with suppress(InputProblems):
        return state.shop()
    return None


def _tested(batch: RackBatch, method: str) -> Found:
    tests = [test for test in batch.tests if test.method == method]
    if not tests:
        return Found(source=tr("no test is kept"))
    last = tests[-1]
    return Found(value=last.fraction, source=tr("test of {day}, {person}", day=calendar_day(last.day), person=last.person))


def _loss(batch: RackBatch) -> Found:
    if len(batch.weighings) < 2:
        return Found(source=tr("fewer than two weighings"))
    first, last = batch.weighings[0], batch.weighings[-1]
    day = batch.cut_on + timedelta(days=batch.first_age + round(last.day))
    return Found(value=1.0 - last.bar_g / first.bar_g, source=tr("sample bars, weighed last on {day}", day=calendar_day(day)))


def _superfat(sheet: Mapping[str, Any] | None, block: int) -> Found:
    told = ((sheet or {}).get("closed") or {}).get(str(block)) or {}
    if told.get("stale"):
        return Found(source=tr("a reading was put right since: close the block again"))
    low = (told.get("superfat") or {}).get("low")
    if low is None:
        return Found(source=tr("no record of its weighing here"))
    return Found(value=float(low), source=tr("the block's record, as weighed"))


def _scent(sheet: Mapping[str, Any] | None, shop: Shop | None) -> Found:
    """By the limits that were frozen with the sheet, its own scent's less what set-aside soap uses up of it."""
    if sheet is None:
        return Found(source=tr("its sheet isn't on this device"))
    scent, old = sheet.get("scent"), (sheet.get("set_aside") or {}).get("lots") or ()
    brought = [(float(lot["taken_g"]), CarriedScent.of_record(each)) for lot in old for each in lot.get("scents") or ()]
    if any(each.unknown for _, each in brought):
        return Found(source=tr("how much is safe of what set-aside soap brought isn't known"))
    if scent is None:
        return _brought(brought, cured_g(float(sheet["batter_g"]), shop)) if brought else Found(holds=True, source=tr("no scent in it"))
    if scent.get("prohibited"):
        return Found(holds=False, source=tr("its sheet: prohibited"))
    limit = scent.get("limit")
    if scent.get("unknown"):
        return Found(source=tr("its sheet: how much is safe isn't known"))
    if limit is None:
        return Found(holds=True, source=tr("its sheet: no known rule limits it"))
    load, most = float(scent["load_fraction"]), float(limit["load_fraction"])
    return Found(value=load, holds=load <= most, limit=most, source=tr("its sheet, because of {what}", what=str(limit["what"])))


def _brought(brought: Sequence[tuple[float, CarriedScent]], cured: float) -> Found:
    """Scent that soap alone brought, several of them as one mix: each uses up a part of the bar's room. cured: bars of one block [g]."""
    in_bar = [each.in_bar(soap_g, cured) for soap_g, each in brought]
    names = all_of(list(dict.fromkeys(each.name for each in in_bar)))
    taken = taken_fraction(in_bar)
    if taken == 0.0:
        return Found(holds=True, source=tr("set-aside soap brought {names}: no known rule limits it", names=names))
    load = math.fsum(each.load_fraction for each in in_bar if each.limit_fraction)
    return Found(value=load, holds=taken <= 1.0, limit=load / taken, source=tr("set-aside soap brought {names}", names=names))


def _weight(batch: RackBatch, state: State, today: date) -> Found:
    """The label against what may be printed: from the average and the lightest of bars weighed one by one."""
    label_g = batch.racked.label_g
    if label_g is None:
        return Found(source=tr("nobody has said what the label says"))
    if not batch.singles:
        return Found(source=tr("no bars weighed one by one"))
    bars = batch.singles[-1]
    try:
        sample = sample_of(bars.weights_g)
        fall = fall_of(batch, state, bars.day, None, today)
        limit = allowed(sample, fall.ratio, market_of(state), "g").limit
    except InputProblems as refused:
        return Found(holds=False, source=refused.problems[0].message)
    said = tr(
        "label {label}; average {mean}, lightest {least}; at most {most} may be printed", label=bar_weight(label_g, state.units), mean=bar_weight(sample.mean_g, state.units),
        least=bar_weight(min(bars.weights_g), state.units), most=bar_weight(limit.label_g, state.units),
    )  # fmt: skip
    return Found(holds=label_g <= limit.label_g + 1e-9, source=said)
