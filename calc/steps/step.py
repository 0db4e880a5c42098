"""One step at the scale, with every word and figure it shows ready made: the page only compares whole numbers.

All amounts are counts of the display's last decimal (see display.py); a key that a step has no use for is None.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil, floor

from calc.entry.language import tr
from calc.entry.shown import decimal_of, interval, quantity
from calc.entry.units import convert
from calc.scales.display import Display
from calc.scales.questions import Expected, Question, questions

# A thermometer is read to tenths.
TEMPERATURE_DECIMALS = 1


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
    kind: str  # "confirm", "weigh", "temperature" or "timer"
    safety: bool = False  # must be confirmed by a named person; stands in every block
    title: str
    how: str
    stop: str | None = None
    pour: str | None = None  # key of the pour it belongs to
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
    gross_text: str | None = None  # the display without tare, if all before went to plan
    close_valve: int | None = None
    close_valve_text: str | None = None
    fine: Fine | None = None
    twice: bool = False  # the reading is typed twice
    questions: tuple[Question, ...] = ()
    seconds: int | None = None
    next: str | None = None


def confirm(
    key: str,
    title: str,
    how: str,
    *,
    safety: bool = False,
    stop: str | None = None,
    pour: str | None = None,
    gross_text: str | None = None,
) -> WeighStep:
    """A step that a person confirms; a safety step by name."""
    return WeighStep(
        key=key, kind="confirm", title=title, how=how, safety=safety, stop=stop, pour=pour, gross_text=gross_text
    )


def timer(key: str, title: str, how: str, seconds: int | None, next_: str | None = None) -> WeighStep:
    """A step that lasts so many seconds by the clock; a plain confirmation where no time is set."""
    kind = "confirm" if seconds is None else "timer"
    return WeighStep(key=key, kind=kind, title=title, how=how, seconds=seconds, next=next_)


def temperature(
    key: str, title: str, how: str, units: str, lowest_c: float | None, highest_c: float | None, stop: str | None = None
) -> WeighStep:
    """A temperature to read, with the maker's range [°C] rounded inward to tenths of the degree read."""
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
    )


def weigh(
    key: str,
    title: str,
    how: str,
    *,
    scale: str,
    display: Display,
    capacity_g: float,
    target_g: float,
    allowed_g: float,
    pour: str | None = None,
    lot: str | None = None,
    stop: str | None = None,
    on_scale_g: float | None = None,
    untared_g: Sequence[float] = (),
    counts_on: bool = False,
    runs_on_g: float | None = None,
    fine: Fine | None = None,
    twice: bool = False,
    whole_g: float | None = None,
    others: Sequence[tuple[str, float]] = (),
    next_: str | None = None,
    down: bool = False,
) -> WeighStep:
    """An amount to weigh: target and band on the display, the valve hint and the readings that are asked back.

    capacity_g: what the scale carries [g]. target_g: the amount [g], 0 or more. allowed_g: how far from it the pour may end [g], 0 or more; the band is at least
    one division wide each way and starts at one division. on_scale_g: vessel and contents before this pour [g], None
    when weighed apart. untared_g: what would stand on the display if tare was missed [g]. counts_on: the display is not tared and counts on from
    on_scale_g; slips are then those of its whole reading, and stand less what is on the scale, as all counts do. runs_on_g: what still runs
    after closing [g]. whole_g: the whole lye at the step that stops short of it [g]. others: the block's other pours on
    such a display, by name [g]. down: rounded down to the display, as lye is.
    """
    target = max(display.counts_of(target_g, down=down), display.division)
    allowed = max(display.counts_within(allowed_g), display.division)
    low, high = max(target - allowed, display.division), target + allowed
    whole = None if whole_g is None else display.counts(whole_g)
    if whole is not None:
        high = max(target, min(high, whole - display.division))
    on_scale = 0 if on_scale_g is None else display.counts(on_scale_g)
    before = on_scale if counts_on else 0
    expected = Expected(
        low + before,
        target + before,
        high + before,
        tuple(display.counts(mass_g) for mass_g in untared_g),
        target if before else None,
        None if whole is None else whole + before,
        tuple((name, display.counts(mass_g) + before) for name, mass_g in others),
    )
    asked = (
        replace(slip, low=slip.low - before, high=slip.high - before) for slip in questions(display, expected)
    )
    close_at = None if not runs_on_g else max(target - display.counts(runs_on_g), 0)
    return WeighStep(
        key=key,
        kind="weigh",
        title=title,
        how=how,
        stop=stop,
        pour=pour,
        lot=lot,
        scale=scale,
        unit=display.unit,
        decimals=display.decimals,
        division=display.division,
        most=display.counts(capacity_g),
        target=target,
        low=low,
        high=high,
        target_text=display.text(target),
        band_text=tr("{low} to {high}", low=display.text(low), high=display.said(high)),
        gross_text=None if on_scale_g is None else display.text(on_scale + target),
        close_valve=close_at or None,
        close_valve_text=tr("Close the valve at {at}: the rest still runs in.", at=display.said(close_at))
        if close_at
        else None,
        fine=fine,
        twice=twice,
        questions=tuple(asked),
        next=next_,
    )


def tared(display: Display) -> str:
    """What to do before a pour where each is tared."""
    return tr("Press tare: the display shows {zero}.", zero=display.said(0))


def goes_on_from(before: str) -> str:
    """What to do where nobody tares. before: what the display shows by now, "31.90 kg"."""
    return tr("Don't tare: the display goes on from about {before}.", before=before)


def _range_text(low: int | None, high: int | None, unit: str) -> str | None:
    def show(tenths: float) -> str:
        return quantity(tenths / 10.0, unit)

    if low is not None and high is not None:
        return interval(low, high, show)
    if low is not None:
        return tr("at least {low}", low=show(low))
    return None if high is None else tr("at most {high}", high=show(high))
