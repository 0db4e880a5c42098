"""A tank that is to be warmed, or left to cool, until a time of day: when to switch on, or when it has cooled; and how sure that is.

What the workshop has typed of its tank goes before nothing but what is typed in the question itself.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from calc.chemistry.density import lye_density_g_per_ml
from calc.entry.language import tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import percent, warmth
from calc.entry.shown import room as room_shown
from calc.tables.reference import constant
from calc.tables.rows import Oil
from calc.tanks.dissolving import material_bears_c
from calc.tanks.heating import (
    DAY_S,
    HOUR_S,
    NOTHING,
    SOLID_SHARE,
    THERMOMETER_OFF_C,
    HeatedTank,
    HeatUp,
    TwoReadings,
    cool_down,
    course,
    heat_up,
    heater_power_w,
    hold_w,
    lye_heat_j_per_k,
    melting_j,
    oils_heat_j_per_k,
    tank_loss_w_per_k,
    with_wall,
)
from calc.tanks.liquid import crystals_below_c
from calc.tanks.questions import AMOUNT, ROOM_USUAL, HeatQuestion
from calc.tanks.spread import Spread, exactly, within
from calc.workshop.tanks import Tank

# Nearer than this to what is wanted, a tank is there. [°C]
THERE_C = 0.5
# The code of the problem that keeps a tank from being switched on.
ELEMENT_BARE = "element-bare"
# Nobody switches a heater on by the minute.
STEP_MIN = 5
# Points of the curve, how much longer than the answer it goes on, and how long it is at least and at most [s].
POINTS = 32
BEYOND = 1.15
SHORTEST_S, LONGEST_S = 2.0 * HOUR_S, 14.0 * DAY_S
ROOM_OFF_C = constant("room_off").value
# The coldest and the hottest at which the density of lye is known [°C].
DENSITY_FROM_C, DENSITY_TO_C = 15.0, 80.0


@dataclass(frozen=True)
class Stands:
    """The tank of a question: what the workshop says of it, and what was typed instead. Without a heater, heater_w is 0."""

    name: str | None
    holds: str
    alkali: str
    volume_ml: float | None
    dead_ml: float
    material: str
    lagging: str
    lagging_mm: float | None
    heater_w: float
    thermostat: bool
    timer: bool

    @property
    def hottest_c(self) -> float:
        """What its material bears [°C]."""
        return material_bears_c(self.material)


def stands(question: HeatQuestion, tank: Tank | None, alkali: str | None = None) -> Stands:
    """The tank that a question means. Nothing known of it, it is a bare plastic one as large as what is in it.

    alkali: what its entries say of its lye; without a word it is caustic soda.
    """

    def told(name: str) -> str | None:
        typed: str | None = getattr(question, name)
        return typed if typed is not None or tank is None else getattr(tank, name)

    holds = told("holds") or "oils"
    own_lagging = question.lagging is not None or tank is None
    heater_w = question.heater_w if question.heater_w is not None or tank is None else tank.heater_w
    return Stands(
        name=None if tank is None else tank.name,
        holds={"potash": "lye"}.get(holds, holds),
        alkali="koh" if holds == "potash" or (alkali == "koh" and question.holds is None) else "naoh",
        volume_ml=question.volume_ml if question.volume_ml is not None or tank is None else tank.volume_ml,
        dead_ml=0.0 if tank is None else tank.dead_ml,
        material=told("material") or "polyethylene",
        lagging=told("lagging") or "none",
        lagging_mm=question.lagging_mm if own_lagging or tank is None else tank.lagging_mm,
        heater_w=heater_w or 0.0,
        thermostat=told("thermostat") == "yes",
        timer=told("timer") == "yes",
    )


@dataclass(frozen=True)
class Around:
    """What a plan rests on beside the question: the local time, the shop's limit for lye, the fats of the oils, the units.

    held_g, strength_fraction, alkali: what the tank's entries say is in it; they count where nothing is typed.
    """

    now: datetime
    units: str
    hottest_lye_c: float | None = None
    fats: Sequence[Oil] = ()
    held_g: float | None = None
    strength_fraction: float | None = None
    alkali: str | None = None


@dataclass(frozen=True)
class HeatPlan:
    """What is to be done and when. Times are in seconds from now.

    heats: where the tank is to be warmed; cools: where it is to cool; neither where it is as warm as wanted.
    wanted_s: when it is to be ready, None for as soon as can be.
    """

    question: HeatQuestion
    stands: Stands
    around: Around
    tank: HeatedTank
    wanted_s: float | None
    heats: HeatUp | None
    cools: Spread | None
    hold_w: Spread
    clear_c: float | None
    cautions: tuple[Caution, ...]

    @property
    def late(self) -> bool:
        """Whether there is no time left to have it ready when it is wanted."""
        return self.heats is not None and self.wanted_s is not None and self.heats.on_s.used < 0.0

    @property
    def by_itself(self) -> bool:
        """Whether the room alone warms it in time."""
        return self.heats is not None and self.wanted_s is not None and self.heats.on_s.used >= self.wanted_s > 0.0

    @property
    def switches(self) -> bool:
        """Whether somebody has to switch it on."""
        return self.heats is not None and not self.by_itself

    @property
    def switch_s(self) -> float:
        """When it is switched on: as wanted, or now."""
        if self.heats is None or self.wanted_s is None or self.late:
            return 0.0
        return STEP_MIN * 60.0 * math.floor(self.heats.on_s.used / (STEP_MIN * 60.0))

    @property
    def ready_s(self) -> Spread:
        """When it is ready, switched on at `switch_s`, or cooled."""
        if self.cools is not None:
            return self.cools
        if self.heats is None:
            return NOTHING
        return self.heats.takes_s if self.wanted_s is None or self.late else exactly(self.wanted_s)

    @property
    def without_thermostat_c(self) -> float | None:
        """Where it ends if nobody switches the heater off; None where a thermostat does."""
        return None if self.heats is None or self.stands.thermostat else self.heats.highest_c.used

    def local(self, seconds: float, step_min: int = STEP_MIN) -> str:
        """So many seconds from now on the local clock, to the step before: "2026-11-26T04:10". Never before now."""
        at = self.around.now.replace(second=0, microsecond=0) + timedelta(seconds=max(seconds, 0.0))
        at -= timedelta(minutes=at.minute % step_min, seconds=at.second)
        return max(at, self.around.now.replace(second=0, microsecond=0)).isoformat("T", "minutes")[:16]

    def curve(self) -> tuple[list[float], list[Spread]]:
        """The instants of the curve [s from now] and the temperature at each [°C]: from now on, or from a while before the switch-on."""
        ready = [end for end in (self.ready_s.high, self.ready_s.used) if math.isfinite(end)]
        last_s = min(max(SHORTEST_S, BEYOND * ready[0] if ready else SHORTEST_S), LONGEST_S)
        first_s = max(0.0, 2.0 * self.switch_s - last_s) if self.heats is not None else 0.0
        at_s = sorted({first_s + (last_s - first_s) * point / POINTS for point in range(POINTS + 1)} | ({self.switch_s} if self.heats else set()))
        held_c = self.question.wanted_c if self.stands.thermostat else None
        return at_s, course(self.tank, self.switch_s if self.heats else None, at_s, held_c)


def heat_plan(question: HeatQuestion, tank: Tank | None, around: Around) -> HeatPlan:
    """The plan for a question. Raises InputProblems where it can't be: too hot, too much in it, a heater or room that never gets there."""
    found, question = stands(question, tank, around.alkali), _filled_in(question, around)
    check_bounds(question, found, around)
    heated, clear_c = heated_tank(question, found, around)
    if question.wanted_c > question.now_c + THERE_C:
        check_covered(question, found, around.units)
    wanted_s = None if question.ready_at is None else _until(around.now, question.ready_at.hour, question.ready_at.minute)
    heats, cools = None, None
    if question.wanted_c > question.now_c + THERE_C:
        heats = _heating(question, found, heated, wanted_s, around.units)
    elif question.wanted_c < question.now_c - THERE_C:
        cools = _cooling(question, heated, around.units)
    plan = HeatPlan(
        question, found, around, heated, wanted_s, heats, cools, hold_w(heated, question.wanted_c), clear_c,
        tuple(_cautions(question, found, heated, heats, cools, clear_c, around)),
    )  # fmt: skip
    return plan


def _filled_in(question: HeatQuestion, around: Around) -> HeatQuestion:
    amount_g = around.held_g if question.amount_g is None else question.amount_g
    if amount_g is None or not AMOUNT.low <= amount_g <= AMOUNT.high:
        message = tr("How much is in the tank isn’t known.")
        raise InputProblems(Problem("amount_g", "missing", message, tr("Type what’s in it now.")))
    strength = around.strength_fraction if question.strength_fraction is None else question.strength_fraction
    return replace(question, amount_g=amount_g, strength_fraction=strength)


def _until(now: datetime, hour: int, minute: int) -> float:
    """Seconds to the next time that the clock shows so."""
    at = now.replace(hour=hour, minute=minute, second=0, microsecond=0)
    return ((at - now).total_seconds()) % DAY_S


def _since(now: datetime, hour: int, minute: int) -> float:
    return DAY_S - _until(now, hour, minute) if _until(now, hour, minute) else 0.0


def heated_tank(question: HeatQuestion, found: Stands, around: Around) -> tuple[HeatedTank, float | None]:
    """The tank of a question whose amount is known, as it is reckoned with; and where its fats are all clear [°C].

    Raises InputProblems for an amount that doesn't fit, and a strength of which the heat isn't known.
    """
    assert question.amount_g is not None
    middle_c = min(max(0.5 * (question.now_c + question.wanted_c), 0.0), 100.0)
    if found.holds == "lye":
        strength = question.strength_fraction
        if strength is None:
            message = tr("How strong the lye is isn’t known.")
            raise InputProblems(Problem("strength_fraction", "missing", message, tr("Type its strength.")))
        try:
            contents = lye_heat_j_per_k(question.amount_g, strength, middle_c, found.alkali)
        except ValueError as unknown:
            message = tr("How much heat lye takes is known from 5 to 50 %, potash lye up to 46 %.")
            raise InputProblems(Problem("strength_fraction", "unknown-heat", message, tr("Type a strength in that range."))) from unknown
    else:
        contents = oils_heat_j_per_k(question.amount_g, middle_c)
    contents_ml = _contents_ml(question, found)
    volume_ml = max(found.volume_ml or contents_ml, contents_ml)
    if found.volume_ml is not None and contents_ml > found.volume_ml * 1.1:
        message = tr("{contents} won’t fit in {tank}.", contents=room_shown(contents_ml, around.units), tank=room_shown(found.volume_ml, around.units))
        raise InputProblems(Problem("amount_g", "over-full", message, tr("Type what’s really in it, or correct the tank’s volume.")))
    melting, clear_c = _melting(question, found, around)
    readings = None
    if question.earlier_c is not None and question.earlier_at is not None:
        apart_s = _since(around.now, question.earlier_at.hour, question.earlier_at.minute)
        if apart_s > 0.0 and melting.high == 0.0:
            readings = TwoReadings(question.earlier_c, question.now_c, apart_s)
    room_c = Spread(ROOM_USUAL[0], 0.5 * (ROOM_USUAL[0] + ROOM_USUAL[1]), ROOM_USUAL[1]) if question.room_c is None else within(question.room_c, ROOM_OFF_C)
    heated = HeatedTank(
        loss_w_per_k=tank_loss_w_per_k(contents_ml, volume_ml, found.material, found.lagging, found.lagging_mm),
        heat_j_per_k=with_wall(contents, volume_ml),
        heater_w=heater_power_w(found.heater_w),
        room_c=room_c,
        start_c=within(question.now_c, THERMOMETER_OFF_C),
        melting_j=melting,
        clear_c=-273.15 if clear_c is None else clear_c,
        readings=readings,
    )
    return heated, clear_c


def _contents_ml(question: HeatQuestion, found: Stands) -> float:
    """Room that the contents take, halfway to what is wanted [ml]. The amount is known, and of lye its strength."""
    assert question.amount_g is not None
    if found.holds == "oils":
        return question.amount_g / constant("oil_density_default").value
    assert question.strength_fraction is not None
    middle_c = min(max(0.5 * (question.now_c + question.wanted_c), DENSITY_FROM_C), DENSITY_TO_C)
    return question.amount_g / lye_density_g_per_ml(found.alkali, question.strength_fraction, middle_c)


def check_covered(question: HeatQuestion, found: Stands, units: str) -> None:
    """Raises InputProblems where a tank that is to be heated holds no more than won't run out: its element may stand bare, and burns out or sets fire to it."""
    if found.dead_ml <= 0.0 or _contents_ml(question, found) > found.dead_ml:
        return
    message = tr("Don’t switch it on: with only {contents} in it, its element may be bare.", contents=room_shown(_contents_ml(question, found), units))
    raise InputProblems(Problem("amount_g", ELEMENT_BARE, message, tr("Load it first, until the element is well covered.")))


def _melting(question: HeatQuestion, found: Stands, around: Around) -> tuple[Spread, float | None]:
    """What melts while it warms [J], and where all of it is clear [°C]: nowhere known, at what is wanted."""
    state = question.oils_are or "clear"
    if found.holds != "oils" or SOLID_SHARE[state].high == 0.0 or question.wanted_c <= question.now_c:
        return NOTHING, None
    known = [oil.melting.high for oil in around.fats if oil.melting and oil.melting.high is not None]
    clear_c = max([each for each in known if each > question.now_c], default=question.wanted_c)
    return melting_j(question.amount_g or 0.0, state), clear_c


def check_bounds(question: HeatQuestion, found: Stands, around: Around) -> None:
    """Raises InputProblems where more is wanted than the tank's material holds, or than the shop's own limit for lye."""
    material_c, own_c = found.hottest_c, around.hottest_lye_c if found.holds == "lye" and around.hottest_lye_c is not None else math.inf
    limit_c = min(material_c, own_c)
    if question.wanted_c <= limit_c:
        return
    parts = {"wanted": warmth(question.wanted_c, around.units), "limit": warmth(limit_c, around.units)}
    if own_c < material_c:
        message = tr("{wanted} is too hot: your own limit for lye is {limit}.", **parts)
    else:
        message = tr(
            "{wanted} is too hot for this tank: its material is good to about {limit} (resistance charts, from memory; the maker’s own rating counts).", **parts
        )  # fmt: skip
    raise InputProblems(Problem("wanted_c", "too-hot", message, tr("Type at most {limit}.", limit=parts["limit"])))


def _heating(question: HeatQuestion, found: Stands, heated: HeatedTank, wanted_s: float | None, units: str) -> HeatUp:
    if found.heater_w <= 0.0:
        message = tr("No heater is known for this tank.")
        raise InputProblems(Problem("heater_w", "no-heater", message, tr("Type the power on its plate.")))
    heats = heat_up(heated, question.wanted_c, wanted_s or 0.0)
    if math.isinf(heats.takes_s.used):
        message = tr(
            "This heater will never get it to {wanted}: it tops out at about {ends} ({low} to {high}).",
            wanted=warmth(question.wanted_c, units), ends=warmth(heats.highest_c.used, units),
            low=warmth(heats.highest_c.low, units), high=warmth(heats.highest_c.high, units),
        )  # fmt: skip
        raise InputProblems(Problem("wanted_c", "never", message, tr("Insulate the tank, use a stronger heater, or settle for less.")))
    return heats


def _cooling(question: HeatQuestion, heated: HeatedTank, units: str) -> Spread:
    cools = cool_down(heated, question.wanted_c)
    if math.isinf(cools.used):
        message = tr("On its own it will never cool to {wanted}: the room is {room}.", wanted=warmth(question.wanted_c, units), room=warmth(heated.room_c.used, units))
        raise InputProblems(Problem("wanted_c", "never", message, tr("Type a temperature above the room’s, or cool it with cold water around it.")))
    return cools


def _cautions(
    question: HeatQuestion, found: Stands, heated: HeatedTank, heats: HeatUp | None, cools: Spread | None, clear_c: float | None, around: Around
) -> Iterator[Caution]:  # fmt: skip
    units = around.units
    if heats is not None and heats.never > 0.0:
        yield Caution(
            "wanted_c", "may-never", tr("It may never get that warm."),
            tr("The heater may top out at {low}. Insulation helps more than waiting.", low=warmth(heats.highest_c.low, units)),
        )  # fmt: skip
    if cools is not None and math.isinf(cools.high):
        yield Caution("wanted_c", "may-never", tr("It may never cool that far."), tr("The room may be as warm as that: {room}.", room=warmth(heated.room_c.high, units)))
    if question.now_c > found.hottest_c:
        yield Caution(
            "now_c", "hot-now", tr("It’s hotter now than this tank’s material can take."),
            tr("That’s about {limit} (resistance charts, from memory). Keep away from its side and let it cool.", limit=warmth(found.hottest_c, units)),
        )  # fmt: skip
    strength = question.strength_fraction
    point_c = crystals_below_c(found.alkali, strength, question.now_c) if found.holds == "lye" and strength is not None else None
    if strength is not None and point_c is not None:
        yield Caution(
            "now_c", "crystals", tr("{percent} lye starts to crystallize below {at}.", percent=percent(strength), at=warmth(point_c, units)),
            tr("Warm it and stir before you draw or measure any."),
        )  # fmt: skip
    solid = [oil for oil in around.fats if oil.melting and oil.melting.high is not None and question.wanted_c < oil.melting.high] if found.holds == "oils" else []
    if solid:
        highest = max(solid, key=lambda oil: (oil.melting.high if oil.melting else None) or 0.0)
        assert highest.melting is not None and highest.melting.high is not None
        yield Caution(
            "wanted_c", "not-clear", tr("At {wanted} it may not be clear.", wanted=warmth(question.wanted_c, units)),
            tr("{oil} melts at up to {limit} on its own. A cloudy blend isn’t the same from top to bottom.", oil=tr(highest.name), limit=warmth(highest.melting.high, units)),
        )  # fmt: skip
    elif clear_c is not None and clear_c > question.wanted_c:
        yield Caution("wanted_c", "not-clear", tr("At {wanted} it may not be clear.", wanted=warmth(question.wanted_c, units)), tr("Its fats melt at up to {limit}.", limit=warmth(clear_c, units)))
    if question.earlier_c is not None and not heated.fits:
        yield Caution(
            "earlier_c", "no-fit", tr("The two temperatures don’t tell the heat loss."),
            tr("They’re too close together for a thermometer that may be off, or fat melts or sets between them. The estimate by size and insulation counts instead."),
        )  # fmt: skip
