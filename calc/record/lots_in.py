"""Which lots are in which block: as really weighed, with what its tank was filled from, and what lay set aside of earlier blocks."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from calc.tanks.loads import that_stand
from calc.workshop.lot_codes import lot_key

Event = Mapping[str, Any]
Entry = Mapping[str, Any]  # of the batch log: site/static/js/rules/log.mjs makes it
CONTENTS = "contents:"
# A block in one of these states may still be weighed from another lot than its sheet has.
OPEN = ("issued", "weighing")


@dataclass
class TracedBlock:
    """One block. lots: each with the lot that a tank's lye is called by, or the tank, that brought it; "" where it came by itself."""

    code: str
    block: int
    soap: str
    state: str
    bars: int | None
    day: str
    lots: dict[str, str] = field(default_factory=dict)
    takes: tuple[str, ...] = ()  # the blocks whose set-aside soap is in it, "CODE/N"
    planned: bool = False  # nothing of it is weighed: what its sheet says

    @property
    def id(self) -> str:
        """How lists and addresses name it."""
        return f"{self.code}/{self.block}"


@dataclass
class _Tank:
    as_lot: str | None = None
    alkali: bool = False
    formulas: tuple[str, ...] = ()
    lots: dict[str, None] = field(default_factory=dict)  # all since it was said to be empty: a rest of each may be left
    last_load: tuple[str, int] = ("", 0)


@dataclass(frozen=True)
class _Draw:
    """One weighing: of which block, out of which lot; "" out of a tank that holds a blend of all oils."""

    code: str
    block: int
    lot: str
    formula: str


def blocks_of(entries: Sequence[Entry], contents: Sequence[Event]) -> dict[str, TracedBlock]:
    """Every block of these batches with the lots in it, by "CODE/N". contents: what was told of all tanks.

    Raises KeyError, TypeError or ValueError for an entry that can't be read.
    """
    found: dict[str, TracedBlock] = {}
    draws: list[tuple[str, int, _Draw]] = []
    soaps = _soaps(entries)
    for entry in entries:
        code, formula = str(entry["code"]), str(entry.get("formula") or "")
        for part in entry["parts"]:
            block = TracedBlock(
                code, int(part["n"]), str(entry.get("formulaName") or code), str(part["state"]),
                None if part.get("bars") is None else int(part["bars"]), str(part.get("poured_on") or str(entry.get("local") or "")[:10]),
            )  # fmt: skip
            found[block.id] = block
        for order, row in enumerate(entry.get("drawn") or ()):
            if f"{code}/{int(row['n'])}" in found:
                draws.append((str(row["at"]), order, _Draw(code, int(row["n"]), str(row.get("lot") or ""), formula)))
    weighed = {f"{draw.code}/{draw.block}" for _, _, draw in draws}
    from_tanks = _through_tanks(draws, contents)
    for _, _, draw in draws:
        lots = found[f"{draw.code}/{draw.block}"].lots
        if draw.lot:
            lots.setdefault(draw.lot, "")
        for lot, through in from_tanks.get(draw, {}).items():
            lots.setdefault(lot, through)
    for entry in entries:
        _without_weighings(entry, found, weighed, from_tanks)
    for block in found.values():
        block.takes = tuple(lot for lot in block.lots if lot in found or lot in soaps)
        for taken in block.takes:
            del block.lots[taken]
    return found


def _without_weighings(
    entry: Entry, found: Mapping[str, TracedBlock], weighed: set[str], from_tanks: Mapping[_Draw, Mapping[str, str]]
) -> None:
    """What the sheet says, where no weighing tells better: of a block that nobody has begun, and of a blend out of an unknown tank."""
    code = str(entry["code"])
    unknown = {draw.block for draw in from_tanks if draw.code == code and not draw.lot and not from_tanks[draw]}
    used = entry.get("used") or ()
    for part in entry["parts"]:
        block = found[f"{code}/{int(part['n'])}"]
        own = [lot for row in used if int(row["n"]) == block.block for lot in _lots_of(row)]
        if block.id not in weighed:
            block.planned = block.state in OPEN
            block.lots.update(dict.fromkeys(own or map(str, entry.get("lots") or ()), ""))
        elif block.block in unknown:
            for lot in own or map(str, entry.get("lots") or ()):
                block.lots.setdefault(lot, "")


def _lots_of(row: Mapping[str, Any]) -> list[str]:
    """Of what went in by one row: a mixed scent is of several lots."""
    named = [part.get("lot") for part in row.get("parts") or ()] or [row.get("lot")]
    return [str(lot) for lot in named if lot]


def _soaps(entries: Sequence[Entry]) -> set[str]:
    """What was weighed as set-aside soap, by its block, "CODE/N", also of a batch that this device knows nothing of.

    A delivery may be called like a block.
    """
    drawn = {str(row.get("lot")) for entry in entries for row in entry.get("drawn") or () if row.get("soap")}
    return drawn | {str(row.get("lot")) for entry in entries for row in entry.get("used") or () if row.get("kind") == "soap"}


def _through_tanks(draws: Sequence[tuple[str, int, _Draw]], contents: Sequence[Event]) -> dict[_Draw, dict[str, str]]:
    """By weighing, the lots that came out of the tank it was drawn from, each with what sheets call that tank's content.

    By the same rule as `calc.tanks.fold`: lye by the lot that sheets call it, a blend by its formula; of several tanks the one
    loaded last.
    """
    waiting: list[tuple[tuple[str, int, int], Event | _Draw]] = [
        ((_at(event), 0, order), event)
        for order, event in enumerate({str(event.get("id")): event for event in that_stand(contents)}.values())
    ]
    # Of one instant the load comes first: what may be in a block is told.
    waiting += [((at, 1, order), draw) for at, order, draw in draws]
    tanks: dict[str, _Tank] = {}
    found: dict[_Draw, dict[str, str]] = {}
    for number, (_, each) in enumerate(sorted(waiting, key=lambda entry: entry[0])):
        if isinstance(each, _Draw):
            key = _drawn_from(tanks, each)
            lots = found.setdefault(each, {})
            if key is not None:
                lots.update(dict.fromkeys(tanks[key].lots, tanks[key].as_lot or key))
        else:
            _tell(tanks, each, number)
    return found


def _at(event: Event) -> str:
    # The invented workshop's own come before all that is recorded in it.
    return "" if "days_ago" in event else str(event["at"])


def _tell(tanks: dict[str, _Tank], event: Event, number: int) -> None:
    key = str(event.get("subject")).removeprefix(CONTENTS)
    if event.get("kind") == "tank_emptied":
        tanks.pop(key, None)
    if event.get("kind") != "tank_loaded":
        return
    tank = tanks.setdefault(key, _Tank())
    for part in event["parts"]:
        lot = str(part.get("lot") or "")
        tank.alkali = tank.alkali or bool(part.get("alkali"))
        if not lot:
            continue
        # Lye that was itself made in another tank brings what is in that one.
        source = _drawn_from({other: each for other, each in tanks.items() if other != key}, _Draw("", 0, lot, ""))
        tank.lots.update(dict.fromkeys((lot, *(tanks[source].lots if source else ()))))
    tank.as_lot = event.get("as_lot") or tank.as_lot
    tank.formulas = tuple(event.get("formulas") or tank.formulas)
    tank.last_load = (_at(event), number)


def _drawn_from(tanks: Mapping[str, _Tank], draw: _Draw) -> str | None:
    if draw.lot:
        fits = {key: tank for key, tank in tanks.items() if tank.as_lot is not None and lot_key(tank.as_lot) == lot_key(draw.lot)}
    else:
        blends = {key: tank for key, tank in tanks.items() if not tank.alkali}
        fits = {key: tank for key, tank in blends.items() if draw.formula in tank.formulas}
        fits = fits or {key: tank for key, tank in blends.items() if not tank.formulas or not draw.formula}
    return max(fits, key=lambda key: fits[key].last_load, default=None)
