"""Stock and cost: what to order, what runs out, what a bar cost; and one lot's account, counted or thrown away."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from answers.racks_read import day_of
from answers.rendering import render, together
from answers.request import Answer, Request
from answers.stock_read import Stock, read_ledger, read_stock
from calc.cure.declared import By
from calc.entry.declare import describe
from calc.entry.fields import check, read
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import money, plain_weight
from calc.record.recalls import under_recall
from calc.stock.bars import BARS, Store
from calc.stock.declared import StockEntry
from calc.stock.ledger import Account
from calc.stock.packaging import KIND as PACKAGING
from calc.stock.packaging import Pieces
from calc.stock.told import BEGINS, LOT_KINDS
from calc.stock.value import Cost
from calc.tables.reference import constant
from calc.workshop.lot_codes import lot_key
from calc.workshop.lots import AlkaliLot, OilLot

# The lots of which a sheet asks how much there is.
_SHEETS_ASK: dict[str, type[OilLot | AlkaliLot]] = {"oil_lot": OilLot, "alkali_lot": AlkaliLot}


@dataclass(frozen=True)
class Alarm:
    """A lot that somebody has to do something about, and why: "recalled", "over", "expired", "expires", "lasts", "barred"."""

    account: Account
    why: str
    days: int = 0


def stock(request: Request) -> Answer:
    """All lots, orders, costs and bars in store."""
    found = read_stock(request)
    there = [account for account in found.accounts.values() if not account.lot.gone]
    order = {kind: n for n, kind in enumerate(LOT_KINDS)}
    there.sort(key=lambda account: (order[account.lot.kind], account.lot.name, account.lot.since, account.lot.code))
    recalled = _recalled(found, request)
    html = render(
        "stock.html", found=found, short=[each for each in found.orders if each.short > 0], enough=[each for each in found.orders if each.short <= 0],
        alarms=_alarms(found, there, recalled), lots=[account for account in there if not account.finished], finished=[account for account in there if account.finished],
        worth=sum(found.values.left.values(), Cost()), priced=any(account.lot.price is not None for account in there), units=request.state.units, recalled=recalled, **_words(found, request),
    )  # fmt: skip
    return Answer({"stock": html})


def lots_left(request: Request) -> Answer:
    """What is left of each lot, for pages that ask of a lot how much there is: they hand it back with their own questions.

    differs: whether any of it is another figure than what was typed, by which they have answered so far.
    """
    state = request.state
    left = read_ledger(state, state.oils(), day_of(request.now)).left_g()
    typed = {f"{kind}/{entry.id}": lot.left_g for kind, cls in _SHEETS_ASK.items() for entry, lot in zip(state.stored(kind), state.read_all(kind, cls), strict=True)}
    return Answer({}, record={"lots_left": left, "differs": any(left.get(key) != grams for key, grams in typed.items())})


def stock_entry(request: Request) -> Answer:
    """One lot's account, or a block's bars; and how it stands with what is being written down."""
    reading = read(StockEntry, request.values)
    check(reading.value)
    entry, found = reading.value, read_stock(request)
    store, wrap = _store(found, entry.lot), _wrap(found, entry.lot)
    account = None if store or wrap else _account(found, entry.lot)
    amount: dict[str, Any] = {}
    if account is None and entry.bars is not None:
        amount = {"bars" if store else "pieces": entry.bars}
    elif account is not None and entry.mass_g is not None:
        amount = {"grams": entry.mass_g}
    if request.check and not amount:
        name = "mass_g" if account else "bars"
        raise InputProblems(Problem(name, "missing", tr("How much is still missing."), tr("Type it in, or count first.")))
    about = f"{BARS}{store.code}/{store.block}" if store else f"{account.lot.kind}/{account.lot.id}" if account else f"{PACKAGING}/{entry.lot}"
    subject = BEGINS + about
    record = _recorded(request, f"stock_{entry.what}", subject, {**amount, **({"reason": entry.reason} if entry.reason else {})})
    after: Store | Pieces | Account | None = None
    if amount:
        event = {**record["fields"], "id": "~", "at": "~", "local": request.now, "kind": record["kind"], "subject": subject, "person": ""}
        then = read_stock(request, event)
        after = _store(then, entry.lot) or _wrap(then, entry.lot) or _account(then, entry.lot)
    html = render("stock_entry.html", found=found, store=store, wrap=wrap, account=account, after=after, entry=entry, subject=subject, units=request.state.units, recalled=_recalled(found, request), **_words(found, request))
    return Answer({"stock_entry": html}, reading.cautions, _by(request, record) if request.check else None)


def _words(found: Stock, request: Request) -> dict[str, Any]:
    units, currency = request.state.units, found.shop.currency if found.shop else None

    return {"amount": lambda value: together(plain_weight(float(value), units)), "money": lambda value: together(money(value, currency))}


def _recalled(found: Stock, request: Request) -> frozenset[str]:
    """The codes of lots under recall."""
    keys = under_recall(request.state.after_sale)
    return frozenset(code for code in found.accounts if lot_key(code) in keys)


def _alarms(found: Stock, there: list[Account], recalled: frozenset[str]) -> list[Alarm]:
    """What nobody should find out at the pot, the worst first; finished lots have no alarm."""
    alarms = []
    for account in there:
        lot = account.lot
        if account.left is not None and account.left < 0:
            alarms.append(Alarm(account, "over"))
        if account.finished or lot.code in found.in_tanks:
            continue
        if lot.code in recalled:
            alarms.append(Alarm(account, "recalled"))
        days = None if lot.expires_on is None else (lot.expires_on - found.today).days
        if days is not None and days <= constant("stock_expiry_told_days").value:
            alarms.append(Alarm(account, "expired" if days < 0 else "expires", days))
        if lot.status != "accepted":
            alarms.append(Alarm(account, "barred"))
        lasts = found.lasts_days(account)
        # Another lot of it that goes on from there is no reason to hurry.
        others = any(other is not account and other.lot.material == lot.material and other.lot.usable and not other.finished for other in there)
        if lasts is not None and lasts <= constant("stock_lasts_told_days").value and not others:
            alarms.append(Alarm(account, "lasts", lasts))
    rank = ("recalled", "over", "expired", "lasts", "expires", "barred")
    return sorted(alarms, key=lambda alarm: (rank.index(alarm.why), alarm.days, alarm.account.lot.code))


def _store(found: Stock, id_: str) -> Store | None:
    return next((each for each in found.stores if f"{each.code}:{each.block}" == id_), None)


def _wrap(found: Stock, id_: str) -> Pieces | None:
    return next((each for each in found.packaging if each.id == id_), None)


def _account(found: Stock, id_: str) -> Account:
    account = next((each for each in found.accounts.values() if each.lot.id == id_ and not each.lot.gone), None)
    if account is None:
        raise InputProblems(Problem("lot", "lot-missing", tr("This lot isn't in the workshop."), tr("Choose one from the list.")))
    return account


def _recorded(request: Request, kind: str, subject: str, fields: Mapping[str, Any]) -> dict[str, Any]:
    names = {info.name for info in describe(By)}
    typed = {name: text for name, text in request.values.items() if text != "" and name not in names}
    return {"kind": kind, "subject": subject, "fields": {"values": typed, **fields}}


def _by(request: Request, record: dict[str, Any]) -> dict[str, Any]:
    """The event to store, with who did it."""
    return {**record, "fields": {"person": read(By, request.values).value.person, **record["fields"]}}
