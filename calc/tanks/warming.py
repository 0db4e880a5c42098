"""A tank as a question about its heat reckons with it: typed, or as the workshop and the tank's own entries say, and from when on.

What was read of it last counts from when it was read: since then it is left alone with its heater off. One that a thermostat
held meanwhile is warmer, and ready sooner. The page of one tank's heat and the plan of a day both ask here.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from calc.chemistry.density import lye_density_g_per_ml
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.entry.shown import room as room_shown
from calc.entry.shown import warmth
from calc.tables.reference import constant
from calc.tanks.dissolving import material_bears_c
from calc.tanks.heating import (
    DAY_S,
    HOUR_S,
    THERMOMETER_OFF_C,
    HeatedTank,
    TwoReadings,
    heat_up,
    heater_power_w,
    lye_heat_j_per_k,
    oils_heat_j_per_k,
    takes_s,
    tank_loss_w_per_k,
    with_wall,
)
from calc.tanks.melting import Fat, Melting, melting
from calc.tanks.questions import AMOUNT, ROOM_USUAL, HeatQuestion
from calc.tanks.readings import Read
from calc.tanks.spread import Spread, within
from calc.workshop.tanks import Tank

MINUTE_S = 60.0
# Nobody switches a heater on by the minute.
STEP_MIN = 5
# The code of the problem that keeps a tank from being switched on.
ELEMENT_BARE = "element-bare"
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
    """What is known beside the question: the local time, the shop's limit for lye, the fats of the oils, the units.

    held_g, strength_fraction, alkali, wanted_c: what the tank's entries say is in it, and how warm that is wanted; they count
    where nothing is typed. told: the temperatures read of this fill, oldest first. on_at: when it was switched on, if it is.
    """

    now: datetime
    units: str
    hottest_lye_c: float | None = None
    fats: Sequence[Fat] = ()
    held_g: float | None = None
    strength_fraction: float | None = None
    alkali: str | None = None
    wanted_c: float | None = None
    told: Sequence[Read] = ()
    on_at: datetime | None = None


class Asked(HeatQuestion):
    """A question in which nothing is missing that the answer needs."""

    now_c: float
    wanted_c: float
    amount_g: float


@dataclass(frozen=True)
class Warming:
    """A tank that is to be warm. since: from when on it is reckoned; read: what it read then, None where that was typed, or nobody read it.

    unread: nobody has told its temperature, and it counts as cold as the room.
    """

    question: Asked
    stands: Stands
    heated: HeatedTank
    since: datetime
    read: Read | None
    unread: bool

    @property
    def wanted_c(self) -> float:
        """How warm it is wanted [°C]."""
        return self.question.wanted_c

    @property
    def fitted(self) -> bool:
        """Whether its loss is by two temperatures of its own."""
        return self.heated.fits

    def before(self, ready: datetime) -> Spread:
        """How long before that instant it is switched on [min], from the shortest to the longest; infinite where it never gets there."""
        at_s = max(self.seconds(ready), 0.0)
        on_s = heat_up(self.heated, self.wanted_c, at_s).on_s
        return Spread(*((at_s - end) / MINUTE_S for end in (on_s.high, on_s.used, on_s.low)))

    def switch_at(self, ready: datetime) -> datetime | None:
        """When it is switched on so that it is surely warm at that instant, to the step before; None where it never gets so warm."""
        at_s = max(self.seconds(ready), 0.0)
        sure_s = heat_up(self.heated, self.wanted_c, at_s).sure_s
        return None if math.isinf(sure_s) else step_before(self.since + timedelta(seconds=sure_s))

    def after(self, on: datetime) -> Spread:
        """How long it takes once it is switched on at that instant [min]; infinite where it never gets there."""
        on_s = self.seconds(on)
        # What was read while it heated counts from then on.
        heated_s = -on_s if on_s < 0.0 and not self.unread else 0.0
        found = takes_s(self.heated, self.wanted_c, max(on_s, 0.0))
        return Spread(*((heated_s + each) / MINUTE_S for each in found))

    def seconds(self, at: datetime) -> float:
        """From when it is reckoned to an instant."""
        return (at - self.since).total_seconds()


def step_before(at: datetime) -> datetime:
    """The last step of the clock that somebody switches on by, at that instant or before it."""
    return at.replace(minute=at.minute - at.minute % STEP_MIN, second=0, microsecond=0)


def warming(question: HeatQuestion, tank: Tank | None, around: Around) -> Warming:
    """The tank of a question, from when it was read last, or as it was typed from now on.

    tank: of the workshop; None where all is typed. Raises InputProblems where the question can't be answered: what is in it, or
    how warm, isn't known; too hot for it or for the shop; more in it than it holds; lye of a strength whose heat isn't known.
    """
    found = stands(question, tank, around.alkali)
    asked, since, read, unread = _filled_in(question, tank, found, around)
    _check_bounds(asked, found, around)
    readings = _typed_earlier(asked, since, around.now) or (None if read is None else _told_earlier(around.told, read))
    heated = _heated(asked, found, around, readings)
    if unread:
        heated = replace(heated, start_c=heated.room_c)
    elif asked.earlier_c is None and heated.fits and not heated.loss_w_per_k.low <= heated.loss.used <= heated.loss_w_per_k.high:
        # A loss that no tank of that size has: its heater was on between the two, or something else happened to it.
        heated = replace(heated, readings=None)
    return Warming(asked, found, heated, since, read, unread)


def _filled_in(question: HeatQuestion, tank: Tank | None, found: Stands, around: Around) -> tuple[Asked, datetime, Read | None, bool]:
    amount_g = question.amount_g
    if amount_g is None:
        amount_g = around.held_g
        if amount_g is None or not AMOUNT.low <= amount_g <= AMOUNT.high:
            message = tr("How much is in the tank isn’t known.")
            raise InputProblems(Problem("amount_g", "missing", message, tr("Type what’s in it now.")))
    strength = around.strength_fraction if question.strength_fraction is None else question.strength_fraction
    last = None if question.now_c is not None else next((read for read in reversed(around.told) if read.at <= around.now), None)
    unread = question.now_c is None and last is None
    if unread and tank is None:
        raise InputProblems(Problem("now_c", "missing", tr("How warm it is now isn’t known."), tr("Stir it, read it, and type that.")))
    room_c = 0.5 * math.fsum(ROOM_USUAL) if question.room_c is None else question.room_c
    usual_c = constant("lye_pour_usual" if found.holds == "lye" else "oil_pour_usual").value
    filled = {
        "amount_g": amount_g,
        "strength_fraction": strength,
        "now_c": question.now_c if question.now_c is not None else room_c if last is None else last.temperature_c,
        "wanted_c": next(each for each in (question.wanted_c, around.wanted_c, usual_c) if each is not None),
    }
    asked = Asked(**{name: filled.get(name, getattr(question, name)) for name in question.__dataclass_fields__})
    return asked, around.now if last is None else last.at, last, unread


def _typed_earlier(question: Asked, since: datetime, now: datetime) -> TwoReadings | None:
    """An earlier temperature as typed, by the last time that the clock showed so."""
    if question.earlier_c is None or question.earlier_at is None:
        return None
    at = now.replace(hour=question.earlier_at.hour, minute=question.earlier_at.minute, second=0, microsecond=0)
    apart_s = (since - (at if at <= now else at - timedelta(seconds=DAY_S))).total_seconds()
    return TwoReadings(question.earlier_c, question.now_c, apart_s) if apart_s > 0.0 else None


def _told_earlier(told: Sequence[Read], last: Read) -> TwoReadings | None:
    """The reading some hours before the last one, by which its loss is fitted; None where there is none."""
    apart = [(read, (last.at - read.at).total_seconds()) for read in told]
    return next((TwoReadings(read.temperature_c, last.temperature_c, seconds) for read, seconds in apart if HOUR_S <= seconds < DAY_S), None)


def _heated(question: Asked, found: Stands, around: Around, readings: TwoReadings | None) -> HeatedTank:
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
    melts = _melting(question, found, around)
    # Fat that set between two readings gave heat back, and they say nothing of the loss.
    still = question.oils_are in (None, "clear") and all(below_c <= question.now_c for below_c, _ in melts)
    room_c = Spread(ROOM_USUAL[0], 0.5 * math.fsum(ROOM_USUAL), ROOM_USUAL[1]) if question.room_c is None else within(question.room_c, ROOM_OFF_C)
    return HeatedTank(
        loss_w_per_k=tank_loss_w_per_k(contents_ml, volume_ml, found.material, found.lagging, found.lagging_mm),
        heat_j_per_k=with_wall(contents, volume_ml),
        heater_w=heater_power_w(found.heater_w),
        room_c=room_c,
        start_c=within(question.now_c, THERMOMETER_OFF_C),
        melting=melts,
        readings=readings if still else None,
    )


def _contents_ml(question: Asked, found: Stands) -> float:
    """Room that the contents take, halfway to what is wanted [ml]. The amount is known, and of lye its strength."""
    if found.holds == "oils":
        return question.amount_g / constant("oil_density_default").value
    assert question.strength_fraction is not None
    middle_c = min(max(0.5 * (question.now_c + question.wanted_c), DENSITY_FROM_C), DENSITY_TO_C)
    return question.amount_g / lye_density_g_per_ml(found.alkali, question.strength_fraction, middle_c)


def check_covered(question: Asked, found: Stands, units: str) -> None:
    """Raises InputProblems where a tank that is to be heated holds no more than won't run out: its element may stand bare, and burns out or sets fire to it."""
    if found.dead_ml <= 0.0 or _contents_ml(question, found) > found.dead_ml:
        return
    message = tr("Don’t switch it on: with only {contents} in it, its element may be bare.", contents=room_shown(_contents_ml(question, found), units))
    raise InputProblems(Problem("amount_g", ELEMENT_BARE, message, tr("Load it first, until the element is well covered.")))


def _melting(question: Asked, found: Stands, around: Around) -> Melting:
    if found.holds != "oils":
        return ()
    # Of which fats they are made nobody knows: then only what is seen can be counted.
    return melting(question.amount_g, around.fats, question.oils_are, question.now_c, question.wanted_c)


def _check_bounds(question: Asked, found: Stands, around: Around) -> None:
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
