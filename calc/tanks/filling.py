"""A fill of a tank as steps at its scale: protection, water, caustic by portions with their waits, oils, stir, label.

Frozen when a fill is begun, and worked as a block's steps are. Safety steps are those of a block, and no shop leaves one out.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from calc.batch.pours import Kind
from calc.entry.language import tr
from calc.entry.shown import percent, plain_weight, quantity
from calc.entry.units import convert
from calc.scales.display import Display
from calc.scales.weighing import ALLOWED_MAIN, Scale
from calc.steps.keys import (
    STIR_LYE,
    TANK_CHECK,
    TANK_LABEL,
    TANK_WARM,
    UNREAD_WAIT,
    cooling,
    into_tank,
    portion,
    read_before,
)
from calc.steps.pour_names import pour_name, within
from calc.steps.safety import boiling, lye_wear, safety_steps, splash
from calc.steps.scale_checks import zero_check
from calc.steps.step import Band, OnScale, ReadOn, Said, Weighed, WeighStep, confirm, tared, temperature, timer, weigh
from calc.tables.reference import constant
from calc.tanks.dissolving import Additions
from calc.workshop.tanks import Tank

# A wait is told in whole minutes.
MINUTE_S = 60
# So that a whole degree stays one through its unit.
CLOSE_C = 1e-6


@dataclass(frozen=True, kw_only=True)
class Goes:
    """One thing that goes in: its key, kind and name, its lot, and how much on the display, portion by portion [counts].

    oil, alkali, hydroxide_fraction: as a part of a load has them (`fold.Part`).
    """

    key: str
    kind: Kind
    name: str
    counts: tuple[int, ...]
    lot: str | None = None
    oil: str | None = None
    alkali: str | None = None
    hydroxide_fraction: float | None = None


@dataclass(frozen=True, kw_only=True)
class FillPlan:
    """What goes into a tank, in order, and on which scale it is weighed.

    on_scale: the tank stands on it; else a pail does. before_g: what is in the tank. wanted_fraction: of lye, how strong it becomes.
    heat: the portions of its caustic or bought lye, as many as that has counts. solid: it is caustic.
    unread_s: for each of them how long after the one before it goes in without a reading [s], as far as that is known.
    """

    tank: Tank
    goes: tuple[Goes, ...]
    scale: Scale
    display: Display
    on_scale: bool
    units: str
    before_g: float = 0.0
    wanted_fraction: float | None = None
    heat: Additions | None = None
    unread_s: Sequence[float | None] = ()
    solid: bool = False
    check_weight_g: float | None = None

    @property
    def alkali(self) -> Goes | None:
        """What makes it lye."""
        return next((each for each in self.goes if each.kind == "alkali"), None)


def fill_steps(plan: FillPlan) -> tuple[WeighStep, ...]:
    """Every step of a fill, in the order of work; in the language spoken."""
    return tuple(_Fill(plan).steps())


def cooling_step() -> WeighStep:
    """The wait behind a reading that was too warm for its portion; in the language spoken."""
    how = tr("Add nothing. Keep it moving, face out of the steam. The thermometer decides, not the clock.")
    return timer(cooling(0), tr("Too warm: let it cool"), how, int(constant("portion_wait_usual").value))


def unread_step() -> WeighStep:
    """The wait where nobody can read how warm the lye is, to be given what is left of its portion's own time; in the language spoken."""
    how = tr("Add nothing, and leave the heater off. Stir now and then, face out of the steam. A thermometer turned up? Tap Done and read it.")
    return timer(UNREAD_WAIT, tr("No thermometer: wait by the clock"), how, int(constant("portion_wait_usual").value))


class _Fill:
    def __init__(self, plan: FillPlan) -> None:
        self.plan = plan
        self.in_tank_g: list[float] = []

    def steps(self) -> Iterator[WeighStep]:
        plan = self.plan
        lye = plan.wanted_fraction is not None
        if lye:
            yield from safety_steps(plan.tank.name, solid=plan.solid)[:2]
        yield self._tank(lye=lye)
        if not plan.on_scale:
            yield zero_check(plan.scale, plan.display, plan.check_weight_g)
        for goes in plan.goes:
            yield from self._caustic(goes) if goes.kind == "alkali" else self._plain(goes)
        if lye:
            yield confirm(STIR_LYE, tr("Stir the whole tank"), tr("Down to the bottom, until all of it is clear and even. {wear}", wear=lye_wear()), stop=splash())
        else:
            yield confirm(TANK_WARM, tr("Warm it and stir"), tr("Until all of it is clear: a butter that is still cloudy isn't mixed in."))
        yield self._label()

    def _tank(self, *, lye: bool) -> WeighStep:
        tank, before_g = self.plan.tank.name, self.plan.before_g
        sound = tr("{tank}: sound and clean, its valve shut.", tank=tank)
        there = tr("Nothing is in it.") if before_g <= 0.0 else tr("About {mass} is in it.", mass=plain_weight(before_g, self.plan.units))
        what = tr("Nothing but lye and water ever goes into it.") if lye else tr("No water in it: water under hot oil spatters.")
        stop = tr("Stop if it's another tank, if it leaks, or if something else is in it.")
        return confirm(TANK_CHECK, tr("Check the tank"), f"{sound} {there} {what}", safety=lye, stop=stop)

    def _plain(self, goes: Goes) -> Iterator[WeighStep]:
        """Water, or an oil: all of it goes in as it is weighed."""
        plan = self.plan
        for number, count in enumerate(goes.counts, 1):
            if plan.on_scale:
                how = tr("{tare} Let it run into {tank}, wait until the display rests, then read.", tare=tared(plan.display), tank=plan.tank.name)
            else:
                how = tr("Weigh it in a clean pail on {scale}, pail tared. Then pour all of it into {tank}.", scale=plan.scale.name, tank=plan.tank.name)
            stop: str | None = tr("Stop if name or lot differs.")
            after = None if plan.on_scale else tr("Pour it all in; let the pail drain.")
            if goes.kind == "water":
                how, stop = tr("Cool, clean water. {how}", how=how), None
            if goes.kind == "water" and plan.before_g > 0.0:
                # It heats what stands there, and splashes.
                how, stop = tr("{how} Slowly, stirring: it heats the lye. {wear}", how=how, wear=lye_wear()), splash()
            said = Said(title=self._titled(tr("Pour {pour}", pour=self._said(goes)), goes, number), how=how, stop=stop, next=after)
            yield self._weigh(goes, number, count, said)

    def _caustic(self, goes: Goes) -> Iterator[WeighStep]:
        """Caustic or bought lye into the water: by portions, each only once what stands there is cool enough for it."""
        plan = self.plan
        found = plan.heat.portions if plan.heat else ()
        for number, count in enumerate(goes.counts, 1):
            at = found[number - 1] if number <= len(found) else None
            if at and number > 1:
                wait_s = constant("portion_wait_usual").value if at.wait_s is None else at.wait_s
                yield timer(cooling(number), tr("Let it cool before portion {n}", n=number),
                            tr("Keep it moving, face out of the steam. The thermometer decides, not the clock."),
                            math.ceil(wait_s / MINUTE_S) * MINUTE_S)  # fmt: skip
            if at and (number > 1 or plan.before_g > 0.0):
                yield self._read(number, at.gate_c)
            yield self._weigh(goes, number, count, self._caustic_said(goes, number))
            yield self._in(goes, number)

    def _read(self, number: int, most_c: float) -> WeighStep:
        unit = "degF" if self.plan.units == "us" else "degC"
        # Whole degrees, as they are read out and said; the lesser of two is the safe one.
        whole = math.floor(convert(most_c, "degC", unit))
        how = tr(
            "Stir, then read with a probe deep in it, not by infrared. At most {most}: warmer, and this portion makes it too hot.",
            most=quantity(whole, unit),
        )  # fmt: skip
        title, stop = tr("Read it before portion {n}", n=number), tr("Stop adding if it's warmer: let it cool.")
        unread_s = self.plan.unread_s[number - 1] if number <= len(self.plan.unread_s) else None
        return temperature(read_before(number), title, how, self.plan.units, None, convert(whole, unit, "degC") + CLOSE_C, stop,
                           None if unread_s is None else math.ceil(unread_s / MINUTE_S) * MINUTE_S)  # fmt: skip

    def _caustic_said(self, goes: Goes, number: int) -> Said:
        plan, stop = self.plan, tr("Stop if name or lot differs.")
        if plan.on_scale:
            name = tr("Read the name on the container out loud.")
            how = tr("{tare} A little at a time into {tank}, stirring. {wear} Read once the display rests.",
                     tare=tared(plan.display), tank=plan.tank.name, wear=lye_wear())  # fmt: skip
            title = self._titled(tr("Add {pour}", pour=self._said(goes)), goes, number)
            return Said(title=title, how=f"{name} {how}", stop=f"{stop} {boiling()}")
        how = tr("Read the name on the container out loud. Weigh it in its own dry container. Don't put it in the water yet.")
        return Said(title=self._titled(tr("Weigh {pour}", pour=self._said(goes)), goes, number), how=how, stop=stop)

    def _in(self, goes: Goes, number: int) -> WeighStep:
        plan = self.plan
        key, many = portion(goes.key, number), len(goes.counts) > 1
        if plan.on_scale:
            title = tr("Stir portion {n} until it's clear", n=number) if many else tr("Stir until it's clear")
            how = tr("Down to the bottom, without a stop. It gets scalding hot. {wear}", wear=lye_wear())
        else:
            if plan.before_g > 0.0:
                title = tr("Portion {n} into the tank", n=number) if many else tr("Into the tank with it")
            else:
                title = tr("Portion {n} into the water", n=number) if many else tr("Into the water with it")
            how = tr("Never water onto caustic. A little at a time into {tank}, stirring until clear. It gets scalding hot. {wear}",
                     tank=plan.tank.name, wear=lye_wear())  # fmt: skip
        return confirm(into_tank(key), title, how, safety=True, stop=f"{boiling()} {splash()}", pour=goes.key, pour_kind="alkali")

    def _label(self) -> WeighStep:
        plan, made = self.plan, self.plan.alkali
        if plan.wanted_fraction is None:
            how = tr("What is in it, with lots and the day.")
            return confirm(TANK_LABEL, tr("Label the tank"), how)
        # 29 CFR 1910.1200(f)(6): what holds a dangerous chemical says so.
        how = tr("On it: {alkali} {strength}, the day, and “Danger: causes severe burns”. Shut the lid.",
                 alkali=_LYES[made.alkali if made else None], strength=percent(plan.wanted_fraction))  # fmt: skip
        return confirm(TANK_LABEL, tr("Label the tank"), how, safety=True, stop=tr("Nobody draws from it until its strength is measured, clear and cool."))

    def _weigh(self, goes: Goes, number: int, count: int, said: Said) -> WeighStep:
        plan = self.plan
        grams = plan.display.grams(count)
        what = Weighed(grams=grams, pour=goes.key, kind=goes.kind, lot=goes.lot, twice=goes.kind == "alkali", others=self._others(goes))
        # How much the tank itself weighs nobody knows: of a tare that was missed, only the pour before shows.
        into = OnScale(grams=math.fsum(self.in_tank_g), tared=True, untared_g=self.in_tank_g[-1:]) if plan.on_scale else None
        # Over lye that stands open, water is a deed with lye too.
        key = f"lye:{goes.key}" if goes.kind == "water" and plan.before_g > 0.0 else goes.key
        made = weigh(portion(key, number), said, what, ReadOn(plan.scale.name, plan.display, plan.scale.capacity_g), Band(allowed_g=ALLOWED_MAIN * grams), into)
        self.in_tank_g.append(grams)
        return replace(made, gross=None, gross_text=None)

    def _others(self, goes: Goes) -> Sequence[tuple[str, float]]:
        return [(pour_name(each.name), self.plan.display.grams(each.counts[0])) for each in self.plan.goes if each.key != goes.key]

    def _said(self, goes: Goes) -> str:
        return within(goes.name, None, [each.name for each in self.plan.goes])

    @staticmethod
    def _titled(title: str, goes: Goes, number: int) -> str:
        of = len(goes.counts)
        return title if of == 1 else tr("{deed}, {n} of {of}", deed=title, n=number, of=of)


# As it stands on labels; nothing is known of what went in before there were lots.
_LYES = {"naoh": "NaOH", "koh": "KOH", None: ""}
