"""One step at the scale, with every word and figure it shows ready made: the page only compares whole numbers.

All amounts are counts of the display's last decimal (see display.py); a key that a step has no use for is None.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil, floor
from typing import Literal

from calc.batch.pours import Kind as PourKind
from calc.entry.language import tr
from calc.entry.shown import decimal_of, interval, quantity
from calc.entry.units import convert
from calc.scales.display import Display
from calc.scales.questions import Expected, Question, questions

# A thermometer is read to tenths.
TEMPERATURE_DECIMALS = 1

# From "cover" on: of the work after the pour alone.
Kind = Literal["confirm", "weigh", "temperature", "timer", "cover", "gel", "lift", "measure", "rack"]
BARS_UNIT = "bars"  # of a measure that counts pieces


@dataclass(frozen=True)
class Fine:
    """The finer scale that the rest of a pour is weighed on, and from where."""

    scale: str
    unit: str
    decimals: int
    division: int
    from_text: str


@dataclass(frozen=True, kw_only=True)
class WeighStep:
    """One action of one person."""

    key: str
    kind: Kind
    safety: bool = False  # must be confirmed by a named person; stands in every block
    title: str
    how: str
    stop: str | None = None
    how_around: Sequence[str] | None = None  # of `how`, what comes before and after from where the display goes on
    pour: str | None = None  # key of the pour it belongs to
    pour_kind: PourKind | None = None
    lot: str | None = None
    scale: str | None = None
    unit: str | None = None
    decimals: int | None = None
    division: int | None = None
    most: int | None = None  # what the scale carries, and so the most its display can show, tared or not
    target: int | None = None
    low: int | None = None  # the band it must end in, inclusive
    high: int | None = None
    target_text: str | None = None
    band_text: str | None = None
    gross: int | None = None  # of a weighing: the display without tare, if all before went to plan
    gross_text: str | None = None  # that with its decimals; of a confirmation too
    close_valve: int | None = None
    close_valve_text: str | None = None
    fine: Fine | None = None
    twice: bool = False  # the reading is typed twice
    questions: tuple[Question, ...] = ()
    seconds: int | None = None  # how long it lasts; of a temperature how long after the portion before it may go unread
    next: str | None = None


def confirm(
    key: str,
    title: str,
    how: str,
    *,
    safety: bool = False,
    stop: str | None = None,
    pour: str | None = None,
    pour_kind: PourKind | None = None,
    gross_text: str | None = None,
) -> WeighStep:
    """A step that a person confirms; a safety step by name."""
    return WeighStep(
        key=key,
        kind="confirm",
        title=title,
        how=how,
        safety=safety,
        stop=stop,
        pour=pour,
        pour_kind=pour_kind,
        gross_text=gross_text,
    )


def timer(key: str, title: str, how: str, seconds: int | None, next_: str | None = None) -> WeighStep:
    """A step that lasts so many seconds by the clock; a plain confirmation where no time is set."""
    kind: Kind = "confirm" if seconds is None else "timer"
    return WeighStep(key=key, kind=kind, title=title, how=how, seconds=seconds, next=next_)


def temperature(
    key: str,
    title: str,
    how: str,
    units: str,
    lowest_c: float | None,
    highest_c: float | None,
    stop: str | None = None,
    unread_s: int | None = None,
) -> WeighStep:
    """A temperature to read, with the maker's range [°C] rounded inward to tenths of the degree read.

    unread_s: how long after the portion before it no reading is needed [s], 0 or more; None where no time is long enough.
    """
    unit = "degF" if units == "us" else "degC"

    def tenths(value_c: float) -> Decimal:
        return 10 * decimal_of(convert(value_c, "degC", unit))

    low = None if lowest_c is None else ceil(tenths(lowest_c))
    high = None if highest_c is None else floor(tenths(highest_c))
    return WeighStep(
        key=key,
        kind="temperature",
        title=title,
        how=how,
        stop=stop,
        unit=unit,
        decimals=TEMPERATURE_DECIMALS,
        division=1,
        low=low,
        high=high,
        band_text=_range_text(low, high, unit),
        seconds=unread_s,
    )


@dataclass(frozen=True, kw_only=True)
class Said:
    """The words of a weighing. around: of `how`, what comes before and after the sentence of `goes_on_from`, where it has one."""

    title: str
    how: str
    around: Sequence[str] | None = None
    stop: str | None = None
    next: str | None = None


@dataclass(frozen=True, kw_only=True)
class Weighed:
    """What is weighed: so much [g], 0 or more, of which pour, kind and lot.

    down: rounded down to the display, as lye is. twice: its reading is typed twice. others: the block's other pours on such a
    display, by name [g].
    """

    grams: float
    pour: str | None = None
    kind: PourKind | None = None
    lot: str | None = None
    down: bool = False
    twice: bool = False
    others: Sequence[tuple[str, float]] = ()


@dataclass(frozen=True)
class ReadOn:
    """The scale that it is read on, its display, and what that scale carries [g]."""

    scale: str
    display: Display
    capacity_g: float


@dataclass(frozen=True, kw_only=True)
class Band:
    """How far from its target a pour may end [g], 0 or more: at least one division each way; the band starts at one division.

    short_of_g: the whole [g], at a step that stops short of it.
    """

    allowed_g: float
    short_of_g: float | None = None


@dataclass(frozen=True, kw_only=True)
class OnScale:
    """What stands on the scale before a pour into the vessel: vessel and contents [g].

    tared: the display is set to zero first; else it counts on from there, and slips are those of its whole reading, though
    they stand less what is on the scale, as all counts do. untared_g: what would still show if tare was missed [g].
    runs_on_g: what still runs after the valve is closed [g].
    """

    grams: float
    tared: bool
    untared_g: Sequence[float] = ()
    runs_on_g: float | None = None


def weigh(
    key: str, said: Said, what: Weighed, on: ReadOn, band: Band, into: OnScale | None = None, fine: Fine | None = None
) -> WeighStep:
    """So much weighed on a display, within a band, into a vessel that stands there already (None: weighed apart).

    With it go the valve hint and the readings that are asked back. fine: the finer scale for the rest of it.
    """
    display = on.display
    target = max(display.counts_of(what.grams, down=what.down), display.division)
    low, high = _ends(display, target, band)
    stands = 0 if into is None else display.counts(into.grams)
    runs_on_g = None if into is None else into.runs_on_g
    close_at = max(target - display.counts(runs_on_g), 0) if runs_on_g else 0
    return WeighStep(
        key=key,
        kind="weigh",
        title=said.title,
        how=said.how,
        stop=said.stop,
        how_around=said.around,
        pour=what.pour,
        pour_kind=what.kind,
        lot=what.lot,
        scale=on.scale,
        unit=display.unit,
        decimals=display.decimals,
        division=display.division,
        most=display.counts(on.capacity_g),
        target=target,
        low=low,
        high=high,
        target_text=display.text(target),
        band_text=tr("{low} to {high}", low=display.text(low), high=display.said(high)),
        gross=None if into is None else stands + target,
        gross_text=None if into is None else display.text(stands + target),
        close_valve=close_at or None,
        close_valve_text=tr("Close the valve at {at}: the rest still runs in.", at=display.said(close_at))
        if close_at
        else None,
        fine=fine,
        twice=what.twice,
        questions=_asked_back(display, Expected(low, target, high), what, band, into),
        next=said.next,
    )


def _ends(display: Display, target: int, band: Band) -> tuple[int, int]:
    """Of the band, both included [counts]; of a first pour always short of the whole."""
    allowed = max(display.counts_within(band.allowed_g), display.division)
    low, high = max(target - allowed, display.division), target + allowed
    if band.short_of_g is not None:
        high = max(target, min(high, display.counts(band.short_of_g) - display.division))
    return low, high


def _asked_back(
    display: Display, meant: Expected, what: Weighed, band: Band, into: OnScale | None
) -> tuple[Question, ...]:
    """The readings that a known slip would produce, less what stood on the display before, as all counts of a step."""
    before = 0 if into is None or into.tared else display.counts(into.grams)
    expected = Expected(
        meant.low + before,
        meant.target + before,
        meant.high + before,
        () if into is None else tuple(display.counts(mass_g) for mass_g in into.untared_g),
        meant.target if before else None,
        None if band.short_of_g is None else display.counts(band.short_of_g) + before,
        tuple((name, display.counts(mass_g) + before) for name, mass_g in what.others),
    )
    return tuple(replace(slip, low=slip.low - before, high=slip.high - before) for slip in questions(display, expected))


def tared(display: Display) -> str:
    """What to do before a pour where each is tared."""
    return tr("Press tare: the display shows {zero}.", zero=display.said(0))


def goes_on_from(before: str) -> str:
    """What to do where nobody tares. before: what the display shows by now, "31.90 kg"."""
    return tr("Don't tare: the display goes on from about {before}.", before=before)


def going_on(said: Said, before: str, first: str = "") -> Said:
    """The words of a weighing that nobody tares for. before: as above. first: what is said even before that."""
    return replace(said, how=_joined(first, before, said.how), around=(first, said.how))


def how_going_on(around: Sequence[str], before: str) -> str:
    """The same words anew, where the display goes on from something else. around: as they were frozen."""
    first, then = around
    return _joined(first, before, then)


def _joined(first: str, before: str, then: str) -> str:
    return " ".join(filter(None, (first, goes_on_from(before), then)))


def _range_text(low: int | None, high: int | None, unit: str) -> str | None:
    decimals = 1 if any(end is not None and end % 10 for end in (low, high)) else 0

    def show(tenths: float) -> str:
        return quantity(tenths / 10.0, unit, decimals)

    if low is not None and high is not None:
        return interval(low, high, show)
    if low is not None:
        return tr("at least {low}", low=show(low))
    return None if high is None else tr("at most {high}", high=show(high))
