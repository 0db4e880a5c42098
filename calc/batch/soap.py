"""Soap set aside from an earlier block that goes into this batch: what a gram of it holds, and what all of it comes to.

It is grated into the warm oils, before the lye (common practice, no source). The water in it stays with it: the lye is as
strong as without it. Nothing is poured for its fat; where its superfat is lower than the batch's, so much less lye is.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from calc.chemistry.set_soap import SoapAmount, with_soaps
from calc.chemistry.superfat import BestQuestion, SuperfatInterval
from calc.entry.language import all_of, tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import percent, weight
from calc.scent.batch import BatchScent
from calc.scent.carried import CarriedLabel, CarriedScent, label_with, taken_fraction
from calc.scent.limits import ScentLimits
from calc.tables.reference import constant
from calc.workshop.shop import Shop

USUAL_MOST_FRACTION = constant("set_aside_usual_most").value
REFUSED_FRACTION = constant("set_aside_refused").value


@dataclass(frozen=True, kw_only=True)
class SoapLot:
    """What was set aside of one block. Masses in g; what a gram of it holds is of soap as it lies there now.

    Where nothing tells how far it has dried, its water runs from none to what it was poured with, and its demand with it.
    """

    id: str  # "CODE:2"
    soap: str  # what it is called
    formula: str  # id of the formula
    age_days: int
    told_g: float  # when it was set aside, fresh
    used_g: float  # weighed into later batches since
    planned_g: float  # on issued sheets, and not weighed yet
    water_low_fraction: float
    water_high_fraction: float
    demand_low_koh_per_g: float
    demand_high_koh_per_g: float
    superfat_fraction: float
    superfat_low_fraction: float
    superfat_high_fraction: float
    scents: tuple[CarriedScent, ...]  # loads in a gram of it, dried as far as it may have
    ingredients: tuple[str, ...]
    asks: str  # why somebody has to say in writing that it may go in; "" where nothing speaks against it

    @property
    def lot(self) -> str:
        """How a sheet and a tub name it: "CODE/2"."""
        return "/".join(self.id.rsplit(":", 1))

    @property
    def left_g(self) -> float:
        """The most of it that can still be there [g]: it dries, so it may weigh less."""
        return max(self.told_g - self.used_g, 0.0)

    def amount(self, mass_g: float) -> SoapAmount:
        """So much of it [g]."""
        return SoapAmount(
            self.lot,
            mass_g,
            self.demand_low_koh_per_g,
            self.demand_high_koh_per_g,
            self.superfat_fraction,
            self.superfat_low_fraction,
            self.superfat_high_fraction,
        )


@dataclass(frozen=True)
class SoapsTaken:
    """All soap set aside that goes into one block: each lot with its mass [g], as its display shows it."""

    lots: tuple[tuple[SoapLot, float], ...]
    density_g_per_ml: float
    scents: tuple[CarriedScent, ...]  # loads in the finished bar
    label: CarriedLabel
    ingredients: tuple[str, ...]  # those that the formula itself doesn't have
    limit_alone_fraction: float | None  # of the batch's own scent, if nothing else brought any; None where nothing limits it

    @property
    def mass_g(self) -> float:
        return math.fsum(mass_g for _, mass_g in self.lots)

    @property
    def amounts(self) -> list[SoapAmount]:
        return [lot.amount(mass_g) for lot, mass_g in self.lots]

    @property
    def water_g(self) -> tuple[float, float]:
        """The water in it, at least and at most [g]."""
        low = math.fsum(mass_g * lot.water_low_fraction for lot, mass_g in self.lots)
        return low, math.fsum(mass_g * lot.water_high_fraction for lot, mass_g in self.lots)

    def record(self) -> dict[str, Any]:
        """What an issued batch keeps of it beside the pours and what its superfat hangs on."""
        return {
            "lots": [
                {
                    "id": lot.id,
                    "soap": lot.soap,
                    "taken_g": mass_g,
                    "water_low_fraction": lot.water_low_fraction,
                    "water_high_fraction": lot.water_high_fraction,
                    "scents": [asdict(scent) for scent in lot.scents],
                    "ingredients": list(lot.ingredients),
                }
                for lot, mass_g in self.lots
            ],
            "label": list(self.label.names),
            "label_incomplete": list(self.label.incomplete),
            "ingredients": list(self.ingredients),
            "limit_alone_fraction": self.limit_alone_fraction,
        }


def set_density_g_per_ml(shop: Shop) -> float:
    """Density of set soap [g/ml]: the middle of what the workshop has, or of what is usual."""
    return math.fsum(shop.set_densities_g_per_ml) / 2.0


def lots_taken(wanted: Sequence[tuple[str, float]], known: Mapping[str, SoapLot]) -> list[tuple[SoapLot, float]]:
    """The lots ordered, each with what one block takes [g]. wanted: by the order's rows.

    Raises InputProblems for a lot that is not there or stands there twice.
    """
    problems = []
    for n, (id_, _) in enumerate(wanted):
        if id_ not in known:
            problems.append(
                Problem(f"soaps.{n}.lot", "soap-unknown", tr("Nothing of this lot is set aside."), tr("Choose another lot, or remove the row."))
            )
        elif id_ in [other for other, _ in wanted[:n]]:
            problems.append(
                Problem(f"soaps.{n}.lot", "soap-twice", tr("This lot is named twice."), tr("Add both amounts in one row."))
            )
    if problems:
        raise InputProblems(*problems)
    return [(known[id_], mass_g) for id_, mass_g in wanted]


def may_be_taken(lots: Sequence[tuple[SoapLot, float]], batter_g: float, blocks: int, units: str) -> None:
    """Raises InputProblems for more than is left of a lot, and for more soap than batter. batter_g: all of one block [g]."""
    problems = []
    for n, (lot, mass_g) in enumerate(lots):
        if blocks * mass_g > lot.left_g * (1.0 + 1e-9):
            problems.append(
                Problem(
                    f"soaps.{n}.taken_g",
                    "soap-too-little",
                    tr(
                        "{lot} has {left} left at most; this sheet takes {wanted}.",
                        lot=lot.lot, left=weight(lot.left_g, units), wanted=weight(blocks * mass_g, units),
                    ),
                    tr("Take less of it, or another lot too."),
                )
            )
    mass_g = math.fsum(mass_g for _, mass_g in lots)
    if not problems and mass_g > REFUSED_FRACTION * batter_g:
        problems.append(
            Problem(
                "soaps.0.taken_g",
                "soap-most-of-block",
                tr("{share} of the block would be set-aside soap.", share=percent(mass_g / batter_g, 0)),
                tr("Take {most} or less (common practice, no source).", most=percent(REFUSED_FRACTION, 0)),
            )
        )
    if problems:
        raise InputProblems(*problems)


def carried(lots: Sequence[tuple[SoapLot, float]], cured_g: float) -> tuple[CarriedScent, ...]:
    """The scents in the finished bars. cured_g: what one block weighs cured [g], the scents among it."""
    return tuple(scent.in_bar(mass_g, cured_g) for lot, mass_g in lots for scent in lot.scents)


def soaps_taken(
    lots: Sequence[tuple[SoapLot, float]],
    scents: tuple[CarriedScent, ...],
    scent: BatchScent | None,
    own_ingredients: Sequence[str],
    shop: Shop,
    alone: ScentLimits | None,
) -> SoapsTaken | None:
    """All of it as the sheet tells it; None where none goes in.

    scents: as `carried` has them. scent: the batch's own; alone: its limits if nothing else brought any.
    """
    if not lots:
        return None
    brought = [name for lot, _ in lots for name in lot.ingredients if name not in own_ingredients]
    return SoapsTaken(
        tuple(lots),
        set_density_g_per_ml(shop),
        scents,
        label_with(scent, scents),
        tuple(dict.fromkeys(brought)),
        None if alone is None or alone.binding is None else alone.binding.load_fraction,
    )


def question_with(question: BestQuestion | None, fresh: SuperfatInterval, mixed: SuperfatInterval) -> BestQuestion | None:
    """The certificate worth asking for: what the soap adds to the interval stays, whatever is known of the oils."""
    if question is None or mixed is fresh:
        return question
    then = question.new_half_width_fraction + max(mixed.half_width - fresh.half_width, 0.0)
    return replace(question, new_half_width_fraction=then, factor=then / mixed.half_width) if then < mixed.half_width else None


def soap_cautions(
    taken: SoapsTaken | None, scent: BatchScent | None, batter_g: float, blocks: int, shop: Shop, units: str
) -> tuple[Caution, ...]:
    """What a sheet says of the soap in it. batter_g: all of one block [g]."""
    if taken is None:
        return ()
    found = []
    share = taken.mass_g / batter_g
    if share > USUAL_MOST_FRACTION:
        message = tr(
            "{share} of the block is set-aside soap. Usually it's {most} at most (common practice, no source).",
            share=percent(share), most=percent(USUAL_MOST_FRACTION, 0),
        )
        found.append(Caution("soaps", "soap-much", message, tr("More of it thickens the batter early and shows as lumps.")))
    for n, (lot, mass_g) in enumerate(taken.lots):
        if lot.asks:
            found.append(Caution(f"soaps.{n}.lot", "soap-asks", f"{lot.lot}: {lot.asks}", tr("Test it first. To go on, write down why.")))
        if blocks * mass_g > lot.left_g - lot.planned_g:
            message = tr(
                "{lot}: {planned} of it is on other sheets that aren't weighed yet.", lot=lot.lot, planned=weight(lot.planned_g, units)
            )
            found.append(Caution(f"soaps.{n}.taken_g", "soap-planned", message, tr("Weigh what's in the tub before you count on it.")))
    names = list(dict.fromkeys(each.name for each in taken.scents))
    if names:
        if scent is None:
            message = tr("The set-aside soap brings scent: {names}.", names=all_of(names))
            found.append(Caution("soaps", "soap-scented", message, tr("Don't sell it as unscented.")))
        else:
            message = tr("The set-aside soap brings scent too: {names}. It's counted in the limit.", names=all_of(names))
            found.append(Caution("soaps", "soap-scented", message, tr("The most that's allowed is what the scent in it leaves.")))
    unknown = list(dict.fromkeys(name for each in taken.scents for name in each.unknown))
    if unknown:
        message = tr("How much of the set-aside soap's scent is safe isn't known: {names}.", names=all_of(unknown))
        found.append(Caution("soaps", "soap-scent-unknown", message, tr("Leave this soap out, or write down why it goes in.")))
    if scent is None and taken_fraction(taken.scents) > 1.0:
        message = tr("The set-aside soap brings more scent than its limit allows.")
        found.append(Caution("soaps", "soap-scent-over", message, tr("Take less of it.")))
    own = scent is not None and not scent.label.complete
    if shop.market != "us" and taken.label.incomplete and not own:
        message = tr("The label's list of allergens is incomplete: {names}.", names=all_of(taken.label.incomplete))
        found.append(Caution("soaps", "label-incomplete", message, tr("Its own label missed them too.")))
    if taken.ingredients:
        message = tr("The label has to name what the set-aside soap brings: {names}.", names=all_of([tr(name) for name in taken.ingredients]))
        found.append(Caution("soaps", "soap-ingredients", message, tr("These aren't in the formula.")))
    return tuple(found)


def soap_may_be_issued(taken: SoapsTaken | None, scent: BatchScent | None, reason: str | None) -> None:
    """Raises InputProblems where soap that asks first goes in, or its scent may be too much, and nobody says why."""
    if taken is None or reason is not None:
        return
    asking = [lot for lot, _ in taken.lots if lot.asks]
    if asking:
        message = f"{asking[0].lot}: {asking[0].asks}"
    elif any(each.unknown for each in taken.scents):
        message = tr("How much of the set-aside soap's scent is safe isn't known.")
    elif scent is None and taken_fraction(taken.scents) > 1.0:
        message = tr("The set-aside soap brings more scent than its limit allows.")
    else:
        return
    raise InputProblems(Problem("reason", "soap-reason-missing", message, tr("Leave this soap out, or write down why it goes in.")))


def with_soap(fresh: SuperfatInterval, demand_koh_g: float, taken: SoapsTaken | None) -> SuperfatInterval:
    """The superfat of a block with its set-aside soap. fresh: of its batter alone; demand_koh_g: of that batter's oils."""
    return fresh if taken is None else with_soaps(fresh, demand_koh_g, taken.amounts)
