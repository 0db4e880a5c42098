"""The racks as their events leave them: which batch lies where and since when, what it weighed, what was tested."""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any, TypeVar

from calc.cure.declared import HEAVIEST_G, LIGHTEST_G, WETTEST, LabelQuestion, Move, Racked, SoapTest, Weighing
from calc.cure.drying import Weighed
from calc.cure.soap_tests import FreeAlkali, free_caustic, moisture_fraction, total_free_alkali
from calc.entry.declare import Range, small_mass
from calc.entry.fields import read
from calc.entry.language import later
from calc.entry.taken_back import standing
from calc.tables.reference import constant

T = TypeVar("T")
# What stands between two weights, beside spaces.
_BETWEEN = re.compile(r";|,(?=\s|$)")
# The event by which a block tells, as the last of its steps, that its bars stand on trays.
AT_CUTTER = "racked"


@dataclass(frozen=True, kw_only=True)
class _OneBar:
    bar_g: float = small_mass(later("Weight of a bar"), refuse=Range(5.0, 1000.0, later("the law’s table for bars runs from 5 g to 1 kg")))


Event = Mapping[str, Any]


@dataclass(frozen=True)
class Done:
    """One entry about a batch: the event's id, its day, who did it."""

    id: str
    day: date
    person: str


@dataclass(frozen=True)
class GroupWeighed(Done):
    """The sample group on the scale: the weight of one bar on average [g]."""

    bars: int
    total_g: float
    scale: str | None

    @property
    def bar_g(self) -> float:
        return self.total_g / self.bars


@dataclass(frozen=True)
class BarsWeighed(Done):
    """Bars weighed one by one [g]."""

    weights_g: tuple[float, ...]


@dataclass(frozen=True)
class Tested(Done):
    """A test of the soap: its method, and the share of the sample that it found."""

    method: str
    alkali: str | None
    fraction: float


@dataclass
class RackBatch:
    """The bars of one block, from the cutter to the sale."""

    code: str
    block: int
    soap: str
    racked: Racked
    water_fraction: float | None
    cut_on: date
    rack: str | None
    places: tuple[int, ...]
    since: date
    weighed: list[GroupWeighed] = field(default_factory=list)
    singles: list[BarsWeighed] = field(default_factory=list)
    tests: list[Tested] = field(default_factory=list)
    ready_on: date | None = None
    # What was told at the cutter: how many trays, and where they stand in somebody's own words.
    trays: int | None = None
    where: str = ""

    @property
    def id(self) -> str:
        """How lists and addresses name it."""
        return f"{self.code}:{self.block}"

    @property
    def subject(self) -> str:
        """What its events are about."""
        return f"cure:{self.code}/{self.block}"

    def age(self, on: date) -> int:
        """Days since it was cut."""
        return (on - self.cut_on).days

    @property
    def weighings(self) -> tuple[Weighed, ...]:
        """The sample group's weighings by days since the first; of two on one day the later one."""
        by_day = {each.day: each for each in self.weighed}
        ordered = [by_day[day] for day in sorted(by_day)]
        return tuple(Weighed(float((each.day - ordered[0].day).days), each.bar_g) for each in ordered)

    @property
    def first_age(self) -> int:
        """Days from cutting to the first weighing; 0 before there is one."""
        return self.age(min(each.day for each in self.weighed)) if self.weighed else 0

    @property
    def next_weighing(self) -> int:
        """The age on which the sample group is weighed next [d]: by the usual steps from the last one."""
        if not self.weighed:
            return 0
        last = self.age(max(each.day for each in self.weighed))
        first, every = constant("cure_first_weighing_days").value, constant("cure_weighing_every_days").value
        return round(first if last < first else (math.floor(last / every) + 1) * every)

    def is_due(self, today: date) -> bool:
        """Whether its sample group is to be weighed."""
        return self.age(today) >= self.next_weighing

    @property
    def likely_g(self) -> tuple[float, float]:
        """Between what a sample bar may weigh [g]; beyond it a weighing is a slip.

        From its first weighing less all of its water, to that weighing, each by the usual play; before the first, any bar.
        """
        if not self.weighings:
            return LIGHTEST_G, HEAVIEST_G
        fresh_g, slip = self.weighings[0].bar_g, constant("cure_slip_share").value
        water = WETTEST if self.water_fraction is None else self.water_fraction
        return fresh_g * max(0.0, 1.0 - water - slip), fresh_g * (1.0 + slip)


@dataclass(frozen=True)
class Racks:
    """Every batch that was ever racked, those on a rack first, the youngest first; and what could not be read."""

    batches: tuple[RackBatch, ...]
    unread: int

    @property
    def on_racks(self) -> tuple[RackBatch, ...]:
        return tuple(batch for batch in self.batches if batch.ready_on is None)

    @property
    def off_racks(self) -> tuple[RackBatch, ...]:
        return tuple(batch for batch in self.batches if batch.ready_on is not None)

    def find(self, id_: str | None) -> RackBatch | None:
        return next((batch for batch in self.batches if batch.id == id_), None)

    def taken(self, rack: str, but: RackBatch | None = None) -> dict[int, RackBatch]:
        """Which place of a rack holds a tray of which batch, but for one batch."""
        return {
            place: batch for batch in self.on_racks if batch.rack == rack and batch is not but for place in batch.places
        }


def racks(events: Sequence[Event], today: date, water: Mapping[str, float] | None = None) -> Racks:
    """What the events come to, in their order. What can't be read, or is about a batch that was never racked, is counted.

    water: by batch code, the share of it in the fresh soap [g/g], for blocks that tell of their rack at the cutter.
    An event of the invented workshop says how many days ago it was, so that practice is never out of date.
    """
    found: dict[str, RackBatch] = {}
    unread = 0
    for event in standing(events):
        kind, subject = event.get("kind"), str(event.get("subject"))
        try:
            if kind == "cure_racked":
                found[subject] = _racked(event, subject, today, found.get(subject))
            elif kind == AT_CUTTER:
                batch = _from_cutter(event, today, water or {})
                found.setdefault(batch.subject, batch)
            else:
                _ADDED[str(kind)](found[subject], event, _day(event, today))
        except (KeyError, OverflowError, TypeError, ValueError):  # InputProblems is a ValueError; a day before year 1 overflows
            unread += 1
    ordered = sorted(found.values(), key=lambda batch: (batch.ready_on is not None, -batch.cut_on.toordinal(), batch.id))
    return Racks(tuple(ordered), unread)


def _day(event: Event, today: date) -> date:
    if "days_ago" in event:
        return today - timedelta(days=int(event["days_ago"]))
    return date.fromisoformat(str(event["local"])[:10])


def _values(cls: type[T], event: Event) -> T:
    return read(cls, {str(key): str(value) for key, value in event["values"].items()}).value


def _places(event: Event) -> tuple[int, ...]:
    return tuple(int(place) for place in event.get("places") or ())


def _racked(event: Event, subject: str, today: date, before: RackBatch | None) -> RackBatch:
    """before: what was told of the batch till then, by the cutter's tray count or an earlier rack; all of it stays."""
    racked, day = _values(Racked, event), _day(event, today)
    code, block = subject.removeprefix("cure:").rsplit("/", 1)
    water = event.get("water")
    batch = RackBatch(
        code=code,
        block=int(block),
        soap=str(event["soap"]),
        racked=racked,
        water_fraction=None if water is None else float(water),
        cut_on=racked.cut_on or day,
        rack=racked.rack,
        places=_places(event),
        since=day,
    )
    if before is not None:
        batch.cut_on = racked.cut_on or before.cut_on
        batch.weighed, batch.singles, batch.tests = before.weighed, before.singles, before.tests
        if batch.water_fraction is None:
            batch.water_fraction = before.water_fraction
    return batch


def _from_cutter(event: Event, today: date, water: Mapping[str, float]) -> RackBatch:
    code, block = str(event["subject"]).removeprefix("block:").rsplit("/", 1)
    day = _day(event, today)
    return RackBatch(
        code=code,
        block=int(block),
        soap=str(event.get("of_formula") or code),
        racked=Racked(code=code, block=int(block), bars=int(event.get("bars") or 0), stands="yes"),
        water_fraction=water.get(code),
        cut_on=day,
        rack=None,
        places=(),
        since=day,
        trays=int(event["trays"]),
        where=str(event.get("place") or ""),
    )


def _weighed(batch: RackBatch, event: Event, day: date) -> None:
    values = _values(Weighing, event)
    if values.total_g is None or values.bars is None:
        raise ValueError("a weighing without its weight")
    batch.weighed.append(
        GroupWeighed(str(event["id"]), values.weighed_on or day, str(event["person"]), values.bars, values.total_g, values.scale)
    )


def _bars(batch: RackBatch, event: Event, day: date) -> None:
    values = _values(LabelQuestion, event)
    if values.label_g is not None:
        batch.racked = replace(batch.racked, label_g=values.label_g)
        if values.weights is None:
            return
    weights_g = weights_of(values.weights or "", values.weighed_in)
    batch.singles.append(BarsWeighed(str(event["id"]), values.weighed_on or day, str(event["person"]), weights_g))


def _tested(batch: RackBatch, event: Event, day: date) -> None:
    values = _values(SoapTest, event)
    found = result_of(values)
    fraction = found.fraction if isinstance(found, FreeAlkali) else found
    batch.tests.append(Tested(str(event["id"]), values.tested_on or day, str(event["person"]), values.method, values.alkali, fraction))


def _moved(batch: RackBatch, event: Event, day: date) -> None:
    batch.rack, batch.places, batch.since = _values(Move, event).rack, _places(event), day
    batch.ready_on = None


def _ready(batch: RackBatch, event: Event, day: date) -> None:
    batch.ready_on = day


_ADDED = {
    "cure_weighed": _weighed,
    "cure_bars": _bars,
    "cure_tested": _tested,
    "cure_moved": _moved,
    "cure_ready": _ready,
}


def result_of(test: SoapTest) -> FreeAlkali | float:
    """What a test found: free alkali, or moisture as a share. Raises ValueError where the sample gained weight in the oven."""
    if test.method == "moisture":
        if test.dried_g is None or test.dried_g > test.sample_g:
            raise ValueError("the sample gained weight")
        return moisture_fraction(test.sample_g, test.dried_g)
    if test.acid_ml is None or test.acid_mol_per_l is None or test.alkali is None:
        raise ValueError("a titration without its acid")
    if test.method == "free_caustic":
        return free_caustic(test.acid_ml, test.acid_mol_per_l, test.sample_g, test.alkali)
    if test.back_ml is None or test.back_mol_per_l is None:
        raise ValueError("a back titration without its alkali")
    return total_free_alkali(
        test.acid_ml, test.acid_mol_per_l, test.back_ml, test.back_mol_per_l, test.sample_g, test.alkali
    )


def weights_of(typed: str, unit: str) -> tuple[float, ...]:
    """Weights [g] typed one after another, with spaces, commas or new lines between them, each with its unit where one is typed.

    Raises InputProblems naming what is no weight. A comma with a digit on both sides is a decimal one.
    """
    words: list[str] = []
    for word in _BETWEEN.sub(" ", typed).split():
        if words and word.isalpha():
            words[-1] += word
        else:
            words.append(word)
    return tuple(_weight_g(word, unit) for word in words)


def _weight_g(word: str, unit: str) -> float:
    return read(_OneBar, {"bar_g": word, "bar_g.unit": unit}).value.bar_g
