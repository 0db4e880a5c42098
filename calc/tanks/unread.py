"""How long lye stands until it is cool enough for its next portion of caustic, where nobody can read how warm it is.

By the clock alone it counts as hot as it can be behind the portion before, in the warmest room, in a tank that loses least. Each
time rests on those before it: where a portion went in too warm, or unread before its time, none of the later ones holds.
"""

import math
from collections.abc import Sequence

from calc.chemistry.enthalpy import Part, end_temperature_c, lye_enthalpy, together
from calc.tables.reference import constant
from calc.tanks.dissolving import Additions, doubt_kj
from calc.tanks.heating import Case, with_wall
from calc.tanks.spread import Spread, exactly


def unread_waits_s(
    start: Sequence[Part], added: Part, most_c: float, planned: Additions, loss_w_per_k: Spread, volume_ml: float
) -> tuple[float | None, ...]:
    """For each portion of NaOH how long after the one before it goes in without a reading [s].

    start, added, most_c: as in `additions`, which gave `planned`. loss_w_per_k, volume_ml: of the tank, above 0.
    None: no time holds. Before the first nothing went in that could be counted from, and in the warmest room it may never cool so far.
    Each counts as hot as the vessel bears, which the readings and times before it saw to; of solid caustic in water alone no hotter
    than water from the cold tap and all the caustic so far can make it.
    """
    room_c = constant("room_usual_high").value + constant("room_off").value
    # Lye that stands there or was bought may have been kept warm.
    from_cold = added.solid and not any(part.mass_g > 0.0 and part.hydroxide_fraction > 0.0 for part in start)
    warm = [part._replace(temperature_c=constant("cold_water_most").value) for part in start]
    waits: list[float | None] = [None]
    inside = added._replace(mass_g=0.0, temperature_c=room_c)
    for before, portion in zip(planned.portions, planned.portions[1:], strict=False):
        inside = inside._replace(mass_g=inside.mass_g + before.mass_g)
        hot_c = min(end_temperature_c([*warm, inside], doubt_kj(inside)[1]), most_c) if from_cold else most_c
        cooling = Case(loss_w_per_k.low, _heat_j_per_k([*start, inside], hot_c, volume_ml), (), 0.0, room_c, hot_c)
        wait_s = cooling.until(hot_c, 0.0, portion.gate_c) if hot_c > portion.gate_c else 0.0
        waits.append(None if math.isinf(wait_s) else max(wait_s, constant("portion_wait_usual").value))
    return tuple(waits)


def _heat_j_per_k(parts: Sequence[Part], at_c: float, volume_ml: float) -> float:
    """The most that a degree of it takes [J/K], with the tank's wall."""
    mass_g, fraction = together(parts)
    # kJ/(kg K) are J/(g K).
    contents = mass_g * (lye_enthalpy(fraction, at_c) - lye_enthalpy(fraction, at_c - 1.0))
    return with_wall(exactly(contents * (1.0 + constant("lye_heat_capacity_off").value)), volume_ml).high
