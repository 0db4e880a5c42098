"""A tank that is to be warmed, or left to cool, until a time of day: when to switch on, or when it has cooled; and how sure that is.

What the workshop has typed of its tank goes before nothing but what is typed in the question itself. The time that is told is the
safe end of its range: switched on then, the tank is surely as warm as wanted.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from calc.entry.language import tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import percent, warmth
from calc.tanks.heating import DAY_S, HOUR_S, NOTHING, HeatedTank, HeatUp, cool_down, course, heat_up, hold_w
from calc.tanks.liquid import crystals_below_c
from calc.tanks.questions import HeatQuestion
from calc.tanks.spread import Spread
from calc.tanks.warming import MINUTE_S, STEP_MIN, Around, Asked, Stands, Warming, check_covered, step_before, warming
from calc.workshop.tanks import Tank

# Nearer than this to what is wanted, a tank is there. [°C]
THERE_C = 0.5
# Points of the curve, how much longer than the answer it goes on, and how long it is at least and at most [s].
POINTS = 32
BEYOND = 1.15
SHORTEST_S, LONGEST_S = 2.0 * HOUR_S, 14.0 * DAY_S


@dataclass(frozen=True)
class HeatPlan:
    """What is to be done and when. Times are in seconds from now.

    now_s: how long ago it was read. wanted_s: when it is to be ready, None for as soon as can be. now_c: how warm it is now.
    heats: where the tank is to be warmed; cools: when it has cooled, where it is warmer now; of neither it is as warm as wanted.
    """

    around: Around
    warm: Warming
    now_s: float
    now_c: Spread
    wanted_s: float | None
    heats: HeatUp | None
    cools: Spread | None
    hold_w: Spread
    cautions: tuple[Caution, ...]

    @property
    def question(self) -> Asked:
        """What was asked, with what was not typed filled in."""
        return self.warm.question

    @property
    def stands(self) -> Stands:
        """The tank."""
        return self.warm.stands

    @property
    def tank(self) -> HeatedTank:
        """As it is reckoned with."""
        return self.warm.heated

    @property
    def clear_c(self) -> float | None:
        """Where all that may be set is clear [°C]; None where nothing is."""
        return max((below_c for below_c, _ in self.tank.melting), default=None)

    @property
    def on(self) -> bool:
        """Whether it is switched on."""
        return self.heats is not None and self.around.on_at is not None

    @property
    def late(self) -> bool:
        """Whether there is hardly time left to have it ready when it is wanted."""
        return not self.on and self.heats is not None and self.wanted_s is not None and self.heats.on_s.used < 0.0

    @property
    def unsure(self) -> bool:
        """Whether there is time enough, but not to be sure of it."""
        return not self.on and self.heats is not None and self.wanted_s is not None and self.heats.sure_s < 0.0 <= self.heats.on_s.used

    @property
    def by_itself(self) -> bool:
        """Whether the room alone warms it in time, or keeps it warm."""
        return not self.on and self.heats is not None and self.wanted_s is not None and self.switch_s >= self.wanted_s > 0.0

    @property
    def switches(self) -> bool:
        """Whether somebody has to switch it on."""
        return self.heats is not None and not self.by_itself and not self.on

    @property
    def switch_s(self) -> float:
        """When it is switched on so that it is surely ready, or now; below 0 where it is on."""
        if self.heats is None:
            return 0.0
        if self.around.on_at is not None:
            return (self.around.on_at - self.around.now).total_seconds()
        if self.wanted_s is None or self.late or self.unsure:
            return 0.0
        return max((step_before(self.around.now + timedelta(seconds=self.heats.sure_s)) - self.around.now).total_seconds(), 0.0)

    @property
    def ready_s(self) -> Spread:
        """When it is ready, switched on at `switch_s`, or cooled: at the soonest, likely, surely."""
        if self.heats is None:
            return self.cools or NOTHING
        on = self.around.now + timedelta(seconds=self.switch_s)
        return Spread(*(self.switch_s + MINUTE_S * each for each in self.warm.after(on)))

    @property
    def without_thermostat_c(self) -> float | None:
        """Where it ends if nobody switches the heater off; None where a thermostat does."""
        return None if self.heats is None or self.stands.thermostat else self.heats.highest_c.used

    def local(self, seconds: float, step_min: int = STEP_MIN, *, after: bool = False) -> str:
        """So many seconds from now on the local clock, to the step before it or after it: "2026-11-26T04:10". Never before now."""
        at = self.around.now.replace(second=0, microsecond=0) + timedelta(seconds=max(seconds, 0.0))
        over = timedelta(minutes=at.minute % step_min, seconds=at.second, microseconds=at.microsecond)
        at += timedelta(minutes=step_min) - over if after and over else -over
        return max(at, self.around.now.replace(second=0, microsecond=0)).isoformat("T", "minutes")[:16]

    def curve(self) -> tuple[list[float], list[Spread]]:
        """The instants of the curve [s from now] and the temperature at each [°C]: from now on, or from a while before the switch-on."""
        ready = [end for end in (self.ready_s.high, self.ready_s.used) if math.isfinite(end)]
        last_s = min(max(SHORTEST_S, BEYOND * ready[0] if ready else SHORTEST_S), LONGEST_S)
        first_s = max(0.0, 2.0 * self.switch_s - last_s)
        marked = {self.switch_s} if self.heats and self.switch_s >= 0.0 else set()
        at_s = sorted({first_s + (last_s - first_s) * point / POINTS for point in range(POINTS + 1)} | marked)
        held_c = self.question.wanted_c if self.stands.thermostat else None
        on_s = max(self.now_s + self.switch_s, 0.0) if self.heats else None
        return at_s, course(self.tank, on_s, [self.now_s + each for each in at_s], held_c)


def heat_plan(question: HeatQuestion, tank: Tank | None, around: Around) -> HeatPlan:
    """The plan for a question. Raises InputProblems as `warming` does, and for a heater or room that never gets it there."""
    warm = warming(question, tank, around)
    asked = warm.question
    now_s = warm.seconds(around.now)
    wanted_s = None if asked.ready_at is None else _until(around.now, asked.ready_at.hour, asked.ready_at.minute)
    now, then = course(warm.heated, None, [now_s, now_s + (wanted_s or 0.0)])
    heater = warm.stands.heater_w > 0.0
    # One that is warm now has cooled by then; without a heater nobody can help that.
    cold = now.used < asked.wanted_c - THERE_C or (heater and wanted_s is not None and then.low < asked.wanted_c)
    heats, cools = None, None
    if cold or (heater and around.on_at is not None):
        check_covered(asked, warm.stands, around.units)
        heats = _heating(warm, now_s + (wanted_s or 0.0), now_s, around.units)
    if now.used > asked.wanted_c + THERE_C:
        cools = _cooling(warm, now_s, around.units, asked_for=heats is None)
    cautions = tuple(_cautions(warm, now, heats, None if heats else cools, around))
    return HeatPlan(around, warm, now_s, now, wanted_s, heats, cools, hold_w(warm.heated, asked.wanted_c), cautions)


def _until(now: datetime, hour: int, minute: int) -> float:
    """Seconds to the next time that the clock shows so."""
    at = now.replace(hour=hour, minute=minute, second=0, microsecond=0)
    return ((at - now).total_seconds()) % DAY_S


def _heating(warm: Warming, at_s: float, now_s: float, units: str) -> HeatUp:
    if warm.stands.heater_w <= 0.0:
        message = tr("No heater is known for this tank.")
        raise InputProblems(Problem("heater_w", "no-heater", message, tr("Type the power on its plate.")))
    heats = heat_up(warm.heated, warm.wanted_c, at_s, now_s)
    if math.isinf(heats.on_s.used):
        message = tr(
            "This heater will never get it to {wanted}: it tops out at about {ends} ({low} to {high}).",
            wanted=warmth(warm.wanted_c, units), ends=warmth(heats.highest_c.used, units),
            low=warmth(heats.highest_c.low, units), high=warmth(heats.highest_c.high, units),
        )  # fmt: skip
        raise InputProblems(Problem("wanted_c", "never", message, tr("Insulate the tank, use a stronger heater, or settle for less.")))
    return heats


def _cooling(warm: Warming, now_s: float, units: str, *, asked_for: bool) -> Spread | None:
    cools = cool_down(warm.heated, warm.wanted_c)
    if math.isinf(cools.used) and not asked_for:
        return None
    if math.isinf(cools.used):
        message = tr("On its own it will never cool to {wanted}: the room is {room}.", wanted=warmth(warm.wanted_c, units), room=warmth(warm.heated.room_c.used, units))
        raise InputProblems(Problem("wanted_c", "never", message, tr("Type a temperature above the room’s, or cool it with cold water around it.")))
    return Spread(*(max(each - now_s, 0.0) for each in cools))


def _cautions(warm: Warming, now_c: Spread, heats: HeatUp | None, cools: Spread | None, around: Around) -> Iterator[Caution]:
    question, found, heated = warm.question, warm.stands, warm.heated
    units = around.units
    if heats is not None and heats.never > 0.0:
        yield Caution(
            "wanted_c", "may-never", tr("It may never get that warm."),
            tr("The heater may top out at {low}. Insulation helps more than waiting.", low=warmth(heats.highest_c.low, units)),
        )  # fmt: skip
    if cools is not None and math.isinf(cools.high):
        yield Caution("wanted_c", "may-never", tr("It may never cool that far."), tr("The room may be as warm as that: {room}.", room=warmth(heated.room_c.high, units)))
    if now_c.used > found.hottest_c:
        yield Caution(
            "now_c", "hot-now", tr("It’s hotter now than this tank’s material can take."),
            tr("That’s about {limit} (resistance charts, from memory). Keep away from its side and let it cool.", limit=warmth(found.hottest_c, units)),
        )  # fmt: skip
    strength = question.strength_fraction
    point_c = crystals_below_c(found.alkali, strength, now_c.used) if found.holds == "lye" and strength is not None else None
    if strength is not None and point_c is not None:
        yield Caution(
            "now_c", "crystals", tr("{percent} lye starts to crystallize below {at}.", percent=percent(strength), at=warmth(point_c, units)),
            tr("Warm it and stir before you draw or measure any."),
        )  # fmt: skip
    solid = [fat.oil for fat in around.fats if fat.oil.melting and fat.oil.melting.high is not None and question.wanted_c < fat.oil.melting.high]
    if solid and found.holds == "oils":
        highest = max(solid, key=lambda oil: (oil.melting.high if oil.melting else None) or 0.0)
        assert highest.melting is not None and highest.melting.high is not None
        yield Caution(
            "wanted_c", "not-clear", tr("At {wanted} it may not be clear.", wanted=warmth(question.wanted_c, units)),
            tr("{oil} melts at up to {limit} on its own. A cloudy blend isn’t the same from top to bottom.", oil=tr(highest.name), limit=warmth(highest.melting.high, units)),
        )  # fmt: skip
    if question.earlier_c is not None and not heated.fits:
        yield Caution(
            "earlier_c", "no-fit", tr("The two temperatures don’t tell the heat loss."),
            tr("They’re too close together for a thermometer that may be off, or fat melts or sets between them. The estimate by size and insulation counts instead."),
        )  # fmt: skip
