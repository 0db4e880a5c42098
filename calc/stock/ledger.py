"""The account of each lot: received = used + into tanks + thrown + counted off + left, after any order of events.

A count sets what is left; the difference stands as counted off (below zero: found). Of a lot whose delivery nobody has told
the first count is where its account begins. More used than there was is a figure below zero, and told.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from calc.entry.counting import summed

RECEIVED, COUNTED, USED, LOADED, THROWN = "received", "counted", "used", "loaded", "thrown"


@dataclass(frozen=True)
class StockLot:
    """A lot as its form stands, or stood when it was taken out of the workshop (`gone`).

    material: what it may stand in for, as "oil:olive". amount: of the delivery [g]. strength: pure hydroxide in alkali [g/g].
    """

    kind: str
    id: str
    code: str
    name: str
    material: str
    amount: Decimal | None = None
    received_on: date | None = None
    price: Decimal | None = None
    expires_on: date | None = None
    opened_on: date | None = None
    status: str = "accepted"
    gone: bool = False
    strength: float = 0.0
    since: str = ""  # the moment from which the delivery is there; sorts as time

    @property
    def usable(self) -> bool:
        """Whether it may go into a batch."""
        return self.status == "accepted" and not self.gone

    def expired(self, today: date) -> bool:
        """Whether its last good day is over."""
        return self.expires_on is not None and self.expires_on < today

    @property
    def each(self) -> Decimal | None:
        """What a gram of it cost; None where the price or the amount was not told."""
        return None if self.price is None or not self.amount else self.price / self.amount


@dataclass(frozen=True)
class Move:
    """One thing told of a lot, by its code. at: sorts as time; id: tells moves of one time apart, and is counted once."""

    at: str
    id: str
    lot: str
    what: str
    amount: Decimal
    about: str = ""
    person: str = ""
    reason: str = ""
    event: str = ""  # that can be taken back

    @property
    def day(self) -> str:
        """As it was written down: "2026-11-25"; "" where nobody knows."""
        return self.at.removeprefix("0")[:10].strip("~")


@dataclass(frozen=True)
class Entry:
    """A move with what was left after it; of a count also by how much that was less than reckoned."""

    move: Move
    left: Decimal | None
    off: Decimal | None = None


@dataclass
class Account:
    """One lot. left: None while nobody has told how much came, nor counted. stated: whether its delivery was told."""

    lot: StockLot
    received: Decimal | None = None
    stated: bool = False
    used: Decimal = Decimal(0)
    loaded: Decimal = Decimal(0)
    thrown: Decimal = Decimal(0)
    off: Decimal = Decimal(0)
    left: Decimal | None = None
    counted: str = ""  # the day it was counted last
    entries: list[Entry] = field(default_factory=list)

    @property
    def by_count(self) -> bool:
        """Whether what is left goes by a count, if only by one of which nobody recorded the day."""
        return any(entry.off is not None for entry in self.entries)

    @property
    def just_counted(self) -> bool:
        """Whether nothing came or went since it was counted."""
        return bool(self.entries) and self.entries[-1].off is not None

    @property
    def finished(self) -> bool:
        """Whether nothing is left of it."""
        return self.left is not None and self.left <= 0


def ledger(lots: Iterable[StockLot], moves: Iterable[Move]) -> dict[str, Account]:
    """The account of each lot by its code. What is told of no lot that is known is left out."""
    accounts = {lot.code: Account(lot) for lot in lots}
    own: dict[str, dict[str, Move]] = {code: {} for code in accounts}
    for move in moves:
        if move.lot in own:
            own[move.lot].setdefault(move.id, move)
    for code, account in accounts.items():
        _reckon(account, sorted(own[code].values(), key=lambda move: (move.at, move.id)))
    return accounts


def _reckon(account: Account, moves: Sequence[Move]) -> None:
    if account.lot.amount is not None:
        account.received, account.stated = account.lot.amount, True
    else:
        first = next((n for n, move in enumerate(moves) if move.what == COUNTED), None)
        if first is not None:
            account.received = moves[first].amount + summed((move.amount for move in moves[:first]), Decimal(0))
    # A delivery is there from its first day on, and from its first count at the latest: nobody counts what has not come. Of one that
    # nobody stated, what came before the first count was there from the beginning.
    counts = (move.at for move in moves if move.what == COUNTED)
    came = Move(min([account.lot.since, *counts]) if account.stated else "", "", account.lot.code, RECEIVED, account.received or Decimal(0))
    left = None if account.received is None else Decimal(0)
    every = list(moves) if account.received is None else sorted([came, *moves], key=lambda move: (move.at, move.id))
    for move in every:
        off = None
        if move.what == COUNTED:
            assert left is not None  # a count always makes a beginning
            off, left = left - move.amount, move.amount
            account.off += off
            account.counted = move.day
        elif move.what == RECEIVED:
            left = None if left is None else left + move.amount
        else:
            left = None if left is None else left - move.amount
            name = {USED: "used", LOADED: "loaded", THROWN: "thrown"}[move.what]
            setattr(account, name, getattr(account, name) + move.amount)
        account.entries.append(Entry(move, left, off))
    account.left = left


def usable_left(accounts: Mapping[str, Account]) -> dict[str, list[Account]]:
    """The accounts of lots that may go into a batch, by material."""
    found: dict[str, list[Account]] = {}
    for account in accounts.values():
        if account.lot.usable:
            found.setdefault(account.lot.material, []).append(account)
    return found
