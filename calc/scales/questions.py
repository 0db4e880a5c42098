"""Readings that are asked back before they are taken, because a known slip would produce just them.

Each is an interval of display counts outside the band. The slips are common practice, no source: 10 or 100 times
off, lb for kg, oz for g get a named question. Factors exact, NIST Handbook 44, Appendix C.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from calc.entry.language import tr
from calc.scales.display import Display
from calc.tables.reference import constant

POUNDS_IN_KG = Fraction(100_000_000, 45_359_237)  # 1 kg = 2.2046 lb
GRAMS_IN_OZ = Fraction(45_359_237, 1_600_000)  # 1 oz = 28.35 g

# A slip repeats a reading that is itself only near the target. As a fraction: what is asked is told in whole counts.
NEAR = Fraction(repr(constant("slip_near").value))


@dataclass(frozen=True)
class Question:
    """Readings from low to high, in display counts and inclusive, and what is asked when one of them is typed."""

    code: str
    low: int
    high: int
    text: str


@dataclass(frozen=True)
class Expected:
    """The band a reading must end in, and what else could stand on the display by mistake; all in display counts."""

    low: int
    target: int
    high: int
    untared: tuple[int, ...] = ()  # what is on the scale already, counted from each place where tare may have been missed
    tared: int | None = None  # what would show had tare been pressed, where the display is meant to count on
    whole: int | None = None  # the whole lye, at the step that stops short of it
    others: tuple[tuple[str, int], ...] = ()  # targets of the block's other pours on this display, by name


def questions(display: Display, expected: Expected) -> tuple[Question, ...]:
    """The questioned readings of one step, likeliest slip first; none of them lies in the band."""
    slips = _asked(_slips(display, expected), expected)
    nothing = min(floor(NEAR * expected.target), expected.low - 1)
    if nothing < 0:
        return slips
    return (*slips, Question("nothing-poured", 0, nothing, tr("Hardly anything is poured yet. Has the display settled?")))


def not_tared(display: Display, expected: Expected) -> tuple[Question, ...]:
    """Those of the questions that are about what was on the scale before the pour."""
    return _asked(_untared(display, expected), expected)


def _asked(slips: Iterator[tuple[str, int, int, str]], expected: Expected) -> tuple[Question, ...]:
    return tuple(
        Question(code, low, high, text)
        for code, wide_low, wide_high, text in slips
        for low, high in _outside(max(1, wide_low), wide_high, expected.low, expected.high)
    )


def _untared(display: Display, expected: Expected) -> Iterator[tuple[str, int, int, str]]:
    around = _around(expected)
    for count in sorted(set(expected.untared)):
        if count > 0:
            yield (
                "not-tared",
                count + floor(around[0]),
                count + ceil(around[1]),
                tr(
                    "That fits if {there} was already on the scale. Was tare pressed before this pour?",
                    there=display.said(count),
                ),
            )


def _slips(display: Display, expected: Expected) -> Iterator[tuple[str, int, int, str]]:
    target, around, step = expected.target, _around(expected), display.division
    if expected.whole is not None:
        yield (
            "whole-target",
            expected.whole - step,
            expected.whole + step,
            tr("That's all of it, but this step stops short of that. Does the display really show that?"),
        )
    yield from _untared(display, expected)
    if expected.tared is not None:
        yield (
            "tared",
            expected.tared - (target - floor(around[0])),
            expected.tared + (ceil(around[1]) - target),
            tr("That fits if tare was pressed. Here the display keeps counting from the vessel. Read what it shows."),
        )
    yield from _unit_slips(display, around)
    for swapped in _swaps(target, display.decimals):
        yield (
            "digits-swapped",
            swapped,
            swapped,
            tr("That's the target with two digits swapped. Read the display again."),
        )
    for name, count in expected.others:
        yield (
            "other-pour",
            count - step,
            count + step,
            tr("That's the amount for another pour: {name}. Is the right container at the scale?", name=name),
        )
    for power in (1, 2, 3):
        times = 10**power
        more = tr("That's {times} times the target. Is the decimal point right?", times=times)
        less = tr("That's the target divided by {times}. Is the decimal point right?", times=times)
        yield _scaled("point-slipped", around, Fraction(times), more)
        yield _scaled("point-slipped", around, Fraction(1, times), less)


def _unit_slips(display: Display, around: tuple[Fraction, Fraction]) -> Iterator[tuple[str, int, int, str]]:
    more = tr("That's 2.2 times the target, as if it were in lb instead of kg. Which unit does the display show?")
    less = tr("That's the target divided by 2.2, as if it were in kg instead of lb. Which unit does the display show?")
    yield _scaled("pounds-for-kilograms", around, POUNDS_IN_KG, more)
    yield _scaled("kilograms-for-pounds", around, 1 / POUNDS_IN_KG, less)
    if display.unit in ("g", "oz"):
        more = tr("That's 28 times the target, as if it were in g instead of oz. Which unit does the display show?")
        less = tr("That's the target divided by 28, as if it were in oz instead of g. Which unit does the display show?")
        yield _scaled("grams-for-ounces", around, GRAMS_IN_OZ, more)
        yield _scaled("ounces-for-grams", around, 1 / GRAMS_IN_OZ, less)


def _around(expected: Expected) -> tuple[Fraction, Fraction]:
    return (
        min(Fraction(expected.low), expected.target * (1 - NEAR)),
        max(Fraction(expected.high), expected.target * (1 + NEAR)),
    )


def _scaled(code: str, around: tuple[Fraction, Fraction], factor: Fraction, text: str) -> tuple[str, int, int, str]:
    return code, floor(around[0] * factor), ceil(around[1] * factor), text


def _swaps(target: int, decimals: int) -> Iterator[int]:
    """The target's count with each two neighbouring digits of the display swapped, where that changes it."""
    digits = str(target).zfill(decimals + 1)
    for n in range(len(digits) - 1):
        if digits[n] != digits[n + 1]:
            yield int(digits[:n] + digits[n + 1] + digits[n] + digits[n + 2 :])


def _outside(low: int, high: int, band_low: int, band_high: int) -> Sequence[tuple[int, int]]:
    """The parts of an interval that lie outside the band."""
    parts = ((low, min(high, band_low - 1)), (max(low, band_high + 1), high))
    return [(first, last) for first, last in parts if first <= last]
