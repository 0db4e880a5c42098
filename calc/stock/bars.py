"""The bars of each block, counted at the cutter: how many are packed, kept as samples, gone otherwise and why, and left in store."""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, NamedTuple

from calc.stock.told import BEGINS

BARS = "bars/"
# Of a block in one of these no bar is for sale; the block that reworked soap goes into has bars of its own.
NOT_FOR_SALE = ("rejected", "reworked", "ended", "apart")


class Gone(NamedTuple):
    """Bars that were thrown or given away, that a count found missing (below zero: found), or that a release left out."""

    kind: str  # "stock_thrown", "stock_counted" or "released"
    bars: int
    day: str
    person: str
    reason: str


@dataclass(frozen=True)
class Store:
    """The bars of one block. off: by counts, below zero where more were found; left: below zero where more went than there were.

    left_out: good at the cutter, and not among those that were released.
    """

    code: str
    soap: str
    block: int
    state: str
    counted: int
    packed: int
    samples: int
    gone: int
    off: int
    left: int
    left_out: int = 0
    told: tuple[Gone, ...] = ()  # of `gone`, `off` and `left_out` each one, in order

    @property
    def id(self) -> str:
        """How lists and addresses name the block."""
        return f"{self.code}/{self.block}"

    @property
    def for_sale(self) -> bool:
        """Whether what is left of it may be sold once it is released."""
        return self.state not in NOT_FOR_SALE


def in_store(entries: Iterable[Mapping[str, Any]], packed: Sequence[Mapping[str, Any]], told: Sequence[Mapping[str, Any]]) -> list[Store]:
    """Every block whose bars were counted and are good. packed: packed lots, releases and samples; told: counts and what was thrown."""
    return [store for store in counted_bars(entries, packed, told) if store.for_sale]


def counted_bars(entries: Iterable[Mapping[str, Any]], packed: Sequence[Mapping[str, Any]], told: Sequence[Mapping[str, Any]]) -> list[Store]:
    """As `in_store`, with the blocks of which no bar is for sale: theirs lie somewhere too."""
    gone = taken_back((*packed, *told))
    events = {str(event.get("id")): event for event in (*packed, *told) if str(event.get("id")) not in gone}
    moves: dict[str, list[tuple[str, str, Mapping[str, Any], int]]] = {}
    for id_, event in events.items():
        # What can't be read keeps nothing else from counting.
        with suppress(AttributeError, LookupError, TypeError, ValueError):
            for about, number in _bars(event):
                moves.setdefault(about, []).append((str(event.get("local") or ""), id_, event, number))
    return [
        _of_block(entry, part, sorted(moves.get(f"{entry['code']}/{part['n']}", ()), key=lambda move: move[:2]))
        for entry in entries
        for part in entry.get("parts") or ()
        if part.get("bars") is not None
    ]


def taken_back(events: Iterable[Mapping[str, Any]]) -> set[str]:
    """The ids of what was taken back, but for the packing of a lot of which bars were sent.

    Who took it back didn't know of that, as on another phone: those bars are out, so the lot stands until they are settled.
    site/static/js/rules/packed.mjs has the same rule.
    """
    told = list(events)
    gone = {str(event.get("takes")) for event in told if str(event.get("kind")).endswith("_taken_back")}
    moved = {event.get("subject") for event in told if event.get("kind") in ("sent", "came_back") and str(event.get("id")) not in gone}
    return gone - {str(event.get("id")) for event in told if event.get("kind") == "packed" and event.get("subject") in moved}


def _of_block(entry: Mapping[str, Any], part: Mapping[str, Any], moves: Sequence[tuple[str, str, Mapping[str, Any], int]]) -> Store:
    left, sums = int(part["bars"]), {"packed": 0, "sample_kept": 0, "stock_thrown": 0, "stock_counted": 0, "released": 0}
    told = []
    for local, _, event, number in moves:
        kind = str(event["kind"])
        by = left - number if kind == "stock_counted" else number
        if kind == "released":
            # All that are for sale, wherever they are; a new release gives back no more than an earlier one left out.
            by = max(left + sums["packed"] + sums["sample_kept"] - number, -sums["released"])
        sums[kind] += by
        left -= by
        if by and kind in ("stock_thrown", "stock_counted", "released"):
            told.append(Gone(kind, by, local[:10], str(event.get("person") or ""), str(event.get("reason") or "")))
    return Store(
        str(entry["code"]), str(entry.get("formulaName") or entry["code"]), int(part["n"]), str(part.get("state")), int(part["bars"]),
        sums["packed"], sums["sample_kept"], sums["stock_thrown"], sums["stock_counted"], left, sums["released"], tuple(told),
    )  # fmt: skip


def _bars(event: Mapping[str, Any]) -> list[tuple[str, int]]:
    """The blocks, "CODE/N", that an event tells of, each with its bars."""
    kind, subject = str(event.get("kind")), str(event.get("subject"))
    if kind == "packed":
        return [(f"{part['code']}/{part['block']}", int(part["bars"])) for part in event.get("parts") or ()]
    if kind == "sample_kept" or (kind == "released" and event.get("bars") is not None):
        return [(subject.partition(":")[2], int(event["bars"]))]
    if kind in ("stock_counted", "stock_thrown") and subject.startswith(BEGINS + BARS) and isinstance(event.get("bars"), int):
        return [(subject.removeprefix(BEGINS + BARS), int(event["bars"]))]
    return []
