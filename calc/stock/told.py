"""Lots and what was told of them, out of forms, records of weighings, tanks and counts.

What blocks weighed comes off the lot that was named at the scale, as of its weighing, once the block's record is closed. What came out of a tank
was taken off its lots when it was put in there, so that it comes off no lot again.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from calc.batch.pours import ALKALI_NAMES, source_of
from calc.entry.counting import summed
from calc.entry.fields import read
from calc.entry.language import later, tr
from calc.entry.problems import InputProblems
from calc.entry.shown import decimal_of
from calc.entry.taken_back import standing
from calc.stock.ledger import COUNTED, LOADED, THROWN, USED, Move, StockLot
from calc.tables.fragrance import essential_oils
from calc.tables.reference import additives
from calc.tables.rows import Oil
from calc.tanks.fold import Part, Tanks
from calc.tanks.loads import that_stand
from calc.workshop.lots import AdditiveLot, AlkaliLot, OilLot
from calc.workshop.scents import ScentLot

Event = Mapping[str, Any]
LOT_KINDS: Mapping[str, type[Any]] = {"oil_lot": OilLot, "alkali_lot": AlkaliLot, "scent_lot": ScentLot, "additive_lot": AdditiveLot}
LYES = {"naoh": later("Caustic soda lye"), "koh": later("Caustic potash lye")}
# Kinds of pours that a lot stands behind; water and soap set aside before have none.
OF_LOTS = ("oil", "alkali", "scent", "additive")
BEGINS = "stock:"
WHOLE = Decimal(1)


@dataclass(frozen=True)
class LotsTold:
    """Every lot there is or was; what their forms say was counted; how many of them can't be read."""

    lots: tuple[StockLot, ...]
    counts: tuple[Move, ...]
    unread: int


def lots_told(saves: Sequence[Event], items: Mapping[str, Sequence[tuple[str, Mapping[str, str]]]], oils: Mapping[str, Oil], today: date) -> LotsTold:
    """Lots by what was saved of them, in order; and those of the invented workshop, of which nothing was saved.

    saves: of an invented lot that was changed since, what stood in its form before is of the kind "invented", and comes first.
    items: id and form of each lot that is in the workshop now, by kind. Saving a form with another figure of what is left is a
    count; saving it for anything else is none.
    """
    now = {(kind, id_): values for kind, own in items.items() if kind in LOT_KINDS for id_, values in own}
    before: dict[tuple[str, str], Mapping[str, str]] = {}
    made: set[tuple[str, str]] = set()
    counted: list[tuple[tuple[str, str], str, str, Mapping[str, str], str]] = []
    for save in saves:
        kind, _, id_ = str(save.get("subject")).partition(":")
        if kind not in LOT_KINDS or save.get("kind") not in ("saved", "invented") or not isinstance(save.get("values"), Mapping):
            continue
        own = {str(key): str(text) for key, text in save["values"].items()}
        if save["kind"] == "saved":
            made.add((kind, id_))
            if _left(own) != _left(before.get((kind, id_), {})) and _left(own)[0]:
                counted.append(((kind, id_), moment(save, today), str(save.get("id")), own, str(save.get("person") or "")))
        elif _left(own)[0]:
            counted.append(((kind, id_), "0~", f"form:{id_}", own, ""))
        before[kind, id_] = own
    unread = 0
    lots: list[StockLot] = []
    counts: list[Move] = []
    for (kind, id_), values in (before | now).items():
        invented = (kind, id_) not in made
        try:
            lots.append(_lot(kind, id_, values, oils, invented, gone=(kind, id_) not in now))
        except InputProblems:
            unread += 1
            continue
        if (kind, id_) not in before and _left(values)[0]:
            counted.append(((kind, id_), "0~", f"form:{id_}", values, ""))
    codes = {(lot.kind, lot.id): lot.code for lot in lots}
    # Who takes a lot out of the workshop takes its rest with it, whenever that was.
    counts += [Move("~", f"gone:{lot.kind}/{lot.id}", lot.code, COUNTED, Decimal(0)) for lot in lots if lot.gone]
    for key, at, event, values, person in counted:
        with suppress(InputProblems, KeyError):
            counts.append(Move(at, event, codes[key], COUNTED, _amount(read(LOT_KINDS[key[0]], values).value.left_g), person=person))
    return LotsTold(tuple(lots), tuple(counts), unread)


def _left(values: Mapping[str, str]) -> tuple[str, str]:
    return values.get("left_g", "").strip(), values.get("left_g.unit", "")


def _lot(kind: str, id_: str, values: Mapping[str, str], oils: Mapping[str, Oil], invented: bool, gone: bool) -> StockLot:
    lot = read(LOT_KINDS[kind], values).value
    since = "" if lot.received_on is None else f"{'0' if invented else ''}{lot.received_on.isoformat()}T"
    found = StockLot(
        kind, id_, lot.code, lot.code, kind, None if lot.received_g is None else _amount(lot.received_g), lot.received_on,
        None if lot.price is None else _amount(lot.price), lot.expires_on, lot.opened_on, lot.status or "accepted", gone, since=since,
    )  # fmt: skip
    if isinstance(lot, OilLot):
        name = tr(oils[lot.oil].name) if lot.oil in oils else lot.oil
        return replace(found, name=name, material=f"oil:{lot.oil}")
    if isinstance(lot, AlkaliLot):
        return replace(found, name=tr((ALKALI_NAMES if lot.form == "solid" else LYES)[lot.alkali]), material=f"alkali:{lot.alkali}:{lot.form}", strength=source_of(lot).hydroxide_fraction)
    if isinstance(lot, AdditiveLot):
        # Two colors can't stand in for each other, nor be one price.
        label = tr(additives()[lot.additive].label) if lot.additive in additives() else lot.additive
        return replace(found, name=lot.name or label, material=f"additive:{lot.additive}:{lot.name or ''}")
    oil = essential_oils().get(lot.essential_oil or "")
    return replace(found, name=tr(oil.name) if oil else lot.name or lot.code, material=f"scent:{lot.essential_oil or lot.name or lot.code}")


def _amount(value: float | None) -> Decimal:
    return decimal_of(value or 0.0)


def moment(event: Event, today: date) -> str:
    """When it was, by the clock of who did it; what belongs to the invented workshop comes before all that is recorded in it."""
    if "days_ago" in event:
        return f"0{(today - timedelta(days=int(event['days_ago']))).isoformat()}T"
    return str(event.get("local") or event.get("at") or "")[:19]


def stock_moves(events: Sequence[Event], codes: Mapping[tuple[str, str], str], today: date) -> Iterator[Move]:
    """Counts, and what was thrown away, as somebody wrote them down; those taken back are left out. codes: of lots, by kind and id."""
    for event in standing(events):
        what = {"stock_counted": COUNTED, "stock_thrown": THROWN}.get(str(event.get("kind")))
        kind, _, id_ = str(event.get("subject")).removeprefix(BEGINS).partition("/")
        if what is None or (kind, id_) not in codes or not isinstance(event.get("grams"), (int, float)):
            continue
        yield Move(
            moment(event, today), str(event["id"]), codes[kind, id_], what, _amount(event["grams"]), person=str(event.get("person") or ""),
            reason=str(event.get("reason") or ""), event=str(event["id"]),
        )  # fmt: skip


def load_moves(events: Iterable[Event], today: date) -> Iterator[Move]:
    """What went into tanks, off the lots it came from. A load that can't be read is left out; `tanks` counts it as unread."""
    for event in that_stand(events):
        if event.get("kind") == "tank_loaded":
            with suppress(ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
                # Read as a whole first: half a load is none.
                yield from tuple(_of_load(event, today))


def _of_load(event: Event, today: date) -> Iterator[Move]:
    tank = str(event.get("subject")).partition(":")[2]
    for n, part in enumerate(event.get("parts") or ()):
        grams = float(part["grams"])
        if not grams > 0.0:
            raise ValueError("a part without its weight")
        if part.get("lot"):
            yield Move(moment(event, today), f"{event['id']}:{n}", str(part["lot"]), LOADED, _amount(grams), tank, str(event.get("person") or ""))


@dataclass(frozen=True)
class Used:
    """One pour of a closed block: what of it came off its lots, and what out of a tank, by that tank's parts."""

    code: str
    block: int
    pour: str
    kind: str
    grams: Decimal
    moves: tuple[Move, ...] = ()
    parts: tuple[Part, ...] = ()


def used(entries: Sequence[Mapping[str, Any]], tanks: Tanks, sheets: Sequence[Mapping[str, Any]], today: date) -> Iterator[Used]:
    """Every pour of every closed block, out of the log's entries; one that was weighed out of two lots, lot by lot.

    sheets: as far as they are known, which oils a blend is of. A mixed scent is weighed in one: its row says what it is of.
    """
    drawn = _Drawn(tanks, sheets)
    for entry in entries:
        closed = {
            part.get("n"): moment(part if "days_ago" in part else {"local": part.get("closed_at") or part.get("poured_on") or entry.get("local")}, today)
            for part in entry.get("parts") or ()
        }
        blocks: dict[int, list[Mapping[str, Any]]] = {}
        for row in entry.get("used") or ():
            blocks.setdefault(int(row["n"]), []).extend(_by_lot(row))
        weighed = _weighed(entry)
        for block, rows in blocks.items():
            at = {lot: last for (n, lot), last in weighed.items() if n == block}
            yield from _of_block(str(entry["code"]), block, rows, closed.get(block, ""), at, drawn)


def _weighed(entry: Mapping[str, Any]) -> dict[tuple[Any, str], str]:
    """When each lot was weighed last, by block and lot, by the clock there: whoever counts a lot finds what was weighed gone, not what was closed."""
    found: dict[tuple[Any, str], str] = {}
    for row in entry.get("drawn") or ():
        if row.get("lot") and row.get("local"):
            key = row.get("n"), str(row["lot"])
            found[key] = max(found.get(key, ""), str(row["local"])[:19])
    return found


def _by_lot(row: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """A row as it is; where an older record names one lot for all of a pour, its amount by what was read out of each."""
    readings = row.get("readings") or ()
    shown = [decimal_of(float(str(each["reading"]).replace(",", "."))) for each in readings]
    whole = summed(shown, Decimal(0))
    if whole <= 0:
        return [row]
    lots: dict[str, Decimal] = {}
    for each, amount in zip(readings, shown, strict=True):
        lots[str(each["lot"])] = lots.get(str(each["lot"]), Decimal(0)) + amount
    return [{**row, "lot": lot, "g": _amount(float(row["g"])) * amount / whole} for lot, amount in lots.items()]


def _shares(row: Mapping[str, Any]) -> dict[str, Decimal]:
    """The lots that a row is out of, each with its share. Of a mix some may have no lot, or nobody knows the shares."""
    lot = str(row.get("lot") or "")
    parts = row.get("parts") or ()
    if not parts:
        return {lot: WHOLE} if lot else {}
    shares: dict[str, Decimal] = {}
    for part in parts:
        if part.get("lot") and float(part["share"]) > 0.0:
            shares[str(part["lot"])] = shares.get(str(part["lot"]), Decimal(0)) + decimal_of(float(part["share"]))
    return shares


def _of_block(code: str, block: int, rows: Sequence[Mapping[str, Any]], closed: str, at: Mapping[str, str], drawn: "_Drawn") -> Iterator[Used]:
    shares = drawn.shares(code, block, rows)
    met: dict[str, int] = {}
    for n, row in enumerate(rows):
        pour, kind = str(row["pour"]), str(row["kind"])
        grams = row["g"] if isinstance(row["g"], Decimal) else _amount(float(row["g"]))
        share, parts = shares.get(n, (Decimal(0), ()))
        off = grams * (WHOLE - share)
        of = _shares(row) if kind in OF_LOTS and off != 0 else {}
        # Two rows of one pour are two moves, also where both lots turn out to be one.
        met[pour] = met.get(pour, 0) + 1
        about, id_ = f"{code}/{block}", f"{code}/{block}/{pour}" + (f"/{met[pour]}" if met[pour] > 1 else "")
        moves = tuple(Move(at.get(each, closed), id_, each, USED, off * of_it, about) for each, of_it in of.items())
        yield Used(code, block, pour, kind, grams, moves, parts)


class _Drawn:
    """What blocks took out of tanks, by block: the blend of oils, and lye by its lot."""

    def __init__(self, tanks: Tanks, sheets: Sequence[Mapping[str, Any]]) -> None:
        self._taken: dict[tuple[str, int, str | None], list[tuple[float, tuple[Part, ...]]]] = {}
        for each in tanks.taken:
            key = (each.draw.code, each.draw.block, None if each.draw.blend else each.draw.lot)
            self._taken.setdefault(key, []).append((each.draw.grams, each.parts))
        self._vessel = {
            str(sheet.get("code")): {str(pour.get("key")) for pour in sheet.get("pours") or () if pour.get("phase") == "vessel"} for sheet in sheets
        }

    def shares(self, code: str, block: int, rows: Sequence[Mapping[str, Any]]) -> dict[int, tuple[Decimal, tuple[Part, ...]]]:
        """By the place of each row: which share of it came out of a tank, and what that was."""
        found: dict[int, tuple[Decimal, tuple[Part, ...]]] = {}
        vessel = self._vessel.get(code)
        oils = [n for n, row in enumerate(rows) if row["kind"] == "oil" and (vessel is None or row["pour"] in vessel)]
        found |= self._spread(self._taken.get((code, block, None), ()), oils, rows)
        for lot in {str(row.get("lot") or "") for row in rows if row["kind"] == "alkali"}:
            lyes = [n for n, row in enumerate(rows) if row["kind"] == "alkali" and str(row.get("lot") or "") == lot]
            found |= self._spread(self._taken.get((code, block, lot), ()), lyes, rows)
        return found

    @staticmethod
    def _spread(
        taken: Sequence[tuple[float, tuple[Part, ...]]], of: Sequence[int], rows: Sequence[Mapping[str, Any]]
    ) -> dict[int, tuple[Decimal, tuple[Part, ...]]]:
        if not taken:
            return {}
        whole = summed((_amount(float(rows[n]["g"])) for n in of), Decimal(0))
        drawn = summed((_amount(grams) for grams, _ in taken), Decimal(0))
        if whole <= 0 or drawn <= 0:
            return {}
        share = min(drawn / whole, WHOLE)
        # What a display rounds is no oil out of another can.
        share = WHOLE if WHOLE - share < NEARLY else share
        parts = tuple(part for _, own in taken for part in own)
        each = {n: decimal_of(float(rows[n]["g"])) / whole for n in of}
        return {n: (share, tuple(replace(part, grams=part.grams * float(each[n])) for part in parts)) for n in of}


# A blend split over its oils differs from their sum by less than this.
NEARLY = Decimal("0.01")
