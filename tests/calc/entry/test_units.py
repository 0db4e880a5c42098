"""Factors: NIST Handbook 44, Appendix C (exact definitions); all conversions also against pint's own registry."""

import itertools
import shutil
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import pint
import pytest

from calc.entry.units import (
    WRITTEN_LINES,
    convert,
    every_line,
    internal_unit,
    kind_of,
    read_lines,
    show_unit,
    typed_units,
)

ROOT = Path(__file__).parents[3]

KINDS = ("mass", "length", "volume", "temperature", "percent", "ratio", "density", "saponification_value", "power")
# Our unit -> its name in pint's full default registry, written out by hand.
IN_PINT = {
    "g": "gram",
    "kg": "kilogram",
    "oz": "avoirdupois_ounce",
    "lb": "avoirdupois_pound",
    "mm": "millimeter",
    "cm": "centimeter",
    "in": "inch",
    "ml": "milliliter",
    "l": "liter",
    "fl_oz": "US_fluid_ounce",
    "gal": "US_liquid_gallon",
    "degC": "degree_Celsius",
    "degF": "degree_Fahrenheit",
    "%": "percent",
    "fraction": "dimensionless",
    "g/ml": "gram / milliliter",
    "kg/l": "kilogram / liter",
    "W": "watt",
    "kW": "kilowatt",
}


@pytest.mark.parametrize(
    ("number", "unit", "to", "expected"),
    [
        # International avoirdupois pound, 0.453 592 37 kg exactly, and its sixteenth.
        (1, "lb", "g", 453.59237),
        (1, "oz", "g", 28.349523125),
        (16, "oz", "lb", 1.0),
        (1, "lb", "kg", 0.45359237),
        # International inch, 25.4 mm exactly.
        (1, "in", "mm", 25.4),
        (100, "in", "cm", 254.0),
        # US gallon, 231 cubic inches; 128 fluid ounces of 29.573 529 562 5 ml.
        (1, "gal", "ml", 231 * 16.387064),
        (1, "fl_oz", "ml", 29.5735295625),
        (128, "fl_oz", "gal", 1.0),
        # Metric steps.
        (1.5, "kg", "g", 1500.0),
        (0.92, "kg/l", "g/ml", 0.92),
        (1.2, "kW", "W", 1200.0),
        # Fixed points of the Fahrenheit scale: ice, steam, equal readings (NIST SP 811 B.8: t/°C = (t/°F - 32)/1.8).
        (32, "degF", "degC", 0.0),
        (212, "degF", "degC", 100.0),
        (-40, "degF", "degC", -40.0),
        (100, "degC", "degF", 212.0),
        (98.6, "degF", "degC", 37.0),
        # Per cent is one hundredth.
        (45, "%", "fraction", 0.45),
        (0.07, "fraction", "%", 7.0),
    ],
)
def test_conversion_is_exact_to_the_last_bit(number: float, unit: str, to: str, expected: float) -> None:
    assert convert(number, unit, to) == expected


def test_every_conversion_agrees_with_pints_own_registry() -> None:
    theirs: Any = pint.UnitRegistry()
    pairs = [pair for pair in itertools.permutations(IN_PINT, 2) if kind_of(pair[0]) == kind_of(pair[1])]
    assert len(pairs) > 25
    for unit, to in pairs:
        for number in (0.37, 1.0, 86.4, 12345.678):
            expected = theirs.Quantity(number, IN_PINT[unit]).to(IN_PINT[to]).magnitude
            assert convert(number, unit, to) == pytest.approx(expected, rel=1e-12, abs=1e-12), (unit, to)


def test_the_table_for_the_browser_holds_every_conversion_as_pints_own_registry_has_it() -> None:
    """What no other test sees: in the browser these lines stand for pint."""
    theirs: Any = pint.UnitRegistry()
    lines = read_lines(every_line())
    kinds = {unit: kind_of(unit) for unit in IN_PINT}
    assert set(lines) == {pair for pair in itertools.permutations(IN_PINT, 2) if kinds[pair[0]] == kinds[pair[1]]}
    for (unit, to), (slope, at_zero) in lines.items():
        for number in (0, 1, -40, 12345.678):
            expected = theirs.Quantity(number, IN_PINT[unit]).to(IN_PINT[to]).magnitude
            assert float(Fraction(number) * slope + at_zero) == pytest.approx(expected, rel=1e-12, abs=1e-12), (unit, to)


def test_with_the_table_at_hand_nothing_asks_for_pint(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "calc", tmp_path / "calc", ignore=shutil.ignore_patterns("__pycache__"))
    (tmp_path / WRITTEN_LINES.relative_to(ROOT)).write_text(every_line(), encoding="utf-8")
    # 32 degF is 0 degC, and 1 lb is 453.59237 g: NIST SP 811, Appendix B.
    check = (
        "import sys; sys.modules['pint'] = None; from calc.entry.units import convert; "
        "assert convert(32, 'degF', 'degC') == 0 and convert(1, 'lb', 'g') == 453.59237 and convert(45, '%', 'fraction') == 0.45"
    )
    ran = subprocess.run([sys.executable, "-c", check], cwd=tmp_path, env={"PYTHONPATH": str(tmp_path)}, capture_output=True, text=True)
    assert ran.returncode == 0, ran.stderr


def test_a_fraction_is_rounded_only_once() -> None:
    # A third of a pound: 453.59237 / 3 worked as an exact fraction.
    assert convert(Fraction(1, 3), "lb", "g") == float(Fraction(45359237, 300000))


def test_units_of_two_kinds_never_convert() -> None:
    with pytest.raises(ValueError, match="mass"):
        convert(1, "g", "ml")


@pytest.mark.parametrize("unit", ["stone", "KG", "1,5 kg", "oz t", "g*1000"])
def test_only_listed_units_reach_pint(unit: str) -> None:
    with pytest.raises(ValueError, match="unknown unit"):
        convert(1, unit, "g")


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_units_that_can_be_typed_and_shown(kind: str) -> None:
    assert all(kind_of(unit) == kind for unit in (internal_unit(kind), *typed_units(kind)))
    assert not any("_" in show_unit(unit) for unit in typed_units(kind))


def test_an_unknown_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="unknown kind"):
        typed_units("time")


def test_pint_is_loaded_only_when_something_is_converted() -> None:
    check = "import sys, calc.entry.fields; assert 'pint' not in sys.modules"
    assert subprocess.run([sys.executable, "-c", check], capture_output=True, check=False).returncode == 0
