"""Forms filled by chance, made from the declarations alone, with what they mean worked out apart from calc.

The factors are written out here a second time, as exact fractions, so that a wrong one in calc is seen.
"""

import math
from dataclasses import dataclass
from datetime import date, time
from fractions import Fraction
from typing import Any

from hypothesis import strategies as st

from calc.entry.declare import FieldInfo, describe

# Unit -> (slope, value at zero) to the unit used inside. NIST Handbook 44, Appendix C; exact definitions.
LINES = {
    "g": (Fraction(1), Fraction(0)),
    "kg": (Fraction(1000), Fraction(0)),
    "oz": (Fraction("28.349523125"), Fraction(0)),
    "lb": (Fraction("453.59237"), Fraction(0)),
    "mm": (Fraction(1), Fraction(0)),
    "cm": (Fraction(10), Fraction(0)),
    "in": (Fraction("25.4"), Fraction(0)),
    "ml": (Fraction(1), Fraction(0)),
    "l": (Fraction(1000), Fraction(0)),
    "fl_oz": (Fraction("29.5735295625"), Fraction(0)),
    "gal": (Fraction("3785.411784"), Fraction(0)),
    "degC": (Fraction(1), Fraction(0)),
    "degF": (Fraction(5, 9), Fraction(-160, 9)),
    "%": (Fraction(1, 100), Fraction(0)),
    "": (Fraction(1), Fraction(0)),
    "g/ml": (Fraction(1), Fraction(0)),
    "kg/l": (Fraction(1), Fraction(0)),
    "mg/g": (Fraction(1), Fraction(0)),
    "W": (Fraction(1), Fraction(0)),
    "kW": (Fraction(1000), Fraction(0)),
}
WRITTEN_UNITS = {"fl_oz": "fl oz", "degC": "°C", "degF": "°F"}
VULGAR = {Fraction(1, 2): "½", Fraction(1, 4): "¼", Fraction(3, 4): "¾", Fraction(3, 8): "⅜"}


@dataclass(frozen=True)
class Form:
    """The texts of a form's controls, and the value each control means."""

    values: dict[str, str]
    meant: dict[str, Any]


def forms(cls: type[Any], items: dict[str, list[str]] | None = None, prefix: str = "") -> st.SearchStrategy[Form]:
    """Forms without a fault. items gives the ids that exist, by kind; any id will do for a kind left out."""

    @st.composite
    def filled(draw: st.DrawFn) -> Form:
        values: dict[str, str] = {}
        meant: dict[str, Any] = {}
        for info in describe(cls):
            name = prefix + info.name
            if info.when and meant[prefix + info.when[0]] not in info.when[1]:
                meant[name] = None
            elif info.optional and draw(st.booleans()):
                values[name], meant[name] = draw(st.sampled_from(["", " "])), None
            elif info.type == "rows":
                _fill_rows(draw, info, name, items, values, meant)
            else:
                texts, meant[name] = draw(controls(info, name, items))
                values.update(texts)
        return Form(values, meant)

    return filled()


def _fill_rows(
    draw: st.DrawFn,
    info: FieldInfo,
    name: str,
    items: dict[str, list[str]] | None,
    values: dict[str, str],
    meant: dict[str, Any],
) -> None:
    assert info.of is not None
    sizes = st.integers(info.minimum, min(info.maximum, info.minimum + 3))
    indices = sorted(draw(sizes.flatmap(lambda size: st.sets(st.integers(0, 40), min_size=size, max_size=size))))
    for index in indices:
        row = draw(forms(info.of, items, f"{name}.{index}."))
        values.update(row.values)
        meant.update(row.meant)
    meant[name] = len(indices)


@st.composite
def controls(
    draw: st.DrawFn, info: FieldInfo, name: str, items: dict[str, list[str]] | None = None
) -> tuple[dict[str, str], Any]:
    """The controls of one field that is no rows, faultlessly filled, and its value."""
    if info.type == "measure":
        return draw(typed_measures(info, name))
    if info.type == "count":
        assert info.refuse is not None
        whole = draw(st.integers(math.ceil(info.refuse.low), math.floor(info.refuse.high)))
        return {name: str(whole)}, whole
    if info.type == "day":
        day = draw(st.dates(date(2000, 1, 1), date(2099, 12, 31)))
        return {name: day.isoformat()}, day
    if info.type == "time":
        hour = time(draw(st.integers(0, 23)), draw(st.integers(0, 59)))
        return {name: hour.isoformat("minutes")}, hour
    if info.type == "choice":
        key = draw(st.sampled_from(sorted(info.options)))
        return {name: key}, key
    if info.type == "item":
        known = (items or {}).get(info.kind)
        key = draw(st.sampled_from(known) if known else st.from_regex(r"[a-z][a-z0-9-]{0,20}", fullmatch=True))
        return {name: key}, key
    words = draw(st.text("abcdefghij ÄßЖ<>&'\"", max_size=info.max_length - 1).map(lambda text: f"Q{text}"))
    return {name: words}, " ".join(words.split())


@st.composite
def typed_measures(draw: st.DrawFn, info: FieldInfo, name: str) -> tuple[dict[str, str], float]:
    """A quantity inside the field's range, in any unit offered and any way of writing it that is understood."""
    unit = draw(st.sampled_from(info.offered))
    number = draw(_numbers(info, unit))
    slope, at_zero = LINES[unit]
    takes_thousands = info.refuse is not None and info.refuse.low <= float(number * 1000 * slope + at_zero) <= info.refuse.high
    text = draw(st.sampled_from(ways_to_write(number, unit, takes_thousands=takes_thousands)))
    meant = float(number * slope + at_zero)
    if unit and draw(st.booleans()):
        space = draw(st.sampled_from(["", " ", "\u00a0", "\u202f"]))
        # The unit typed with the number outweighs the control beside it.
        beside = draw(st.sampled_from(info.offered))
        return {name: f" {text}{space}{WRITTEN_UNITS.get(unit, unit)} ", f"{name}.unit": beside}, meant
    if unit == info.offered[0] and draw(st.booleans()):
        return {name: text}, meant
    return {name: text, f"{name}.unit": unit}, meant


def _numbers(info: FieldInfo, unit: str) -> st.SearchStrategy[Fraction]:
    """Numbers of up to six decimals, or with quarters and eighths, that lie in the field's range in this unit."""
    assert info.refuse is not None
    slope, at_zero = LINES[unit]
    low, high = ((Fraction(end) - at_zero) / slope for end in (info.refuse.low, info.refuse.high))
    steps = [step for step in (1, 8, 10, 100, 1000, 10**6) if math.ceil(low * step) <= math.floor(high * step)]
    return st.sampled_from(steps).flatmap(
        lambda step: st.integers(math.ceil(low * step), math.floor(high * step)).map(lambda n: Fraction(n, step))
    )


# Where three decimals behind a point are what displays show; written out a second time.
SHOWN_WITH_THREE = {"kg", "lb", "oz", "l", "gal", "fl_oz", "in", "kW", "g/ml", "kg/l"}


def ways_to_write(number: Fraction, unit: str, *, takes_thousands: bool = True) -> list[str]:
    """Every understood way of writing a number of at most six decimals; a mark before three digits only with one reading."""
    sign, size = "-" if number < 0 else "", abs(number)
    whole, rest = divmod(size, 1)
    millionths = f"{int(rest * 10**6):06d}".rstrip("0")
    two_readings = takes_thousands and len(millionths) == 3 and 1 <= whole <= 999
    by_point = f"{sign}{whole}.{millionths}" + ("0" if two_readings and unit not in SHOWN_WITH_THREE else "")
    ways = [by_point if millionths else f"{sign}{whole}"]
    if millionths and not two_readings:
        ways.append(f"{sign}{whole},{millionths}")
    if whole >= 1000 and millionths:
        grouped = f"{whole:,}"
        ways += [f"{sign}{grouped}.{millionths}", f"{sign}{grouped.replace(',', '.')},{millionths}"]
    if millionths and whole == 0:
        ways.append(f"{sign}.{millionths}")
    if number < 0:
        ways.append(ways[0].replace("-", "−"))
    if rest and rest.denominator <= 8:
        ways.append(f"{sign}{whole} {rest.numerator}/{rest.denominator}")
        if rest in VULGAR:
            ways += [f"{sign}{whole or ''}{VULGAR[rest]}", f"{sign}{whole} {VULGAR[rest]}"]
    return ways
