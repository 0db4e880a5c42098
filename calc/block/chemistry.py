"""One block at the scale: grams poured; superfat planned, now and to come; batter; expected temperature.

A weighed pour counts with its weighed grams only. A target stands for what is still to come, never for what is done.
The last lye is what the oils actually there need, less what was poured.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from functools import cached_property

from calc.block.events import BlockEvents, Done, Event, fold
from calc.chemistry.heat import mix_temperature_c
from calc.chemistry.lye import alkali_for_koh_g, demand_koh_g, koh_per_g, superfat_of
from calc.chemistry.set_soap import SoapAmount, brought_koh_g, with_soaps
from calc.chemistry.superfat import (
    AcidAmount,
    AlkaliAmount,
    OilAmount,
    SuperfatInterval,
    superfat_interval,
    taken_koh_g,
)
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem
from calc.scales.weighing import limit_of_error_g
from calc.steps.frozen import (
    FrozenAlkali,
    FrozenChemistry,
    FrozenOil,
    FrozenPour,
    FrozenRecord,
    FrozenSoap,
    Step,
    Weighing,
    display_of_step,
    is_made_apart,
    is_rounded_down,
    tares,
    target_g,
    weighing,
)
from calc.steps.keys import (
    AGAIN,
    MADE,
    READ_LYE,
    READ_OILS,
    WATER,
    is_blend,
    is_first_pour,
    is_ladled,
    puts_in,
    reading_before,
)
from calc.steps.words import in_words
from calc.tables.reference import constant
from calc.workshop.equipment import ScaleItem
from calc.workshop.scales import scales_of, vessel_scale

# A superfat this near the goal: the scale's division can't tell the two apart.
NEAR_FRACTION = constant("superfat_near").value
# How far the lye needed may move before the first pour moves with it.
TIGHT_FRACTION = constant("first_pour_kept").value
BY_SHEET = "sheet:"  # starts the key of a choice that goes back to the sheet's superfat


@dataclass(frozen=True)
class Amount:
    """Grams, with the limit of error and the division of their weighing. Sums take the errors as independent."""

    g: float = 0.0
    limit_g: float = 0.0
    division_g: float = 0.0

    def __add__(self, other: "Amount") -> "Amount":
        return Amount(
            self.g + other.g,
            math.hypot(self.limit_g, other.limit_g),
            math.hypot(self.division_g, other.division_g),
        )


Amounts = Mapping[str, Amount]


@dataclass(frozen=True)
class Batter:
    """What lies in the vessel."""

    mass_g: float
    volume_ml: float
    fill_height_mm: float


class Block:
    """A block of an issued record with its events. Raises InputProblems for a reading that can't be."""

    def __init__(self, record: FrozenRecord, events: Sequence[Event]) -> None:
        self.record = record
        self.chemistry: FrozenChemistry = record["chemistry"]
        self.events: BlockEvents = fold(record["steps"], events)
        self.pours: dict[str, FrozenPour] = {pour["key"]: pour for pour in record["pours"]}
        self.tares = tares(record["steps"])
        items = [ScaleItem(**scale) for scale in record["scales"]]
        shop: Mapping[str, str] = next(iter(record["inputs"]["shop"].values()), {})
        self.scales = scales_of(items, shop.get("tolerance_scheme", "R76"))
        self.alkalis: dict[str, FrozenAlkali] = {alkali["pour"]: alkali for alkali in self.chemistry["alkalis"]}
        self.oils: dict[str, FrozenOil] = {oil["pour"]: oil for oil in self.chemistry["oils"]}
        self.soaps: dict[str, FrozenSoap] = {soap["pour"]: soap for soap in self.chemistry.get("soaps", [])}
        self.vessel_oils = [key for key in self.oils if self.pours[key]["phase"] == "vessel"]
        # What is weighed ahead and covered, until its own step puts it into the vessel.
        self.put_in_later = {pour for step in self.events.steps if (pour := puts_in(step["key"])) is not None}
        self._weigh_up()

    # What was weighed ----------------------------------------------------------------------------------------------

    def _weigh_up(self) -> None:
        """Net grams of every weighing, and what stands on the vessel's scale. In order of time, as the display counts on."""
        on_g = float(self.record["vessel"]["tare_g"])
        pail_g = 0.0
        covered_g: dict[str, float] = {}
        self._covered = set(self.put_in_later)
        # Of each weighing: what it put in, whole and by pour, and what its display showed of the pour [g].
        self.net: dict[str, Amount] = {}
        self.parts: dict[str, dict[str, Amount]] = {}
        self.shown_g: dict[str, float] = {}
        for done in self.events.in_time():
            step = done.step
            if step["key"] == MADE:
                on_g += pail_g
            put_in = puts_in(step["key"])
            if put_in is not None:
                on_g += covered_g.pop(put_in, 0.0)
                self._covered.discard(put_in)
            if done.event["kind"] != "weighed":
                continue
            key, before = step["key"], reading_before(step["key"])
            ladled = self.shown_g.get(before) if before is not None and is_ladled(key) else None
            if ladled is None:
                net_g = self.shown_g[key] = self._net_g(done, on_g)
            else:
                net_g = min(done.reading_g - (on_g if done.event.get("mode") == "gross" else ladled), 0.0)
                self.shown_g[key] = ladled + net_g
            # To be put right in its jug: it counts nowhere until it is weighed anew.
            if key in self.events.set_back:
                continue
            self.net[key] = self._read(weighing(step), net_g)
            self.parts[key] = self.by_pour(step, self.net[key])
            if self._in_pail(key):
                pail_g += net_g
            elif self.stands_by(step):
                pour = str(step["pour"])
                covered_g[pour] = covered_g.get(pour, 0.0) + net_g
            else:
                on_g += net_g
        self.on_scale_g = on_g

    def _in_pail(self, key: str) -> bool:
        """Whether a weighing is of a part of lye that is made apart, in its own pail."""
        pour = self.events.step(key)["pour"]
        return pour is not None and is_made_apart(self.pours[pour])

    def stands_by(self, step: Step) -> bool:
        """Whether what a step weighs is not in the vessel by that: in its pail or its cup it waits for a step of its own."""
        pour = step["pour"]
        return pour is not None and (pour in self._covered or is_made_apart(self.pours[pour]))

    def _read(self, step: Weighing, net_g: float) -> Amount:
        """Grams with the errors of the weighing's scale. Ladling adds none: what is left errs by one reading, as the pour did."""
        if is_ladled(step["key"]):
            return Amount(net_g)
        return Amount(net_g, self.limit_g(step["scale"], net_g), self.division_g(step))

    def _net_g(self, done: Done, on_g: float) -> float:
        net_g = done.reading_g - (on_g if done.event.get("mode") == "gross" else 0.0)
        if net_g < 0.0:
            raise InputProblems(
                Problem(
                    done.step["key"],
                    "less-than-before",
                    tr("{step}: the display showed less than before this pour.", step=in_words(done.step)["title"]),
                    tr("Look at the last readings and correct the one that's wrong."),
                )
            )
        return net_g

    @property
    def vessel_division_g(self) -> float:
        """The division of the scale that the vessel stands on [g]."""
        return vessel_scale(self.scales)[0].division_g

    def limit_g(self, scale: str, load_g: float) -> float:
        """Limit of error of one of the record's scales at a load [g]; above its capacity, the limit at capacity."""
        found = self.scales[scale][0]
        return limit_of_error_g(found, min(load_g, found.capacity_g))

    def division_g(self, step: Weighing) -> float:
        """The step of the display a weighing is read on [g]."""
        display = display_of_step(step)
        return display.grams(display.division)

    def by_pour(self, step: Step, amount: Amount) -> dict[str, Amount]:
        """A weighing's grams by pour.

        A blend is split over all oils of the vessel, as on the sheet. What is ladled out is split over all that is in
        the vessel then, as it was stirred.
        """
        if is_ladled(step["key"]):
            # Lye made apart is still in its pail: nothing is ladled once lye is in the vessel.
            there = self._summed(part for key, part in self.parts.items() if not self.stands_by(self.events.step(key)))
            there_g = math.fsum(part.g for part in there.values())
            return {key: Amount(part.g / there_g * amount.g) for key, part in there.items()}
        if step["pour"] is not None:
            return {step["pour"]: amount}
        if not is_blend(step["key"]):
            return {}
        whole_g = math.fsum(self.pours[key]["target_g"] for key in self.vessel_oils)
        shares = {key: self.pours[key]["target_g"] / whole_g for key in self.vessel_oils}
        # The parts err together, but sums take them as independent. Roots of the shares keep the sum from coming out too small.
        return {
            key: Amount(share * amount.g, math.sqrt(share) * amount.limit_g, math.sqrt(share) * amount.division_g)
            for key, share in shares.items()
        }

    def _summed(self, parts: Iterable[Mapping[str, Amount]]) -> dict[str, Amount]:
        total: dict[str, Amount] = {}
        for part in parts:
            for key, amount in part.items():
                total[key] = total.get(key, Amount()) + amount
        return total

    @cached_property
    def weighed(self) -> dict[str, Amount]:
        """Grams actually weighed, by pour."""
        return self._summed(self.parts.values())

    @property
    def in_vessel(self) -> dict[str, Amount]:
        """What is in the vessel now: lye made apart, and what is weighed ahead, only once it was put in."""
        made = MADE in self.events.done
        there = {key: a for key, a in self.weighed.items() if made or not is_made_apart(self.pours[key])}
        return {key: a for key, a in there.items() if key not in self._covered}

    def undone(self) -> list[Weighing]:
        """The weighings still to come, in order."""
        passed_over = (*self.events.done, *(AGAIN + key for key in self.net))  # asked for again: the first reading still counts
        return [s for s in self.events.steps if s["kind"] == "weigh" and s["key"] not in passed_over]

    def there(self, step: Weighing) -> Amount | None:
        """What stands on the display before a step that goes on from a reading; None for a step that starts at zero."""
        before = reading_before(step["key"])
        if before is None or before not in self.net:
            return None
        return Amount(self.shown_g[before]) if is_ladled(step["key"]) else self.net[before]

    def to_add_g(self, step: Weighing) -> float:
        """How much a weighing still to come adds to what is there [g]."""
        there = self.there(step)
        return target_g(step) - (0.0 if there is None else there.g)

    def planned_amount(self, step: Weighing, mass_g: float | None = None) -> Amount:
        """How much a weighing to come adds to what is there, by its target or by another mass [g]."""
        mass_g = self.to_add_g(step) if mass_g is None else mass_g
        there = self.there(step)
        if there is None or is_ladled(step["key"]):
            return self._read(step, mass_g)
        # The new reading covers both and replaces the first: together they err as that one reading does.
        whole_g = self.limit_g(step["scale"], there.g + mass_g)
        return Amount(mass_g, math.sqrt(max(whole_g**2 - there.limit_g**2, 0.0)), 0.0)

    def at_end(
        self,
        targets: Mapping[str, float] | None = None,
        extra: Amounts | None = None,
        replaced: Mapping[str, Step] | None = None,
    ) -> dict[str, Amount]:
        """Amounts by pour when the rest goes to plan: weighed, still to come, and extra.

        targets: other masses [g] that steps to come put in. replaced: other steps in their place. A step that is only
        confirmed pours nothing.
        """
        coming = []
        for step in self.undone():
            key = step["key"]
            stands = (replaced or {}).get(key, step)
            if stands["kind"] != "weigh":
                coming.append(self.by_pour(step, Amount()))
            else:
                coming.append(self.by_pour(step, self.planned_amount(stands, (targets or {}).get(key))))
        return self._summed([self.weighed, *coming, extra or {}])

    # Alkali needed ------------------------------------------------------------------------------------------------

    def koh_per_g(self, pour: str) -> float:
        """What a gram of an alkali's source supplies [g KOH]."""
        return koh_per_g(self.alkalis[pour]["alkali"], self.alkalis[pour]["hydroxide_fraction"])

    def demand_koh_g(self, amounts: Amounts) -> float:
        """Alkali that the oils can take up [g KOH]."""
        return math.fsum(demand_koh_g(amounts[k].g, oil["used"]) for k, oil in self.oils.items() if k in amounts)

    def taken_koh_g(self, amounts: Amounts) -> float:
        """Alkali that acids take up before the oils, less what old soap brings [g KOH]."""
        return taken_koh_g(self._acids(amounts)) - brought_koh_g(self._soaps(amounts), self.stated_fraction)

    def _acids(self, amounts: Amounts) -> list[AcidAmount]:
        return [
            AcidAmount(
                acid["name"], a.g, acid["acid_value"], acid["strength_fraction"], (), a.limit_g, a.division_g
            )
            for acid in self.chemistry["acids"]
            if (a := amounts.get(acid["pour"])) is not None
        ]

    def _soaps(self, amounts: Amounts) -> list[SoapAmount]:
        return [
            SoapAmount(
                soap["name"],
                a.g,
                soap["demand_low_koh_per_g"],
                soap["demand_high_koh_per_g"],
                soap["superfat"]["value"],
                soap["superfat"]["low"],
                soap["superfat"]["high"],
            )
            for key, soap in self.soaps.items()
            if (a := amounts.get(key)) is not None and a.g > 0.0
        ]

    def supplied_koh_g(self, amounts: Amounts) -> float:
        """Alkali there is [g KOH]."""
        return math.fsum(amounts[key].g * self.koh_per_g(key) for key in self.alkalis if key in amounts)

    def needed_koh_g(self, amounts: Amounts) -> float:
        """Alkali that leaves the superfat aimed for [g KOH], with the oils and acids of `amounts`."""
        return alkali_for_koh_g(self.goal_fraction, self.taken_koh_g(amounts), self.demand_koh_g(amounts))

    @cached_property
    def goal_fraction(self) -> float:
        """The superfat that the last lye aims for: the sheet's, or the one reckoned when an oil was left as it was.

        A later correction drops the latter: nobody has accepted what the corrected amounts come to.
        """
        for decision in reversed(self.events.decisions):
            if self.events.corrected_since(decision):
                continue
            if str(decision.get("choice")).startswith(BY_SHEET):
                return self.stated_fraction
            if decision.get("choice") == "leave" and decision.get("step") in self._takers:
                at = self.events.events.index(decision)
                return Block(self.record, self.events.events[:at]).goal_if_left(decision["step"])
        return self.stated_fraction

    @property
    def stated_fraction(self) -> float:
        """The superfat that the sheet states."""
        return float(self.record["superfat_stated_fraction"])

    @property
    def _takers(self) -> set[str]:
        """The steps that weigh what takes up lye: oils and acids."""
        acids = {acid["pour"] for acid in self.chemistry["acids"]}
        return {
            step["key"]
            for step in self.events.steps
            if step["pour"] in acids or self.is_oil(step)
        }

    def is_oil(self, step: Step) -> bool:
        """Whether a weighing is of oil: one oil, the blend, or oil ladled back out."""
        return step["pour"] in self.oils or is_blend(step["key"]) or is_ladled(step["key"])

    def goal_if_left(self, key: str) -> float:
        """The superfat to aim for once a step is left as it was read.

        After an oil or an acid it is the superfat that results: the lye stays as it was meant without the slip.
        """
        if key not in self._takers:
            return self.goal_fraction
        key = self.events.counting(key)
        step = weighing(self.events.step(key))
        open_lye = self.open_lye()
        read = self.at_end({step["key"]: 0.0 for step in open_lye})
        demand_g = self.demand_koh_g(read)
        if key not in self.net or demand_g <= 0.0:
            return self.goal_fraction
        supplied_g = self.supplied_koh_g(read)
        if open_lye:
            slip = self.by_pour(step, Amount(target_g(step) - self.shown_g[key]))
            supplied_g = max(supplied_g, self.needed_koh_g(self._summed([read, slip])))
        return superfat_of(supplied_g, self.taken_koh_g(read), demand_g)

    def aiming_at(self, goal_fraction: float) -> "Block":
        """This block with another superfat to aim for."""
        found = copy(self)
        found.goal_fraction = goal_fraction
        return found

    def after_decision(self, key: str, steps: Sequence[Step]) -> "Block":
        """This block as it is once these steps are put in after the step `key`."""
        at = max((str(event.get("at", "")) for event in self.events.events), default="")
        decision: Event = {"id": "~", "at": at, "kind": "decided", "step": key, "steps": steps, "replaced": {}}
        return Block(self.record, (*self.events.events, decision))

    def open_lye(self) -> list[Weighing]:
        """Pours of lye still to come that follow what the oils need. The caustic of a lye made apart does not."""
        return [s for s in self.undone() if s["pour"] in self.alkalis and self.pours[s["pour"]]["phase"] == "vessel"]

    def lye_targets(
        self, targets: Mapping[str, float] | None = None, extra: Amounts | None = None
    ) -> dict[str, float]:
        """The lye still to come [g] by step, from the oils actually there. Never under zero.

        targets: other masses [g] for the other steps to come; extra: what is added, by pour. A first pour keeps its
        target unless that would leave too much or too little to top up. Two alkalis keep the sheet's proportion as far
        as what is poured allows. The last one makes up for what the displays of those before it can't show.
        """
        steps = self.open_lye()
        rest = self.at_end({**(targets or {}), **{step["key"]: 0.0 for step in steps}}, extra)
        missing_g = max(self.needed_koh_g(rest) - self.supplied_koh_g(rest), 0.0)
        exact = {key: float(self.pours[key]["exact_g"]) for key in self.alkalis}
        planned_g = math.fsum(exact[key] * self.koh_per_g(key) for key in exact)
        times = (self.supplied_koh_g(rest) + missing_g) / planned_g
        in_order = reversed(dict.fromkeys(pour for step in reversed(steps) if (pour := step["pour"]) is not None))
        wanted = {key: max(times * exact[key] - rest.get(key, Amount()).g, 0.0) for key in in_order}
        if not any(wanted.values()):
            # No open one is short itself, but another may be: what it lacks must come from these, shared as on the sheet.
            wanted = {key: exact[key] for key in wanted}
        wanted_g = math.fsum(wanted[key] * self.koh_per_g(key) for key in wanted)
        found: dict[str, float] = {}
        for key, wanted_of_it_g in wanted.items():
            own = [step for step in steps if step["pour"] == key]
            is_last = own[-1] is steps[-1]
            share = 1.0 if is_last else wanted_of_it_g * self.koh_per_g(key) / wanted_g
            rest_g = max(share * missing_g, 0.0) / self.koh_per_g(key)
            there_g = rest.get(key, Amount()).g
            for step in own[:-1]:
                first_g = self.to_add_g(step)
                meant_g = max(self._first_share(key, first_g) * (there_g + rest_g) - there_g, 0.0)
                if abs(first_g - meant_g) > TIGHT_FRACTION * meant_g or first_g > rest_g:
                    display = display_of_step(step)
                    first_g = display.grams(display.counts_within(min(meant_g, rest_g)))
                found[step["key"]] = first_g
                rest_g -= first_g
            if not is_last:
                display = display_of_step(own[-1])
                # Lye is rounded down on sheets whose pours name their portions, to the nearest on older ones.
                shown = display.counts_within if is_rounded_down(self.pours[key]) else display.counts
                rest_g = display.grams(shown(max(rest_g, 0.0)))
            found[own[-1]["key"]] = max(rest_g, 0.0)
            missing_g -= self.koh_per_g(key) * math.fsum(found[step["key"]] for step in own)
            wanted_g -= self.koh_per_g(key) * wanted_of_it_g
        return found

    def _first_share(self, key: str, first_g: float) -> float:
        """The share of an alkali's whole lye poured first [1]: by the sheet's first pour, or by `first_g` where it has none."""
        first = next((s for s in self.record["steps"] if s["pour"] == key and is_first_pour(s["key"])), None)
        return (first_g if first is None else target_g(weighing(first))) / float(self.pours[key]["exact_g"])

    # Results ------------------------------------------------------------------------------------------------------

    def superfat(self, amounts: Amounts) -> SuperfatInterval | None:
        """Superfat of amounts with its interval; None while there are no oils or no lye."""
        oils = [
            # Records from before waxes were told apart state no acid value.
            OilAmount(oil["name"], a.g, oil["used"], oil["low"], oil["high"], a.limit_g, a.division_g, oil.get("acid_value"))
            for key, oil in self.oils.items()
            if (a := amounts.get(key)) is not None and a.g > 0.0
        ]
        alkalis = [
            AlkaliAmount(
                alkali["name"],
                a.g,
                alkali["hydroxide_fraction"],
                alkali["alkali"],
                tuple((what, width) for what, width in alkali["relative"]),
                a.limit_g,
                a.division_g,
            )
            for key, alkali in self.alkalis.items()
            if (a := amounts.get(key)) is not None and a.g > 0.0
        ]
        if not (oils and alkalis):
            return None
        fresh = superfat_interval(oils, alkalis, self._acids(amounts))
        return with_soaps(fresh, self.demand_koh_g(amounts), self._soaps(amounts))

    def batter(self, amounts: Amounts) -> Batter:
        """Mass, volume by ideal mixing and height in the mould."""
        chemistry, mould = self.chemistry, self.record["mould"]
        volume_ml = []
        for key, amount in amounts.items():
            if key in self.oils:
                density = self.oils[key]["density_g_per_ml"]
            elif key in self.soaps:
                density = self.soaps[key]["density_g_per_ml"]
            elif key in self.alkalis or key == WATER:
                density = chemistry["lye_density_g_per_ml"]
            else:
                density = chemistry["other_density_g_per_ml"]
            volume_ml.append(amount.g / density)
        total_ml = math.fsum(volume_ml)
        area_mm2 = mould["length_mm"] * mould["width_mm"]
        return Batter(math.fsum(a.g for a in amounts.values()), total_ml, 1000.0 * total_ml / area_mm2)

    def after_step(self) -> dict[str, Amount] | None:
        """In the vessel once the next weighing has met its target; None when none is left."""
        coming = self.undone()
        if not coming:
            return None
        step = coming[0]
        mass_g = self.lye_targets().get(step["key"])
        return self._summed([self.in_vessel, self.by_pour(step, self.planned_amount(step, mass_g))])

    def mix_c(self) -> float | None:
        """Expected temperature of the mix [°C]; None until both are known, or outside the tables."""
        oils, lye = (self.events.done.get(key) for key in (READ_OILS, READ_LYE))
        if oils is None or lye is None or oils.reading_c is None or lye.reading_c is None:
            return None
        if any(alkali["alkali"] != "naoh" for alkali in self.alkalis.values()):
            return None
        end = self.at_end(self.lye_targets())
        lye_g = math.fsum(end[key].g for key in self.alkalis if key in end)
        naoh_g = math.fsum(end[key].g * a["hydroxide_fraction"] for key, a in self.alkalis.items() if key in end)
        water_g = end[WATER].g if WATER in end else 0.0
        if any(is_made_apart(self.pours[key]) for key in self.alkalis):
            lye_g, water_g = lye_g + water_g, 0.0
        oils_g = math.fsum(end[key].g for key in self.vessel_oils if key in end)
        try:
            return mix_temperature_c(oils_g, oils.reading_c, lye_g, lye.reading_c, naoh_g / lye_g, water_g)
        except (ValueError, ZeroDivisionError):
            return None
