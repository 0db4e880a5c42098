"""How a tank warms and cools: one stirred body that loses heat to the room by its surface (lumped, tau = m·cp / UA).

dH/dt = P - UA·(T - T_room). What has to melt goes by how cold the fat is when it begins to warm: spread evenly from there to
where it is clear, so that the course is an exponential on either side of that. Fat that cools gives nothing back here: it may
stay liquid far below where it melts, and then it cools faster. Counted as set all the same once it is warmed, it is rather ready
sooner than told. Everything that is not known well is a range, and what follows is reckoned for many cases of them (`spread`).
The heat of free convection hardly depends on the temperature here, and a tank that nobody stirs is warmer at its top: readings
mean something after a stir only.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from calc.chemistry.heat import fat_heat_capacity, naoh_lye_heat_capacity
from calc.chemistry.interpolation import cell, on_line
from calc.tables.reference import constant, koh_heat_capacity
from calc.tanks.spread import Spread, band, even_shares, exactly, within

HOUR_S = 3600.0
DAY_S = 24.0 * HOUR_S
THERMOMETER_OFF_C = constant("thermometer_off").value
NOTHING = exactly(0.0)
# A blend melts over a degree at least, however near it stands to where it is clear [K].
MELTS_OVER_LEAST_C = 1.0
# So many halvings of a week leave a fraction of a second.
_HALVINGS = 22
# Which share of each case belongs to what.
_LOSS, _CAPACITY, _MELTING, _HEATER, _ROOM, _START, _FIRST, _SECOND = range(8)
_SHARES = even_shares(8)


def tank_loss_w_per_k(
    contents_ml: float, volume_ml: float, material: str, lagging: str, lagging_mm: float | None = None
) -> Spread:
    """What a closed tank loses to still air [W/K], from its size, what it is made of and how it is lagged.

    contents_ml: what stands in it; volume_ml: the whole tank, as much or more; both above 0. material: "stainless_steel" or a
    plastic. lagging: "none" or "lagged"; lagging_mm: how thick [mm], above 0, where that is known.
    Surface = k · V^(2/3), between that of the contents and that of the tank; U = 1 / (1/h + d/lambda) under lagging, of which
    some is missing at lid, valve and heater. Constants: tank_surface, tank_loss, insulation. Raises ValueError outside these.

    A bare plastic drum of 200 L, about 17 to 19 W/K by physics_check_values.csv (C16) and the sheet it is from:

    >>> [round(end, 1) for end in tank_loss_w_per_k(200_000.0, 200_000.0, "polyethylene", "none")]
    [11.3, 15.6, 21.5]
    """
    if not 0.0 < contents_ml <= volume_ml < math.inf or (lagging_mm is not None and not lagging_mm > 0.0):
        raise ValueError("A tank holds more than nothing and no more than its volume, and its lagging has a thickness.")
    kind = "steel" if material == "stainless_steel" else "plastic"
    bare_low, bare_high = constant(f"tank_loss_{kind}_low").value, constant(f"tank_loss_{kind}_high").value
    low, high = bare_low, bare_high
    if lagging != "none":
        thick_m = 0.001 * (lagging_mm if lagging_mm is not None else constant("insulation_usual_high").value)
        thin_m = 0.001 * (lagging_mm if lagging_mm is not None else constant("insulation_usual_low").value)
        left_bare = constant("insulation_left_bare").value
        low = 1.0 / (1.0 / bare_low + thick_m / constant("insulation_conductivity_low").value)
        covered = 1.0 / (1.0 / bare_high + thin_m / constant("insulation_conductivity_high").value)
        high = (1.0 - left_bare) * covered + left_bare * bare_high
    low, high = low * _surface_m2("low", contents_ml), high * _surface_m2("high", volume_ml)
    # Known by its order alone: the middle by ratio.
    return Spread(low, math.sqrt(low * high), high)


def _surface_m2(end: str, volume_ml: float) -> float:
    return constant(f"tank_surface_{end}").value * math.pow(1e-6 * volume_ml, 2.0 / 3.0)


def oils_heat_j_per_k(mass_g: float, temperature_c: float) -> Spread:
    """What melted oils take for a degree [J/K], at 0 to 100 °C; heat capacity by Choi and Okos 1986, ±5 %."""
    off = constant("fat_heat_capacity_off").value
    return within(1.0, off).times(mass_g * fat_heat_capacity(temperature_c))


def lye_heat_j_per_k(mass_g: float, strength_fraction: float, temperature_c: float, alkali: str = "naoh") -> Spread:
    """What lye takes for a degree [J/K]; NaOH of 5 to 50 % by naoh_thermal.csv, ±2 %, KOH of 0 to 46 % by koh_thermal.csv, ±4 %.

    Raises ValueError outside these strengths.
    """
    if alkali == "koh":
        found = cell([percent for percent, _ in koh_heat_capacity()], 100.0 * strength_fraction, "Heats of lye", "%")
        capacity = on_line([each for _, each in koh_heat_capacity()], found)
    else:
        capacity = naoh_lye_heat_capacity(strength_fraction, temperature_c)
    return within(1.0, constant("koh_heat_capacity_off" if alkali == "koh" else "lye_heat_capacity_off").value).times(mass_g * capacity)


def with_wall(contents_j_per_k: Spread, volume_ml: float) -> Spread:
    """The contents' heat with what the wall of a tank of this volume [ml] takes for a degree [J/K]."""
    low = 1000.0 * constant("tank_wall_heat_low").value * _surface_m2("low", volume_ml)
    high = 1000.0 * constant("tank_wall_heat_high").value * _surface_m2("high", volume_ml)
    return Spread(contents_j_per_k.low + low, contents_j_per_k.used + 0.5 * (low + high), contents_j_per_k.high + high)


def heater_power_w(plate_w: float) -> Spread:
    """What a heater gives whose plate says so much [W], 0 or more; 90 to 105 % of it (IEC 60335-1, from memory)."""
    return Spread(constant("heater_power_low").value, 1.0, constant("heater_power_high").value).times(plate_w)


class TwoReadings(NamedTuple):
    """Two temperatures of one tank that stood still with its heater off [°C], and how long after each other [s], above 0."""

    first_c: float
    second_c: float
    apart_s: float


class Case(NamedTuple):
    """One tank out of all that the ranges leave possible. loss_w_per_k and heat_j_per_k above 0; the rest in °C, J and W.

    melting: below which temperature [°C] how much heat melts what is set [J], the highest first, none less than the one before it.
    """

    loss_w_per_k: float
    heat_j_per_k: float
    melting: tuple[tuple[float, float], ...]
    heater_w: float
    room_c: float
    start_c: float

    def after(self, temperature_c: float, power_w: float, seconds: float) -> float:
        """The temperature so many seconds later, with so much power on all the while [°C]."""
        return self._later(temperature_c, self._ends_c(power_w), seconds, self._melts(temperature_c))

    def until(self, temperature_c: float, power_w: float, wanted_c: float) -> float:
        """How long it takes to a temperature with so much power on [s]; 0 where it is there, infinite where it never comes."""
        return self._reaches_s(temperature_c, self._ends_c(power_w), wanted_c, self._melts(temperature_c))

    def switched_on(self, on_s: float, at_s: float) -> float:
        """The temperature at an instant, 0 or more after the start, with the heater on from another one on [°C]."""
        off_s = min(max(on_s, 0.0), at_s)
        left_c, melts = self._left_alone(off_s)
        return self._later(left_c, self.highest_c, at_s - off_s, melts)

    def takes_s(self, wanted_c: float, on_s: float) -> float:
        """How long it heats until it is as warm as wanted, left alone until it is switched on [s]; infinite where it never is."""
        left_c, melts = self._left_alone(on_s)
        return self._reaches_s(left_c, self.highest_c, wanted_c, melts) if left_c < wanted_c else 0.0

    def melting_at_j(self, on_s: float) -> float:
        """What has to melt in it if it is switched on at an instant, 0 or more after the start [J]."""
        left_c, melts = self._left_alone(on_s)
        return melts.j_per_k * max(melts.clear_c - left_c, 0.0)

    def latest_s(self, wanted_c: float, at_s: float) -> float:
        """The latest instant to switch on at, so that it is as warm as wanted at another one [s after the start].

        Below 0 where there is not time enough: by as much as it then still takes. -infinite where it never gets so warm.
        """
        if self._left_alone(at_s)[0] >= wanted_c:
            return at_s
        if self.highest_c <= wanted_c:
            return -math.inf
        if self.switched_on(0.0, at_s) < wanted_c:
            return at_s - self.takes_s(wanted_c, 0.0)
        early_s, late_s = 0.0, at_s
        for _ in range(_HALVINGS):
            middle_s = 0.5 * (early_s + late_s)
            if self.switched_on(middle_s, at_s) >= wanted_c:
                early_s = middle_s
            else:
                late_s = middle_s
        return early_s

    @property
    def highest_c(self) -> float:
        """Where it ends with the heater on for ever [°C]."""
        return self._ends_c(self.heater_w)

    def _ends_c(self, power_w: float) -> float:
        return self.room_c + power_w / self.loss_w_per_k

    def _melts(self, from_c: float) -> "_Melts":
        """What melts from a temperature on, as it warms from there."""
        melting_j = 0.0
        for below_c, each_j in self.melting:
            if from_c < below_c:
                melting_j = each_j
        if melting_j <= 0.0:
            return _Melts(0.0, from_c)
        clear_c = max(self.melting[0][0], from_c + MELTS_OVER_LEAST_C)
        return _Melts(melting_j / (clear_c - from_c), clear_c)

    def _left_alone(self, seconds: float) -> tuple[float, "_Melts"]:
        """How warm it is with its heater off for so long, and what then is still to melt: of what has cooled, by how cold it has got."""
        melts = self._melts(self.start_c)
        left_c = self._later(self.start_c, self.room_c, seconds, melts)
        return left_c, self._melts(left_c) if left_c < self.start_c else melts

    def _later(self, from_c: float, ends_c: float, seconds: float, melts: "_Melts") -> float:
        if from_c < ends_c and from_c < melts.clear_c:
            tau_s = (self.heat_j_per_k + melts.j_per_k) / self.loss_w_per_k
            later_c = ends_c + (from_c - ends_c) * math.exp(-seconds / tau_s)
            if later_c <= melts.clear_c:
                return later_c
            seconds -= self._leg_s(from_c, melts.clear_c, ends_c, tau_s)
            from_c = melts.clear_c
        return ends_c + (from_c - ends_c) * math.exp(-seconds * self.loss_w_per_k / self.heat_j_per_k)

    def _reaches_s(self, from_c: float, ends_c: float, wanted_c: float, melts: "_Melts") -> float:
        if from_c == wanted_c:
            return 0.0
        # It comes ever nearer to where it ends, and never there.
        if not (from_c < wanted_c < ends_c or from_c > wanted_c > ends_c):
            return math.inf
        passed_s = 0.0
        if from_c < wanted_c and from_c < melts.clear_c:
            leg_c = min(melts.clear_c, wanted_c)
            passed_s = self._leg_s(from_c, leg_c, ends_c, (self.heat_j_per_k + melts.j_per_k) / self.loss_w_per_k)
            from_c = leg_c
        return passed_s + self._leg_s(from_c, wanted_c, ends_c, self.heat_j_per_k / self.loss_w_per_k)

    @staticmethod
    def _leg_s(from_c: float, to_c: float, ends_c: float, tau_s: float) -> float:
        return tau_s * math.log((from_c - ends_c) / (to_c - ends_c))


class _Melts(NamedTuple):
    """What melting adds to each degree as it warms [J/K], up to where all is clear [°C]."""

    j_per_k: float
    clear_c: float


@dataclass(frozen=True)
class HeatedTank:
    """A tank as it stands: what it loses and takes, its heater (0 without one), the room and its own temperature.

    melting: below which temperature how much heat melts what is set, as `Case` has it. `readings`: two temperatures of this same
    tank, by which its loss is fitted instead of estimated.
    """

    loss_w_per_k: Spread
    heat_j_per_k: Spread
    heater_w: Spread
    room_c: Spread
    start_c: Spread
    melting: tuple[tuple[float, Spread], ...] = ()
    readings: TwoReadings | None = None

    @cached_property
    def middle(self) -> Case:
        """The case with every figure as it is used."""
        room_c, heat = self.room_c.used, self.heat_j_per_k.used
        fitted = self._fitted(heat, room_c, 0.0, 0.0) if self.fits else None
        melting = tuple((below_c, each.used) for below_c, each in self.melting)
        return Case(fitted or self.loss_w_per_k.used, heat, melting, self.heater_w.used, room_c, self.start_c.used)

    @cached_property
    def cases(self) -> tuple[Case, ...]:
        """All that the ranges leave possible, evenly."""
        return tuple(self._cases())

    @cached_property
    def fits(self) -> bool:
        """Whether the two readings say more of the loss than size and lagging do."""
        if self.readings is None:
            return False
        fitted = [self._fitted(*told) for told in self._told()]
        middle = self._fitted(self.heat_j_per_k.used, self.room_c.used, 0.0, 0.0)
        losses = [loss for loss in fitted if loss is not None]
        if middle is None or len(losses) < len(fitted):
            return False
        found = band(losses, middle)
        estimated = band((self.loss_w_per_k.by_ratio(shares[_LOSS]) for shares in _SHARES), self.loss_w_per_k.used)
        return found.high / found.low < estimated.high / estimated.low

    @cached_property
    def loss(self) -> Spread:
        """The loss that is counted with [W/K], fitted or estimated."""
        return band((case.loss_w_per_k for case in self.cases), self.middle.loss_w_per_k)

    def _cases(self) -> Iterator[Case]:
        for shares, told in zip(_SHARES, self._told(), strict=True):
            fitted = self._fitted(*told) if self.fits else None
            melting = tuple((below_c, each.at(shares[_MELTING])) for below_c, each in self.melting)
            yield Case(
                fitted or self.loss_w_per_k.by_ratio(shares[_LOSS]), told[0], melting, self.heater_w.at(shares[_HEATER]), told[1], self.start_c.at(shares[_START])
            )  # fmt: skip

    def _told(self) -> Iterator[tuple[float, float, float, float]]:
        """Of each case what a fit rests on: what a degree takes, the room, and how far off the two readings are."""
        for shares in _SHARES:
            first_off_c, second_off_c = (THERMOMETER_OFF_C * (2.0 * shares[place] - 1.0) for place in (_FIRST, _SECOND))
            yield self.heat_j_per_k.at(shares[_CAPACITY]), self.room_c.at(shares[_ROOM]), first_off_c, second_off_c

    def _fitted(self, heat_j_per_k: float, room_c: float, first_off_c: float, second_off_c: float) -> float | None:
        """UA = C/t · ln((T1 - Troom)/(T2 - Troom)) [W/K]; None where the readings, so far off, show no loss at all."""
        assert self.readings is not None
        above_c = self.readings.first_c + first_off_c - room_c
        still_c = self.readings.second_c + second_off_c - room_c
        if above_c * still_c <= 0.0 or abs(still_c) >= abs(above_c):
            return None
        return heat_j_per_k / self.readings.apart_s * math.log(above_c / still_c)


@dataclass(frozen=True)
class HeatUp:
    """What it takes to have a tank at a temperature at an instant [s from now].

    on_s: when to switch on: at the earliest, as reckoned, at the latest; below 0 where the time is too short for that.
    sure_s: when, so that it is surely there: the earliest of nine cases in ten, of those that ever get so warm.
    takes_s: how long it heats from now on if it is switched on now. never: how many cases in a hundred never get so warm.
    hold_w, highest_c, rise_c_per_h: what holds it there; where it ends without a thermostat, and how fast it goes on.
    heat_j, melting_j: what the heater gives until it is ready, beginning at on_s, and what of it melts fat.
    """

    on_s: Spread
    sure_s: float
    takes_s: Spread
    never: float
    hold_w: Spread
    highest_c: Spread
    rise_c_per_h: Spread
    heat_j: Spread
    melting_j: Spread


def heat_up(tank: HeatedTank, wanted_c: float, at_s: float, now_s: float = 0.0) -> HeatUp:
    """When to switch on, how long it takes and what holds it.

    at_s: when it is wanted, now_s: what time it is [s from when it stood as told, 0 or more]; what is found counts from now.

    Row C17 of physics_check_values.csv, 200 kg of 33 % lye from 15 to 30 °C with 500 W, UA 3 W/K, room 15 °C (6.25 h):

    >>> lye = HeatedTank(exactly(3.0), exactly(200.0 * 3580.0), exactly(500.0), exactly(15.0), exactly(15.0))
    >>> round(heat_up(lye, 30.0, 0.0).takes_s.used / 3600.0, 3)
    6.252
    """
    cases, middle = tank.cases, tank.middle
    takes = [case.takes_s(wanted_c, now_s) for case in cases]
    on = [case.latest_s(wanted_c, at_s) for case in cases]
    on_used = middle.latest_s(wanted_c, at_s)
    lasting = [case.heater_w * (at_s - instant) for case, instant in zip(cases, on, strict=True)]
    melting = [case.melting_at_j(max(instant, 0.0)) for case, instant in zip(cases, on, strict=True)]
    return HeatUp(
        on_s=_earlier(band(on, on_used), now_s),
        sure_s=band([each for each in on if each > -math.inf] or on, on_used).low - now_s,
        takes_s=band(takes, middle.takes_s(wanted_c, now_s)),
        never=100.0 * len([each for each in on if math.isinf(each)]) / len(on),
        hold_w=hold_w(tank, wanted_c),
        highest_c=band((case.highest_c for case in cases), middle.highest_c),
        rise_c_per_h=band((_rise(case, wanted_c) for case in cases), _rise(middle, wanted_c)),
        heat_j=band(lasting, middle.heater_w * (at_s - on_used)),
        melting_j=band(melting, middle.melting_at_j(max(on_used, 0.0))),
    )


def _earlier(instants_s: Spread, by_s: float) -> Spread:
    return Spread(*(each - by_s for each in instants_s))


def takes_s(tank: HeatedTank, wanted_c: float, on_s: float) -> Spread:
    """How long it heats until it is as warm as wanted, left alone until it is switched on at on_s [s, s from now, 0 or more].

    Left alone at 15 °C in a room of 15 °C, it takes at any time what row C17 of physics_check_values.csv says (6.25 h):

    >>> lye = HeatedTank(exactly(3.0), exactly(200.0 * 3580.0), exactly(500.0), exactly(15.0), exactly(15.0))
    >>> round(takes_s(lye, 30.0, 7200.0).used / 3600.0, 3)
    6.252
    """
    return band((case.takes_s(wanted_c, on_s) for case in tank.cases), tank.middle.takes_s(wanted_c, on_s))


def cool_down(tank: HeatedTank, wanted_c: float) -> Spread:
    """How long until a tank with its heater off has cooled to a temperature [s]; infinite where the room is too warm for it.

    Row C16 of physics_check_values.csv, 200 kg of 33 % lye from 107 to 40 °C, room 20 °C, UA 17 W/K (17.2 h):

    >>> lye = HeatedTank(exactly(17.0), exactly(200.0 * 3580.0), exactly(0.0), exactly(20.0), exactly(107.0))
    >>> round(cool_down(lye, 40.0).used / 3600.0, 1)
    17.2
    """
    cases, middle = tank.cases, tank.middle
    takes = [case.until(case.start_c, 0.0, wanted_c) if case.start_c > wanted_c else 0.0 for case in cases]
    return band(takes, middle.until(middle.start_c, 0.0, wanted_c))


def hold_w(tank: HeatedTank, at_c: float) -> Spread:
    """The power that keeps a tank at a temperature [W]: UA · (T - T_room); below 0 where it would have to be cooled."""

    def needed(case: Case) -> float:
        return case.loss_w_per_k * (at_c - case.room_c)

    return band(map(needed, tank.cases), needed(tank.middle))


def course(tank: HeatedTank, on_s: float | None, at_s: Sequence[float], held_c: float | None = None) -> list[Spread]:
    """The temperature at each instant [°C at s from now], switched on at on_s, or never; held_c: where a thermostat holds it."""

    def at(case: Case, instant: float) -> float:
        found = case.after(case.start_c, 0.0, instant) if on_s is None else case.switched_on(on_s, instant)
        return found if held_c is None or instant <= (on_s or 0.0) else min(found, max(held_c, case.start_c))

    return [band((at(case, instant) for case in tank.cases), at(tank.middle, instant)) for instant in at_s]


def _rise(case: Case, at_c: float) -> float:
    return HOUR_S * (case.heater_w - case.loss_w_per_k * (at_c - case.room_c)) / case.heat_j_per_k
