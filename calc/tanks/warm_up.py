"""A tank as its own entries tell it to whoever asks about its heat: what is in it, and what was read of it."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from calc.tables.rows import Oil
from calc.tanks.melting import Fat
from calc.tanks.questions import HeatQuestion
from calc.tanks.readings import Read
from calc.tanks.standing import Standing
from calc.tanks.warming import Around, Warming, check_covered, warming


def as_told(tank: Standing, told: Sequence[Read], oils: Mapping[str, Oil], around: Around) -> Around:
    """What a question about a tank's heat rests on, with what its entries say: what is in it [g], its fats, its lye, its temperatures.

    told: those of this fill [°C], oldest first. oils: every known oil by key. An empty tank says nothing.
    """
    contents = tank.contents
    if contents.empty:
        return around
    whole_g = math.fsum(part.grams for part in contents.parts)
    fats = tuple(Fat(oils[part.oil], part.grams / whole_g) for part in contents.parts if part.oil is not None and part.oil in oils)
    strength = contents.strength.fraction if contents.strength else None
    return replace(around, fats=fats, held_g=tank.left_g, strength_fraction=strength, alkali=contents.alkali, told=told)


def warm_up(tank: Standing, told: Sequence[Read], now: datetime, wanted_c: float, oils: Mapping[str, Oil], around: Around) -> Warming | None:
    """A tank's warming as it stands; None where it has no heater or nothing is in it.

    told: the temperatures of this fill [°C], oldest first, of which those after `now` are passed over. wanted_c: how warm it is
    to be [°C], 0 to 90. oils: every known oil by key. around: the units and the shop's own limit for lye. Raises InputProblems where
    it can't be: hotter than the tank bears or the shop allows, more in it than it holds, lye of a strength whose heat isn't known,
    or so little in it that its element may stand bare.
    """
    if not tank.tank.heater_w or tank.left_g <= 0.0:
        return None
    question = HeatQuestion(wanted_c=wanted_c, amount_g=tank.left_g)
    warm = warming(question, tank.tank, as_told(tank, told, oils, replace(around, now=now)))
    check_covered(warm.question, warm.stands, around.units)
    return warm
