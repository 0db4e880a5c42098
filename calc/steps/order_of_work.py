"""The order of work at the scale for one block, from putting on protection to unmoulding.

Frozen when a sheet is issued; one list serves every block of the batch. The shop's ways leave steps out or in, safety
steps never: they stand in every block.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import fsum

from calc.batch.order import BatchSetting
from calc.batch.pours import Portion, Pour
from calc.batch.sheet import BatchSheet
from calc.entry.language import tr
from calc.entry.shown import warmth
from calc.scales.display import Display
from calc.scales.weighing import ALLOWED_MAIN, ALLOWED_SMALL
from calc.steps.keys import MADE, OIL_BLEND, READ_LYE, READ_OILS, first_pour, half, stirred_in, top_up
from calc.steps.mould import into_mould, mould_ready
from calc.steps.pour_names import pour_name, within
from calc.steps.reserve import held, reserve
from calc.steps.safety import batter_wear, dissolve, drips, lye_wear, safety_steps, splash
from calc.steps.scale_checks import tare_again, tare_empty, vessel_on, zero_check
from calc.steps.step import (
    Band,
    Fine,
    OnScale,
    ReadOn,
    Said,
    Weighed,
    WeighStep,
    confirm,
    going_on,
    tared,
    temperature,
    timer,
    weigh,
)
from calc.workshop.habits import NARROWEST_C
from calc.workshop.scales import scales_of, vessel_scale


def weigh_steps(sheet: BatchSheet, setting: BatchSetting) -> tuple[WeighStep, ...]:
    """Every step of one block of the sheet, in the order of work, by the shop's ways at the scale; in the language spoken."""
    return tuple(_Work(sheet, setting).steps())


@dataclass(frozen=True)
class _Act:
    """What a hand does for a pour into the vessel, when it stops, and what it does next."""

    how: str
    stop: str | None
    next: str | None = None


def _out_of_tank(*, lye: bool) -> _Act:
    if not lye:
        return _Act(tr("Open the valve. Let it drain, then read."), None)
    return _Act(tr("Open the valve slowly. {wear} Let it drain, then read.", wear=lye_wear()), f"{drips()} {splash()}")


def _out_of_reserve() -> _Act:
    how = tr("Pour slowly from the reserve. {wear} Then read.", wear=lye_wear())
    return _Act(how, splash(), tr("Cover what's left of the reserve and put it back: it's lye."))


def _bottle() -> str:
    """Where a scent's lot is asked: two bottles look alike."""
    return tr("Read the name and lot on the bottle.")


class _Work:
    """Goes through the pours once and keeps what is in the vessel."""

    def __init__(self, sheet: BatchSheet, setting: BatchSetting) -> None:
        self.sheet, self.setting, self.habits = sheet, setting, setting.habits
        self.pours = sheet.weighed
        self.tares = setting.habits.tare == "each"
        self.scales = scales_of(setting.scales, setting.shop.tolerance_scheme)
        self.vessel_scale = vessel_scale(self.scales)[0]
        self.vessel_display = self.vessel_scale.display
        self.in_vessel_g: list[float] = []  # each amount that went in, in order

    def steps(self) -> Iterator[WeighStep]:
        apart = [pour for pour in self.pours if pour.phase == "lye"]
        vessel = [pour for pour in self.pours if pour.phase == "vessel"]
        at_trace = [pour for pour in self.pours if pour.phase == "trace"]
        ahead = [pour for pour in at_trace if pour.kind == "scent" and self.habits.scent != "trace"]
        yield from safety_steps(self.sheet.vessel.name, solid=bool(apart))
        yield mould_ready(self.sheet, self.setting.units)
        yield from self._lye_apart(apart)
        yield zero_check(self.vessel_scale, self.vessel_display, self.habits.check_weight_g)
        if not self.tares:
            yield vessel_on(self.vessel_scale, self.vessel_display, self.sheet.vessel)
        yield from self._oils([pour for pour in vessel if pour.kind == "oil"])
        yield from map(self._soap, (pour for pour in vessel if pour.kind == "soap"))
        yield from map(self._ahead, ahead)
        yield from self._lye([pour for pour in vessel if pour.kind not in ("oil", "soap")])
        minutes = self.habits.trace_minutes
        mix = tr("Mix until the batter thickens evenly. {wear}", wear=batter_wear())
        yield timer("mix", tr("Mix"), mix, None if minutes is None else 60 * minutes)
        yield confirm(
            "trace",
            tr("Check for trace"),
            tr("A drop of batter leaves a mark on the surface, and no oil floats on it."),
        )
        yield from (self._stir_in(pour) if pour in ahead else self._at_trace(pour) for pour in at_trace)
        yield into_mould(self.sheet, self.setting.units)
        if self.habits.cover == "yes":
            how = tr("Cover it and write batch and block number on it. {wear}", wear=batter_wear())
            yield confirm("cover", tr("Cover the block"), how)
        hours = self.habits.unmould_hours
        yield timer(
            "unmould",
            tr("Unmold the block"),
            tr("Wear gloves: fresh soap is still alkaline. Press the top: it must be firm and cool."),
            None if hours is None else 3600 * hours,
        )

    def _lye_apart(self, made: Sequence[Pour]) -> Iterator[WeighStep]:
        """Water first, then caustic into it, a little at a time."""
        for pour in made:
            if pour.kind == "water":
                how = tr("Weigh cool water into the lye pail. Its display shows 0 with the empty pail on it first.")
                yield self._apart(pour, Said(title=tr("Weigh the water"), how=how), ALLOWED_MAIN)
            else:
                yield from self._caustic(pour)
        if made:
            yield dissolve()

    def _caustic(self, pour: Pour) -> Iterator[WeighStep]:
        """Whole, or in two portions where the finest scale can't hold it at once."""
        how = tr(
            "Read the name on the container out loud. Weigh it in its own dry container. Don't put it in the water yet."
        )
        title, stop = tr("Weigh {pour}", pour=self._said(pour)), tr("Stop if name or lot differs.")
        if len(pour.portions) == 1:
            yield self._apart(pour, Said(title=title, how=how, stop=stop), ALLOWED_MAIN)
            return
        first, second = pour.portions
        whole = pour.display.said(first.count + second.count)
        parted = tr("{scale} holds half of it at a time: two portions make the whole {mass}.", scale=pour.scale, mass=whole)
        yield self._half(
            pour,
            first,
            "first",
            Said(
                title=tr("Weigh {pour}, first of two", pour=self._said(pour)),
                how=f"{how} {parted}",
                stop=stop,
                next=tr("Cover it and keep it dry. The second portion goes into another container."),
            ),
        )
        yield self._half(
            pour,
            second,
            "second",
            Said(
                title=tr("Weigh {pour}, second of two", pour=self._said(pour)),
                how=tr("The first portion waits, covered. {parted} Don't put it in the water yet.", parted=parted),
                stop=stop,
                next=tr("Keep both portions together: both go into the water."),
            ),
        )

    def _half(self, pour: Pour, portion: Portion, which: str, said: Said) -> WeighStep:
        band = Band(allowed_g=ALLOWED_MAIN * portion.grams, short_of_g=pour.target_g)
        return weigh(half(pour.key, which), said, self._weighed(pour, portion), self._read_on(portion), band)

    def _oils(self, pours: Sequence[Pour]) -> Iterator[WeighStep]:
        habits = self.habits
        if self.tares:
            yield tare_empty(self.vessel_scale, self.vessel_display, self.sheet.vessel)
        if habits.temperatures == "yes" and pours:
            planned = self._planned(self.setting.formula.oils_poured_c)
            how = tr("Stir the oils first, then read. The formula pours them at {planned}.", planned=planned)
            yield temperature(
                READ_OILS, tr("Read the oils"), how, self.setting.units, habits.oil_lowest_c, habits.oil_highest_c
            )
        for pour in pours:
            yield self._whole(pour, habits.runs_on_oil_g) if pour.in_vessel else self._tipped_in(pour)

    def _lye(self, pours: Sequence[Pour]) -> Iterator[WeighStep]:
        display, habits = self.vessel_display, self.habits
        tare_before = next((pour.key for pour in pours if pour.in_vessel and pour.kind != "lye made"), None)
        if habits.temperatures == "yes":
            planned = self._planned(self.setting.formula.lye_poured_c)
            how = tr(
                "Stir the lye first, then read with a probe down in it, not by infrared. The formula pours it at {planned}.", planned=planned
            )
            stop = tr("Stop if it's cloudy or has crystals in it: its strength isn't what it should be.")
            premixed = any(pour.kind == "alkali" for pour in pours)
            lowest_c, highest_c = self._lye_range(premixed=premixed)
            yield temperature(READ_LYE, tr("Read the lye"), how, self.setting.units, lowest_c, highest_c, stop)
        topped_up = held(self.sheet)
        if topped_up:
            yield reserve(self.sheet, self.setting.units)
        for pour in pours:
            # Not before water is tipped in: a tare too early would leave it on the display.
            if self.tares and pour.key == tare_before:
                yield tare_again(display, self._on_scale_g())
            if pour.kind == "lye made":
                self.in_vessel_g.append(pour.target_g)
                yield confirm(
                    MADE,
                    tr("Pour in the lye just made"),
                    tr("All of it, slowly into the oils, then scrape out the pail. {wear}", wear=lye_wear()),
                    stop=splash(),
                    pour=pour.key,
                    pour_kind=pour.kind,
                    gross_text=display.text(display.counts(self._on_scale_g())),
                )
            elif pour in topped_up:
                yield from self._held_back(pour)
            elif pour.in_vessel:
                yield self._whole(pour, None if pour.kind == "water" else habits.runs_on_lye_g)
            else:
                yield self._tipped_in(pour)

    def _lye_range(self, *, premixed: bool) -> tuple[float | None, float | None]:
        """The stricter of the maker's range and the safety form's limits; where the two leave nothing, the limits alone."""
        habits, limits = self.habits, self.setting.lye_limits
        coldest_c, hottest_c = limits.coldest_tank_c if premixed else None, limits.hottest_lye_c
        lowest_c = max((each for each in (habits.lye_lowest_c, coldest_c) if each is not None), default=None)
        highest_c = min((each for each in (habits.lye_highest_c, hottest_c) if each is not None), default=None)
        if lowest_c is None or highest_c is None or highest_c >= lowest_c + NARROWEST_C:
            return lowest_c, highest_c
        if coldest_c is None or hottest_c is None or hottest_c >= coldest_c + NARROWEST_C:
            return coldest_c, hottest_c
        # Too hot is the greater harm.
        return None, hottest_c

    def _held_back(self, pour: Pour) -> Iterator[WeighStep]:
        """The first pour on the vessel's scale, then the top-up, on a finer one where there is one."""
        short, rest = pour.portions
        finer, fine = rest.scale != short.scale, None
        if finer:
            from_text = tr("the last {mass} are weighed on {scale}", mass=rest.text, scale=rest.scale)
            fine = Fine(rest.scale, rest.display.unit, rest.display.decimals, rest.display.division, from_text)
        yield self._into_vessel(
            first_pour(pour.key),
            tr("Pour {pour}, not all", pour=self._said(pour)),
            _out_of_tank(lye=True),
            self._weighed(pour, short),
            Band(allowed_g=(pour.target_g - short.grams) / 2.0, short_of_g=pour.target_g),
            runs_on_g=self.habits.runs_on_lye_g,
            fine=fine,
        )
        title, what = tr("Top up {pour}", pour=self._said(pour)), self._weighed(pour, rest)
        band = Band(allowed_g=ALLOWED_SMALL * rest.grams)
        if not finer:
            yield self._into_vessel(top_up(pour.key), title, _out_of_reserve(), what, band)
            return
        self.in_vessel_g.append(rest.grams)
        said = Said(
            title=title,
            how=tr(
                "Weigh it out of the reserve into a dry jug on {scale}, jug tared. {wear} Then pour all of it into the vessel.",
                scale=rest.scale,
                wear=lye_wear(),
            ),
            stop=splash(),
            next=tr("Pour it all in; let the jug drain. Cover what's left of the reserve and put it back: it's lye."),
        )
        yield weigh(top_up(pour.key), said, what, self._read_on(rest), band)

    def _whole(self, pour: Pour, runs_on_g: float | None) -> WeighStep:
        """All of a pour straight into the vessel, out of its tank."""
        (portion,) = pour.portions
        return self._into_vessel(
            pour.key,
            tr("Pour {pour}", pour=self._said(pour)),
            _out_of_tank(lye=pour.kind == "alkali"),
            self._weighed(pour, portion),
            Band(allowed_g=ALLOWED_MAIN * pour.target_g),
            runs_on_g=runs_on_g,
        )

    def _into_vessel(
        self,
        key: str,
        title: str,
        act: _Act,
        what: Weighed,
        band: Band,
        *,
        runs_on_g: float | None = None,
        fine: Fine | None = None,
    ) -> WeighStep:
        """A pour straight into the vessel on its scale."""
        scale, display = self.vessel_scale, self.vessel_display
        if self.tares:
            said = Said(title=title, how=f"{tared(display)} {act.how}", stop=act.stop, next=act.next)
        else:
            untared = Said(title=title, how=act.how, stop=act.stop, next=act.next)
            said = going_on(untared, display.said(display.counts(self._on_scale_g())))
        made = weigh(
            key,
            said,
            what,
            ReadOn(scale.name, display, scale.capacity_g),
            band,
            OnScale(
                grams=self._on_scale_g(),
                tared=self.tares,
                untared_g=self._untared_g() if self.tares else (),
                runs_on_g=runs_on_g,
            ),
            fine,
        )
        self.in_vessel_g.append(what.grams)
        return made

    def _soap(self, pour: Pour) -> WeighStep:
        """Soap set aside before, while nothing corrosive is in yet and the lye can still follow what was weighed."""
        title = tr("Add {pour}", pour=self._said(pour))
        look, stop = tr("Read the lot on the tub."), tr("Stop if the lot differs: its superfat is counted.")
        stir = tr("Grated. Press it under the oil and stir until no dry lump is left.")
        if pour.in_vessel:
            (portion,) = pour.portions
            act = _Act(f"{look} {stir}", stop)
            return self._into_vessel(pour.key, title, act, self._weighed(pour, portion), Band(allowed_g=ALLOWED_MAIN * pour.target_g))
        self.in_vessel_g.append(pour.target_g)
        how = tr("Weigh it separately on {scale}, tub tared. Then put all of it in the oils.", scale=pour.scale)
        return self._apart(pour, Said(title=title, how=f"{look} {how}", stop=stop, next=stir), ALLOWED_MAIN)

    def _tipped_in(self, pour: Pour) -> WeighStep:
        self.in_vessel_g.append(pour.target_g)
        said = Said(
            title=tr("Weigh {pour}", pour=self._said(pour)),
            how=tr("Weigh it separately on {scale}, jug tared. Then pour all of it into the vessel.", scale=pour.scale),
            next=tr("Pour it all in; let the jug drain."),
        )
        return self._apart(pour, said, ALLOWED_MAIN)

    def _ahead(self, pour: Pour) -> WeighStep:
        """A scent that stands by before lye is on the oils: from then on the batter sets the pace."""
        title, stop = tr("Weigh {pour}", pour=self._said(pour)), tr("Stop if name or lot differs.")
        how = tr("{bottle} Weigh it separately on {scale}, cup tared.", bottle=_bottle(), scale=pour.scale)
        said = Said(title=title, how=how, stop=stop, next=tr("Cover the cup and keep it close by: it goes in at trace."))
        return self._apart(pour, said, ALLOWED_SMALL)

    def _stir_in(self, pour: Pour) -> WeighStep:
        """What was weighed ahead."""
        title, how = tr("Stir in {pour}", pour=self._said(pour)), tr("All of it, until it's even.")
        return confirm(stirred_in(pour.key), title, how, pour=pour.key, pour_kind=pour.kind)

    def _at_trace(self, pour: Pour) -> WeighStep:
        how, stop = tr("Weigh it separately on {scale}, cup tared. Then stir it in until it's even.", scale=pour.scale), None
        if pour.kind == "scent":
            how, stop = f"{_bottle()} {how}", tr("Stop if name or lot differs.")
        said = Said(
            title=tr("Add {pour}", pour=self._said(pour)), how=how, stop=stop, next=tr("Stir it in.")
        )
        return self._apart(pour, said, ALLOWED_SMALL)

    def _apart(self, pour: Pour, said: Said, allowed: float) -> WeighStep:
        (portion,) = pour.portions
        band = Band(allowed_g=allowed * pour.target_g)
        return weigh(pour.key, said, self._weighed(pour, portion), self._read_on(portion), band)

    def _said(self, pour: Pour) -> str:
        """A pour inside a sentence."""
        return within(pour.name, pour.scent, [each.name for each in self.pours])

    def _weighed(self, pour: Pour, portion: Portion) -> Weighed:
        """One portion of a pour; lye's reading is typed twice."""
        return Weighed(
            grams=portion.grams,
            pour=None if pour.key == OIL_BLEND else pour.key,
            kind=pour.kind,
            lot=pour.lot,
            twice=pour.kind == "alkali",
            others=self._others(portion.display, pour.key),
        )

    def _read_on(self, portion: Portion) -> ReadOn:
        return ReadOn(portion.scale, portion.display, self.scales[portion.scale][0].capacity_g)

    def _others(self, display: Display, key: str) -> list[tuple[str, float]]:
        """The block's other pours on a display of the same unit and decimals."""
        found = [
            (pour_name(pour.name, pour.scent), portion.grams)
            for pour in self.pours
            for portion in pour.portions
            if pour.key != key and portion.display == display
        ]
        return list(dict.fromkeys(found))

    def _on_scale_g(self) -> float:
        return fsum((self.sheet.vessel.tare_g, *self.in_vessel_g))

    def _untared_g(self) -> list[float]:
        """What the display would still carry if tare was missed once: the pour before; if never pressed: all."""
        return [*self.in_vessel_g[-1:], self._on_scale_g()]

    def _planned(self, value_c: float) -> str:
        return warmth(value_c, self.setting.units)
