"""Packed lots as their events leave them: of which blocks, how many bars, what of it was sent where and came back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import NamedTuple

from calc.entry.counting import total
from calc.record.told import Event, day_of_event, in_order
from calc.stock.bars import taken_back

BEGINS = "packed:"
TAKEN_BACK = "packed_taken_back"


class Part(NamedTuple):
    """So many bars of one block."""

    code: str
    block: int
    bars: int

    @property
    def block_id(self) -> str:
        """How lists and addresses name the block: "CODE/N"."""
        return f"{self.code}/{self.block}"


@dataclass(frozen=True)
class Moved:
    """Bars that went to an outlet, or came back from it: then `bars` is below zero."""

    id: str
    outlet: str
    name: str
    bars: int
    day: date
    person: str
    reason: str


@dataclass
class PackedLot:
    """One packed lot."""

    id: str
    event: str
    code: str
    parts: tuple[Part, ...]
    day: date
    person: str
    moves: list[Moved] = field(default_factory=list)
    packaging: tuple[str, ...] = ()  # the codes of the lots of boxes and wraps round its bars
    unpacked_by: str = ""  # who took the packing back though bars of it were sent; it stands

    @property
    def bars(self) -> int:
        """All that were packed."""
        return total(part.bars for part in self.parts)

    @property
    def out(self) -> dict[str, int]:
        """By outlet, the bars that are there or were sold there; none where all came back."""
        return {outlet: bars for outlet, (bars, _) in self._moved().items() if bars}

    @property
    def back_twice(self) -> dict[str, int]:
        """By outlet, how many more came back than were there, as where two phones record one return: of these none was out."""
        return {outlet: over for outlet, (_, over) in self._moved().items() if over}

    def _moved(self) -> dict[str, tuple[int, int]]:
        found: dict[str, tuple[int, int]] = {}
        for move in self.moves:
            bars, over = found.get(move.outlet, (0, 0))
            left = bars + move.bars
            found[move.outlet] = (max(left, 0), over + max(-left, 0))
        return found

    @property
    def in_store(self) -> int:
        """What has not left the workshop; below zero where two phones sent the same bars."""
        return self.bars - total(self.out.values())

    @property
    def names(self) -> dict[str, str]:
        """What each outlet was called when bars went there last."""
        return {move.outlet: move.name for move in self.moves}

    def of_block(self, code: str, block: int) -> int:
        """The bars of one block in it."""
        return total(part.bars for part in self.parts if (part.code, part.block) == (code, block))

    def days_to(self, outlet: str) -> tuple[date, ...]:
        """On which days bars went there."""
        return tuple(dict.fromkeys(move.day for move in self.moves if move.outlet == outlet and move.bars > 0))


@dataclass(frozen=True)
class Packed:
    """Every packed lot, the newest first; and how many entries could not be read."""

    lots: tuple[PackedLot, ...]
    unread: int

    def find(self, id_: str | None) -> PackedLot | None:
        """The lot of that id."""
        return next((lot for lot in self.lots if lot.id == id_), None)

    def named(self, code: str) -> tuple[PackedLot, ...]:
        """Those of that code: more than one where two phones gave it at once."""
        return tuple(lot for lot in self.lots if lot.code.casefold() == code.casefold())

    def wrapped_in(self, code: str) -> tuple[PackedLot, ...]:
        """Those that a lot of packaging went round."""
        return tuple(lot for lot in self.lots if code in lot.packaging)

    def bars_of(self, code: str, block: int) -> int:
        """How many bars of a block are packed in all."""
        return total(lot.of_block(code, block) for lot in self.lots)

    def holding(self, blocks: Mapping[str, object] | set[str]) -> tuple[PackedLot, ...]:
        """Those with at least one bar of these blocks, "CODE/N"."""
        return tuple(lot for lot in self.lots if any(part.block_id in blocks for part in lot.parts))


def packed(events: Sequence[Event], today: date) -> Packed:
    """What the events come to, in whatever order they come in."""
    found: dict[str, PackedLot] = {}
    unread = 0
    gone = taken_back(events)
    unpacked = {str(event.get("takes")): str(event.get("person") or "") for event in events if event.get("kind") == TAKEN_BACK}
    for event in in_order(events):
        if event.get("kind") == TAKEN_BACK or str(event.get("id")) in gone:
            continue
        id_ = str(event.get("subject")).removeprefix(BEGINS)
        try:
            if event["kind"] == "packed":
                found[id_] = replace(_packed(id_, event, today), unpacked_by=unpacked.get(str(event["id"]), ""))
            elif event["kind"] in ("sent", "came_back"):
                found[id_].moves.append(_moved(event, today))
        except (KeyError, OverflowError, TypeError, ValueError):
            unread += 1
    return Packed(tuple(sorted(found.values(), key=lambda lot: (lot.day, lot.code), reverse=True)), unread)


def _packed(id_: str, event: Event, today: date) -> PackedLot:
    parts = tuple(Part(str(part["code"]), int(part["block"]), int(part["bars"])) for part in event["parts"])
    return PackedLot(id_, str(event["id"]), str(event["code"]), parts, day_of_event(event, today), str(event["person"]), packaging=tuple(str(row["lot"]) for row in event.get("packaging") or ()))


def _moved(event: Event, today: date) -> Moved:
    sign = 1 if event["kind"] == "sent" else -1
    outlet = str(event["outlet"])
    return Moved(
        str(event["id"]), outlet, str(event.get("outlet_name") or outlet), sign * int(event["bars"]), day_of_event(event, today),
        str(event["person"]), str(event.get("reason") or ""),
    )  # fmt: skip


def next_code(batch: str, taken: Sequence[str]) -> str:
    """The first free code of a packed lot of that batch: QM-261125-1-P1."""
    known = {code.casefold() for code in taken}
    number = 1
    while f"{batch}-P{number}".casefold() in known:
        number += 1
    return f"{batch}-P{number}"
