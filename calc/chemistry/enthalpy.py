"""The heat that lye holds, and how warm water, lye and caustic put together get: an energy balance without losses.

Zero is water and solid NaOH apart, at 25 °C. Sources: naoh_thermal.csv (Olsson's enthalpy, CRC/Parker 1965) from 5 to 50 %;
under 5 % a straight line to water and the heat of solution in much water. For KOH there is a bound only: no table of its
heats by strength was found.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from calc.chemistry.interpolation import cell, on_line
from calc.tables.reference import constant, koh_heat_capacity, naoh_thermal

ZERO_C = 25.0
# Heat capacities above 80 °C and below 25 °C are those of the table's ends; a balance beyond these temperatures is none.
COLDEST_C, HOTTEST_C = -30.0, 200.0
# The heat capacity hardly changes with temperature, so that a few steps find the end.
MOST_STEPS, CLOSE_C = 30, 1e-9


class Part(NamedTuple):
    """What is put together [g]: lye or water of that strength, or solid caustic with so much hydroxide in it [g/g]; [°C]."""

    mass_g: float
    hydroxide_fraction: float
    temperature_c: float
    solid: bool = False


def lye_enthalpy(strength_fraction: float, temperature_c: float) -> float:
    """Heat in NaOH lye [kJ/kg], strength 0 to 0.50. Raises ValueError outside the strengths.

    >>> round(lye_enthalpy(0.33, 25.0), 1)
    -313.6
    """
    at_zero, capacity = _heat_and_capacity(strength_fraction, temperature_c)
    return at_zero + capacity * (temperature_c - ZERO_C)


def _heat_and_capacity(strength_fraction: float, temperature_c: float) -> tuple[float, float]:
    """Heat at 25 °C [kJ/kg], and the mean heat capacity from there to a temperature [kJ/(kg K)]."""
    found = _strength(strength_fraction)
    # The mean of the capacity over the way, by its middle: it bends by less than 1 % in 50 K.
    middle_c = 0.5 * (ZERO_C + temperature_c)
    ends = [_point(index, middle_c) for index in (found[0], found[0] + 1)]
    heat, capacity = (on_line(pair, (0, found[1])) for pair in zip(*ends, strict=True))
    return 1000.0 * strength_fraction / constant("molar_mass_naoh").value * heat, capacity


def _point(index: int, at_c: float) -> tuple[float, float]:
    """Heat of solution [kJ/mol] and heat capacity [kJ/(kg K)] of a point of the table, before whose first stands water."""
    if index == 0:
        return constant("heat_of_solution_naoh").value, constant("water_heat_capacity").value
    point = naoh_thermal()[index - 1]
    nodes_c, values = zip(*point.heat_capacities, strict=True)
    within_c = min(max(at_c, nodes_c[0]), nodes_c[-1])
    return point.heat_of_solution_kj_per_mol, on_line(values, cell(nodes_c, within_c, "Heat capacities", "°C"))


def part_enthalpy(part: Part) -> float:
    """Heat in one part [kJ]; what of a solid is no hydroxide counts as water, as in its assay."""
    kilograms = part.mass_g / 1000.0
    if not part.solid:
        return kilograms * lye_enthalpy(part.hydroxide_fraction, part.temperature_c)
    solid, water = constant("naoh_heat_capacity").value, constant("water_heat_capacity").value
    mean = part.hydroxide_fraction * solid + (1.0 - part.hydroxide_fraction) * water
    return kilograms * mean * (part.temperature_c - ZERO_C)


def together(parts: Sequence[Part]) -> tuple[float, float]:
    """Mass [g] of parts put together, and the hydroxide in it [g/g]. Raises ValueError when there is nothing."""
    mass_g = math.fsum(part.mass_g for part in parts)
    if not (mass_g > 0.0 and all(part.mass_g >= 0.0 for part in parts)):
        raise ValueError("Parts must be zero or more, and not all zero.")
    return mass_g, math.fsum(part.mass_g * part.hydroxide_fraction for part in parts) / mass_g


def end_temperature_c(parts: Sequence[Part], more_kj: float = 0.0) -> float:
    """Temperature of parts put together [°C], with no heat lost to vessel, air or steam.

    parts: of NaOH and water, not all empty, together at most 50 %. more_kj: heat that it gives off beyond the table [kJ], or, below
    0, does not. Raises ValueError outside these ranges.

    >>> round(end_temperature_c([Part(670.0, 0.0, 20.0), Part(330.0, 1.0, 20.0, solid=True)]))
    108
    """
    mass_g, strength_fraction = together(parts)
    heat_kj = math.fsum(map(part_enthalpy, parts)) + more_kj
    per_kg = 1000.0 * heat_kj / mass_g
    end_c = ZERO_C
    for _ in range(MOST_STEPS):
        at_zero, capacity = _heat_and_capacity(strength_fraction, end_c)
        before_c, end_c = end_c, ZERO_C + (per_kg - at_zero) / capacity
        if abs(end_c - before_c) < CLOSE_C:
            break
    if not COLDEST_C <= end_c <= HOTTEST_C:
        raise ValueError(f"The mixture ends colder than {COLDEST_C:g} °C or hotter than {HOTTEST_C:g} °C.")
    return end_c


def boiling_c(strength_fraction: float) -> float:
    """Temperature at which NaOH lye boils at 1 atm [°C], 0 to 50 %. Raises ValueError outside the strengths.

    >>> boiling_c(0.33)
    120.5
    """
    return on_line([100.0, *(point.boiling_c for point in naoh_thermal())], _strength(strength_fraction))


def koh_end_at_most_c(strength_fraction: float, start_c: float) -> float:
    """What water and solid KOH of one temperature can't get hotter than [°C]: all of the heat of solution in much water.

    Strong lye gives off less, so that the truth lies below. strength_fraction: 0 to 0.46. Raises ValueError outside.
    """
    percents = [percent for percent, _ in koh_heat_capacity()]
    found = cell(percents, round(100.0 * strength_fraction, 9), "Heats of KOH lye", "%")
    capacity = on_line([each for _, each in koh_heat_capacity()], found)
    moles_per_kg = 1000.0 * strength_fraction / constant("molar_mass_koh").value
    return start_c - moles_per_kg * constant("heat_of_solution_koh").value / capacity


def koh_rise_at_most_c(lye: Part, solid: Part) -> float:
    """What solid KOH can't heat water or KOH lye by more than [K]: all of its heat in much water, nothing for the solid's own warmth.

    It is no warmer than the lye, or hardly. Raises ValueError where the lye ends above 46 %.
    """
    mass_g, strength_fraction = together([lye, solid])
    percents = [percent for percent, _ in koh_heat_capacity()]
    found = cell(percents, round(100.0 * strength_fraction, 9), "Heats of KOH lye", "%")
    # kJ/(kg K) are J/(g K).
    capacity = on_line([each for _, each in koh_heat_capacity()], found) * (1.0 - constant("koh_heat_capacity_off").value)
    moles = solid.mass_g * solid.hydroxide_fraction / constant("molar_mass_koh").value
    return -1000.0 * moles * constant("heat_of_solution_koh").value / (mass_g * capacity)


def _strength(fraction: float) -> tuple[int, float]:
    return cell([0.0, *(point.strength_percent for point in naoh_thermal())], round(100.0 * fraction, 9), "Heats of lye", "%")
