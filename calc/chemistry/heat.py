"""The temperature of oils and lye just poured together: an energy balance without losses or the soap's own heat.

Sources: Choi and Okos 1986 for fats; Olsson's enthalpy (absorptionlib) and CRC/Parker 1965 for NaOH lye. Fats ±5 %.
"""

from calc.chemistry.interpolation import cell, on_line
from calc.tables.reference import constant, naoh_thermal


def fat_heat_capacity(temperature_c: float) -> float:
    """Heat capacity of a liquid fat [kJ/(kg K)] at 0 to 100 °C. Source: Choi and Okos 1986.

    Raises ValueError outside that range. A fat that is partly solid takes its melting heat as well.

    >>> round(fat_heat_capacity(40.0), 4)
    2.0355
    """
    if not 0.0 <= temperature_c <= 100.0:
        raise ValueError(f"The fat's temperature must be from 0 to 100 °C, not {temperature_c:g}.")
    linear, square = constant("fat_heat_capacity_linear").value, constant("fat_heat_capacity_square").value
    return constant("fat_heat_capacity_constant").value + temperature_c * (linear + temperature_c * square)


def naoh_lye_heat_capacity(strength_fraction: float, temperature_c: float) -> float:
    """Heat capacity of NaOH lye of 5 to 50 % [kJ/(kg K)]. Source: naoh_thermal.csv.

    Linear between the table's points. Under 25 °C and over 80 °C the end's value holds (off by less than 1 % per 20 K).
    Raises ValueError outside the strengths.

    >>> round(naoh_lye_heat_capacity(0.33, 25.0), 3)
    3.575
    """
    points = naoh_thermal()
    by_strength = []
    for point in points:
        nodes_c = [at_c for at_c, _ in point.heat_capacities]
        values = [value for _, value in point.heat_capacities]
        within_c = min(max(temperature_c, nodes_c[0]), nodes_c[-1])
        by_strength.append(on_line(values, cell(nodes_c, within_c, "Heat capacities", "°C")))
    return on_line(by_strength, _strength(strength_fraction))


def dilution_heat_kj(naoh_g: float, from_fraction: float, to_fraction: float) -> float:
    """Heat that NaOH lye gives off when it is thinned with water [kJ], at 25 °C; strengths 0.05 to 0.50.

    Difference of the integral heats of solution.
    Raises ValueError outside the strengths. Source: naoh_thermal.csv.

    >>> round(dilution_heat_kj(330.0, 0.50, 0.33), 1)
    116.5
    """
    heats = [point.heat_of_solution_kj_per_mol for point in naoh_thermal()]
    before, after = (on_line(heats, _strength(strength)) for strength in (from_fraction, to_fraction))
    return naoh_g / constant("molar_mass_naoh").value * (before - after)


def mix_temperature_c(
    oils_g: float, oils_c: float, lye_g: float, lye_c: float, strength_fraction: float, water_g: float = 0.0
) -> float:
    """Temperature of oils and NaOH lye just poured together [°C]: sum m·cp·T / sum m·cp, plus the heat of thinning.

    Masses are in g, 0 or more; oils and lye above 0. The lye as poured has a strength of 0.05 to 0.50. water_g: water
    added apart from the lye [g], taken to be as warm as the lye. Raises ValueError outside these ranges.

    >>> round(mix_temperature_c(34_980.0, 40.0, 15_040.0, 30.0, 0.33), 1)
    35.7
    """
    if not (oils_g > 0.0 and lye_g > 0.0 and water_g >= 0.0):
        raise ValueError("Oils and lye must be above 0 g, water 0 g or more.")
    oil_j = oils_g * fat_heat_capacity(oils_c)
    lye_j = lye_g * naoh_lye_heat_capacity(strength_fraction, lye_c) + water_g * constant("water_heat_capacity").value
    naoh_g = lye_g * strength_fraction
    thinned = 0.0 if water_g == 0.0 else dilution_heat_kj(naoh_g, strength_fraction, naoh_g / (lye_g + water_g))
    return (oil_j * oils_c + lye_j * lye_c + 1000.0 * thinned) / (oil_j + lye_j)


def _strength(fraction: float) -> tuple[int, float]:
    return cell([point.strength_percent for point in naoh_thermal()], 100.0 * fraction, "Heats of lye", "%")
