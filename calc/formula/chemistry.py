"""The steps from a formula to its lye, which the formula sheet and the batch sheet share.

They tell which saponification value each oil is reckoned with, what the additives take and bring, and how much hydroxide
and water follow. All masses belong to one batch, of any size.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from calc.chemistry.lye import (
    Hydroxide,
    acid_value_of,
    alkali_for_koh_g,
    alkali_needed,
    demand_koh_g,
    neutralisation_water_g,
    products,
)
from calc.chemistry.oils import Certificate, OilBlend, oils_together, own_oil, saponification_used, surely_taken
from calc.chemistry.superfat import AcidAmount, OilAmount, SuperfatInterval, taken_koh_g
from calc.chemistry.water import (
    STRONGEST_LYE,
    AlkaliSource,
    LyePlan,
    lye_plan,
    strength_from_ratio,
    strength_from_share,
)
from calc.entry.language import all_of, tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import percent, points, quantity
from calc.formula.declaration import AdditiveShare, Formula
from calc.tables.reference import additives
from calc.tables.rows import Oil
from calc.workshop.lots import OilLot
from calc.workshop.own_oils import OwnOil

PURE_HYDROXIDE = AlkaliSource("solid", 1.0)


@dataclass(frozen=True)
class OilUsed:
    """One row of the formula's oils with the saponification value [mg KOH/g] taken for it, and why."""

    key: str
    oil: Oil
    share_fraction: float
    late: bool
    lot: str | None
    used: float
    low: float
    high: float
    basis: str  # "certificate", "range middle" or "composition"
    sources: tuple[str, ...]
    outside_range: bool

    @property
    def name(self) -> str:
        """The oil's name."""
        return self.oil.name

    @property
    def surely_taken(self) -> float | None:
        """What lye surely takes of a wax [mg KOH/g]; None for an oil."""
        taken = surely_taken(self.oil)
        return None if taken is None else min(taken, self.low)


def oils_used(formula: Formula, oils: Mapping[str, Oil], lots: Mapping[str, OilLot]) -> tuple[OilUsed, ...]:
    """Each oil row with its value: the certificate of the lot in use, else the table's.

    oils: every known oil by key. lots: the lot in use by oil key. Raises InputProblems naming each unknown oil.
    """
    unknown = [
        Problem(f"oils.{n}.oil", "oil-unknown", tr("This oil is no longer in the workshop."), tr("Choose another oil."))
        for n, row in enumerate(formula.oils)
        if row.oil not in oils
    ]
    if unknown:
        raise InputProblems(*unknown)
    total = math.fsum(row.share_fraction for row in formula.oils)  # 1, but for the rounding of typed shares
    return tuple(
        _oil_used(oils[row.oil], row.share_fraction / total, row.added == "late", lots.get(row.oil))
        for row in formula.oils
    )


def _oil_used(oil: Oil, share_fraction: float, late: bool, lot: OilLot | None) -> OilUsed:
    found = saponification_used(oil, certificate_of(lot))
    code = lot.code if lot else None
    sources = (f"certificate of lot {code}",) if found.basis == "certificate" else found.sources
    return OilUsed(
        oil.key,
        oil,
        share_fraction,
        late,
        code,
        found.used,
        found.low,
        found.high,
        found.basis,
        sources,
        found.outside_range,
    )


def certificate_of(lot: OilLot | None) -> Certificate | None:
    """The lot's certificate, when there is a lot and it states a saponification value."""
    if lot is None or lot.saponification_value is None:
        return None
    return Certificate(lot.saponification_value, lot.saponification_plus_minus_value)


def oil_of(own: OwnOil, key: str) -> Oil:
    """An oil of the maker's own as the table's oils are, under a key."""
    return own_oil(
        key=key,
        name=own.name,
        source=own.source,
        kind=own.ester,
        saponification_low=own.saponification_low_value,
        saponification_high=own.saponification_high_value,
        acid_value=own.acid_value,
        fatty_acids={row.acid: 100.0 * row.share_fraction for row in own.fatty_acids},
    )


def blend_of(used: Sequence[OilUsed], masses_g: Sequence[float], lots: Mapping[str, OilLot]) -> OilBlend:
    """The oils together, by chemistry."""
    parts = [(row.oil, mass_g) for row, mass_g in zip(used, masses_g, strict=True)]
    return oils_together(parts, [certificate_of(lots.get(row.key)) for row in used])


def oil_amounts(
    used: Sequence[OilUsed], masses_g: Sequence[float], weighed: Sequence[tuple[float, float]] | None = None
) -> list[OilAmount]:
    """The oils for the superfat interval. Rows of one oil make one entry: they share what is unknown of it.

    weighed: limit of error [g] and division [g] of each row's scale; none for exact masses.
    """
    merged: dict[str, OilAmount] = {}
    for row, mass_g, (limit_g, division_g) in zip(used, masses_g, weighed or [(0.0, 0.0)] * len(used), strict=True):
        before = merged.get(row.key)
        merged[row.key] = OilAmount(
            row.name,
            mass_g + (before.mass_g if before else 0.0),
            row.used,
            row.low,
            row.high,
            limit_g + (before.mass_limit_g if before else 0.0),
            division_g + (before.division_g if before else 0.0),
            row.surely_taken,
        )
    return list(merged.values())


def acid_amounts(
    formula: Formula, masses_g: Sequence[float], weighed: Sequence[tuple[float, float]] | None = None
) -> list[AcidAmount]:
    """The additives that take up alkali, for the superfat interval; weighed as in `oil_amounts`."""
    found = []
    rows = zip(formula.additives, masses_g, weighed or [(0.0, 0.0)] * len(masses_g), strict=True)
    for row, mass_g, (limit_g, division_g) in rows:
        additive = additives()[row.kind]
        acid_value = acid_value_of(additive)
        if acid_value > 0.0 and mass_g > 0.0:
            strength = 1.0 if row.strength_fraction is None else row.strength_fraction
            found.append(AcidAmount(additive.label, mass_g, acid_value, strength, (), limit_g, division_g))
    return found


def oils_demand_koh_g(used: Sequence[OilUsed], masses_g: Sequence[float]) -> float:
    """KOH that all of these oils take [g]. Late ones count too: the lye cannot tell them apart."""
    return math.fsum(demand_koh_g(mass_g, row.used) for row, mass_g in zip(used, masses_g, strict=True))


def hydroxide_needed(
    formula: Formula,
    used: Sequence[OilUsed],
    oils_g: Sequence[float],
    additives_g: Sequence[float],
    brought_koh_g: float = 0.0,
) -> Hydroxide:
    """Pure NaOH and KOH [g] for these oils at the formula's superfat, and what the acids take on top.

    brought_koh_g: what set-aside soap brings [g KOH]. Raises InputProblems where that alone is enough.
    """
    acid_koh_g = taken_koh_g(acid_amounts(formula, additives_g))
    koh_share = {"naoh": 0.0, "koh": 1.0}.get(formula.alkali, formula.koh_share_fraction or 0.0)
    demand = oils_demand_koh_g(used, oils_g)
    needed = alkali_needed(demand, formula.superfat_fraction, koh_share, acid_koh_g=acid_koh_g)
    if brought_koh_g <= 0.0:
        return needed
    share = 1.0 - brought_koh_g / alkali_for_koh_g(formula.superfat_fraction, acid_koh_g, demand)
    if share <= 0.0:
        message = tr("The set-aside soap brings as much alkali as this batch needs.")
        raise InputProblems(Problem("soaps.0.taken_g", "soap-brings-alkali", message, tr("Take less of it.")))
    return Hydroxide(share * needed.naoh_g, share * needed.koh_g)


@dataclass(frozen=True)
class CountedWater:
    """The water counted for a row of additives, as a share of it, and where that figure comes from."""

    fraction: float
    basis: str  # "stated", "strength", "usual" or "dry"


def counted_water(row: AdditiveShare) -> CountedWater:
    """The water in an additive: what the maker states, else what its strength leaves, else what is usual for it."""
    known = additives()[row.kind]
    if row.water_fraction is not None:
        return CountedWater(row.water_fraction, "stated")
    if known.takes_alkali and known.in_solution and row.strength_fraction is not None:
        return CountedWater(1.0 - row.strength_fraction, "strength")
    if known.default_water_percent:
        return CountedWater(known.default_water_percent / 100.0, "usual")
    return CountedWater(0.0, "dry")


def additive_water_g(formula: Formula, additives_g: Sequence[float]) -> float:
    """Water that the additives bring into the batter [g]: what is in them, and what their acids make with lye."""
    found = []
    for row, mass_g in zip(formula.additives, additives_g, strict=True):
        strength = 1.0 if row.strength_fraction is None else row.strength_fraction
        found.append(mass_g * counted_water(row).fraction)
        found.append(neutralisation_water_g(additives()[row.kind], mass_g, strength))
    return math.fsum(found)


def plan_lye(
    formula: Formula,
    needed: Hydroxide,
    oils_g: float,
    additives_g: Sequence[float],
    sources: Mapping[str, AlkaliSource],
) -> LyePlan:
    """The lye for this hydroxide with the water as the formula states it, at the temperature it is poured at."""
    if formula.lye_strength_fraction is not None:
        field, strength = "lye_strength_fraction", formula.lye_strength_fraction
    elif formula.water_to_lye_ratio is not None:
        field, strength = "water_to_lye_ratio", strength_from_ratio(formula.water_to_lye_ratio)
    else:
        field = "water_share_fraction"
        strength = strength_from_share(formula.water_share_fraction or 0.0, oils_g, math.fsum(needed))
    if strength > STRONGEST_LYE:
        raise InputProblems(
            Problem(
                field,
                "lye-too-strong",
                tr(
                    "This is {percent} % lye. Above {most} % it hardly stays dissolved, and its density isn't in the tables.",
                    percent=points(strength), most=points(STRONGEST_LYE, 0),
                ),
                tr("Use more water."),
            )
        )
    return lye_plan(
        needed,
        strength,
        sources,
        additive_water_g=additive_water_g(formula, additives_g),
        working_temperature_c=formula.lye_poured_c,
        field=field,
    )


def glycerol_g(used: Sequence[OilUsed], masses_g: Sequence[float], needed: Hydroxide, superfat_fraction: float) -> float:
    """Glycerol that the triglycerides set free at this superfat [g]; waxes and free acids give none."""
    demands = {kind: 0.0 for kind in ("triglyceride", "free_acid", "wax")}
    for row, mass_g in zip(used, masses_g, strict=True):
        demands[row.oil.kind] += demand_koh_g(mass_g, row.used)
    made = products(math.fsum(masses_g), demands["triglyceride"], demands["free_acid"], needed, superfat_fraction)
    return made.glycerol_g


def chemistry_cautions(formula: Formula, used: Sequence[OilUsed], superfat: SuperfatInterval) -> tuple[Caution, ...]:
    """What the person should know about oils and additives before going on."""
    found = [*_waxes(used, superfat)]
    for number, row in enumerate(used):
        if row.outside_range:
            found.append(
                Caution(
                    f"oils.{number}.oil",
                    "certificate-outside-range",
                    tr(
                        "The certificate for {lot} gives {value} mg KOH/g for {oil}, outside the table's {low} to {high}.",
                        lot=row.lot, value=quantity(row.used, ""), oil=tr(row.name),
                        low=quantity(row.oil.saponification_low, ""), high=quantity(row.oil.saponification_high, ""),
                    ),
                    tr("It's used anyway. Check that it's the right oil and the right unit."),
                )
            )
    for number, extra in enumerate(formula.additives):
        entry = additives()[extra.kind]
        if entry.heat_warning:
            found.append(
                Caution(
                    f"additives.{number}.kind",
                    "heats-the-batter",
                    f"{tr(entry.label)}: {tr(entry.heat_warning)}",
                    _from_source(entry.source),
                )
            )
    return tuple(found)


def _waxes(used: Sequence[OilUsed], superfat: SuperfatInterval) -> Iterator[Caution]:
    """One caution for all waxes: the superfat when lye takes only their free acids."""
    rows = [number for number, row in enumerate(used) if row.surely_taken is not None]
    if superfat.without_waxes is None or not rows:
        return
    names = list(dict.fromkeys(short_name(tr(used[number].name)) for number in rows))
    what = all_of([tr("the {oil}", oil=f"{name[:1].lower()}{name[1:]}") for name in names])
    yield Caution(
        f"oils.{rows[0]}.oil",
        "wax-saponifies-in-part",
        tr("If none of {waxes} reacts, the superfat is {percent}.", waxes=what, percent=percent(superfat.without_waxes)),
        tr(
            "In cold process, lye takes a wax slowly and only in part; just its free acids are sure. The amounts are for a "
            "wax that reacts whole. The low end of the superfat is for one that doesn't."
        ),
    )


def water_cautions(formula: Formula) -> Iterator[Caution]:
    """Cautions for additives counted with their usual water, for a sheet that doesn't show their fields."""
    for number, row in enumerate(formula.additives):
        water = counted_water(row)
        if water.basis == "usual":
            yield Caution(
                f"additives.{number}.water_fraction",
                "usual-water-counted",
                tr(
                    "{additive} is counted as {percent} water.",
                    additive=tr(additives()[row.kind].label), percent=percent(water.fraction),
                ),
                tr("The formula doesn't say how much water is in it, so the usual amount comes off the water to pour."),
            )


def short_name(name: str) -> str:
    """An oil's name without what stands in brackets: "Jojoba oil (liquid wax ester)" is "Jojoba oil"."""
    return name.partition(" (")[0]


def _from_source(source: str) -> str:
    """The source as a sentence. A habit stands as it is: it has no source to name."""
    said = tr(source)
    if source.lower().startswith("common practice"):
        return f"{said[0].upper()}{said[1:]}."
    return tr("Source: {source}.", source=said)
