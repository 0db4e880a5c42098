"""What a scale's display can show: whole counts of its last decimal, so that readings compare without any rounding.

15.74 kg on a display with two decimals is 1574. Steps of 20 g are then 2 counts.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache

from calc.entry.shown import counted, decimal_of, division_decimals
from calc.entry.units import convert, show_unit

# A display counts in 1, 2 or 5 of a decimal place (OIML R 76-1 3.4.1; NIST Handbook 44 2.20 S.1.2.1; both from memory).
STEPS = (1, 2, 5, 10)


@dataclass(frozen=True)
class Display:
    """A scale's display: its unit, its decimals, and its division in counts of the last decimal."""

    unit: str
    decimals: int
    division: int

    def counts(self, mass_g: float) -> int:
        """The multiple of the division nearest to a mass [g], half a division going up, in counts."""
        return round_half_up(self._exact(mass_g) / self.division) * self.division

    def counts_within(self, mass_g: float) -> int:
        """The largest multiple of the division that is not above a mass [g], in counts."""
        return int(self._exact(mass_g) // self.division) * self.division

    def counts_of(self, mass_g: float, *, down: bool) -> int:
        """A mass [g] in counts: rounded down for what must never be too much, else to the nearest."""
        return self.counts_within(mass_g) if down else self.counts(mass_g)

    def grams(self, counts: int) -> float:
        """The mass [g] that so many counts stand for."""
        return _grams(counts, self.unit, self.decimals)

    def text(self, counts: int) -> str:
        """The digits the display shows for so many counts: 1574 is "15.74"."""
        return counted(counts, self.decimals)

    def said(self, counts: int) -> str:
        """The digits with their unit: "15.74 kg"."""
        return f"{self.text(counts)} {show_unit(self.unit)}"

    def _exact(self, mass_g: float) -> Fraction:
        return _counted(mass_g, self.unit, self.decimals)


@lru_cache(maxsize=256)
def display_of(division_g: float, unit: str) -> Display:
    """The display of a scale whose division [g] is stated, in the unit it shows.

    A division that is no short decimal there (1 g on a display in lb) is taken as the nearest 1, 2 or 5 of a decimal
    place, as displays count: 0.002 lb. Raises ValueError unless the division is above 0.
    """
    decimals = division_decimals(division_g, unit)
    exact = Fraction(repr(convert(division_g, "g", unit))) / _last_place(decimals)
    if exact.denominator == 1:
        return Display(unit, decimals, int(exact))
    return Display(unit, decimals, min(STEPS, key=lambda step: max(exact / step, step / exact)))


def round_half_up(exact: Fraction) -> int:
    """The nearest whole number, halves going up."""
    return int((exact + Fraction(1, 2)) // 1)


@lru_cache(maxsize=4096)
def _counted(mass_g: float, unit: str, decimals: int) -> Fraction:
    return Fraction(decimal_of(convert(mass_g, "g", unit))) / _last_place(decimals)


@lru_cache(maxsize=4096)
def _grams(counts: int, unit: str, decimals: int) -> float:
    return convert(counts * _last_place(decimals), unit, "g")


@cache
def _last_place(decimals: int) -> Fraction:
    return Fraction(Decimal(1).scaleb(-decimals))
