"""Boxes, wraps and labels, in pieces: what came, went round packed bars, was thrown or counted off, and is left of each lot.

Which lots went round the bars of a packed lot, and how many pieces, its own event says: those in use when it was packed.
"""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from calc.entry.shown import decimal_of
from calc.stock.told import BEGINS
from calc.workshop.lots import PackagingLot

KIND = "packaging_lot"


@dataclass(frozen=True)
class Pieces:
    """One lot. off: by counts, below zero where more were found; left: None while nobody has told how many came, nor counted."""

    id: str
    lot: PackagingLot
    received: int | None
    used: int
    thrown: int
    off: int
    left: int | None

    @property
    def each(self) -> Decimal | None:
        """What one piece cost; None where the price or the number was not told."""
        return None if self.lot.price is None or not self.lot.received_n else decimal_of(self.lot.price) / self.lot.received_n


def in_use(lots: Iterable[PackagingLot]) -> list[PackagingLot]:
    """Those that go round bars now."""
    return [lot for lot in lots if lot.in_use == "yes" and lot.status in (None, "accepted")]


def taken(lots: Iterable[PackagingLot], bars: int) -> list[dict[str, Any]]:
    """What so many bars take of each lot in use, as the packed lot keeps it: a box that isn't full is a box."""
    return [{"lot": lot.code, "n": -(-bars // (lot.bars or 1))} for lot in in_use(lots)]


def accounts(lots: Sequence[tuple[str, PackagingLot]], packed: Sequence[Mapping[str, Any]], told: Sequence[Mapping[str, Any]]) -> list[Pieces]:
    """The account of each lot. lots: with their ids; packed: packed lots; told: counts and what was thrown."""
    gone = {str(event.get("takes")) for event in (*packed, *told) if str(event.get("kind")).endswith("_taken_back")}
    events = {str(event.get("id")): event for event in (*packed, *told) if str(event.get("id")) not in gone}
    return [_account(id_, lot, events) for id_, lot in lots]


def _account(id_: str, lot: PackagingLot, events: Mapping[str, Mapping[str, Any]]) -> Pieces:
    moves = []
    for event_id, event in events.items():
        # What can't be read keeps nothing else from counting.
        with suppress(AttributeError, LookupError, TypeError, ValueError):
            for n in _of(event, id_, lot.code):
                moves.append((str(event.get("local") or ""), event_id, str(event["kind"]), n))
    received, left, sums = lot.received_n, lot.received_n, {"packed": 0, "stock_thrown": 0, "stock_counted": 0}
    for _, _, kind, n in sorted(moves):
        if kind == "stock_counted" and left is None:
            # Of a delivery that nobody told, the first count is where its account begins.
            received, left = n + sums["packed"] + sums["stock_thrown"], n
            continue
        by = (left or 0) - n if kind == "stock_counted" else n
        sums[kind] += by
        left = None if left is None else left - by
    return Pieces(id_, lot, received, sums["packed"], sums["stock_thrown"], sums["stock_counted"], left)


def _of(event: Mapping[str, Any], id_: str, code: str) -> list[int]:
    """How many pieces of a lot an event tells of."""
    if event.get("kind") == "packed":
        return [int(row["n"]) for row in event.get("packaging") or () if row["lot"] == code]
    counted = event.get("kind") in ("stock_counted", "stock_thrown") and event.get("subject") == f"{BEGINS}{KIND}/{id_}"
    return [int(event["pieces"])] if counted else []
