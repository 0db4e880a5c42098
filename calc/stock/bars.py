"""Good bars in store, block by block: counted at the cutter, less what was packed, kept as a sample or went otherwise."""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from calc.stock.told import BEGINS

BARS = "bars/"
# Of a block in one of these no bar is for sale.
NOT_GOOD = ("rejected", "reworked", "ended", "apart")


@dataclass(frozen=True)
class Store:
    """The bars of one block. off: by counts, below zero where more were found; left: below zero where more went than there were."""

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


def in_store(entries: Iterable[Mapping[str, Any]], packed: Sequence[Mapping[str, Any]], told: Sequence[Mapping[str, Any]]) -> list[Store]:
    """Every block whose bars were counted and are good. packed: packed lots and samples kept; told: counts and what was thrown."""
    gone = {str(event.get("takes")) for event in (*packed, *told) if str(event.get("kind")).endswith("_taken_back")}
    events = {str(event.get("id")): event for event in (*packed, *told) if str(event.get("id")) not in gone}
    moves: dict[str, list[tuple[str, str, str, int]]] = {}
    for id_, event in events.items():
        # What can't be read keeps nothing else from counting.
        with suppress(AttributeError, LookupError, TypeError, ValueError):
            for about, kind, number in _bars(event):
                moves.setdefault(about, []).append((str(event.get("local") or ""), id_, kind, number))
    found = []
    for entry in entries:
        for part in entry.get("parts") or ():
            if part.get("bars") is None or part.get("state") in NOT_GOOD:
                continue
            about = f"{entry['code']}/{part['n']}"
            left, sums = int(part["bars"]), {"packed": 0, "sample_kept": 0, "stock_thrown": 0, "stock_counted": 0}
            for _, _, kind, number in sorted(moves.get(about, ())):
                by = left - number if kind == "stock_counted" else number
                sums[kind] += by
                left -= by
            found.append(
                Store(
                    str(entry["code"]), str(entry.get("formulaName") or entry["code"]), int(part["n"]), str(part.get("state")), int(part["bars"]),
                    sums["packed"], sums["sample_kept"], sums["stock_thrown"], sums["stock_counted"], left,
                )
            )  # fmt: skip
    return found


def _bars(event: Mapping[str, Any]) -> list[tuple[str, str, int]]:
    kind, subject = str(event.get("kind")), str(event.get("subject"))
    if kind == "packed":
        return [(f"{part['code']}/{part['block']}", kind, int(part["bars"])) for part in event.get("parts") or ()]
    if kind == "sample_kept":
        return [(subject.partition(":")[2], kind, int(event["bars"]))]
    if kind in ("stock_counted", "stock_thrown") and subject.startswith(BEGINS + BARS) and isinstance(event.get("bars"), int):
        return [(subject.removeprefix(BEGINS + BARS), kind, int(event["bars"]))]
    return []
