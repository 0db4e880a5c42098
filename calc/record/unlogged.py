"""Bars that the workshop knows of, on a rack or in packed lots, though nobody recorded what went into them: a batch made on paper."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from calc.cure.rack import RackBatch
from calc.entry.counting import total
from calc.record.lots_in import Entry, TracedBlock
from calc.record.packed import Packed
from calc.record.release import Decision, Release


@dataclass(frozen=True)
class Unlogged:
    """What is known of one block whose lots nobody recorded."""

    block: TracedBlock
    racked_on: date | None
    decided: Decision | None
    packed: int
    sent: bool  # whether bars of a packed lot that it is in left the workshop


def with_unlogged(entries: Iterable[Entry], racked: Iterable[RackBatch], sold: Packed, decided: Mapping[str, Release]) -> list[Entry]:
    """The entries, and one without any lot for each block that only racks or packed lots know of."""
    logged = list(entries)
    known = {(str(entry["code"]), int(part["n"])) for entry in logged for part in entry["parts"]}
    found: dict[tuple[str, int], tuple[str, int | None, str]] = {}
    for batch in racked:
        found[batch.code, batch.block] = (batch.soap, batch.racked.bars, batch.cut_on.isoformat())
    for lot in sold.lots:
        for part in lot.parts:
            found.setdefault((part.code, part.block), (part.code, None, ""))
    for (code, n), (soap, bars, day) in found.items():
        if (code, n) not in known:
            last = decided.get(f"{code}/{n}", Release()).last
            logged.append({"code": code, "formulaName": soap, "parts": [{"n": n, "state": last.kind if last else "curing", "bars": bars, "poured_on": day}]})
    return logged


def without_lots(blocks: Iterable[TracedBlock], racked: Iterable[RackBatch], sold: Packed, decided: Mapping[str, Release]) -> list[Unlogged]:
    """Those of the blocks of which no lot is recorded. Of one that was given up before its bars were counted there is nothing to find."""
    cut = {f"{batch.code}/{batch.block}": batch.cut_on for batch in racked}
    found = []
    for block in blocks:
        if block.lots or block.takes or block.planned or (block.state == "ended" and block.bars is None):
            continue
        holding = [lot for lot in sold.lots if lot.of_block(block.code, block.block)]
        packed = total(lot.of_block(block.code, block.block) for lot in holding)
        found.append(Unlogged(block, cut.get(block.id), decided.get(block.id, Release()).last, packed, any(lot.out for lot in holding)))
    return sorted(found, key=lambda each: (each.block.code, each.block.block))
