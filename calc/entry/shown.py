"""Numbers written for people: the only place where a calculated value is rounded for show.

NIST SP 811: a space between number and unit (7.2), also before % (7.10.2), a zero before the decimal point
(10.5.2), no commas between thousands (10.5.3). The minus sign is U+2212, and nothing is ever shown as -0.
"""

import math
from collections.abc import Callable
from datetime import date
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from functools import lru_cache

from calc.entry.language import later, ntr, tr
from calc.entry.units import convert, show_unit

MINUS = "\N{MINUS SIGN}"

# A float holds 15 decimal figures whatever they are; what arithmetic leaves behind them is noise, and rounding down by it
# would lose a whole step: 0.07 times 100 is 7.000000000000001.
_TRUE_FIGURES = Context(prec=14, rounding=ROUND_HALF_EVEN)


# Less than a quart is said in cups, and less than a tenth of a litre in millilitres.
FROM_HALVES_OF_A_QUART, TENTH = 2, 0.1


@lru_cache(maxsize=8192)
def number(value: float, decimals: int | None = None) -> str:
    """A plain number: with exactly so many decimals, or, without any stated, with those it has ("12", "0.5").

    Halves are rounded up, as people check them by hand, on the decimal the float is shown as:
    2.675 becomes 2.68 although its binary value lies a hair below. ValueError when not finite.
    """
    exact = decimal_of(value)
    if decimals is not None:
        exact = _round(exact, decimals)
    elif exact == exact.to_integral_value():
        exact = exact.to_integral_value()
    text = f"{abs(exact):f}"
    return MINUS + text if exact < 0 else text


def quantity(value: float, unit: str, decimals: int | None = None) -> str:
    """A number already in this unit, with the unit's symbol after a space; a plain ratio has none."""
    return f"{number(value, decimals)} {show_unit(unit)}".rstrip()


def figures(value: float, unit: str, most: int = 7) -> str:
    """A number already in this unit, in at most so many figures: half a kilogram is "1.102311 lb"; a whole number is whole."""
    exact = decimal_of(value)
    return quantity(_at_most(value, max(0, most - 1 - exact.adjusted()) if exact else 0), unit)


def mass(value_g: float, unit: str = "g", division_g: float | None = None) -> str:
    """A mass [g] in g, kg, oz or lb.

    With a scale's division [g] it has the decimals of that division in that unit (20 g on a scale in kg:
    "15.04 kg"); it is not moved onto the division, which is the weighing's own step. Without, four figures.
    """
    value = convert(value_g, "g", unit)
    if division_g is None:
        return _four_figures(value, unit)
    return quantity(value, unit, division_decimals(division_g, unit))


def division_decimals(division_g: float, unit: str) -> int:
    """How many decimals show every step of a scale's division [g] in a unit: 0.05 lb needs 2, 1 g in lb needs 3.

    A division that is no short decimal in the unit gets the decimals that are just finer than it.
    ValueError unless the division is above 0.
    """
    if not division_g > 0:
        raise ValueError("a scale's division must be above 0 g")
    division = decimal_of(convert(division_g, "g", unit)).normalize()
    exponent = int(division.as_tuple().exponent)
    return max(0, -exponent if -exponent <= 4 else -division.adjusted())


def length(value_mm: float, unit: str = "mm", decimals: int | None = None) -> str:
    """A length [mm] in mm, cm or in; four figures unless the decimals are given."""
    return _converted(value_mm, "mm", unit, decimals)


def volume(value_ml: float, unit: str = "ml", decimals: int | None = None) -> str:
    """A volume [ml] in ml, l, fl_oz or gal; four figures unless the decimals are given."""
    return _converted(value_ml, "ml", unit, decimals)


def temperature(value_c: float, unit: str = "degC", decimals: int = 0) -> str:
    """A temperature [°C] in degC or degF, to whole degrees unless the decimals are given."""
    return quantity(convert(value_c, "degC", unit), unit, decimals)


def weight(value_g: float, units: str, division_g: float | None = None) -> str:
    """A mass [g] in the units chosen: kg or g, in US units lb or oz.

    What was read on displays has the decimals of their scale's division [g], as in `mass`: "16.30 kg" beside a reading of
    16.30. What nobody weighs has four figures.
    """
    large, small, step_g = ("lb", "oz", convert(1.0, "lb", "g")) if units == "us" else ("kg", "g", 1000.0)
    return mass(value_g, large if abs(value_g) >= step_g else small, division_g)


def plain_weight(value_g: float, units: str) -> str:
    """A mass [g] as people say one that nobody weighs out: "56.4 kg", "148 g", in US units "124.3 lb", "5.2 oz".

    Under a kilogram or a pound it is said in grams or ounces; tenths of a gram only under ten.
    """
    large = "lb" if units == "us" else "kg"
    value = convert(value_g, "g", large)
    return small_weight(value_g, units) if abs(value) < 1.0 else quantity(_at_most(value, 1), large)


def plain_shortage(value_g: float, units: str) -> str:
    """A mass [g] that is missing, said as `plain_weight` does but never less than it is: "14.1 kg" for 14.04 kg."""
    large, small = ("lb", "oz") if units == "us" else ("kg", "g")
    value = convert(value_g, "g", large)
    unit, step = (large, 0.1) if abs(value) >= 1.0 else (small, 1.0 if small == "g" and abs(value_g) >= 10.0 else 0.1)
    # A figure that is even but for the rounding of floats stays as it is.
    steps = math.ceil(convert(value_g, "g", unit) / step - 1e-6)
    return plain_weight(convert(steps * step, unit, "g"), units)


def small_weight(value_g: float, units: str) -> str:
    """A mass [g] as people say it of a scent: in grams or ounces however much it is, "352 g", "17.6 oz"."""
    unit = "oz" if units == "us" else "g"
    value = convert(value_g, "g", unit)
    return quantity(_at_most(value, 0 if unit == "g" and abs(value) >= 10.0 else 1), unit)


def warmth(value_c: float, units: str) -> str:
    """A temperature [°C] to whole degrees: °C, in US units °F."""
    return temperature(value_c, "degF" if units == "us" else "degC")


def level(value_mm: float, units: str) -> str:
    """A length on a mould [mm]: whole mm, or hundredths of an inch."""
    return length(value_mm, "in", 2) if units == "us" else length(value_mm, "mm", 0)


def size(value_mm: float, units: str) -> str:
    """A size of cut soap, or how far apart wires stand [mm]: to a tenth of a millimetre or a hundredth of an inch at most."""
    unit, decimals = ("in", 2) if units == "us" else ("mm", 1)
    return quantity(_at_most(convert(value_mm, "mm", unit), decimals), unit)


def room(value_ml: float, units: str) -> str:
    """A volume [ml] as litres or US gallons, one decimal; less than one of them as whole ml or US fluid ounces."""
    large, small = ("gal", "fl_oz") if units == "us" else ("l", "ml")
    if abs(value_ml) < convert(1.0, large, "ml"):
        return volume(value_ml, small, 0)
    return volume(value_ml, large, 1)


def jugful(value_ml: float, units: str) -> str:
    """What a pitcher is to hold [ml], above 0, as people say it: "about 1 1/2 quarts", "about 3 cups"; else "about 1.2 L".

    A US gallon is 4 liquid quarts or 16 cups (NIST Handbook 44, Appendix C).
    """
    if units != "us":
        litres = convert(value_ml, "ml", "l")
        return tr("about {amount}", amount=about(value_ml, "ml") if litres < TENTH else quantity(_at_most(litres, 1), "l"))
    gallons = convert(value_ml, "ml", "gal")
    halves = int(_round(decimal_of(8.0 * gallons), 0))
    if halves < FROM_HALVES_OF_A_QUART:
        return ntr("about {number} cup", "about {number} cups", max(1, int(_round(decimal_of(16.0 * gallons), 0))))
    whole, half = divmod(halves, 2)
    if half:
        return tr("about {number} quarts", number=f"{whole} 1/2")
    return ntr("about {number} quart", "about {number} quarts", whole)


def degrees(value_c: float) -> str:
    """A temperature [°C] in °C and °F, for words that do not know which units were chosen: "16 °C (61 °F)"."""
    return f"{temperature(value_c)} ({temperature(value_c, 'degF')})"


def degrees_apart(value_c: float) -> str:
    """A difference of two temperatures [°C] in °C and °F: "1 °C (1.8 °F)"."""
    apart_f = convert(value_c, "degC", "degF") - convert(0.0, "degC", "degF")
    return f"{quantity(value_c, 'degC')} ({quantity(apart_f, 'degF')})"


def percent(fraction: float, decimals: int = 1) -> str:
    """A fraction (0..1) in per cent, to at most so many decimals: 0.45 is "45 %", 0.455 is "45.5 %".

    Under 1 % it keeps two figures at least: 0.00085 is "0.085 %".
    """
    return _percent(fraction, decimals, ROUND_HALF_UP)


def percent_down(fraction: float, decimals: int = 1) -> str:
    """A limit (0..1) in per cent as in `percent`, rounded down: 0.016676 to two decimals is "1.66 %"."""
    return _percent(fraction, decimals, ROUND_FLOOR)


def load_and_limit(load_fraction: float, limit_fraction: float, *, over: bool) -> tuple[str, str]:
    """A load beside its limit (0..1) in per cent, both to as many decimals, two or more, as show whether it is over.

    The load is rounded to the nearest and the limit down, as in `percent` and `percent_down`: by two decimals 0.767 % would be
    0.77 %, above the 0.76 % of a limit of 0.769 %.
    """
    load, limit = (decimal_of(convert(fraction, "fraction", "%")) for fraction in (load_fraction, limit_fraction))
    least = max(2, *(1 - exact.adjusted() for exact in (load, limit) if exact))
    for decimals in range(least, least + 3):
        shown, most = _round(load, decimals), _round(limit, decimals, ROUND_FLOOR)
        if (shown > most) == over:
            break
    else:  # too near to be told apart by rounding
        shown = _round(load, decimals, ROUND_CEILING) if over else most
    return quantity(float(shown), "%"), quantity(float(most), "%")


def percent_figures(fraction: float) -> str:
    """A share (0..1) that is only estimated, in per cent with two figures: 0.0133 is "1.3 %", 0.127 is "13 %"."""
    return quantity(_figures(convert(fraction, "fraction", "%"), 2), "%")


def tenths(fraction: float) -> str:
    """A fraction in per cent with one decimal always, so that the two ends of an interval look alike."""
    return quantity(convert(fraction, "fraction", "%"), "%", 1)


def hundredths(fraction: float) -> str:
    """A superfat itself in per cent, always with two decimals, to show even what rounding to a display changes."""
    return quantity(convert(fraction, "fraction", "%"), "%", 2)


def points(fraction: float, decimals: int = 1) -> str:
    """A difference of two percentages, without its unit: 0.024 is "2.4" (percentage points)."""
    return number(convert(fraction, "fraction", "%"), decimals)


def counted(count: int, decimals: int) -> str:
    """Whole units of a display's last decimal as the display shows them: 1574 with two decimals is "15.74"."""
    return f"{Decimal(count).scaleb(-decimals):f}"


def about(value: float, unit: str) -> str:
    """A quantity that nobody measures out, already in this unit, in two figures: 1514.4 g is "1500 g"."""
    return quantity(_figures(value, 2), unit)


def duration(seconds: int) -> str:
    """A length of time [s], 0 or more: "2 s", "3 min 20 s", "24 h"; unit signs as in NIST SP 811, table 6."""
    if seconds < 0:
        raise ValueError("A length of time is zero or more.")
    minutes, rest = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    parts = [(hours, "h"), (minutes, "min"), (rest, "s")]
    return " ".join(f"{number} {unit}" for number, unit in parts if number) or "0 s"


_MONTHS = (
    later("Jan {day}"), later("Feb {day}"), later("Mar {day}"), later("Apr {day}"), later("May {day}"), later("Jun {day}"),
    later("Jul {day}"), later("Aug {day}"), later("Sep {day}"), later("Oct {day}"), later("Nov {day}"), later("Dec {day}"),
)  # fmt: skip


def calendar_day(value: date) -> str:
    """A day as people say it: "Dec 14". The year is left to those who are within it."""
    return tr(_MONTHS[value.month - 1], day=value.day)


def bar_weight(value_g: float, units: str) -> str:
    """What a bar weighs [g], as its label would say it before rounding: "122.4 g", "4.32 oz"."""
    return quantity(convert(value_g, "g", "oz"), "oz", 2) if units == "us" else quantity(value_g, "g", 1)


def money(value: Decimal, currency: str | None) -> str:
    """Money to hundredths: "$0.83" with a sign, "0.83 EUR" with letters, "0.83" where the shop has not said what it is in."""
    cents = _round(value, 2)
    # What rounds to nothing is nothing, and has no sign.
    rounded = f"{cents if cents else abs(cents):.2f}"
    if not currency:
        return rounded
    return f"{rounded} {currency}" if currency[-1].isalnum() else f"{'-' if rounded.startswith('-') else ''}{currency}{rounded.lstrip('-')}"


def interval(low: float, high: float, show: Callable[[float], str]) -> str:
    """Two ends, each shown whole ("11.8 kg to 12.4 kg", NIST SP 811 7.7); once only when both read the same."""
    if low > high:
        raise ValueError("an interval's low end lies above its high end")
    first, last = show(low), show(high)
    return first if first == last else tr("{low} to {high}", low=first, high=last)


def limit(value: float, unit: str, lowest: bool) -> str:
    """A limit already in this unit, in four figures rounded inward, so that typing what is shown is accepted."""
    exact = decimal_of(value)
    decimals = max(0, 3 - exact.adjusted()) if exact else 0
    return quantity(float(_round(exact, decimals, ROUND_CEILING if lowest else ROUND_FLOOR)), unit)


def _converted(value: float, internal: str, unit: str, decimals: int | None) -> str:
    converted = convert(value, internal, unit)
    return _four_figures(converted, unit) if decimals is None else quantity(converted, unit, decimals)


def _four_figures(value: float, unit: str) -> str:
    exact = decimal_of(value)
    return quantity(_at_most(value, max(0, 3 - exact.adjusted()) if exact else 0), unit)


def _percent(fraction: float, decimals: int, rounding: str) -> str:
    exact = decimal_of(convert(fraction, "fraction", "%"))
    if exact and exact.adjusted() < 0:
        decimals = max(decimals, 1 - exact.adjusted())
    return quantity(float(_round(exact, decimals, rounding)), "%")


def _figures(value: float, figures: int) -> float:
    exact = decimal_of(value)
    return float(_round(exact, figures - 1 - exact.adjusted())) if exact else 0.0


def _at_most(value: float, decimals: int) -> float:
    return float(_round(decimal_of(value), decimals))


def decimal_of(value: float) -> Decimal:
    """The decimal that a float stands for, without what arithmetic left in its last figures. ValueError unless finite."""
    if not math.isfinite(value):
        raise ValueError(f"{value} cannot be shown as a number")
    return _TRUE_FIGURES.create_decimal(repr(float(value))).normalize()


def _round(exact: Decimal, decimals: int, rounding: str = ROUND_HALF_UP) -> Decimal:
    # Not Decimal.quantize alone: its default context stops at 28 figures, and a float may have 309.
    scaled = Fraction(exact) * Fraction(10) ** decimals
    if abs(scaled) >= 10**27:
        return exact
    return exact.quantize(Decimal(1).scaleb(-decimals), rounding)
