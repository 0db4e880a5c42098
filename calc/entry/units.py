"""The units a form may offer, and exact conversion between them: the only importer of pint.

In the browser there is no pint: a build writes down what it says of every conversion, and that table stands for it there.

Only an already separated number and a unit named here ever reach pint, which by itself would read
'1,5 kg' as 15 kg. Conversions are exact fractions and are rounded once, to the float handed back.

Source of the factors (all exact by definition): NIST Handbook 44, Appendix C, and NIST SP 811, Appendix B.
"""

import json
from collections.abc import Mapping
from fractions import Fraction
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

Line = tuple[Fraction, Fraction]

# Beside this file in a bundle for the browser, and nowhere else.
WRITTEN_LINES = Path(__file__).with_name("unit_lines.json")

# Our unit -> (kind, pint's name for it, symbol shown). The first unit of a kind is the one used inside.
# Capital L: NIST SP 811, table 6 note, since a small l is easily read as 1.
_UNITS = {
    "g": ("mass", "gram", "g"),
    "kg": ("mass", "kilogram", "kg"),
    "oz": ("mass", "ounce", "oz"),
    "lb": ("mass", "pound", "lb"),
    "mm": ("length", "millimetre", "mm"),
    "cm": ("length", "centimetre", "cm"),
    "in": ("length", "inch", "in"),
    "ml": ("volume", "millilitre", "mL"),
    "l": ("volume", "litre", "L"),
    "fl_oz": ("volume", "us_fluid_ounce", "fl oz"),
    "gal": ("volume", "us_gallon", "gal"),
    "degC": ("temperature", "degree_celsius", "°C"),
    "degF": ("temperature", "degree_fahrenheit", "°F"),
    "fraction": ("percent", "fraction", ""),
    "%": ("percent", "percent", "%"),
    "": ("ratio", "ratio", ""),
    "g/ml": ("density", "gram / millilitre", "g/mL"),
    "kg/l": ("density", "kilogram / litre", "kg/L"),
    "mg/g": ("saponification_value", "milligram_per_gram", "mg/g"),
    "W": ("power", "watt", "W"),
    "kW": ("power", "kilowatt", "kW"),
    "mol/l": ("concentration", "mole_per_litre", "mol/L"),
}
# A US gallon is 231 in3 = 231 x 2.54^3 ml, and 128 fluid ounces. mg/g is kept apart from plain fractions on
# purpose: a saponification value is quoted, never converted to a percentage.
_DEFINITIONS = """
gram = [mass]
kilogram = 1000 * gram
pound = 453.59237 * gram
ounce = pound / 16
millimetre = [length]
centimetre = 10 * millimetre
inch = 25.4 * millimetre
millilitre = [volume]
litre = 1000 * millilitre
us_gallon = 3785.411784 * millilitre
us_fluid_ounce = us_gallon / 128
kelvin = [temperature]; offset: 0
degree_celsius = kelvin; offset: 273.15
degree_fahrenheit = 5 / 9 * kelvin; offset: 459.67 * 5 / 9
fraction = [share]
percent = 0.01 * fraction
ratio = [ratio]
milligram_per_gram = [saponification_value]
watt = [power]
kilowatt = 1000 * watt
mole_per_litre = [concentration]
"""


def kind_of(unit: str) -> str:
    """The kind of quantity a unit measures ("mass", "length", ...); ValueError for a unit not in the closed list."""
    if unit not in _UNITS:
        raise ValueError(f"unknown unit {unit!r}")
    return _UNITS[unit][0]


def internal_unit(kind: str) -> str:
    """The unit a kind of quantity is kept in inside: g, mm, ml, degC, fraction, ...; ValueError for an unknown kind."""
    return _of_kind(kind)[0]


def typed_units(kind: str) -> tuple[str, ...]:
    """The closed list of units that may be offered or typed for a kind; ValueError for an unknown kind."""
    return tuple(unit for unit in _of_kind(kind) if unit != "fraction")


def show_unit(unit: str) -> str:
    """The symbol of a unit as people read it ("degC" -> "°C", "fl_oz" -> "fl oz"); ValueError for an unknown unit."""
    kind_of(unit)
    return _UNITS[unit][2]


# An answer asks for thousands, most of them the same as the one before. Typed: a float stands for its shortest decimal, a
# fraction that equals it for itself.
@lru_cache(maxsize=8192, typed=True)
def convert(number: float | Fraction, unit: str, to: str) -> float:
    """The same quantity in another unit of its kind, rounded once to the nearest float.

    A float stands for the shortest decimal that names it, so that 0.07 becomes 7 % and not 7.000000000000001 %.
    A temperature is a reading, not a difference: 0 °C is 32 °F.
    Valid for finite numbers; ValueError for an unknown unit or units of two kinds.
    Source: see the module.
    """
    exact = number if isinstance(number, Fraction) else Fraction(repr(float(number)))
    scale, offset = _line(unit, to)
    return float(exact * scale + offset)


def _of_kind(kind: str) -> tuple[str, ...]:
    units = tuple(unit for unit, (its_kind, _, _) in _UNITS.items() if its_kind == kind)
    if not units:
        raise ValueError(f"unknown kind of quantity {kind!r}")
    return units


@cache
def _line(unit: str, to: str) -> Line:
    """Every conversion here is a straight line: its slope and its value at zero, both exact."""
    if kind_of(unit) != kind_of(to):
        raise ValueError(f"{unit!r} is {kind_of(unit)}, {to!r} is {kind_of(to)}")
    if unit == to:
        return Fraction(1), Fraction(0)
    written = _written_lines()
    return _pints_line(unit, to) if written is None else written[unit, to]


@cache
def _written_lines() -> Mapping[tuple[str, str], Line] | None:
    return read_lines(WRITTEN_LINES.read_text(encoding="utf-8")) if WRITTEN_LINES.exists() else None


def every_line() -> str:
    """What pint says of every conversion between two units, as the text of `WRITTEN_LINES`."""
    pairs = ((unit, to) for unit in _UNITS for to in _of_kind(kind_of(unit)) if to != unit)
    return json.dumps([[unit, to, *map(str, _pints_line(unit, to))] for unit, to in pairs], indent=0)


def read_lines(text: str) -> dict[tuple[str, str], Line]:
    """The lines of such a text, by unit and the unit converted to."""
    return {(unit, to): (Fraction(slope), Fraction(at_zero)) for unit, to, slope, at_zero in json.loads(text)}


def _pints_line(unit: str, to: str) -> Line:
    at_zero, at_one = (_registry().convert(Fraction(n), _UNITS[unit][1], _UNITS[to][1]) for n in (0, 1))
    return at_one - at_zero, at_zero


@cache
def _registry() -> Any:
    # Imported when first needed: pint takes longer to import than all of calc.
    import pint

    registry: Any = pint.UnitRegistry(None, non_int_type=Fraction)
    for line in _DEFINITIONS.strip().splitlines():
        registry.define(line)
    return registry
