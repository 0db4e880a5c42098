"""What a formula is by chemistry, per kilogram of oils, before any mould or scale is chosen."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from calc.chemistry.oils import OilBlend
from calc.chemistry.superfat import AlkaliAmount, BestQuestion, SuperfatInterval, best_question, superfat_interval
from calc.chemistry.water import WaterStated, stated_three_ways
from calc.entry.problems import Caution
from calc.formula.chemistry import (
    PURE_HYDROXIDE,
    OilUsed,
    acid_amounts,
    blend_of,
    chemistry_cautions,
    glycerol_g,
    hydroxide_needed,
    oil_amounts,
    oils_used,
    plan_lye,
)
from calc.formula.declaration import Formula
from calc.tables.rows import Oil
from calc.workshop.lots import OilLot

OILS_G = 1000.0


@dataclass(frozen=True)
class FormulaSheet:
    """Masses are per kilogram of oils; the superfat interval holds the oils' spread only."""

    name: str
    oils: tuple[OilUsed, ...]
    blend: OilBlend
    naoh_g: float  # pure hydroxide
    koh_g: float
    water: WaterStated
    lye_itself_fraction: float  # strength of the lye itself, without the water that additives bring at trace
    batter_g: float
    glycerol_g: float
    water_share_fraction: float  # of the batter; the rest is solids
    superfat_stated_fraction: float
    superfat: SuperfatInterval
    question: BestQuestion | None
    free_lye_possible: bool
    cautions: tuple[Caution, ...]


def formula_sheet(formula: Formula, oils: Mapping[str, Oil], lots: Mapping[str, OilLot]) -> FormulaSheet:
    """The chemistry of a formula per kg of oils, from pure hydroxide and exact masses.

    oils: every known oil by key. lots: the lot in use by oil key; its certificate goes before the table.
    Raises InputProblems for an unknown oil, or when the lye can't be made as stated.
    """
    used = oils_used(formula, oils, lots)
    oils_g = [row.share_fraction * OILS_G for row in used]
    additives_g = [row.share_fraction * OILS_G for row in formula.additives]
    needed = hydroxide_needed(formula, used, oils_g, additives_g)
    plan = plan_lye(formula, needed, OILS_G, additives_g, {"naoh": PURE_HYDROXIDE, "koh": PURE_HYDROXIDE})
    alkalis = [
        AlkaliAmount(name, pure_g, 1.0, alkali)
        for name, alkali, pure_g in (("NaOH", "naoh", needed.naoh_g), ("KOH", "koh", needed.koh_g))
        if pure_g > 0.0
    ]
    amounts = oil_amounts(used, oils_g), alkalis, acid_amounts(formula, additives_g)
    interval = superfat_interval(*amounts)
    batter_g = OILS_G * (1.0 + formula.scent_fraction) + plan.lye_g + math.fsum(additives_g)
    return FormulaSheet(
        name=formula.name,
        oils=used,
        blend=blend_of(used, oils_g, lots),
        naoh_g=needed.naoh_g,
        koh_g=needed.koh_g,
        water=stated_three_ways(plan.strength_fraction, OILS_G, math.fsum(needed)),
        lye_itself_fraction=plan.mixed_strength_fraction,
        batter_g=batter_g,
        glycerol_g=glycerol_g(used, oils_g, needed, formula.superfat_fraction),
        water_share_fraction=plan.water_g / batter_g,
        superfat_stated_fraction=formula.superfat_fraction,
        superfat=interval,
        question=best_question(*amounts),
        free_lye_possible=interval.low < 0.0,
        cautions=(*plan.cautions, *chemistry_cautions(formula, used, interval)),
    )
