"""One step back and one step forward: from a lot to the bars it reached and where they are, and from bars to every lot in them.

Begin at `trace`. Bars of a packed lot can't be told apart: with one block of it all of it counts as reached.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from calc.cure.rack import RackBatch
from calc.entry.counting import total
from calc.record.lots_in import Entry, Event, TracedBlock, blocks_of
from calc.record.packed import Packed, PackedLot, packed
from calc.record.release import Release, Sample, releases
from calc.record.unlogged import Unlogged, with_unlogged, without_lots
from calc.stock.bars import NOT_FOR_SALE, Gone, Store, counted_bars

Kind = Literal["lot", "batch", "packed", "outlet", "packaging"]


@dataclass(frozen=True)
class AtOutlet:
    """Bars of one packed lot at one outlet."""

    outlet: str
    lot: PackedLot
    bars: int
    days: tuple[date, ...]


@dataclass(frozen=True)
class InStore:
    """Bars of one block that are in no packed lot. bars: None where nobody has counted them; account: where all of its bars went."""

    block: TracedBlock
    bars: int | None
    account: Store | None = None


@dataclass(frozen=True)
class Trace:
    """What a code leads to. blocks: all that it is about; `passed` those between it and them, by set-aside soap."""

    kind: Kind
    key: str
    blocks: tuple[TracedBlock, ...]
    lots: Mapping[str, tuple[str, ...]]  # each lot with what brought it: a tank's lye or a tank; "" by itself
    lots_by_block: Mapping[str, tuple[str, ...]]  # "CODE/N" -> of these lots
    packed: tuple[PackedLot, ...]
    at_outlets: tuple[AtOutlet, ...]
    in_store_packed: tuple[PackedLot, ...]
    in_store: tuple[InStore, ...]
    barred: tuple[InStore, ...]  # left of blocks of which no bar is for sale
    accounts: tuple[Store, ...]
    samples: tuple[Sample, ...]
    unread: int
    unlogged: tuple[Unlogged, ...] = ()  # blocks that the code may have to do with, for all that anybody recorded

    @property
    def batches(self) -> tuple[str, ...]:
        """The codes of the batches, the newest first; of bars asked about, also one whose records are elsewhere."""
        packed = [part.code for lot in self.packed for part in lot.parts] if self.kind in ("packed", "outlet", "packaging") else []
        return tuple(dict.fromkeys([*(block.code for block in self.blocks), *packed]))

    @property
    def out_bars(self) -> int:
        """Bars that left the workshop and did not come back."""
        return total(each.bars for each in self.at_outlets)

    @property
    def packed_bars(self) -> int:
        """Packed bars that are still here."""
        return total(lot.in_store for lot in self.in_store_packed)

    @property
    def loose_bars(self) -> int:
        """Bars that are in no packed lot, as far as they were counted."""
        return total(max(each.bars or 0, 0) for each in self.in_store)

    @property
    def gone(self) -> tuple[tuple[Store, Gone], ...]:
        """What was thrown or given away, or counted off, of each block."""
        return tuple((store, gone) for store in self.accounts for gone in store.told)

    @property
    def outlets(self) -> tuple[str, ...]:
        """Where bars are now."""
        return tuple(dict.fromkeys(each.outlet for each in self.at_outlets))

    @property
    def planned(self) -> tuple[TracedBlock, ...]:
        """Blocks of which nothing is weighed yet."""
        return tuple(block for block in self.blocks if block.planned)

    @property
    def empty(self) -> bool:
        """Whether nothing is known under that code."""
        return not self.blocks and not self.packed


def trace(
    kind: Kind, key: str, entries: Sequence[Entry], contents: Sequence[Event], packed_events: Sequence[Event],
    release_events: Sequence[Event], today: date, stock_events: Sequence[Event] = (), racked: Sequence[RackBatch] = (),
) -> Trace:  # fmt: skip
    """What a lot, a batch, a packed lot or an outlet leads to, forward to outlets and back to lots.

    key: the lot's or batch's code, the packed lot's or outlet's id. entries, packed_events, release_events, stock_events: at
    least those of every batch that has to do with it. racked: what is or was on the racks of batches that no entry tells of.
    """
    sold = packed(packed_events, today)
    decided = releases(release_events, today)
    entries = with_unlogged(entries, racked, sold, decided)
    blocks = blocks_of(entries, contents)
    lots, about = _about(kind, key, blocks, sold)
    forward = _forward(about, blocks) if kind in ("lot", "batch") else about
    holding = _holding(kind, key, forward, sold)
    back = _back(forward, blocks) if kind != "lot" else {}
    shown = [blocks[id_] for id_ in forward | set(back) if id_ in blocks]
    ordered = tuple(sorted(shown, key=lambda block: (block.day, block.code, -block.block), reverse=True))
    brought = _brought(kind, key, lots, ordered)
    accounts = {store.id: store for store in counted_bars(entries, [*packed_events, *release_events], stock_events) if store.id in forward}
    here = _here(forward, blocks, accounts) if kind in ("lot", "batch") else []
    return Trace(
        kind,
        key,
        ordered,
        {lot: tuple(dict.fromkeys(block.lots[lot] for block in ordered if lot in block.lots)) for lot in brought},
        {block.id: tuple(lot for lot in block.lots if lot in brought) for block in ordered},
        holding,
        tuple(_at_outlets(holding, key if kind == "outlet" else None)),
        tuple(lot for lot in holding if lot.in_store > 0) if kind != "outlet" else (),
        tuple(each for each in here if each.block.state not in NOT_FOR_SALE),
        tuple(each for each in here if each.block.state in NOT_FOR_SALE),
        tuple(accounts[id_] for id_ in sorted(accounts)) if kind in ("lot", "batch") else (),
        tuple(sample for id_ in sorted(forward) for sample in decided.get(id_, Release()).samples),
        sold.unread + total(each.unread for each in decided.values()),
        # Any lot may be in what nobody wrote down; of bars asked about only their own batches matter.
        tuple(without_lots(blocks.values() if kind == "lot" else ordered, racked, sold, decided)),
    )


def _about(kind: Kind, key: str, blocks: Mapping[str, TracedBlock], sold: Packed) -> tuple[set[str], set[str]]:
    """The lots and the blocks that the code names itself."""
    if kind == "lot":
        holds = {id_ for id_, block in blocks.items() if key in block.lots or key in block.takes}
        return {key}, holds | ({key} & set(blocks))
    if kind == "batch":
        return set(), {id_ for id_, block in blocks.items() if block.code == key}
    if kind == "packaging":
        return set(), {part.block_id for lot in sold.wrapped_in(key) for part in lot.parts}
    named = [lot for lot in sold.lots if (lot.id == key if kind == "packed" else key in lot.out or any(move.outlet == key for move in lot.moves))]
    return set(), {part.block_id for lot in named for part in lot.parts}


def _forward(about: set[str], blocks: Mapping[str, TracedBlock]) -> set[str]:
    """These blocks, and every one that soap set aside of them went into, however often."""
    reached, new = set(about), set(about)
    takers: dict[str, list[str]] = {}
    for id_, block in blocks.items():
        for taken in block.takes:
            takers.setdefault(taken, []).append(id_)
    while new:
        new = {taker for id_ in new for taker in takers.get(id_, ())} - reached
        reached |= new
    return reached


def _back(about: set[str], blocks: Mapping[str, TracedBlock]) -> set[str]:
    """Every block whose set-aside soap went into one of these, however often, beside them."""
    reached, new = set(about), set(about)
    while new:
        new = {taken for id_ in new if id_ in blocks for taken in blocks[id_].takes} - reached
        reached |= new
    return reached - about


def _holding(kind: Kind, key: str, reached: set[str], sold: Packed) -> tuple[PackedLot, ...]:
    if kind == "packed":
        return tuple(lot for lot in sold.lots if lot.id == key)
    if kind == "packaging":
        return sold.wrapped_in(key)
    if kind == "outlet":
        return tuple(lot for lot in sold.lots if any(move.outlet == key for move in lot.moves))
    return sold.holding(reached)


def _brought(kind: Kind, key: str, lots: set[str], blocks: Sequence[TracedBlock]) -> tuple[str, ...]:
    """The lots shown: the one that was asked for and, of lye out of a tank, what brought it there; going back, all of them."""
    if kind != "lot":
        return tuple(dict.fromkeys(lot for block in blocks for lot in block.lots))
    through = {block.lots[key] for block in blocks if key in block.lots} - {""}
    into = {lot for block in blocks for lot, by in block.lots.items() if by == key}
    return tuple(dict.fromkeys(lot for block in blocks for lot in block.lots if lot in lots | through | into))


def _at_outlets(holding: Sequence[PackedLot], only: str | None) -> list[AtOutlet]:
    found = [
        AtOutlet(outlet, lot, bars, lot.days_to(outlet))
        for lot in holding
        for outlet, bars in lot.out.items()
        if only in (None, outlet)
    ]
    return sorted(found, key=lambda each: (each.outlet, each.lot.code, each.lot.id))


def _here(reached: set[str], blocks: Mapping[str, TracedBlock], accounts: Mapping[str, Store]) -> list[InStore]:
    """What is left of the bars of each block outside packed lots; nothing of one that is not cut yet, or given up before it was."""
    found = []
    for id_ in sorted(reached):
        block = blocks.get(id_)
        if block is None or block.planned or (id_ not in accounts and block.state in NOT_FOR_SALE):
            continue
        account = accounts.get(id_)
        if account is None or account.left != 0:
            found.append(InStore(block, None if account is None else account.left, account))
    return found
