"""What a bar cost, from what was weighed and counted; beside it what the same batch was to cost by its sheet.

What came out of a tank costs what its lots cost when they were put in, each by its share: there everything is stirred.
Materials of which no price is told are named, never guessed. Soap set aside costs nothing again: its own batch has paid for it.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from itertools import groupby
from typing import Any

from calc.entry.counting import summed, total
from calc.entry.shown import decimal_of
from calc.stock.bars import NOT_FOR_SALE
from calc.stock.ledger import LOADED, Account
from calc.stock.told import Used
from calc.stock.value import NOTHING, Cost, Values
from calc.tanks.fold import Part

# What nobody buys, or has paid for before.
FREE = ("water", "soap")
SECONDS_PER_HOUR = 3600


@dataclass(frozen=True)
class PourCost:
    """One pour of one block: what it cost, and what its sheet's amount would have at the same price."""

    used: Used
    name: str
    cost: Cost
    planned: Cost


@dataclass(frozen=True)
class Rates:
    """What else goes into a bar's cost, where the shop says so: an hour's work, the power of a block, packaging of a bar."""

    hour: Decimal | None = None
    block_power: Decimal | None = None
    bar_packaging: Decimal | None = None


@dataclass(frozen=True)
class BatchCost:
    """A batch whose bars are counted. materials, planned_materials: of all its blocks; hours: None where the shop counts no work.

    unpriced: the names of the pours of which some has no price.
    """

    code: str
    soap: str
    bars: int
    planned_bars: int | None
    materials: Cost
    planned_materials: Cost
    unpriced: tuple[str, ...]
    hours: Decimal | None
    labor: Decimal | None
    power: Decimal | None
    packaging: Decimal | None
    pours: tuple[PourCost, ...] = ()

    @property
    def beside(self) -> Decimal:
        """Work and power of the whole batch."""
        return (self.labor or NOTHING) + (self.power or NOTHING)

    @property
    def bar(self) -> Decimal | None:
        """What one good bar cost; None without one."""
        return None if self.bars <= 0 else (self.materials.money + self.beside) / self.bars + (self.packaging or NOTHING)

    @property
    def planned_bar(self) -> Decimal | None:
        """What it was to cost by the sheet: its amounts and bars, at the same prices, work and power."""
        if not self.planned_bars:
            return None
        return (self.planned_materials.money + self.beside) / self.planned_bars + (self.packaging or NOTHING)


def tank_prices(accounts: Mapping[str, Account], found: Values) -> dict[str, Cost]:
    """By lot what a gram of it cost that was put into tanks."""
    prices: dict[str, Cost] = {}
    for code, account in accounts.items():
        loads = [entry.move for entry in account.entries if entry.move.what == LOADED and (code, entry.move.id) in found.taken]
        amount = summed((move.amount for move in loads), NOTHING)
        if amount > 0:
            prices[code] = summed((found.taken[code, move.id] for move in loads), Cost()).times(1 / amount)
    return prices


def cost_of(used: Used, found: Values, prices: Mapping[str, Cost]) -> Cost:
    """What one pour cost: that off its lots, and that out of a tank."""
    if used.kind in FREE:
        return Cost()
    if not used.moves and not used.parts:
        return Cost(NOTHING, used.grams)
    off_lots = summed((found.taken.get((move.lot, move.id), Cost(NOTHING, move.amount)) for move in used.moves), Cost())
    return summed((part_cost(part, prices) for part in used.parts), off_lots)


def part_cost(part: Part, prices: Mapping[str, Cost]) -> Cost:
    """What so much of a lot cost that went into a tank. prices: by `tank_prices`."""
    grams = decimal_of(part.grams)
    if part.lot is None:
        # Water has neither lot nor oil; an oil that nobody named the lot of has a price that nobody knows.
        return Cost(NOTHING, grams) if part.oil or part.alkali else Cost()
    price = prices.get(part.lot)
    return Cost(NOTHING, grams) if price is None else price.times(grams)


def batch_cost(
    told: Mapping[str, Any], entry: Mapping[str, Any], uses: Iterable[Used], found: Values, prices: Mapping[str, Cost], rates: Rates
) -> BatchCost | None:
    """One batch; None while a poured block of it is not cut and counted.

    told: its `blocks`, each with its `n` and events; `planned`. What went into bars that were rejected or go into another batch
    is spent all the same: the bars for sale bear it. A block that was given up before the cutter bears neither goods nor work.
    """
    parts = [part for part in entry.get("parts") or () if part.get("state") not in ("issued", "ended", "apart")]
    if not parts or any(part.get("bars") is None for part in parts):
        return None
    blocks = {int(part["n"]): 0 if part.get("state") in NOT_FOR_SALE else int(part["bars"]) for part in parts}
    rows = {(int(block["n"]), str(row["pour"])): row for block in told.get("blocks") or () for row in block.get("amounts") or ()}
    own = [used for used in uses if used.code == entry["code"] and used.block in blocks]
    # A pour out of two lots is two of them, and was planned once.
    whole: dict[tuple[int, str], Decimal] = {}
    for used in own:
        whole[used.block, used.pour] = whole.get((used.block, used.pour), NOTHING) + used.grams
    pours = []
    for used in own:
        cost = cost_of(used, found, prices)
        row = rows.get((used.block, used.pour))
        all_g = whole[used.block, used.pour]
        planned = cost if row is None or all_g <= 0 else cost.times(decimal_of(float(row["planned_g"])) / all_g)
        pours.append(PourCost(used, str(row["name"]) if row else used.pour, cost, planned))
    if not pours:
        return None
    hours = None if rates.hour is None else _hours([block.get("events") or () for block in told.get("blocks") or () if int(block["n"]) in blocks])
    each = told.get("planned_bars")
    return BatchCost(
        str(entry["code"]), str(entry.get("formulaName") or entry["code"]), total(blocks.values()), None if not each else int(each) * len(blocks),
        summed((pour.cost for pour in pours), Cost()), summed((pour.planned for pour in pours), Cost()),
        tuple(dict.fromkeys(pour.name for pour in pours if pour.cost.unpriced > 0)), hours, None if hours is None or rates.hour is None else hours * rates.hour,
        None if rates.block_power is None else rates.block_power * len(blocks), rates.bar_packaging, tuple(pours),
    )  # fmt: skip


def _hours(blocks: Iterable[Sequence[Mapping[str, Any]]]) -> Decimal:
    """By the clock, each hour once however many blocks were in hand: of each day from the first deed to the pour, and from lifting
    to the rack. The time in the mold and the night are nobody's work."""
    at_work = sorted(span for events in blocks for begins, ends in ((None, "closed"), ("lifted", "racked")) for span in _days(events, begins, ends))
    seconds, until = 0.0, datetime.min
    for first, last in at_work:
        seconds += max((last - max(first, until)).total_seconds(), 0.0)
        until = max(until, last)
    return decimal_of(seconds) / SECONDS_PER_HOUR


def _days(events: Sequence[Mapping[str, Any]], begins: str | None, ends: str) -> Iterator[tuple[datetime, datetime]]:
    """Of each day the first and the last deed, from one kind of deed (None: whichever is the first) to the first of another."""
    with suppress(StopIteration, ValueError):
        last = next(_local(event) for event in events if event.get("kind") == ends)
        first = min(_local(event) for event in events if begins in (None, event.get("kind")))
        deeds = sorted(at for event in events if first <= (at := _local(event)) <= last)
        for _, of_day in groupby(deeds, key=datetime.date):
            told = list(of_day)
            yield told[0], told[-1]


def _local(event: Mapping[str, Any]) -> datetime:
    return datetime.fromisoformat(str(event.get("local"))[:19])
