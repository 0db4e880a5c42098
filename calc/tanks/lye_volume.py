"""The volume that lye takes in a tank: it is counted by mass, since a litre of it weighs less when it is warm.

Source: densities from `calc.chemistry.density`.
"""

import math

from calc.chemistry.density import lye_density_g_per_ml


def lye_in_tank_ml(mass_g: float, alkali: str, strength_fraction: float, temperature_c: float) -> float:
    """Volume of so much lye [ml]: its mass over its density at that temperature.

    mass_g: lye in the tank [g], 0 or more.
    alkali: "naoh" or "koh".
    strength_fraction: pure hydroxide by mass [g/g], 0 to 0.50.
    temperature_c: temperature of the lye [°C], 15 to 80.
    Raises ValueError outside these ranges.

    >>> [round(lye_in_tank_ml(271_250.0, "naoh", 0.33, at_c), -3) for at_c in (25.0, 40.0)]
    [200000.0, 201000.0]
    """
    if not 0.0 <= mass_g < math.inf:
        raise ValueError(f"A mass must be zero or more, not {mass_g!r}.")
    return mass_g / lye_density_g_per_ml(alkali, strength_fraction, temperature_c)
