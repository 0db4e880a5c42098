"""The order of work at the scale for one block, from putting on protection to unmoulding.

Frozen when a sheet is issued; one list serves every block of the batch. The shop's ways leave steps out or in, safety
steps never: they stand in every block.
"""

from collections.abc import Iterator, Sequence
from math import fsum

from calc.batch.order import BatchSetting
from calc.batch.pours import Portion, Pour
from calc.batch.sheet import BatchSheet
from calc.entry.language import tr
from calc.entry.shown import about, level, warmth
from calc.entry.units import convert
from calc.scales.display import Display
from calc.scales.weighing import ALLOWED_MAIN, ALLOWED_SMALL
from calc.steps.pour_names import pour_name, within
from calc.steps.safety import batter_wear, dissolve, drips, lye_wear, safety_steps, splash
from calc.steps.scale_checks import tare_again, tare_empty, zero_check
from calc.steps.step import Fine, WeighStep, confirm, goes_on_from, tared, temperature, timer, weigh
from calc.workshop.habits import NARROWEST_C
from calc.workshop.scales import scales_of, vessel_scale


def weigh_steps(sheet: BatchSheet, setting: BatchSetting) -> tuple[WeighStep, ...]:
    """Every step of one block of the sheet, in the order of work, by the shop's ways at the scale; in the language spoken."""
    return tuple(_Work(sheet, setting).steps())


class _Work:
    """Goes through the pours once and keeps what is in the vessel."""

    def __init__(self, sheet: BatchSheet, setting: BatchSetting) -> None:
        self.sheet, self.setting, self.habits = sheet, setting, setting.habits
        self.pours = sheet.pours
        self.tares = setting.habits.tare == "each"
        self.scales = scales_of(setting.scales, setting.shop.tolerance_scheme)
        self.vessel_scale = vessel_scale(self.scales)[0]
        self.vessel_display = self.vessel_scale.display
        self.in_vessel_g: list[float] = []  # each amount that went in, in order

    def steps(self) -> Iterator[WeighStep]:
        apart = [pour for pour in self.pours if pour.phase == "lye"]
        vessel = [pour for pour in self.pours if pour.phase == "vessel"]
        yield from safety_steps(self.sheet.vessel.name, self.sheet.mould.name, solid=bool(apart))
        yield from self._lye_apart(apart)
        yield zero_check(
            self.vessel_scale, self.vessel_display, self.sheet.vessel, self.habits.check_weight_g, self.tares
        )
        yield from self._oils([pour for pour in vessel if pour.key.startswith("oil:")])
        yield from self._lye([pour for pour in vessel if not pour.key.startswith("oil:")])
        minutes = self.habits.trace_minutes
        mix = tr("Mix until the batter thickens evenly. {wear}", wear=batter_wear())
        yield timer("mix", tr("Mix"), mix, None if minutes is None else 60 * minutes)
        yield confirm(
            "trace",
            tr("Check for trace"),
            tr("A drop of batter leaves a mark on the surface, and no oil floats on it."),
        )
        yield from map(self._at_trace, [pour for pour in self.pours if pour.phase == "trace"])
        yield confirm("pour", tr("Pour into the mould"), self._pour_words())
        if self.habits.cover == "yes":
            how = tr("Cover it and write batch and block number on it. {wear}", wear=batter_wear())
            yield confirm("cover", tr("Cover the block"), how)
        hours = self.habits.unmould_hours
        yield timer(
            "unmould",
            tr("Unmould the block"),
            tr("Wear gloves: fresh soap is still alkaline. Press the top: it must be firm and cool."),
            None if hours is None else 3600 * hours,
        )

    def _lye_apart(self, made: Sequence[Pour]) -> Iterator[WeighStep]:
        """A2.1, A2.5: water first, then caustic into it, a little at a time."""
        for pour in made:
            if pour.key == "water":
                how = tr("Weigh cool water into the lye pail. Its display shows 0 with the empty pail on it first.")
                yield self._apart(pour, tr("Weigh the water"), how, ALLOWED_MAIN)
            else:
                yield from self._caustic(pour)
        if made:
            yield dissolve()

    def _caustic(self, pour: Pour) -> Iterator[WeighStep]:
        """Whole, or in two portions where the finest scale can't hold it at once."""
        how = tr(
            "Read the name on the container aloud. Weigh it in a dry container of its own. Don't put it into the water yet."
        )
        title, stop = tr("Weigh {pour}", pour=within(pour.name)), tr("Stop if name or lot differs.")
        if len(pour.portions) == 1:
            yield self._apart(pour, title, how, ALLOWED_MAIN, stop=stop)
            return
        first, second = pour.portions
        whole = pour.display.said(first.count + second.count)
        parted = tr("{scale} holds half of it at a time: two portions make the whole {mass}.", scale=pour.scale, mass=whole)
        yield self._portion(
            pour,
            first,
            f"{pour.key}:first",
            tr("Weigh {pour}, first of two", pour=within(pour.name)),
            f"{how} {parted}",
            stop,
            tr("Cover it and keep it dry. The second portion goes into another container."),
        )
        yield self._portion(
            pour,
            second,
            f"{pour.key}:second",
            tr("Weigh {pour}, second of two", pour=within(pour.name)),
            tr("The first portion stands by, covered. {parted} Don't put it into the water yet.", parted=parted),
            stop,
            tr("Keep both portions together: both go into the water."),
        )

    def _portion(
        self, pour: Pour, portion: Portion, key: str, title: str, how: str, stop: str, next_: str
    ) -> WeighStep:
        return weigh(
            key,
            title,
            how,
            scale=portion.scale,
            display=portion.display,
            capacity_g=self.scales[portion.scale][0].capacity_g,
            target_g=portion.grams,
            allowed_g=ALLOWED_MAIN * portion.grams,
            pour=pour.key,
            lot=pour.lot,
            stop=stop,
            twice=True,
            whole_g=pour.target_g,
            others=self._others(portion.display, pour.key),
            next_=next_,
        )

    def _oils(self, pours: Sequence[Pour]) -> Iterator[WeighStep]:
        habits = self.habits
        if self.tares:
            yield tare_empty(self.vessel_scale, self.vessel_display, self.sheet.vessel)
        if habits.temperatures == "yes" and pours:
            planned = self._planned(self.setting.formula.oil_temperature_c)
            how = tr("Stir the oils first, then read. The formula pours them at {planned}.", planned=planned)
            yield temperature(
                "temp:oils", tr("Read the oils"), how, self.setting.units, habits.oil_lowest_c, habits.oil_highest_c
            )
        if habits.oils == "blend" and len(pours) > 1:
            total_g = fsum(pour.target_g for pour in pours)
            allowed_g = ALLOWED_MAIN * total_g
            yield self._into_vessel(
                "oil:blend", tr("Pour the oil blend"), total_g, allowed_g, runs_on_g=habits.runs_on_oil_g
            )
            return
        for pour in pours:
            title = tr("Pour {pour}", pour=within(pour.name))
            if pour.in_vessel:
                allowed_g = ALLOWED_MAIN * pour.target_g
                yield self._into_vessel(pour.key, title, pour.target_g, allowed_g, pour, runs_on_g=habits.runs_on_oil_g)
            else:
                yield self._tipped_in(pour, ALLOWED_MAIN)

    def _lye(self, pours: Sequence[Pour]) -> Iterator[WeighStep]:
        display, habits = self.vessel_display, self.habits
        tare_before = next((pour.key for pour in pours if pour.in_vessel and pour.key != "lye:made"), None)
        if habits.temperatures == "yes":
            planned = self._planned(self.setting.formula.lye_temperature_c)
            how = tr(
                "Stir the lye first, then read with a probe down in it, not by infrared. The formula pours it at {planned}.", planned=planned
            )
            stop = tr("Stop if it is cloudy or holds crystals: its strength is not what it should be.")
            premixed = any(pour.key in ("lye:naoh", "lye:koh") for pour in pours)
            lowest_c, highest_c = self._lye_range(premixed=premixed)
            yield temperature("temp:lye", tr("Read the lye"), how, self.setting.units, lowest_c, highest_c, stop)
        held = [pour for pour in pours if pour.in_vessel and len(pour.portions) > 1]
        if held:
            yield self._reserve(held)
        for pour in pours:
            # Not before water is tipped in: a tare too early would leave it on the display.
            if self.tares and pour.key == tare_before:
                yield tare_again(display, self._on_scale_g())
            if pour.key == "lye:made":
                self.in_vessel_g.append(pour.target_g)
                yield confirm(
                    "lye:made",
                    tr("Pour in the lye just made"),
                    tr("All of it, slowly into the oils, then scrape the pail out. {wear}", wear=lye_wear()),
                    stop=splash(),
                    pour=pour.key,
                    gross_text=display.text(display.counts(self._on_scale_g())),
                )
            elif pour in held:
                yield from self._held_back(pour)
            elif pour.in_vessel:
                runs_on_g = habits.runs_on_lye_g if pour.key != "water" else None
                allowed_g = ALLOWED_MAIN * pour.target_g
                title = tr("Pour {pour}", pour=within(pour.name))
                yield self._into_vessel(pour.key, title, pour.target_g, allowed_g, pour, runs_on_g=runs_on_g)
            else:
                yield self._tipped_in(pour, ALLOWED_MAIN)

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

    def _reserve(self, held: Sequence[Pour]) -> WeighStep:
        parts = []
        for pour in held:
            top_up = pour.portions[1]
            ample = about(convert(2.0 * top_up.grams, "g", top_up.display.unit), top_up.display.unit)
            parts.append(tr("about {mass} of {pour}", mass=ample, pour=within(pour.name)))
        # A5.3: label every jug
        if len(parts) == 1:
            draw = tr("Draw {amount} into a labelled pitcher, and cover it.", amount=parts[0])
        else:
            draw = tr("Draw {amounts} into a labelled pitcher each, and cover it.", amounts=tr(" and ").join(parts))
        return confirm(
            "reserve:lye",
            tr("Draw the reserve of lye"),
            tr("{draw} This reserve tops up the pour. {wear}", draw=draw, wear=lye_wear()),
            stop=f"{drips()} {splash()}",
        )

    def _held_back(self, pour: Pour) -> Iterator[WeighStep]:
        """The first pour on the vessel's scale, then the top-up, on a finer one where there is one."""
        short, top_up = pour.portions
        shown, fine = top_up.display, None
        finer = top_up.scale != short.scale
        if finer:
            rest = tr("the last {mass} are weighed on {scale}", mass=top_up.text, scale=top_up.scale)
            fine = Fine(top_up.scale, shown.unit, shown.decimals, shown.division, rest)
        yield self._into_vessel(
            f"{pour.key}:short",
            tr("Pour {pour}, not all", pour=within(pour.name)),
            short.grams,
            (pour.target_g - short.grams) / 2.0,
            pour,
            runs_on_g=self.habits.runs_on_lye_g,
            fine=fine,
            whole_g=pour.target_g,
        )
        key, title = f"{pour.key}:top-up", tr("Top up {pour}", pour=within(pour.name))
        allowed_g = ALLOWED_SMALL * top_up.grams
        if not finer:
            yield self._into_vessel(key, title, top_up.grams, allowed_g, pour, from_reserve=True)
            return
        self.in_vessel_g.append(top_up.grams)
        yield weigh(
            key,
            title,
            tr(
                "Weigh it out of the reserve into a dry jug on {scale}, jug tared. {wear} Then tip all of it into the vessel.",
                scale=top_up.scale,
                wear=lye_wear(),
            ),
            scale=top_up.scale,
            display=shown,
            capacity_g=self.scales[top_up.scale][0].capacity_g,
            target_g=top_up.grams,
            allowed_g=allowed_g,
            pour=pour.key,
            lot=pour.lot,
            twice=True,
            stop=splash(),
            others=self._others(shown, pour.key),
            next_=tr("Tip it all in; let the jug drain. Cover what is left of the reserve and put it back: it is lye."),
        )

    def _into_vessel(
        self,
        key: str,
        title: str,
        target_g: float,
        allowed_g: float,
        pour: Pour | None = None,
        *,
        runs_on_g: float | None = None,
        fine: Fine | None = None,
        whole_g: float | None = None,
        from_reserve: bool = False,
    ) -> WeighStep:
        """A pour straight into the vessel on its scale."""
        display, lye = self.vessel_display, pour is not None and pour.key.startswith("lye:")
        if from_reserve:
            act = tr("Pour slowly from the reserve. {wear} Then read.", wear=lye_wear())
        elif lye:
            act = tr("Open the valve slowly. {wear} Let it drain, then read.", wear=lye_wear())
        else:
            act = tr("Open the valve. Let it drain, then read.")
        if self.tares:
            how = f"{tared(display)} {act}"
        else:
            how = f"{goes_on_from(display.said(display.counts(self._on_scale_g())))} {act}"
        made = weigh(
            key,
            title,
            how,
            scale=self.vessel_scale.name,
            display=display,
            capacity_g=self.vessel_scale.capacity_g,
            target_g=target_g,
            allowed_g=allowed_g,
            pour=None if pour is None else pour.key,
            lot=None if pour is None else pour.lot,
            stop=(splash() if from_reserve else f"{drips()} {splash()}") if lye else None,
            on_scale_g=self._on_scale_g(),
            untared_g=self._untared_g() if self.tares else (),
            counts_on=not self.tares,
            runs_on_g=runs_on_g,
            fine=fine,
            twice=lye,
            whole_g=whole_g,
            others=self._others(display, None if pour is None else pour.key),
        )
        self.in_vessel_g.append(target_g)
        return made

    def _tipped_in(self, pour: Pour, allowed: float) -> WeighStep:
        how = tr("Weigh it apart on {scale}, jug tared. Then tip all of it into the vessel.", scale=pour.scale)
        self.in_vessel_g.append(pour.target_g)
        title = tr("Weigh {pour}", pour=within(pour.name))
        return self._apart(pour, title, how, allowed, next_=tr("Tip it all in; let the jug drain."))

    def _at_trace(self, pour: Pour) -> WeighStep:
        how = tr("Weigh it apart on {scale}, cup tared. Then stir it in until it is even.", scale=pour.scale)
        return self._apart(pour, tr("Add {pour}", pour=within(pour.name)), how, ALLOWED_SMALL, next_=tr("Stir it in."))

    def _apart(
        self, pour: Pour, title: str, how: str, allowed: float, stop: str | None = None, next_: str | None = None
    ) -> WeighStep:
        display = pour.display
        return weigh(
            pour.key,
            title,
            how,
            scale=pour.scale,
            display=display,
            capacity_g=self.scales[pour.scale][0].capacity_g,
            target_g=pour.target_g,
            allowed_g=allowed * pour.target_g,
            pour=pour.key,
            lot=pour.lot,
            stop=stop,
            twice=pour.key.startswith("lye:"),
            others=self._others(display, pour.key),
            next_=next_,
        )

    def _others(self, display: Display, key: str | None) -> list[tuple[str, float]]:
        """The block's other pours on a display of the same unit and decimals; a blend is like none of them."""
        if key is None:
            return []
        found = [
            (pour_name(pour.name), portion.grams)
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

    def _pour_words(self) -> str:
        filled = level(self.sheet.fill_height_mm, self.setting.units)
        return tr(
            "Into {mould}. It should stand about {filled} high. Scrape the vessel out. {wear}",
            mould=self.sheet.mould.name,
            filled=filled,
            wear=batter_wear(),
        )
