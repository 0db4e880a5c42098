"""What to do about a reading outside its band: choices with their superfat, batter and room, safest and least work first.

Physics E1 (oil over-poured), E2 (lye over-poured), E3 (top-up). Every figure is of amounts rounded to the display they
are weighed on. A choice is safe when the superfat's lower end stays at or above zero and the vessel holds the batter;
a sheet issued with a lower end under zero, for a reason, may be brought back to that and no lower.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from calc.block_chemistry import BLEND, MADE, Amount, Amounts, Block, target_g
from calc.block_events import AGAIN, Step
from calc.lye import demand_koh_g
from calc.recovery_steps import (
    again_step,
    aside_step,
    changed_targets,
    extra_step,
    named,
    shifted,
)
from calc.reference import constant
from calc.shown import percent, weight
from calc.superfat import SuperfatInterval

# Superfat a division can't tell apart from the goal; common practice, no source.
NEAR_FRACTION = 0.0005
# More than this share of the batter set aside is another block, not a recovery; common practice, no source.
MOST_ASIDE_FRACTION = 0.25
# Lye made apart may come out this much stronger than planned, where the plan is strong already; common practice, no source.
STRONGER_FRACTION = 0.02
# A block scaled to less than this of its plan is another block; common practice, no source.
LEAST_SCALE = 0.5
# Superfat above the goal from which leaving it is worth a word; common practice, no source.
MUCH_OIL_FRACTION = 0.05
DEFER = "The batter is corrosive; the supplier's safety data sheet comes before these words."


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One way on."""

    key: str
    title: str
    explanation: str
    superfat: SuperfatInterval | None
    batter_g: float
    fill_height_mm: float
    overflow_g: float  # what the mould can't hold and is set aside
    vessel_overflow: bool
    over_vessel_ml: float
    safe: bool
    extra: Mapping[str, float] = field(default_factory=dict)  # grams to add, by pour ("oil:blend" for the blend)
    new_targets: Mapping[str, float] = field(default_factory=dict)  # grams of a pour in all, by pour
    steps: tuple[Step, ...] = ()
    replaced: Mapping[str, Step] = field(default_factory=dict)
    outcome: str | None = None

    def work(self, pour: str | None) -> tuple[bool, int, bool, float]:
        """What makes a choice come later: batter to set aside, pours to make, another pour than this one, grams."""
        other = bool(self.extra) and pour not in self.extra
        return self.overflow_g > 0.0, len(self.steps), other, math.fsum(self.extra.values())


@dataclass(frozen=True)
class Impossible:
    """A way that can't be gone, and why."""

    title: str
    why: str


@dataclass(frozen=True)
class Recovery:
    """The choices, best first; the last is always to stop. And what was looked at and can't be done."""

    choices: tuple[Choice, ...]
    impossible: tuple[Impossible, ...]


def choices(block: Block, step_key: str, units: str = "metric") -> tuple[Choice, ...]:
    """The ways on after a step whose reading lies outside its band, best first, the last one to stop."""
    return recovery(block, step_key, units).choices


def recovery(block: Block, step_key: str, units: str = "metric") -> Recovery:
    """The choices of `choices`, with the ways that can't be gone. ValueError when that step was not weighed."""
    while step_key in block.events.set_back:
        step_key = AGAIN + step_key
    if step_key not in block.net:
        raise ValueError(f"{step_key} has not been weighed")
    return _Finder(block, step_key, units).found()


class _Finder:
    def __init__(self, block: Block, step_key: str, units: str) -> None:
        self.block, self.key, self.units = block, step_key, units
        self.step = next(step for step in block.events.steps if step["key"] == step_key)
        self.of_lye = self.step["pour"] in block.alkalis
        self.impossible: list[Impossible] = []
        self.lye = block.lye_targets()
        # An oil left as it is leaves the lye at its plan; a lye left as it is still gets its top-up.
        self.followed = changed_targets(block, self.lye)
        self.as_it_is = block.at_end(replaced=self.followed if self.of_lye else None)

    def found(self) -> Recovery:
        leave = self._leave()
        others = [*self._again(), *self._more_of_it(), *self._lye(), *self._oils(), *self._scaled()]
        too_strong = self._lye_too_strong()
        if too_strong:
            self.impossible.append(Impossible(leave.title, too_strong))
        for choice in (leave, *others):
            if not choice.safe and not (too_strong and choice is leave):
                self.impossible.append(Impossible(choice.title, self._why_not(choice)))
        safe = sorted((choice for choice in others if choice.safe), key=lambda choice: choice.work(self.step["pour"]))
        first = [leave] if leave.safe and not too_strong else []
        return Recovery((*first, *safe, self._stop()), tuple(self.impossible))

    # The ways -----------------------------------------------------------------------------------------------------

    def _leave(self) -> Choice:
        replaced = self.followed if self.of_lye else {}
        more = "The top-up is reckoned from what is in the vessel." if replaced else "Nothing else changes."
        superfat = self.block.superfat(self.as_it_is)
        if superfat is not None and superfat.value > self.block.goal_fraction + MUCH_OIL_FRACTION:
            more += " That is much oil left over: the bars stay softer and can turn rancid sooner."
        return self._choice(
            "leave", "Leave it as it is", more, self.as_it_is, replaced=replaced, low_must_be_positive=True
        )

    def _lye_too_strong(self) -> str:
        """Why caustic must not go into water weighed so; empty when it may, or has gone. Too little water boils and sets."""
        block = self.block
        made = [key for key, row in block.pours.items() if row["phase"] == "lye"]
        if self.step["pour"] not in made or "lye:dissolve" in block.events.done:
            return ""
        amounts = self.as_it_is
        hydroxide_g = math.fsum(
            amounts[key].g * block.alkalis[key]["hydroxide_fraction"] for key in made if key in block.alkalis
        )
        total_g = math.fsum(amounts[key].g for key in made if key in amounts)
        planned = float(block.record["chemistry"]["lye_strength_fraction"])
        usual = constant("lye_strength_usual_high").value
        if hydroxide_g <= max(usual, planned + STRONGER_FRACTION) * total_g:
            return ""
        return f"The lye would be {percent(hydroxide_g / total_g, 0)} strong: it could boil, spit or set."

    def _again(self) -> Iterator[Choice]:
        """Weighed apart, it can still be put right before it goes anywhere."""
        made = self.step["pour"] and self.block.pours[self.step["pour"]]["phase"] == "lye"
        if self.step["gross_text"] is not None or (made and "lye:dissolve" in self.block.events.done):
            return
        amounts = {**self.as_it_is}
        weighed, meant = self.block.net[self.key], self.block.planned_amount(self.step)
        for key, amount in self.block.by_pour(self.step, weighed).items():
            amounts[key] = Amount(amounts[key].g - amount.g + meant.g, amounts[key].limit_g, amounts[key].division_g)
        yield self._choice(
            "again",
            "Put it right in its jug and weigh again",
            "Only while it has not been tipped in: what is in the vessel can't be taken out.",
            amounts,
            steps=(again_step(self.step),),
        )

    def _more_of_it(self) -> Iterator[Choice]:
        """Water, an additive or scent that came short."""
        pour = self.step["pour"]
        missing_g = target_g(self.step) - self.block.net[self.key].g
        if pour is None or self.of_lye or pour in self.block.oils or missing_g <= 0.0:
            return
        if self.block.pours[pour]["phase"] == "lye":
            return
        yield from self._adding("rest", f"Add the rest of {named(self.block, pour)}", "", {pour: missing_g})

    def _lye(self) -> Iterator[Choice]:
        """E1 and E3: the lye that the oils actually there need."""
        block = self.block
        made_apart = MADE in {step["key"] for step in block.events.steps}
        of_oil = self.step["pour"] in block.oils or str(self.step["key"]).endswith(BLEND)
        if made_apart or not (self.of_lye or of_oil):
            return
        if block.open_lye():
            if self.of_lye:
                return  # 'leave' tops up already
            if not self.followed:
                return
            end = block.at_end(replaced=self.followed)
            totals = {key: end[key].g for key in block.alkalis if key in end}
            yield self._choice(
                "lye",
                "Adjust the lye to the oils",
                "The lye still to come is reckoned from the oils actually there.",
                end,
                replaced=self.followed,
                new_targets=totals,
            )
            return
        missing_g = block.needed_koh_g(self.as_it_is) - block.supplied_koh_g(self.as_it_is)
        pour = next(iter(block.alkalis))
        if missing_g > NEAR_FRACTION * block.demand_koh_g(self.as_it_is):
            words = f"Slowly, stirring, face away. {DEFER}"
            yield from self._adding("lye", f"Add {named(block, pour)}", words, {pour: missing_g / block.koh_per_g(pour)})

    def _oils(self) -> Iterator[Choice]:
        """E2: so much of one oil, or of the blend, that the lye there is right for all of it."""
        block = self.block
        made = self.step["pour"] and block.pours[self.step["pour"]]["phase"] == "lye"
        if made and "lye:dissolve" not in block.events.done:
            return  # still dry in its container: put right there
        goal = 1.0 - block.goal_fraction
        supplied_g = block.supplied_koh_g(self.as_it_is) - block.taken_koh_g(self.as_it_is)
        demand_g = block.demand_koh_g(self.as_it_is)
        missing_g = supplied_g / goal - demand_g
        if missing_g <= NEAR_FRACTION * demand_g:
            return
        words = f"It brings the superfat back to what the sheet aims for. {DEFER}"
        for key, oil in block.oils.items():
            grams = 1000.0 * missing_g / oil["used"]
            yield from self._adding(f"add:{key}", f"Add {named(block, key)}", words, {key: grams})
        if len(block.vessel_oils) > 1:
            whole_g = math.fsum(block.pours[key]["target_g"] for key in block.vessel_oils)
            per_g = math.fsum(
                demand_koh_g(block.pours[key]["target_g"] / whole_g, block.oils[key]["used"])
                for key in block.vessel_oils
            )
            # A shop with one oil tank weighs the blend in one go; else oil by oil, as one choice of several pours.
            blend_g = missing_g / per_g
            if any(step["key"] == BLEND for step in block.events.steps):
                parts = {BLEND: blend_g}
            else:
                parts = {key: blend_g * block.pours[key]["target_g"] / whole_g for key in block.vessel_oils}
            yield from self._adding("add:blend", "Add the oils in proportion", words, parts)

    def _scaled(self) -> Iterator[Choice]:
        """E1: everything in proportion to the pour that went over."""
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
            if key in block.alkalis or key == MADE:
                continue
            missing_g = factor * row["target_g"] - (block.weighed[key].g if key in block.weighed else 0.0)
            if key in still:
                step = next(step for step in block.undone() if step["pour"] == key)
                targets[step["key"]] = max(missing_g, 0.0)  # one put in by a choice only adds to what is there
            elif missing_g > row["division_g"] / 2.0:
                extra[key] = missing_g
        yield from self._adding(
            "scale", "Scale everything to it", f"The whole block becomes {factor:.3f} times the plan.", extra, targets
        )

    def _stop(self) -> Choice:
        return self._choice(
            "stop",
            "Stop and set this block apart",
            f"Label it, close it, keep others away from it until somebody has decided what becomes of it. {DEFER}",
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
        coming: dict[str, Amount] = {}
        for pour, mass_g in parts.items():
            made = extra_step(block, pour, mass_g)
            if made is None:
                why = f"{weight(mass_g, self.units)} of {named(block, pour)} can't be weighed on the scales there are."
                self.impossible.append(Impossible(title, why))
                return
            steps.append(made[0])
            grams[pour] = made[1]
            amount = block.planned_amount(made[0], made[1])
            for name, part in block.by_pour(made[0], amount).items():
                coming[name] = coming.get(name, Amount()) + part
        given = targets or {}
        replaced = changed_targets(block, {**given, **block.lye_targets(given, coming)})
        end = block.at_end(None, coming, replaced)
        totals = {s["pour"]: end[s["pour"]].g for s in block.undone() if s["key"] in replaced and s["pour"] in end}
        yield self._choice(
            key, title, words, end, steps=tuple(steps), extra=grams, replaced=replaced, new_targets=totals
        )

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
        new_targets: Mapping[str, float] | None = None,
        outcome: str | None = None,
        low_must_be_positive: bool = False,
    ) -> Choice:
        block = self.block
        superfat = block.superfat(amounts)
        batter = block.batter(amounts)
        mould, vessel = block.record["mould"], block.record["vessel"]
        over_mm = max(batter.fill_height_mm - mould["height_mm"], 0.0)
        overflow_g = batter.mass_g * over_mm / batter.fill_height_mm if over_mm else 0.0
        over_vessel_ml = max(batter.volume_ml - vessel["capacity_ml"], 0.0)
        safe = outcome is not None or (
            self._sure(superfat, low_must_be_positive)
            and over_vessel_ml == 0.0
            and overflow_g <= MOST_ASIDE_FRACTION * batter.mass_g
        )
        moved = shifted(block, math.fsum((extra or {}).values()), self.key, replaced or {})
        if overflow_g and outcome is None:
            moved = {**moved, **aside_step(block, weight(overflow_g, self.units))}
        return Choice(
            key=key,
            title=title,
            explanation=explanation,
            superfat=superfat,
            batter_g=batter.mass_g,
            fill_height_mm=batter.fill_height_mm,
            overflow_g=overflow_g,
            vessel_overflow=over_vessel_ml > 0.0,
            over_vessel_ml=over_vessel_ml,
            safe=safe,
            extra=extra or {},
            new_targets=new_targets or {},
            steps=steps,
            replaced=moved,
            outcome=outcome,
        )

    def _sure(self, superfat: SuperfatInterval | None, low_must_be_positive: bool) -> bool:
        if superfat is None:
            return False
        planned_low = float(self.block.record["superfat"]["low"])
        if low_must_be_positive or planned_low >= 0.0:
            return superfat.low >= 0.0
        return superfat.low >= planned_low - NEAR_FRACTION

    def _why_not(self, choice: Choice) -> str:
        if choice.vessel_overflow:
            return "The vessel does not hold it."
        if choice.overflow_g > MOST_ASIDE_FRACTION * choice.batter_g:
            return "More than a quarter of it would have to be set aside."
        return "The superfat could lie under zero: free lye."
