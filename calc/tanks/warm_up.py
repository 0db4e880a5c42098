"""How long a tank takes to be as warm as a day's blocks want it, as it stands: what is in it, when it was read last, its heater.

Since it was read it counts as left alone with its heater off: one that a thermostat held meanwhile is warmer, and ready sooner.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from calc.tables.rows import Oil
from calc.tanks.heat_plan import THERE_C, Around, check_bounds, check_covered, heated_tank, stands
from calc.tanks.heating import DAY_S, HOUR_S, HeatedTank, heat_up, takes_s
from calc.tanks.questions import ROOM_USUAL, HeatQuestion
from calc.tanks.readings import Read
from calc.tanks.spread import Spread
from calc.tanks.standing import Standing

MINUTE_S = 60.0


@dataclass(frozen=True)
class WarmUp:
    """A tank that is to be warm. since: from when on it is reckoned; read: what it read then, None where nobody read it and it counts as cold."""

    heated: HeatedTank
    wanted_c: float
    since: datetime
    read: Read | None

    @property
    def fitted(self) -> bool:
        """Whether its loss is by two temperatures of its own."""
        return self.heated.fits

    def before(self, ready: datetime) -> Spread:
        """How long before that instant it is switched on [min], from the shortest to the longest; infinite where it never gets there."""
        at_s = max((ready - self.since).total_seconds(), 0.0)
        on_s = heat_up(self.heated, self.wanted_c, at_s).on_s
        return Spread(*((at_s - end) / MINUTE_S for end in (on_s.high, on_s.used, on_s.low)))

    def after(self, on: datetime) -> Spread:
        """How long it takes once it is switched on at that instant [min]; infinite where it never gets there."""
        return takes_s(self.heated, self.wanted_c, max((on - self.since).total_seconds(), 0.0)).times(1.0 / MINUTE_S)


def warm_up(tank: Standing, told: Sequence[Read], now: datetime, wanted_c: float, oils: Mapping[str, Oil], around: Around) -> WarmUp | None:
    """A tank's warming; None where it has no heater or nobody has told what is in it.

    told: the temperatures of this fill, oldest first. oils: every known oil by key. around: as the plan of one tank's heat rests
    on it, of which `now` and what is in the tank are filled in here. Raises InputProblems where it can't be: hotter than the
    tank bears, lye of a strength whose heat isn't known.
    """
    contents = tank.contents
    if not tank.tank.heater_w or tank.left_g <= 0.0:
        return None
    last = next((read for read in reversed(told) if read.at <= now), None)
    since = now if last is None else last.at
    room_c = Spread(ROOM_USUAL[0], 0.5 * math.fsum(ROOM_USUAL), ROOM_USUAL[1])
    fats = tuple(oils[part.oil] for part in contents.parts if part.oil is not None and part.oil in oils)
    start_c = room_c.used if last is None else last.temperature_c
    # Nobody has said how they stand: below where the last of them is clear, some of it may be set.
    set_ = any(oil.melting and oil.melting.high is not None and oil.melting.high > start_c for oil in fats)
    question = HeatQuestion(now_c=start_c, wanted_c=wanted_c, amount_g=tank.left_g, oils_are="cloudy" if set_ else "clear", strength_fraction=contents.strength.fraction if contents.strength else None)
    before = _earlier(told, last)
    if before is not None:
        question = replace(question, earlier_c=before.temperature_c, earlier_at=before.at.time())
    filled = replace(around, now=since, fats=fats, held_g=tank.left_g, alkali=contents.alkali)
    found = stands(question, tank.tank, contents.alkali)
    check_bounds(question, found, filled)
    heated, _ = heated_tank(question, found, filled)
    if wanted_c > start_c + THERE_C:
        check_covered(question, found, around.units)
    if last is None:
        heated = replace(heated, start_c=room_c)
    elif heated.fits and not heated.loss_w_per_k.low <= heated.loss.used <= heated.loss_w_per_k.high:
        # A loss that no tank of that size has: its heater was on between the two, or something else happened to it.
        heated = replace(heated, readings=None)
    return WarmUp(heated, wanted_c, since, last)


def _earlier(told: Sequence[Read], last: Read | None) -> Read | None:
    """The reading some hours before the last one, by which its loss is fitted; None where there is none."""
    apart = [] if last is None else [(read, (last.at - read.at).total_seconds()) for read in told]
    return next((read for read, seconds in apart if HOUR_S <= seconds < DAY_S), None)
