"""Making lye: how hot it gets, in how many portions, with which waits, and how long until it may be used.

The hottest it can get is the balance without losses (`calc.chemistry.enthalpy`), with the doubt about the heat of solution
added. Caustic goes into the water in portions; each is reckoned at its hottest, and where the next would pass what the vessel
bears, the lye first cools by the vessel's own loss (`heating`). Steam carries heat away too: that is left out, so the truth
lies lower. Of KOH no course of its heat with strength was found: each portion is reckoned with all of the heat in much water,
which it can't pass, and no wait is told.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from calc.chemistry.enthalpy import (
    Part,
    boiling_c,
    end_temperature_c,
    koh_end_at_most_c,
    koh_rise_at_most_c,
    lye_enthalpy,
    together,
)
from calc.tables.reference import constant
from calc.tables.safety import figure
from calc.tanks.heating import Case, HeatedTank, cool_down, lye_heat_j_per_k, with_wall
from calc.tanks.spread import Spread, exactly, within

MATERIALS = ("polypropylene", "polyethylene", "stainless_steel")
# A room that is hardly colder never cools it there in a day.
ROOM_CLOSE_C = 0.5
MOST_PORTIONS = 60
# Steps to how cool the lye must be, each a little farther than it seems to need.
SETTLED_AFTER, SAFE_STEP = 20, 1.02


def material_bears_c(material: str) -> float:
    """What a vessel's material bears of lye [°C], by resistance charts from memory; the vessel's own rating counts before it."""
    if material == "polyethylene":
        return figure("hdpe_c")
    return constant({"polypropylene": "polypropylene_hottest", "stainless_steel": "stainless_most"}[material]).value


def hottest_c(material: str | None, own_most_c: float | None) -> float:
    """What lye may come to as it is made [°C]: the least that vessel, the workshop's own limit and the flakes' boiling water bear."""
    bears_c = None if material is None else material_bears_c(material)
    return min(each for each in (bears_c, own_most_c, constant("dissolve_most").value) if each is not None)


class Peak(NamedTuple):
    """How hot it gets put together at once with nothing lost [°C]: from the least to the most that the heat may be.

    boils_c: where lye of that strength boils. low_c None: only the bound is known. high_c None: not even that.
    """

    low_c: float | None
    high_c: float | None
    boils_c: float | None

    @property
    def boils(self) -> bool:
        """Whether it could boil as a whole; at the flakes water may boil long before."""
        return self.high_c is not None and self.boils_c is not None and self.high_c >= self.boils_c


class Portion(NamedTuple):
    """One portion of caustic or strong lye: when it goes in [s], how much [g], and where the lye then stands at most [°C].

    from_c: as cool as the lye is then, by what the vessel loses [°C]. wait_s: how long that takes from the portion before [s]; None: not known.
    gate_c: the warmest that the lye may be for it [°C].
    """

    mass_g: float
    from_c: float
    to_c: float
    wait_s: float | None
    gate_c: float


@dataclass(frozen=True)
class Additions:
    """Portions in order. never: the room is too warm for it to cool enough for the portion that would come next."""

    portions: tuple[Portion, ...]
    never: bool = False

    @property
    def takes_s(self) -> float | None:
        """From the first portion to the last [s]; None where a wait is not known."""
        waits = [portion.wait_s for portion in self.portions]
        return None if None in waits else math.fsum(wait for wait in waits if wait is not None)

    @property
    def cools_between(self) -> bool:
        """Whether a wait is longer than the one that every portion has."""
        least_s = constant("portion_wait_usual").value
        return any(portion.wait_s is None or portion.wait_s > least_s for portion in self.portions[1:])


def peak(alkali: str, start: Sequence[Part], added: Part) -> Peak:
    """The peak of one addition at once.

    start: what stands in the vessel, at least some water or lye. added: solid caustic or stronger lye. Raises ValueError where
    nothing is there, or NaOH ends above 50 %.
    """
    parts = [*start, added]
    _, strength_fraction = together(parts)
    if alkali == "koh":
        warmest_c = max(part.temperature_c for part in parts if part.mass_g > 0.0)
        try:
            return Peak(None, koh_end_at_most_c(strength_fraction, warmest_c), None)
        except ValueError:
            return Peak(None, None, None)
    less, more = doubt_kj(added)
    return Peak(end_temperature_c(parts, -less), end_temperature_c(parts, more), boiling_c(strength_fraction))


def doubt_kj(added: Part) -> tuple[float, float]:
    """How much less and how much more heat it may give off than reckoned [kJ]; thinning goes by the course with strength alone."""
    moles = added.mass_g * added.hydroxide_fraction / constant("molar_mass_naoh").value
    more = moles * constant("heat_of_solution_more").value
    return (moles * constant("heat_of_solution_less").value if added.solid else more), more


def additions(
    start: Sequence[Part], added: Part, most_c: float, room_c: float, loss_w_per_k: float | None, least: int = 1, volume_ml: float = 0.0
) -> Additions:
    """NaOH put in by portions so that the lye never passes a temperature.

    most_c: that temperature [°C]. loss_w_per_k: what the vessel loses [W/K], above 0; None where it is not known.
    least: in no fewer portions than these, since a scale holds no larger ones. volume_ml: of the vessel, whose wall cools with
    the lye as in `usable_after`; 0 leaves it out.
    Every portion heats by at most portion_rise_most; between two at least portion_wait_usual passes. Ranges as in `peak`.
    """
    mass_g, fraction = together(start)
    now = Part(mass_g, fraction, end_temperature_c(start))
    portion, count = _portion(now, added, least)
    more_kj = doubt_kj(portion)[1]
    least_s = constant("portion_wait_usual").value
    found: list[Portion] = []
    for number in range(count):
        wanted_c = _cool_enough(now, portion, more_kj, most_c)
        must_cool = wanted_c < now.temperature_c
        if must_cool and (number == 0 or wanted_c < room_c + ROOM_CLOSE_C):
            return Additions(tuple(found), never=True)
        wait_s: float | None = least_s if number else 0.0
        if loss_w_per_k is not None and number:
            cooling = _cooling(now, room_c, loss_w_per_k, volume_ml)
            wait_s = max(least_s, cooling.until(now.temperature_c, 0.0, wanted_c)) if must_cool else least_s
            now = now._replace(temperature_c=cooling.after(now.temperature_c, 0.0, wait_s))
        elif must_cool:
            wait_s, now = None, now._replace(temperature_c=wanted_c)
        after = _together(now, portion, more_kj)
        gate_c = _cool_enough(now._replace(temperature_c=most_c), portion, more_kj, most_c)
        found.append(Portion(portion.mass_g, now.temperature_c, after.temperature_c, wait_s, gate_c))
        now = after
    return Additions(tuple(found))


def koh_additions(start: Sequence[Part], added: Part, most_c: float, least: int = 1) -> Additions:
    """Solid KOH put in by equal portions, none of which can heat the lye by more than portion_rise_most.

    Ranges as in `additions`. Of each the warmest that the lye may be for it follows from what it heats at most; how long the lye
    takes to cool to that is not known. Raises ValueError where the lye ends above the strengths of `koh_end_at_most_c`.

    20 kg of KOH of 90 % into 30 kg of water end at 36 %, and no portion heats by more than 15 K:

    >>> portions = koh_additions([Part(30_000.0, 0.0, 20.0)], Part(20_000.0, 0.9, 20.0, True), 90.0).portions
    >>> (len(portions), all(portion.to_c <= 90.0 for portion in portions))
    (11, True)
    """
    mass_g, fraction = together(start)
    at_c = max(part.temperature_c for part in start if part.mass_g > 0.0)
    for count in range(least, max(least, MOST_PORTIONS) + 1):
        portion = added._replace(mass_g=added.mass_g / count)
        rises_c, now = [], Part(mass_g, fraction, at_c)
        for _ in range(count):
            rises_c.append(koh_rise_at_most_c(now, portion))
            after_g, after = together([now, portion])
            now = Part(after_g, after, at_c)
        if max(rises_c) <= constant("portion_rise_most").value:
            break
    found = []
    for number, rise_c in enumerate(rises_c):
        gate_c = most_c - rise_c
        from_c = min(at_c, gate_c)
        at_c = from_c + rise_c
        found.append(Portion(portion.mass_g, from_c, at_c, None if number else 0.0, gate_c))
    return Additions(tuple(found))


def _portion(now: Part, added: Part, least: int) -> tuple[Part, int]:
    """Equal portions, as few as keep the first, which heats most, to the rise of a portion; and how many they are."""
    count = least
    while count < MOST_PORTIONS:
        portion = added._replace(mass_g=added.mass_g / count)
        rise_c = _together(now, portion, doubt_kj(portion)[1]).temperature_c - now.temperature_c
        if rise_c <= constant("portion_rise_most").value:
            break
        count += 1
    return added._replace(mass_g=added.mass_g / count), count


def _cool_enough(now: Part, portion: Part, more_kj: float, most_c: float) -> float:
    """How warm the lye may be when the portion goes in [°C]; as it is, where that is cool enough."""
    wanted_c = now.temperature_c
    # The portion heats cooler lye a little more: a few steps settle it.
    for _ in range(SETTLED_AFTER):
        over_c = _together(now._replace(temperature_c=wanted_c), portion, more_kj).temperature_c - most_c
        if over_c <= 0.0:
            break
        wanted_c -= over_c * SAFE_STEP
    return wanted_c


def _together(now: Part, portion: Part, more_kj: float) -> Part:
    mass_g, fraction = together([now, portion])
    return Part(mass_g, fraction, end_temperature_c([now, portion], more_kj))


def _cooling(now: Part, room_c: float, loss_w_per_k: float, volume_ml: float) -> Case:
    # kJ/(kg K) are J/(g K).
    lye = now.mass_g * (lye_enthalpy(now.hydroxide_fraction, now.temperature_c + 1.0) - lye_enthalpy(now.hydroxide_fraction, now.temperature_c))
    heat = with_wall(exactly(lye), volume_ml).used
    return Case(loss_w_per_k, heat, (), 0.0, room_c, now.temperature_c)


def usable_after(
    mass_g: float, strength_fraction: float, from_c: float, wanted_c: float, room_c: float, loss_w_per_k: Spread, volume_ml: float
) -> Spread:
    """How long NaOH lye of 5 to 50 % stands until it has cooled to a temperature [s]; infinite where the room is too warm.

    volume_ml: of the vessel, whose wall takes its share. Row C16 of physics_check_values.csv, the wall left out: 17.2 h.
    """
    heat = with_wall(lye_heat_j_per_k(mass_g, strength_fraction, 0.5 * (from_c + wanted_c)), volume_ml)
    room = within(room_c, constant("room_off").value)
    return cool_down(HeatedTank(loss_w_per_k, heat, exactly(0.0), room, exactly(from_c)), wanted_c)
