"""Stock as a request carries it: lots' accounts, their value, what blocks used, what planned blocks need, what bars cost and are in store."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from answers.racks_read import day_of
from answers.request import Request
from answers.state import UNREADABLE, State, read_once
from answers.usual_sheet import usual_sheet
from calc.batch.pours import ALKALI_NAMES
from calc.batch.sheet import BatchSheet
from calc.day.declared import DayQuestion
from calc.entry.language import tr
from calc.entry.problems import InputProblems
from calc.entry.shown import decimal_of
from calc.scent.material import Part
from calc.stock.bars import Store, in_store
from calc.stock.cost import BatchCost, Rates, batch_cost, part_cost, tank_prices
from calc.stock.ledger import LOADED, USED, Account, Move, ledger
from calc.stock.order import HYDROXIDE, Need, Order, orders
from calc.stock.packaging import KIND as PACKAGING
from calc.stock.packaging import Pieces, in_use
from calc.stock.packaging import accounts as accounts_of
from calc.stock.told import LOT_KINDS, Used, load_moves, lots_told, stock_moves, used
from calc.stock.value import Cost, Values, values
from calc.tables.fragrance import essential_oils
from calc.tables.reference import additives, constant
from calc.tables.rows import Oil
from calc.tanks.fold import Tanks, tanks
from calc.workshop.lot_codes import LotCodes
from calc.workshop.lots import PackagingLot
from calc.workshop.shop import Shop

SHEET, FORMULA = "sheet:", "formula:"


@dataclass(frozen=True)
class Stock:
    """All of it. blocks: how many planned ones `orders` is for; unplanned: formulas of which no sheet can be made."""

    today: date
    accounts: Mapping[str, Account]
    values: Values
    tanks: Tanks
    used: tuple[Used, ...]
    in_tanks: frozenset[str]  # lots that are what a tank holds: how much is left of them, the tank tells
    shop: Shop | None
    unread: int
    blocks: int = 0
    orders: list[Order] = field(default_factory=list)
    unplanned: tuple[str, ...] = ()
    costs: tuple[BatchCost, ...] = ()
    stores: tuple[Store, ...] = ()
    packaging: tuple[Pieces, ...] = ()
    held: Cost = field(default_factory=Cost)  # what the tanks hold, in money

    def lasts_days(self, account: Account) -> int | None:
        """For how many days it lasts as its material was used of late; None where that wasn't, or nobody knows how much is left.

        Of a material that is used for less long than is looked back, the days since its first use count, a week at the least.
        """
        first = (self.today - timedelta(days=int(constant("stock_look_back_days").value))).isoformat()
        alike = [each for each in self.accounts.values() if each.lot.material == account.lot.material]
        uses = [entry.move for each in alike for entry in each.entries if entry.move.what in (USED, LOADED)]
        since = max(first, min((move.day for move in uses), default=first))
        late = [move for move in uses if move.day >= since]
        gone = sum((move.amount for move in late), Decimal(0))
        days = max((self.today - date.fromisoformat(since)).days, int(constant("stock_look_back_least_days").value))
        return None if account.left is None or gone <= 0 else max(int(account.left * days / gone), 0)


@dataclass(frozen=True)
class Ledger:
    """Every lot's account, and what blocks used by it. unread: entries that nobody can read."""

    accounts: Mapping[str, Account]
    tanks: Tanks
    used: tuple[Used, ...]
    unread: int

    @property
    def in_tanks(self) -> frozenset[str]:
        """Lots that are what a tank holds: how much is left of them, the tank tells."""
        return frozenset(tank.as_lot for tank in self.tanks.by_id.values() if tank.as_lot and not tank.empty)

    def left_g(self) -> dict[str, float | None]:
        """What is left of each lot of the workshop by "KIND/ID", nothing where more was used than came; None where nobody can tell."""
        told = {account.lot: None if account.lot.code in self.in_tanks else account.left for account in self.accounts.values() if not account.lot.gone}
        return {f"{lot.kind}/{lot.id}": None if left is None else max(float(left), 0.0) for lot, left in told.items()}


def read_ledger(state: State, oils: Mapping[str, Oil], today: date, *more: Mapping[str, Any]) -> Ledger:
    """The accounts, of lots as saved, what was counted and thrown, loaded into tanks and weighed. more: events that are not stored yet."""
    items = {kind: [(entry.id, entry.values) for entry in state.stored(kind)] for kind in LOT_KINDS}
    told = lots_told(state.lot_saves, items, oils, today)
    codes = LotCodes(state.lot_saves, items)
    contents = [codes.in_event(event) for event in state.contents]
    tares_g = {str(sheet.get("code")): float(sheet["tare_g"]) for sheet in state.sheets if isinstance(sheet.get("tare_g"), (int, float))}
    of_formula = {str(sheet.get("code")): str(sheet.get("formula")) for sheet in state.sheets}
    held = tanks(contents, today, tares_g, of_formula)
    uses, unread = _used(state, codes, held, today)
    by_id = {(lot.kind, lot.id): lot.code for lot in told.lots}
    moves: list[Move] = [*told.counts, *stock_moves((*state.stock, *more), by_id, today), *(move for each in uses for move in each.moves)]
    moves += load_moves(contents, today)
    return Ledger(ledger(told.lots, moves), held, tuple(uses), told.unread + held.unread + unread)


def _used(state: State, codes: LotCodes, held: Tanks, today: date) -> tuple[list[Used], int]:
    """What blocks used, and of how many batches that can't be read: those are looked for one by one, which takes longer the more was drawn."""
    with suppress(*UNREADABLE):
        return list(used([codes.in_entry(entry) for entry in state.stock_log], held, state.sheets, today)), 0
    uses: list[Used] = []
    unread = 0
    for entry in state.stock_log:
        try:
            uses += used([codes.in_entry(entry)], held, state.sheets, today)
        except UNREADABLE:
            unread += 1
    return uses, unread


def read_stock(request: Request, *more: Mapping[str, Any]) -> Stock:
    """Everything of stock. more: events that are not stored yet."""
    state, today = request.state, day_of(request.now)
    oils = state.oils()
    read = read_ledger(state, oils, today, *more)
    accounts, held = read.accounts, read.tanks
    found = values(accounts)
    shop = None
    with suppress(InputProblems):
        shop = state.shop()
    needs, blocks, unplanned = _needs(state, today, oils, held)
    wanted = orders(needs, [account for account in accounts.values() if account.lot.code not in read.in_tanks], _held(held), today)
    prices = tank_prices(accounts, found)
    rates = _rates(shop, state)
    costs = []
    by_code = {str(entry.get("code")): entry for entry in state.stock_log}
    for batch in state.stock_batches:
        with suppress(*UNREADABLE):
            cost = batch_cost(batch, by_code[str(batch["code"])], read.used, found, prices, rates)
            if cost is not None:
                costs.append(cost)
    stores: list[Store] = []
    with suppress(*UNREADABLE):
        stores = in_store(state.every_entry, (*state.packed_events, *state.release_events), (*state.stock, *more))
    wraps = tuple(accounts_of(packaging_lots(state), state.packed_events, (*state.stock, *more)))
    worth = sum((part_cost(part, prices) for tank in held.by_id.values() if tank.left_g > 0.0 for part in tank.parts), Cost())
    return Stock(today, accounts, found, held, read.used, read.in_tanks, shop, read.unread, blocks, wanted, unplanned, tuple(costs), tuple(stores), wraps, worth)


def _held(held: Tanks) -> dict[str, Decimal]:
    """What tanks hold, by material as a need names it; of lye its pure hydroxide."""
    found: dict[str, Decimal] = {}
    for tank in held.by_id.values():
        if tank.alkali is not None and tank.strength is not None:
            key = HYDROXIDE + tank.alkali
            found[key] = found.get(key, Decimal(0)) + decimal_of(max(tank.left_g, 0.0) * tank.strength.fraction)
        elif tank.left_g > 0.0:
            for part in tank.parts:
                if part.oil:
                    key = f"oil:{part.oil}"
                    found[key] = found.get(key, Decimal(0)) + decimal_of(part.grams)
    return found


def packaging_lots(state: State) -> list[tuple[str, PackagingLot]]:
    """Every lot of packaging with its id; one that can't be read is left out."""
    found = []
    for entry in state.stored(PACKAGING):
        with suppress(InputProblems):
            found.append((entry.id, read_once(PackagingLot, entry.values)))
    return found


def _rates(shop: Shop | None, state: State) -> Rates:
    if shop is None:
        return Rates()
    packaging = None
    for lot in in_use(lot for _, lot in packaging_lots(state)):
        if lot.price is not None and lot.received_n:
            packaging = (packaging or Decimal(0)) + decimal_of(lot.price) / lot.received_n / (lot.bars or 1)
    power = None if shop.block_kwh is None or shop.energy_per_kwh is None else decimal_of(shop.block_kwh) * decimal_of(shop.energy_per_kwh)
    return Rates(None if shop.labor_per_hour is None else decimal_of(shop.labor_per_hour), power, packaging)


def _needs(state: State, today: date, oils: Mapping[str, Oil], held: Tanks) -> tuple[list[Need], int, tuple[str, ...]]:
    """What open sheets and the plans of today and later take; how many blocks that is; formulas no sheet can be made of."""
    needs: list[Need] = []
    blocks, unplanned = 0, []
    plans = sorted(_planned(state, today))
    planned = {what.removeprefix(SHEET) for _, what, _ in plans if what.startswith(SHEET)}
    earliest = (today - timedelta(days=int(constant("tank_sheet_days").value))).isoformat()
    for sheet in state.stock_sheets:
        number = int(sheet.get("blocks") or 0) - len(sheet.get("closed") or ())
        if number > 0 and (sheet.get("begun") or str(sheet.get("issued_on")) >= earliest or sheet.get("code") in planned):
            with suppress(*UNREADABLE):
                own = list(_of_sheet(sheet, number, state, oils))
                needs += [*own, *_drawn_already(sheet, number, own, held)]
                blocks += number
    sheets = _Sheets([sheet for sheet in state.stock_sheets if sheet.get("code") not in planned])
    for on, what, number in plans:
        if not what.startswith(FORMULA):
            continue
        id_ = what.removeprefix(FORMULA)
        left = number - sheets.taken(id_, on, number)
        if left <= 0:
            continue
        try:
            needs += _of_formula(usual_sheet(id_, None, None, state), id_, left, state, oils)
            blocks += left
        except (InputProblems, ArithmeticError):
            unplanned.append(next((entry.values.get("name", id_) for entry in state.stored("formula") if entry.id == id_), id_))
    return needs, blocks, tuple(dict.fromkeys(unplanned))


class _Sheets:
    """Blocks of issued sheets, each for one planned block: what sheets take is counted by them, and what is made is made."""

    def __init__(self, sheets: Sequence[Mapping[str, Any]]) -> None:
        self._begun: dict[tuple[str, str], int] = {}
        self._waiting: dict[tuple[str, str], int] = {}
        for sheet in sheets:
            formula, begun = str(sheet.get("formula")), sheet.get("begun")
            begun = begun if isinstance(begun, Mapping) else {}
            for day in begun.values():
                self._begun[formula, str(day)] = self._begun.get((formula, str(day)), 0) + 1
            key = (formula, str(sheet.get("issued_on")))
            self._waiting[key] = self._waiting.get(key, 0) + max(int(sheet.get("blocks") or 0) - len(begun), 0)

    def taken(self, formula: str, on: str, most: int) -> int:
        """How many of a day's blocks are begun on it, or wait on a sheet issued that day or the evening before; none is taken twice."""
        before = (date.fromisoformat(on) - timedelta(days=1)).isoformat()
        found = 0
        for there, day in ((self._begun, on), (self._waiting, before), (self._waiting, on)):
            some = min(there.get((formula, day), 0), most - found)
            if some > 0:
                there[formula, day] -= some
                found += some
        return found


def _planned(state: State, today: date) -> Iterator[tuple[str, str, int]]:
    """The rows of the plans of today and later: the day, what is made, how many blocks."""
    for plan in state.day_plan:
        on, values = str(plan.get("id")), plan.get("values")
        if on < today.isoformat() or not isinstance(values, Mapping):
            continue
        with suppress(InputProblems, ValueError):
            date.fromisoformat(on)
            for row in read_once(DayQuestion, {str(key): str(text) for key, text in values.items()}).blocks:
                yield on, row.what, row.blocks or 1


def _drawn_already(sheet: Mapping[str, Any], blocks: int, needs: Sequence[Need], held: Tanks) -> Iterator[Need]:
    """What begun blocks need no more: it has left its tank. What they weighed off a lot is still counted as left of it."""
    closed = {int(n) for n in sheet.get("closed") or ()}
    drawn: dict[tuple[int, str], Decimal] = {}
    for taken in held.taken:
        if taken.draw.code == sheet["code"] and taken.draw.block not in closed:
            for part in taken.parts:
                key = HYDROXIDE + part.alkali if part.alkali else f"oil:{part.oil}"
                grams = part.grams * (part.hydroxide_fraction if part.alkali else 1.0)
                drawn[taken.draw.block, key] = drawn.get((taken.draw.block, key), Decimal(0)) + decimal_of(grams)
    for material, name in {need.material: need.name for need in needs}.items():
        each = sum((need.grams for need in needs if need.material == material), Decimal(0)) / blocks
        off = sum((min(grams, each) for (_, key), grams in drawn.items() if key == material), Decimal(0))
        if off > 0:
            yield Need(material, name, -off)


def _of_sheet(sheet: Mapping[str, Any], blocks: int, state: State, oils: Mapping[str, Oil]) -> Iterator[Need]:
    alkalis = {str(each["pour"]): each for each in sheet.get("alkalis") or ()}
    for pour in sheet["pours"]:
        grams, key, kind = decimal_of(float(pour["target_g"])) * blocks, str(pour["key"]), pour.get("kind")
        if kind == "oil":
            oil = str(sheet["oils"][int(key.rpartition(":")[2])])
            yield Need(f"oil:{oil}", _oil_name(oil, oils), grams)
        elif kind == "alkali" and key in alkalis:
            yield _hydroxide(str(alkalis[key]["alkali"]), grams * decimal_of(float(alkalis[key]["hydroxide_fraction"])))
        elif kind == "scent":
            yield from _scent(str(sheet.get("formula")), grams, state)
        elif kind == "additive":
            yield from _additive(str(pour.get("additive") or ""), grams, state)


def _of_formula(sheet: BatchSheet, formula: str, blocks: int, state: State, oils: Mapping[str, Oil]) -> Iterator[Need]:
    for pour in sheet.pours:
        grams = decimal_of(pour.target_g) * blocks
        if pour.kind == "oil":
            oil = sheet.oils[int(pour.key.rpartition(":")[2])].key
            yield Need(f"oil:{oil}", _oil_name(oil, oils), grams)
        elif pour.kind == "scent":
            yield from _scent(formula, grams, state)
        elif pour.kind == "additive":
            yield from _additive(pour.additive or "", grams, state)
    for alkali, pure_g in (("naoh", sheet.naoh_g), ("koh", sheet.koh_g)):
        if pure_g > 0.0:
            yield _hydroxide(alkali, decimal_of(pure_g) * blocks)


def _additive(key: str, grams: Decimal, state: State) -> Iterator[Need]:
    """Of what the workshop keeps lots of: who keeps none is told to order none."""
    if key in additives() and any(entry.values.get("additive") == key for entry in state.stored("additive_lot")):
        yield Need(f"additive:{key}", tr(additives()[key].label), grams)


def _oil_name(oil: str, oils: Mapping[str, Oil]) -> str:
    return tr(oils[oil].name) if oil in oils else oil


def _hydroxide(alkali: str, pure_g: Decimal) -> Need:
    return Need(HYDROXIDE + alkali, tr(ALKALI_NAMES[alkali]), pure_g)


def _scent(formula: str, grams: Decimal, state: State) -> Iterator[Need]:
    """Its materials by the recipe as it stands now; of a scent that is gone, nothing."""
    with suppress(InputProblems):
        scent = state.formula(formula, "formula")[1].scent
        for part in state.scent(scent, "scent")[1] if scent else ():
            yield Need(_scent_material(part, state), part.material.name, grams * decimal_of(part.share_fraction))


def _scent_material(part: Part, state: State) -> str:
    """What a part may be poured from: every lot of its essential oil, or of that name."""
    if part.material.oil_key in essential_oils():
        return f"scent:{part.material.oil_key}"
    for entry in state.stored("scent_lot"):
        if part.material.lot and entry.values.get("code") == part.material.lot:
            return f"scent:{entry.values.get('name') or part.material.lot}"
    return f"scent:{part.material.name}"
