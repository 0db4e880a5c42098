"""What to do about a reading outside its band: choices with their superfat, batter and room, safest and least work first.

Every figure is of amounts rounded to the display they are weighed on. A choice is safe when the superfat's lower end
stays at or above zero and the vessel holds the batter. A sheet may have been issued with a lower end under zero, for a
reason: then a choice may come back to that, and no lower. A short pour is poured on before all else. Oil poured too much
may be ladled back until lye is in. Once the block lies in its mould nothing is added.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from calc.block.chemistry import (
    BY_SHEET,
    NEAR_FRACTION,
    Amount,
    Amounts,
    Block,
)
from calc.block.mould_room import aside_text, overflow_g
from calc.block.recovery_choice import Choice, Impossible, Recovery, ranked
from calc.block.recovery_steps import (
    again_step,
    changed_targets,
    extra_step,
    into_mould,
    ladle_step,
    named,
    pour_on_step,
    shifted,
)
from calc.chemistry.lye import demand_for_koh_g, demand_koh_g
from calc.chemistry.superfat import SuperfatInterval
from calc.chemistry.water import STRONGEST_LYE
from calc.entry.language import tr
from calc.entry.shown import hundredths, number, percent, weight
from calc.steps.frozen import Step, display_of_step, gross, is_made_apart, target_g, weighing
from calc.steps.keys import DISSOLVE, INTO_MOULD, MADE, OIL_BLEND, is_ladled
from calc.tables.reference import constant

MOST_ASIDE_FRACTION = constant("aside_most").value
STRONGER_FRACTION = constant("lye_stronger_most").value
LEAST_SCALE = constant("scaled_least").value
MUCH_OIL_FRACTION = constant("superfat_much").value
TOLD_FRACTION = constant("superfat_move_told").value


def recovery(block: Block, step_key: str, units: str = "metric") -> Recovery:
    """The ways on after a step whose reading lies outside its band, and the ways that are closed.

    ValueError when that step was not weighed.
    """
    step_key = block.events.counting(step_key)
    if step_key not in block.net:
        raise ValueError(f"{step_key} has not been weighed")
    found = _Finder(block, step_key, units).found()
    if len(found.choices) > 1 or block.goal_fraction == block.stated_fraction:
        return found
    # The superfat that an oil was left at can't be reached safely: aim for the one that the sheet states.
    sheets = _Finder(block.aiming_at(block.stated_fraction), step_key, units, by_sheet=True).found()
    return replace(sheets, choices=tuple(c if c.outcome else replace(c, key=BY_SHEET + c.key) for c in sheets.choices))


class _Finder:
    def __init__(self, block: Block, step_key: str, units: str, *, by_sheet: bool = False) -> None:
        self.block, self.key, self.units = block, step_key, units
        self.step = weighing(block.events.step(step_key))
        self.of_lye = self.step["pour"] in block.alkalis
        self.of_oil = block.is_oil(self.step)
        self.impossible: list[Impossible] = []
        self.followed = changed_targets(block, block.lye_targets())
        left = block.after_decision(step_key, ()).aiming_at(block.goal_fraction if by_sheet else block.goal_if_left(step_key))
        self.as_it_is = left.at_end(replaced=changed_targets(left, left.lye_targets()))

    def found(self) -> Recovery:
        block, leave = self.block, self._leave()
        pour_on, others = list(self._pour_on()), []
        if INTO_MOULD in block.events.done:
            self.impossible.append(Impossible(tr("Add or change anything"), tr("The block is in its mold.")))
        else:
            others = [*self._again(), *self._more_of_it(), *self._lye(), *self._ladle(), *self._oils(), *self._scaled()]
        not_left = self._lye_too_strong() or self._too_much_oil()
        if not_left:
            self.impossible.append(Impossible(leave.title, not_left))
        for choice in (*pour_on, leave, *others):
            if not choice.safe and not (not_left and choice is leave):
                self.impossible.append(Impossible(choice.title, self._why_not(choice)))
        safe = sorted((choice for choice in others if choice.safe), key=lambda choice: choice.work(self.step["pour"]))
        ways = ranked(
            [choice for choice in pour_on if choice.safe],
            leave if leave.safe and not not_left else None,
            safe,
            block.goal_fraction,
        )
        return Recovery((*ways, self._stop()), tuple(self.impossible))

    @property
    def care(self) -> str:
        """What is corrosive by now, as a sentence; empty while there is no lye."""
        weighed = [key for key in self.block.alkalis if key in self.block.weighed]
        if not weighed:
            return ""
        if any(key in self.block.in_vessel for key in weighed):
            return tr("The batter is corrosive. The supplier's safety data sheet comes first.")
        return tr("The lye is corrosive. The supplier's safety data sheet comes first.")

    @property
    def goal_words(self) -> str:
        """The superfat aimed for, and where it comes from."""
        goal, stated = self.block.goal_fraction, self.block.stated_fraction
        if abs(goal - stated) < NEAR_FRACTION:
            return tr("{superfat}, as on the sheet", superfat=percent(goal, 2))
        return tr("{superfat}, as it was left before", superfat=percent(goal, 2))

    # The ways -----------------------------------------------------------------------------------------------------

    def _pour_on(self) -> Iterator[Choice]:
        """The same pour on to its target, on the same display, while nothing else has been done since."""
        block, step = self.block, self.step
        done = block.events.done[self.key]
        if gross(step) is None or not done.short or not block.events.is_latest(self.key):
            return
        if is_ladled(self.key):
            return  # all oils were ladled out together: one alone can't bring that back
        poured_on = pour_on_step(block, done)
        if poured_on is None:
            return
        (new,), replaced, end = self._once_decided((poured_on,))
        if new["kind"] != "weigh":
            return  # this lye is no longer needed
        missing = block.planned_amount(new)
        display = display_of_step(new)
        yield self._choice(
            "pour-on",
            tr("Keep pouring to {target}", target=display.said(new["target"])) if block.tares else tr("Keep pouring to the target"),
            tr(
                "{mass} to go. The display keeps counting: don't press tare.",
                mass=display.said(display.counts(missing.g)),
            ),
            end,
            steps=(new,),
            replaced=replaced,
        )

    def _leave(self) -> Choice:
        replaced = self.followed if self.of_lye else {}
        more = tr("Nothing else changes.")
        if replaced and all(step["kind"] == "confirm" for step in replaced.values()):
            more = tr("No more lye: what's in the vessel is enough.")
        elif replaced:
            more = tr("The rest of the lye is figured from what's in the vessel, for {goal}.", goal=self.goal_words)
        if self._strength_if_left is not None:
            more += " " + tr("That makes the lye {strength}.", strength=percent(self._strength_if_left))
        superfat, goal = self.block.superfat(self.as_it_is), self.block.goal_fraction
        if superfat is not None and abs(superfat.value - goal) > TOLD_FRACTION:
            more += " " + tr("The superfat ends up at {ends}, not {goal}.", ends=hundredths(superfat.value), goal=percent(goal, 2))
        if superfat is not None and superfat.value > goal + MUCH_OIL_FRACTION:
            more += " " + tr("That's a lot of oil left over: the bars stay softer and can go rancid sooner.")
        return self._choice("leave", tr("Leave it as it is"), more, self.as_it_is, replaced=replaced)

    def _too_much_oil(self) -> str:
        """Why this slip leaves too much oil for a bar; empty when it doesn't, or when as much was left without it."""
        block, superfat = self.block, self.block.superfat(self.as_it_is)
        most = max(constant("superfat_left_most").value, block.stated_fraction + MUCH_OIL_FRACTION)
        met = self._had_it_met_its_target
        if superfat is None or superfat.value <= most or (met and superfat.value <= met.value + NEAR_FRACTION):
            return ""
        return tr(
            "{superfat} superfat is more than {most}: the bars would stay soft, sweat oil and go rancid.",
            superfat=percent(superfat.value),
            most=percent(most),
        )

    @cached_property
    def _had_it_met_its_target(self) -> SuperfatInterval | None:
        """The superfat at the end without this slip."""
        block = self.block
        missing_g = target_g(self.step) - block.shown_g[self.key]
        slip = block.by_pour(self.step, Amount(missing_g))
        return block.superfat(block.at_end(block.lye_targets(None, slip), slip))

    def _lye_too_strong(self) -> str:
        """Why caustic must not go into the water as weighed: too little boils and sets. Empty when it may, or is in."""
        strength = self._strength_if_left
        if strength is None:
            return ""
        planned = float(self.block.record["chemistry"]["lye_strength_fraction"])
        usual = constant("lye_strength_usual_high").value
        if strength <= min(STRONGEST_LYE, max(usual, planned + STRONGER_FRACTION)):
            return ""
        return tr("The lye would be {strength} strong: it could boil, spit or set.", strength=percent(strength))

    @cached_property
    def _strength_if_left(self) -> float | None:
        """How strong the lye becomes if this is left. None once it is made, and for what is no part of a lye made apart."""
        block = self.block
        made = [key for key, row in block.pours.items() if is_made_apart(row)]
        if self.step["pour"] not in made or DISSOLVE in block.events.done:
            return None
        amounts = self.as_it_is
        hydroxide_g = math.fsum(
            amounts[key].g * block.alkalis[key]["hydroxide_fraction"] for key in made if key in block.alkalis
        )
        return hydroxide_g / math.fsum(amounts[key].g for key in made if key in amounts)

    @property
    def _is_made_apart(self) -> bool:
        return self.step["pour"] is not None and is_made_apart(self.block.pours[self.step["pour"]])

    def _again(self) -> Iterator[Choice]:
        """A pour weighed apart can still be put right before it goes anywhere."""
        made, stands_by = self._is_made_apart, self.block.stands_by(self.step)
        if gross(self.step) is not None or (made and DISSOLVE in self.block.events.done):
            return
        if not stands_by and not self.block.events.is_latest(self.key):
            return  # tipped in long since
        steps, replaced, end = self._once_decided((again_step(self.step),))
        yield self._choice(
            "again",
            tr("Fix it in the jug and weigh again"),
            tr("Only if it hasn't been poured in yet: what's in the vessel can't be taken out."),
            end,
            steps=steps,
            replaced=replaced,
        )

    def _ladle(self) -> Iterator[Choice]:
        """Oil poured too much, ladled out again together with the oils that it has mixed with."""
        block, done = self.block, self.block.events.done[self.key]
        if not self.of_oil or not done.over or gross(self.step) is None:
            return
        title = tr("Ladle it back")
        if any(key in block.alkalis for key in block.in_vessel):
            self.impossible.append(Impossible(title, tr("Lye is in the vessel: what comes out is corrosive batter.")))
            return
        if not block.events.is_latest(self.key) or any(key not in block.oils for key in block.in_vessel):
            return
        ladled = ladle_step(block, done)
        if ladled is None:
            return
        (decided,), replaced, end = self._once_decided((ladled,))
        new = weighing(decided)
        display = display_of_step(new)
        too_much_g = -block.to_add_g(new)
        words = tr("{mass} comes back out.", mass=display.said(display.counts(too_much_g)))
        if set(block.in_vessel) == set(block.parts[self.key]):
            words += " " + tr("Don't put it back in the tank: it's been in the vessel.")
        else:
            words += " " + tr("Oils mix, so stir first: what you take out is some of each. The lye follows what stays.")
        yield self._choice(
            "ladle",
            tr("Ladle it back to {target}", target=display.said(new["target"])) if block.tares else title,
            words,
            end,
            steps=(new,),
            replaced=replaced,
        )

    def _more_of_it(self) -> Iterator[Choice]:
        """Water, an additive or scent that came short."""
        pour = self.step["pour"]
        missing_g = target_g(self.step) - self.block.net[self.key].g
        if pour is None or self.of_lye or pour in self.block.oils or missing_g <= 0.0:
            return
        if self.block.stands_by(self.step) or gross(self.step) is not None:
            return  # put right in its pail or cup, or poured on while it stands on the display
        title = tr("Add the rest of {pour}", pour=named(self.block, pour))
        yield from self._adding("rest", title, "", {pour: missing_g})

    def _lye(self) -> Iterator[Choice]:
        """The lye that the oils actually there need."""
        block = self.block
        made_apart = MADE in {step["key"] for step in block.events.steps}
        if made_apart or not (self.of_lye or self.of_oil):
            return
        if block.open_lye():
            if self.of_lye:
                return  # 'leave' tops up already
            if not self.followed:
                return
            end = block.at_end(replaced=self.followed)
            yield self._choice(
                "lye",
                tr("Adjust the lye to the oils"),
                tr("The rest of the lye is figured from the oils actually there, for {goal}.", goal=self.goal_words),
                end,
                replaced=self.followed,
            )
            return
        missing_g = block.needed_koh_g(self.as_it_is) - block.supplied_koh_g(self.as_it_is)
        if missing_g <= NEAR_FRACTION * block.demand_koh_g(self.as_it_is):
            return
        words = tr("Slowly, stirring, face away. It brings the superfat to {goal}.", goal=self.goal_words)
        words = f"{words} {self.care}".strip()
        for pour in block.alkalis:
            key = "lye" if len(block.alkalis) == 1 else f"add:{pour}"
            grams = missing_g / block.koh_per_g(pour)
            yield from self._adding(key, tr("Add {pour}", pour=named(block, pour)), words, {pour: grams})

    def _oils(self) -> Iterator[Choice]:
        """More of one oil, or of the blend, until the lye that is there is right for all the oil."""
        block = self.block
        if self._is_made_apart and DISSOLVE not in block.events.done:
            return  # still dry in its container, and put right there
        supplied_g, taken_g = block.supplied_koh_g(self.as_it_is), block.taken_koh_g(self.as_it_is)
        demand_g = block.demand_koh_g(self.as_it_is)
        missing_g = demand_for_koh_g(block.goal_fraction, supplied_g, taken_g) - demand_g
        if missing_g <= NEAR_FRACTION * demand_g:
            return
        words = tr("It brings the superfat to {goal}.", goal=self.goal_words)
        words = f"{words} {self.care}".strip()
        for key, oil in block.oils.items():
            grams = 1000.0 * missing_g / oil["used"]
            yield from self._adding(f"add:{key}", tr("Add {pour}", pour=named(block, key)), words, {key: grams})
        if len(block.vessel_oils) > 1:
            whole_g = math.fsum(block.pours[key]["target_g"] for key in block.vessel_oils)
            per_g = math.fsum(
                demand_koh_g(block.pours[key]["target_g"] / whole_g, block.oils[key]["used"])
                for key in block.vessel_oils
            )
            # A shop with one oil tank weighs the blend in one go. Others weigh oil by oil: one choice of several pours.
            blend_g = missing_g / per_g
            if any(step["key"] == OIL_BLEND for step in block.events.steps):
                parts = {OIL_BLEND: blend_g}
            else:
                parts = {key: blend_g * block.pours[key]["target_g"] / whole_g for key in block.vessel_oils}
            yield from self._adding("add:blend", tr("Add the oils in proportion"), words, parts)

    def _scaled(self) -> Iterator[Choice]:
        """Everything in proportion to the pour that went over."""
        block = self.block
        pour = self.step["pour"]
        if pour not in block.oils or not block.open_lye():
            return
        done = {key for key in block.oils if key in block.weighed}
        factor = max(block.weighed[key].g / block.pours[key]["target_g"] for key in done)
        if abs(factor - 1.0) <= NEAR_FRACTION or factor < LEAST_SCALE:
            return
        still = {step["pour"] for step in block.undone()}
        targets, extra = {}, {}
        for key, row in block.pours.items():
            if key in block.alkalis or key in block.soaps or key == MADE:
                continue
            missing_g = factor * row["target_g"] - (block.weighed[key].g if key in block.weighed else 0.0)
            if key in still:
                step = next(step for step in block.undone() if step["pour"] == key)
                targets[step["key"]] = max(missing_g, 0.0)  # a step put in by a choice only adds to what is there
            elif missing_g > row["division_g"] / 2.0:
                extra[key] = missing_g
        words = tr("The whole block becomes {factor} times the plan.", factor=number(factor, 3))
        yield from self._adding("scale", tr("Scale everything to match"), words, extra, targets)

    def _stop(self) -> Choice:
        keep = tr("Label it, close it, and keep others away until someone decides what to do with it.")
        return self._choice(
            "stop",
            tr("Stop and set this block apart"),
            f"{keep} {self.care}".strip(),
            self.block.in_vessel,
            outcome="quarantined",
        )

    # Their figures ------------------------------------------------------------------------------------------------

    def _adding(
        self,
        key: str,
        title: str,
        words: str,
        parts: Mapping[str, float],
        targets: Mapping[str, float] | None = None,
    ) -> Iterator[Choice]:
        """A choice that adds to what is there [g by pour]; nothing when one part is too small for any scale."""
        block = self.block
        steps: list[Step] = []
        grams: dict[str, float] = {}
        for pour, mass_g in parts.items():
            made = extra_step(block, pour, mass_g)
            if made is None:
                why = tr(
                    "{mass} of {pour} can't be weighed on any scale here.",
                    mass=weight(mass_g, self.units),
                    pour=named(block, pour),
                )
                self.impossible.append(Impossible(title, why))
                return
            steps.append(made[0])
            grams[pour] = made[1]
        added, replaced, end = self._once_decided(steps, targets)
        yield self._choice(key, title, words, end, steps=added, extra=grams, replaced=replaced)

    def _once_decided(
        self, steps: Sequence[Step], targets: Mapping[str, float] | None = None
    ) -> tuple[tuple[Step, ...], dict[str, Step], dict[str, Amount]]:
        """What a choice does: the steps it puts in with the lye that follows, the steps it changes, the amounts at the end.

        It is reckoned from the block as it will be once this is decided, as the page then does: so the promise is kept.
        targets: other masses [g] that steps to come put in.
        """
        after = self.block.after_decision(self.key, steps).aiming_at(self.block.goal_fraction)
        given = targets or {}
        changed = changed_targets(after, {**given, **after.lye_targets(given)})
        end = after.at_end(replaced=changed)
        put_in = tuple(changed.pop(step["key"], step) for step in steps)
        return put_in, changed, end

    def _choice(
        self,
        key: str,
        title: str,
        explanation: str,
        amounts: Amounts,
        *,
        steps: tuple[Step, ...] = (),
        extra: Mapping[str, float] | None = None,
        replaced: Mapping[str, Step] | None = None,
        outcome: str | None = None,
    ) -> Choice:
        block = self.block
        superfat = block.superfat(amounts)
        batter = block.batter(amounts)
        over_g = overflow_g(block, amounts)
        vessel_overflow = batter.volume_ml > block.record["vessel"]["capacity_ml"]
        safe = outcome is not None or (
            self._sure(superfat, key)
            and not vessel_overflow
            and not self._over_scale(amounts)
            and over_g <= MOST_ASIDE_FRACTION * batter.mass_g
        )
        moved = shifted(block, math.fsum((extra or {}).values()), self.key, replaced or {})
        aside = aside_text(block, over_g) if outcome is None else ""
        moved = {**moved, **into_mould(block, aside)}
        return Choice(
            key=key,
            title=title,
            explanation=explanation,
            superfat=superfat,
            batter_g=batter.mass_g,
            fill_height_mm=batter.fill_height_mm,
            overflow_g=over_g,
            aside_text=aside,
            vessel_overflow=vessel_overflow,
            safe=safe,
            extra=extra or {},
            steps=steps,
            then=tuple((replaced or {}).values()),
            replaced=moved,
            outcome=outcome,
        )

    def _sure(self, superfat: SuperfatInterval | None, key: str) -> bool:
        if key == "pour-on":
            return True  # as without the slip, and never more lye than the oils need
        if superfat is None:
            return False
        planned_low = float(self.block.record["superfat"]["low"])
        if key == "leave" or planned_low >= 0.0:
            return superfat.low >= 0.0
        met = self._had_it_met_its_target
        # Pours that ended in their bands may have moved the lower end a little from the sheet's.
        return superfat.low >= min(planned_low, planned_low if met is None else met.low) - NEAR_FRACTION

    def _over_scale(self, amounts: Amounts) -> bool:
        """Whether the vessel, with all that is poured into it on its scale, is more than that scale carries."""
        block = self.block
        on_it = (s["scale"] for s in block.events.steps if s["kind"] == "weigh" and gross(s) is not None)
        scale = next((block.scales[name][0] for name in on_it), None)
        poured_g = math.fsum(a.g for key, a in amounts.items() if block.pours[key]["in_vessel"] or key in block.alkalis)
        return scale is not None and float(block.record["vessel"]["tare_g"]) + poured_g > scale.capacity_g

    def _why_not(self, choice: Choice) -> str:
        if choice.vessel_overflow:
            return tr("It won't fit in the vessel.")
        if choice.overflow_g > MOST_ASIDE_FRACTION * choice.batter_g:
            return tr("More than a quarter of it would have to be set aside.")
        if not self._sure(choice.superfat, choice.key):
            return tr("The superfat could be below zero: free lye.")
        return tr("The vessel's scale can't hold that much.")
