"""The workshop as a request carries it: items by kind and id, read with their own declarations."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, TypeVar, cast

from calc.cut.block import Densities, remembered
from calc.entry.fields import check, read
from calc.entry.language import later, tr
from calc.entry.problems import InputProblems, Problem
from calc.formula.chemistry import oil_of
from calc.formula.declaration import Formula
from calc.scent.material import LOT_PREFIX, Material, Part, of_lot, of_oil, parts_of
from calc.tables.fragrance import essential_oils
from calc.tables.reference import oils as table_oils
from calc.tables.rows import Oil
from calc.workshop.habits import USUAL_HABITS, Habits
from calc.workshop.kinds import KINDS
from calc.workshop.lots import AdditiveLot, AlkaliLot, OilLot
from calc.workshop.own_oils import OwnOil
from calc.workshop.safety_place import NO_LYE_LIMITS, HoistLimit, LyeLimits
from calc.workshop.scents import Scent, ScentLot
from calc.workshop.shop import Shop

T = TypeVar("T")

OWN_OIL_PREFIX = "own:"

# What a damaged store, a sheet of an older build or a copy from elsewhere may lead to; InputProblems is a ValueError.
UNREADABLE = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError)


@dataclass(frozen=True)
class Stored:
    """One item as stored: the strings that were typed."""

    id: str
    values: Mapping[str, str]
    revision: int = 0
    event: str = ""
    used_in: tuple[str, ...] = ()


class State:
    """Looks items up and reads them; a missing or faulty one becomes a problem of the field that asked for it."""

    def __init__(self, raw: Mapping[str, Any]) -> None:
        if not isinstance(raw, Mapping):
            raise _unreadable("")
        self.units: str = "us" if raw.get("units") == "us" else "metric"
        self.batch_codes: tuple[str, ...] = tuple(str(code) for code in _listed(raw, "batch_codes"))
        # Of a block at the scale, and of a batch in the log: the issued record and the events, in order.
        self.record: Mapping[str, Any] | None = raw.get("record")
        self.events: tuple[Mapping[str, Any], ...] = tuple(_listed(raw, "events"))
        # How dense the set soap of earlier blocks was, by the name of their formula.
        self._set_soap: tuple[Mapping[str, Any], ...] = _mappings(raw, "set_soap")
        # Of the pages of the cure rack only: what happened on the racks, in order, and what the issued sheets say of a batch.
        self.cure: tuple[Mapping[str, Any], ...] = _mappings(raw, "cure")
        self.sheets: tuple[Mapping[str, Any], ...] = _mappings(raw, "sheets")
        # What was told set aside, by block, and the sheets that take of it: each with its events.
        self.set_aside: tuple[Mapping[str, Any], ...] = _mappings(raw, "set_aside")
        self.soap_uses: tuple[Mapping[str, Any], ...] = _mappings(raw, "soap_uses")
        # Of the page of the lye's strength only: issued sheets of which nothing is weighed, and what each takes the lye for.
        self.unstarted: tuple[Mapping[str, Any], ...] = _mappings(raw, "unstarted")
        # Of the pages about tanks only: what happened to them, in order, and what blocks weighed out of them.
        self.contents: tuple[Mapping[str, Any], ...] = _mappings(raw, "contents")
        # Of those pages too: the fills in hand, by their id, each with the id of its tank.
        self.fills: tuple[Mapping[str, Any], ...] = _mappings(raw, "fills")
        # Of the page of the day only: the newest issued sheets, each with what was told of its blocks.
        self.made: tuple[Mapping[str, Any], ...] = _mappings(raw, "made")
        # Of the page of labels only: what issued sheets say of a label, and which ingredient names a person has confirmed.
        self.label_sheets: tuple[Mapping[str, Any], ...] = _mappings(raw, "label_sheets")
        self.inci: tuple[Mapping[str, Any], ...] = _mappings(raw, "inci")
        # Of the pages of release, packing, sending and trace only: entries of the batch log, and what was told after them.
        self.log_entries: tuple[Mapping[str, Any], ...] = _mappings(raw, "log_entries")
        self.release_events: tuple[Mapping[str, Any], ...] = _mappings(raw, "release_events")
        self.packed_events: tuple[Mapping[str, Any], ...] = _mappings(raw, "packed_events")
        self.after_sale: tuple[Mapping[str, Any], ...] = _mappings(raw, "after_sale")
        # Of the pages about stock only: what was saved of lots, what was counted of them, what the log says went in, the newest
        # batches that are cut, the newest sheets, and the plans of days.
        self.lot_saves: tuple[Mapping[str, Any], ...] = _mappings(raw, "lot_saves")
        self.stock: tuple[Mapping[str, Any], ...] = _mappings(raw, "stock")
        self.stock_log: tuple[Mapping[str, Any], ...] = _mappings(raw, "stock_log")
        self.stock_batches: tuple[Mapping[str, Any], ...] = _mappings(raw, "stock_batches")
        self.stock_sheets: tuple[Mapping[str, Any], ...] = _mappings(raw, "stock_sheets")
        self.day_plan: tuple[Mapping[str, Any], ...] = _mappings(raw, "day_plan")
        # What the task `lots_left` has told the page, by "KIND/ID"; None where it wasn't asked, and what was counted last stands.
        self._left: Mapping[str, Any] | None = raw["lots_left"] if isinstance(raw.get("lots_left"), Mapping) else None
        items = {kind: [_stored(entry, kind) for entry in _listed(raw, kind)] for kind in (*KINDS, "formula", "label")}
        self._items = {kind: {entry.id: entry for entry in entries} for kind, entries in items.items()}

    def stored(self, kind: str) -> tuple[Stored, ...]:
        """All items of a kind, as typed, in stored order."""
        return tuple(self._items[kind].values())

    def find(self, kind: str, id_: str | None, field: str, called: str) -> Stored:
        """The stored item; `InputProblems` on `field` when there is none."""
        found = self._items[kind].get(id_ or "")
        if found is None:
            message, remedy = tr("No {what} is chosen.", what=tr(called)), tr("Choose a {what}.", what=tr(called))
            raise InputProblems(Problem(field, f"{kind.replace('_', '-')}-missing", message, remedy))
        return found

    def read_item(self, kind: str, cls: type[T], id_: str | None, field: str, called: str) -> T:
        """The item read by its declaration; faults inside it are told as one problem of `field`."""
        entry = self.find(kind, id_, field, called)
        return self._as_left(kind, entry, read_stored(cls, entry, field, called))

    def read_all(self, kind: str, cls: type[T]) -> tuple[T, ...]:
        """Every item of a kind; faults are told under the kind's name."""
        return tuple(self._as_left(kind, entry, read_stored(cls, entry, kind, KINDS[kind][1])) for entry in self.stored(kind))

    def _as_left(self, kind: str, entry: Stored, item: T) -> T:
        """A lot with what is really left of it, in the place of what was once typed."""
        if self._left is None or not isinstance(item, (OilLot, AlkaliLot)):
            return item
        left = self._left.get(f"{kind}/{entry.id}")
        return cast(T, replace(item, left_g=float(left) if isinstance(left, (int, float)) else None))

    @property
    def every_entry(self) -> tuple[Mapping[str, Any], ...]:
        """The batch log as trace and stock both read it: the invented workshop tells some of its batches for one page, some for the other."""
        told = {str(entry.get("code")) for entry in self.log_entries}
        return (*self.log_entries, *(entry for entry in self.stock_log if str(entry.get("code")) not in told))

    def shop(self) -> Shop:
        """The workshop itself; a problem when it was cleared and not set up again."""
        entries = self.stored("shop")
        if not entries:
            message = tr("The workshop isn't set up yet.")
            raise InputProblems(Problem("", "shop-missing", message, tr("Open Workshop and fill in its first form.")))
        return read_stored(Shop, entries[0], "", later("workshop"))

    def habits(self) -> Habits:
        """The shop's ways at the scale; the plain ones where it has said nothing."""
        entries = self.stored("floor")
        if not entries:
            return USUAL_HABITS
        try:
            habits = read_once(Habits, entries[0].values)
            check(habits)
        except InputProblems as faults:
            first = faults.problems[0]
            raise InputProblems(
                Problem(
                    "",
                    "stored-item-faulty",
                    tr("Work at the scale needs attention: {fault}", fault=first.message),
                    tr("Open it in Workshop and correct it: {remedy}", remedy=first.remedy),
                )
            ) from faults
        return habits

    def lye_limits(self) -> LyeLimits:
        """What the shop's safety form says of the lye's temperature.

        A limit looser than the built-in one, as a copy from elsewhere may bring it, is none: the safety pages show none either.
        """
        entries = self.stored("safety")
        if not entries:
            return NO_LYE_LIMITS
        values = entries[0].values
        try:
            return read_once(LyeLimits, values)
        except InputProblems as faults:
            faulty = {problem.field.partition(".")[0] for problem in faults.problems}
            return read_once(LyeLimits, {key: text for key, text in values.items() if key.partition(".")[0] not in faulty})

    def hoist_g(self) -> float | None:
        """What the hoist carries by its tag [g]; None where that is not said, or said so that nobody can read it."""
        entries = self.stored("safety")
        try:
            return read(HoistLimit, entries[0].values).value.hoist_g if entries else None
        except InputProblems:
            return None

    def own_soap(self, formula_name: str) -> Densities | None:
        """What earlier blocks of a formula showed of their set soap; None where none was weighed."""
        told = [each.get("density_g_per_ml") for each in self._set_soap if each.get("of_formula") == formula_name]
        return remembered([float(each) for each in told if isinstance(each, (int, float))])

    def oils(self) -> dict[str, Oil]:
        """The table's oils and the maker's own, by key."""
        known = dict(table_oils())
        for entry in self.stored("own_oil"):
            called = later("oil of your own")
            values = read_stored(OwnOil, entry, "own_oil", called)
            with told_at("own_oil", called, values.name):
                check(values)
            key = OWN_OIL_PREFIX + entry.id
            known[key] = oil_of(values, key)
        return known

    def scent(self, id_: str | None, field: str) -> tuple[Scent, tuple[Part, ...]]:
        """A saved scent and its parts by mass; or one material by itself."""
        alone = self._scent_material(id_ or "", field)
        if alone is not None:
            return Scent(name=alone.name, measured_by="percent", parts=()), (Part(alone, 1.0),)
        entry = self.find("scent", id_, field, later("scent"))
        scent = read_stored(Scent, entry, field, later("scent"))
        materials = self.scent_materials(scent, field)
        with told_at(field, later("scent"), scent.name):
            return scent, parts_of(scent, materials)

    def scent_materials(self, scent: Scent, field: str | None = None) -> dict[str, Material]:
        """What a scent is made of, by key, as far as it is there.

        A faulty lot is a problem of the field, else of the part that names it; lots of other scents are not looked at.
        """
        found: dict[str, Material] = {}
        faults: list[Problem] = []
        for number, row in enumerate(scent.parts):
            try:
                material = self._scent_material(row.material, field or f"parts.{number}.material")
            except InputProblems as faulty:
                faults.extend(faulty.problems)
                continue
            if material is not None:
                found[row.material] = material
        if faults:
            raise InputProblems(*dict.fromkeys(faults))
        return found

    def _scent_material(self, key: str, field: str) -> Material | None:
        oil = essential_oils().get(key)
        if oil is not None:
            return of_oil(oil)
        entry = self._items["scent_lot"].get(key.removeprefix(LOT_PREFIX)) if key.startswith(LOT_PREFIX) else None
        if entry is None:
            return None
        lot = read_stored(ScentLot, entry, field, later("scent lot"))
        with told_at(field, later("scent lot"), lot.code):
            return of_lot(lot, essential_oils())

    def lots_in_use(self) -> dict[str, OilLot]:
        """For each oil the lot marked as in use; the one saved last where several are."""
        return {lot.oil: lot for lot in self.read_all("oil_lot", OilLot) if lot.in_use == "yes"}

    def additive_lots_in_use(self) -> dict[str, AdditiveLot]:
        """For each additive its lot in use. Of several nobody knows which goes in before it is weighed: two colors are two lots of color."""
        lots = [lot for lot in self.read_all("additive_lot", AdditiveLot) if lot.in_use == "yes"]
        of_each = Counter(lot.additive for lot in lots)
        return {lot.additive: lot for lot in lots if of_each[lot.additive] == 1}

    def formula(self, id_: str, field: str) -> tuple[Stored, Formula]:
        """A stored formula and its reading."""
        entry = self.find("formula", id_, field, later("formula"))
        return entry, read_stored(Formula, entry, field, later("formula"))


def _listed(raw: Mapping[str, Any], kind: str) -> Sequence[Any]:
    found = raw.get(kind, ())
    if isinstance(found, (list, tuple)):
        return found
    raise _unreadable(kind)


def _mappings(raw: Mapping[str, Any], kind: str) -> tuple[Mapping[str, Any], ...]:
    return tuple(entry for entry in _listed(raw, kind) if isinstance(entry, Mapping))


def _unreadable(kind: str) -> InputProblems:
    """For what no form has made; a copy taken in from elsewhere may hold it."""
    called = KINDS[kind][2] if kind in KINDS else later("Records")
    message = tr("What is stored under “{what}” can’t be read.", what=tr(called))
    return InputProblems(Problem("", "store-unreadable", message, tr("Load an earlier copy of the records, in Records.")))


def _stored(entry: Any, kind: str) -> Stored:
    if not isinstance(entry, Mapping) or not isinstance(entry.get("values"), Mapping) or "id" not in entry:
        raise _unreadable(kind)
    return Stored(
        id=str(entry["id"]),
        values={str(key): str(value) for key, value in entry["values"].items()},
        revision=entry["revision"] if isinstance(entry.get("revision"), int) else 0,
        event=str(entry.get("event", "")),
        used_in=tuple(str(code) for code in _listed(entry, "used_in")),
    )


def read_stored(cls: type[T], entry: Stored, field: str, called: str) -> T:
    """Reads a stored item; its faults come as one problem that names the item and its first fault."""
    title = entry.values.get("name") or entry.values.get("code") or tr(called)
    with told_at(field, called, title):
        return read_once(cls, entry.values)


def read_once(cls: type[T], values: Mapping[str, str]) -> T:
    """What `read` makes of the texts of a stored item, which come again with every keystroke; its cautions aside.

    Every declaration is frozen and holds nothing that could change. A faulty item is read, and told, each time.
    """
    return cast(T, _read_once(cast(Any, cls), tuple(values.items())))


@lru_cache(maxsize=1024)
def _read_once(cls: type[Any], values: tuple[tuple[str, str], ...]) -> object:
    return read(cls, dict(values)).value


@contextmanager
def told_at(field: str, called: str, title: str) -> Iterator[None]:
    """Turns the faults inside a stored item into one problem of a field, which names the item and its first fault."""
    try:
        yield
    except InputProblems as faults:
        first = faults.problems[0]
        message = tr("The {what} “{title}” needs attention: {fault}", what=tr(called), title=title, fault=first.message)
        remedy = tr("Open it and correct it: {remedy}", remedy=first.remedy)
        raise InputProblems(Problem(field, "stored-item-faulty", message, remedy)) from faults
