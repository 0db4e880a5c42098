"""The batch sheet: a formula, a mould and a number of blocks become amounts in the order they are poured.

Each block is weighed on its own: masses are for one block unless the name says otherwise.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from calc.batch.assumed import assumed_cautions
from calc.batch.order import BatchOrder, BatchSetting
from calc.batch.pours import Portion, Pour, Pours, alkali_sources, pours, stated_as
from calc.batch.size import batch_size, cutting, proportions
from calc.batch.soap import (
    SoapsTaken,
    carried,
    lots_taken,
    may_be_taken,
    question_with,
    set_density_g_per_ml,
    soap_cautions,
    soaps_taken,
    with_soap,
)
from calc.batch.tank_blend import TankBlend, tank_blend
from calc.chemistry.density import batter_volume_ml, lye_density_g_per_ml
from calc.chemistry.lye import Hydroxide, koh_per_g
from calc.chemistry.oils import OilBlend
from calc.chemistry.superfat import (
    AcidAmount,
    AlkaliAmount,
    BestQuestion,
    OilAmount,
    SuperfatInterval,
    best_question,
    superfat_interval,
)
from calc.chemistry.water import STRONGEST_LYE, AlkaliSource, WaterStated, stated_three_ways
from calc.cut.planned import PlannedCut
from calc.entry.language import tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import level, percent, points, room, weight
from calc.formula.chemistry import (
    OilUsed,
    acid_amounts,
    blend_of,
    chemistry_cautions,
    glycerol_g,
    oil_amounts,
    oils_demand_koh_g,
    oils_used,
    water_cautions,
)
from calc.mould.bars import BarYield
from calc.mould.scaling import fill_height_mm
from calc.scent.batch import BatchScent, batch_scent, cured_g, limits_of, scent_cautions, tightest_kept
from calc.scent.carried import left_by, taken_fraction
from calc.scent.limits import ScentLimits, load_of
from calc.tables.reference import constant
from calc.workshop.equipment import Mould, ScaleItem, Vessel
from calc.workshop.scales import scales_of, vessel_scale

ROOM_TO_MIX_FRACTION = constant("room_to_mix").value
LOWEST_FILL_MM = constant("fill_lowest").value
COARSE_FRACTION = constant("rounding_told").value
CAUSTIC_SHARE_TOLD = constant("caustic_share_told").value
LOW_BY_MM = constant("bars_low_told").value


@dataclass(frozen=True)
class BatchSheet:
    """Everything the sheet shows."""

    formula_name: str
    formula_revision: int
    mould: Mould
    vessel: Vessel
    vessel_scale: ScaleItem  # under the vessel: what is in it is shown as this display would
    tare: Portion  # the empty vessel on that scale
    oil_temperature_c: float
    lye_temperature_c: float
    notes: str | None  # the formula's
    blocks: int
    size_note: str  # how the number of blocks or the mass came about, in one sentence
    pours: tuple[Pour, ...]
    oil_blend: Pour | None  # the one weighing of the vessel's oils where they come blended; they stand in `pours` too
    tank: TankBlend | None  # what that blend is made up of
    lye_per_ml: Mapping[str, float]  # density of each premixed lye as it stands in its tank [g/ml]; none outside the table
    batter_g: float
    batter_ml: float
    fill_height_mm: float
    superfat_stated_fraction: float
    superfat: SuperfatInterval  # of the amounts as rounded to the scales
    question: BestQuestion | None  # the certificate worth asking for
    rounding_fraction: float  # what rounding to the scales' displays adds to the superfat
    free_lye_possible: bool  # the lower end of the interval lies under 0 %
    naoh_g: float  # pure hydroxide, as reckoned
    koh_g: float
    hydroxide: Hydroxide  # the same as the displays show it
    oils: tuple[OilUsed, ...]
    oils_g: float
    blend: OilBlend
    water: WaterStated
    lye_itself_fraction: float  # its strength without the water that additives bring at trace
    water_g: float  # all water of the block: the bound of what curing can lose
    glycerol_g: float
    scent: BatchScent | None  # None without a scent, or where the formula names none
    soap: SoapsTaken | None  # what goes in of soap set aside before
    bars: BarYield | None
    cut: PlannedCut | None  # None where no bar comes out, or nothing is chosen to cut with
    cautions: tuple[Caution, ...]

    @property
    def bar_g(self) -> float | None:
        """What most of its bars weigh fresh [g]."""
        return None if self.cut is None else self.cut.bar_g.used

    @property
    def weighed(self) -> tuple[Pour, ...]:
        """The pours as they are weighed: one for all oils that come blended, in the place of the first of them."""
        if self.oil_blend is None:
            return self.pours
        whole = replace(self.oil_blend, running=[pour.running for pour in self.pours if pour.blend_share < 1.0][-1])
        first = next(pour.key for pour in self.pours if pour.blend_share < 1.0)
        return tuple(whole if pour.key == first else pour for pour in self.pours if pour.key == first or pour.blend_share == 1.0)

    @property
    def water_share_fraction(self) -> float:
        """Water in the batter, at most; the rest is solids."""
        return self.water_g / self.batter_g


def batch_sheet(order: BatchOrder, setting: BatchSetting) -> BatchSheet:
    """The sheet for an order, from what is in the shop for it. Raises InputProblems with what stands in the way."""
    if not setting.scales:
        raise InputProblems(Problem("", "no-scale", tr("There's no scale in the workshop."), tr("Add a scale in Workshop.")))
    formula, mould = setting.formula, setting.mould
    used = oils_used(formula, setting.oils, setting.oil_lots)
    sources = alkali_sources(setting)
    old = lots_taken([(row.lot, row.taken_g) for row in order.soaps], setting.set_aside)
    soap_g, per_ml = math.fsum(mass_g for _, mass_g in old), set_density_g_per_ml(setting.shop)
    parts = replace(proportions(setting, used, sources), soap_g=soap_g, soap_ml=soap_g / per_ml)
    plain = None if setting.scent is None or formula.scent_fraction <= 0.0 else limits_of(setting.scent, setting.shop)
    scarce = order.oil_left if order.scale_to == "oil_left" else None

    def limits_for(oils_g: float) -> tuple[ScentLimits | None, float]:
        """The scent's limits beside what old soap brings, and the tightest that it keeps to as ordered, before anything is rounded."""
        if plain is None:
            return None, 1.0
        batter_per_oil = 1.0 + parts.lye_ratio + parts.other_ratio - formula.scent_fraction + soap_g / oils_g
        rest = cured_g(batter_per_oil, setting.shop)
        in_old = carried(old, oils_g * (rest + formula.scent_fraction))
        limits = left_by(plain, taken_fraction(in_old))
        return limits, tightest_kept(limits, load_of(formula.scent_fraction, rest))

    def block(oils_g: float) -> Pours:
        return pours(setting, used, sources, oils_g, limits_for(oils_g)[1], scarce, old)

    def takes_g(oils_g: float) -> float:
        return math.fsum(pour.target_g for row, pour in zip(used, block(oils_g).oils, strict=True) if row.key == scarce)

    size = batch_size(order, setting, used, parts, takes_g)
    made = block(size.oils_g)
    may_be_taken(old, made.batter_g, size.blocks, setting.units)
    old = [(lot, pour.target_g) for (lot, _), pour in zip(old, made.soaps, strict=True)]

    masses_g = [pour.target_g for pour in made.oils]
    densities = [density for _, density in parts.oils]
    other_g = made.scent_g + math.fsum(pour.target_g for pour in made.additives)
    batter_ml = batter_volume_ml(
        list(zip(masses_g, densities, strict=True)), made.lye_g, parts.lye_density_g_per_ml, other_g
    )
    batter_ml += math.fsum(mass_g for _, mass_g in old) / per_ml
    filled_mm = fill_height_mm(batter_ml, mould.length_mm, mould.width_mm)
    amounts = _amounts(setting, used, made)
    fresh = superfat_interval(*amounts)
    in_bars = carried(old, cured_g(made.batter_g - made.scent_g, setting.shop) + made.scent_g)
    limits = None if plain is None else left_by(plain, taken_fraction(in_bars))
    scent = None
    if setting.scent is not None and limits is not None and made.scent_g > 0.0:
        scent = batch_scent(setting.scent, limits, made.scent_g, math.fsum(masses_g), made.batter_g, setting.shop)
    soap = soaps_taken(old, in_bars, scent, [pour.name for pour in (*made.oils, *made.additives)], setting.shop, plain)
    interval = with_soap(fresh, oils_demand_koh_g(used, masses_g), soap)
    cut = cutting(setting, size.height_mm)
    bars = None if cut is None else cut.bars
    rounding = _rounding_fraction(setting, used, made)
    under, under_item = vessel_scale(scales_of(setting.scales, setting.shop.tolerance_scheme))
    return BatchSheet(
        formula_name=formula.name,
        formula_revision=setting.revision,
        mould=mould,
        vessel=setting.vessel,
        vessel_scale=under_item,
        tare=Portion(under.name, under.display, under.display.counts(setting.vessel.tare_g)),
        oil_temperature_c=formula.oils_poured_c,
        lye_temperature_c=formula.lye_poured_c,
        notes=formula.notes,
        blocks=size.blocks,
        size_note=size.note,
        pours=made.rows,
        oil_blend=made.blend,
        tank=None if made.blend is None else tank_blend(setting, made, made.blend, size.blocks),
        lye_per_ml=_lye_per_ml(setting, sources),
        batter_g=made.batter_g,
        batter_ml=batter_ml,
        fill_height_mm=filled_mm,
        superfat_stated_fraction=formula.superfat_fraction,
        superfat=interval,
        question=question_with(best_question(*amounts), fresh, interval),
        rounding_fraction=rounding,
        free_lye_possible=interval.low < 0.0,
        naoh_g=made.needed.naoh_g,
        koh_g=made.needed.koh_g,
        hydroxide=made.hydroxide,
        oils=used,
        oils_g=math.fsum(masses_g),
        blend=blend_of(used, masses_g, setting.oil_lots),
        water=stated_three_ways(made.plan.strength_fraction, math.fsum(masses_g), math.fsum(made.needed)),
        lye_itself_fraction=made.plan.mixed_strength_fraction,
        water_g=made.plan.water_g + (0.0 if soap is None else soap.water_g[1]),
        glycerol_g=glycerol_g(used, masses_g, made.needed, formula.superfat_fraction),
        scent=scent,
        soap=soap,
        bars=bars,
        cut=None if cut is None else cut.cut,
        cautions=(
            *assumed_cautions(setting, made.rows),
            *_room(order, setting, filled_mm, batter_ml),
            *_block(setting, filled_mm, bars),
            *_lower_bars(setting, filled_mm, size.height_mm, bars),
            *made.cautions,
            *_rounding(rounding),
            *_caustics(setting, made),
            *chemistry_cautions(formula, used, interval),
            *water_cautions(formula),
            *scent_cautions(scent, made.scent_g),
            *soap_cautions(soap, scent, made.batter_g, size.blocks, setting.shop, setting.units),
            *_without_lot(used),
            *_stock(setting, used, made, size.blocks),
        ),
    )


def _amounts(
    setting: BatchSetting, used: Sequence[OilUsed], made: Pours
) -> tuple[list[OilAmount], list[AlkaliAmount], list[AcidAmount]]:
    """The rounded amounts with all that is unknown of them: oils' spread, assay or strength, and every weighing."""
    alkalis = []
    for alkali, pour in made.alkalis.items():
        lot = setting.alkali_lots[alkali]
        hydroxide = made.needed.of(alkali) / pour.exact_g
        relative = ((stated_as(lot), lot.stated.plus_minus_fraction / hydroxide),)
        alkalis.append(
            AlkaliAmount(lot.code, pour.target_g, hydroxide, alkali, relative, pour.limit_g, pour.division_g)
        )
    return (
        oil_amounts(used, [p.target_g for p in made.oils], [(p.limit_g, p.step_g) for p in made.oils]),
        alkalis,
        acid_amounts(
            setting.formula,
            [p.target_g for p in made.additives],
            [(p.limit_g, p.division_g) for p in made.additives],
        ),
    )


def _rounding_fraction(setting: BatchSetting, used: Sequence[OilUsed], made: Pours) -> float:
    """What the alkali as rounded leaves of the oils' demand beside the stated superfat; oils and acids are reckoned as rounded."""
    demand_g = oils_demand_koh_g(used, [pour.target_g for pour in made.oils])
    missing_g = []
    for alkali, pour in made.alkalis.items():
        source_g = pour.exact_g - pour.target_g
        missing_g.append(koh_per_g(alkali, source_g * made.needed.of(alkali) / pour.exact_g))
    return math.fsum(missing_g) / demand_g


def _lye_per_ml(setting: BatchSetting, sources: Mapping[str, AlkaliSource]) -> dict[str, float]:
    """Density of each premixed lye [g/ml] at the temperature it is poured at, as far as the table goes."""
    return {
        alkali: lye_density_g_per_ml(alkali, source.hydroxide_fraction, setting.formula.lye_poured_c)
        for alkali, source in sources.items()
        if source.form == "premixed" and source.hydroxide_fraction <= STRONGEST_LYE
    }


def _rounding(rounding_fraction: float) -> tuple[Caution, ...]:
    """A display too coarse for the lye."""
    if abs(rounding_fraction) < COARSE_FRACTION:
        return ()
    return (
        Caution(
            "",
            "lye-rounded",
            tr("Rounding to the scales moves the superfat by {points} percentage points.", points=points(rounding_fraction, 2)),
            tr("Alkali is rounded down so there's never too much. A finer scale gets closer."),
        ),
    )


def _caustics(setting: BatchSetting, made: Pours) -> tuple[Caution, ...]:
    """Two caustics in another mix than the formula's: one makes up for what the other's display can't show."""
    if len(made.alkalis) < 2:
        return ()
    off = {alkali: abs(made.hydroxide.of(alkali) / made.needed.of(alkali) - 1.0) for alkali in made.alkalis}
    most = max(off, key=lambda alkali: off[alkali])
    if off[most] < CAUSTIC_SHARE_TOLD:
        return ()
    poured, meant = (weight(hydroxide.of(most), setting.units) for hydroxide in (made.hydroxide, made.needed))
    return (
        Caution(
            "",
            "caustic-mix-rounded",
            tr(
                "Rounding to the scales changes the mix of caustics: {poured} of pure {alkali} instead of {meant}.",
                poured=poured, alkali={"naoh": "NaOH", "koh": "KOH"}[most], meant=meant,
            ),
            tr("The mix decides how hard or soft the soap gets. A finer scale or a bigger block gets closer."),
        ),
    )


def _lower_bars(
    setting: BatchSetting, filled_mm: float, height_mm: float, bars: BarYield | None
) -> tuple[Caution, ...]:
    """Bars that are counted at the ordered height, and would come out low by more than anybody overlooks."""
    if bars is None or height_mm - filled_mm < LOW_BY_MM:
        return ()
    lower = cutting(setting, filled_mm)
    if lower is None or lower.bars.up == bars.up:
        return ()
    return (
        Caution(
            "cutter",
            "bars-come-out-low",
            tr("Rounding to the scales leaves the block {by} lower than ordered.", by=level(height_mm - filled_mm, setting.units)),
            tr("The bars in one layer come out that much lower. A finer scale, or a little more in each block, fixes it."),
        ),
    )


def _room(order: BatchOrder, setting: BatchSetting, filled_mm: float, batter_ml: float) -> tuple[Caution, ...]:
    """Whether mould and vessel hold it: a problem when not, a caution when only just."""
    mould, vessel = setting.mould, setting.vessel
    problems = []
    if filled_mm > mould.height_mm:
        field = {"fill_height": "fill_height_mm", "batch_mass": "batch_mass_g"}.get(order.scale_to, "mould")
        problems.append(
            Problem(
                field,
                "mould-overflows",
                tr(
                    "The batter would come up to {filled}, but {mould} is only {height} high.",
                    filled=level(filled_mm, setting.units), mould=mould.name, height=level(mould.height_mm, setting.units),
                ),
                tr("Make smaller blocks, or choose a bigger mold."),
            )
        )
    if batter_ml > vessel.capacity_ml:
        problems.append(
            Problem(
                "vessel",
                "vessel-overflows",
                tr(
                    "One block is {batter} of batter; {vessel} holds {most}.",
                    batter=room(batter_ml, setting.units), vessel=vessel.name, most=room(vessel.capacity_ml, setting.units),
                ),
                tr("Choose a bigger vessel, or make smaller blocks."),
            )
        )
    if problems:
        raise InputProblems(*problems)
    if batter_ml > vessel.capacity_ml * ROOM_TO_MIX_FRACTION:
        return (
            Caution(
                "vessel",
                "little-room-to-mix",
                tr("The batter fills {share} of {vessel}.", share=percent(batter_ml / vessel.capacity_ml, 0), vessel=vessel.name),
                tr("Mixing splashes: most people leave about {room} free above the batter (common practice, no source).", room=percent(1.0 - ROOM_TO_MIX_FRACTION, 0)),
            ),
        )
    return ()


def _block(setting: BatchSetting, filled_mm: float, bars: BarYield | None) -> tuple[Caution, ...]:
    """A block that no bar comes out of, or so low that it is hardly meant."""
    found = []
    if bars is not None and bars.total == 0:
        found.append(
            Caution(
                "cutter",
                "no-whole-bar",
                tr("The cutter doesn't fit: no whole bar comes out of {mould} at this height.", mould=setting.mould.name),
                tr("A bar is longer, wider or higher than the block after trimming."),
            )
        )
    if filled_mm < LOWEST_FILL_MM:
        found.append(
            Caution(
                "mould",
                "very-low-fill",
                tr("{mould} would only be filled to {height}.", mould=setting.mould.name, height=level(filled_mm, setting.units)),
                tr(
                    "A block under {least} is thinner than a bar: check the amount and its unit (common practice, no source).",
                    least=level(LOWEST_FILL_MM, setting.units),
                ),
            )
        )
    return tuple(found)


def _without_lot(used: Sequence[OilUsed]) -> tuple[Caution, ...]:
    """Oils that no lot in use stands for, all in one."""
    names = [tr(name) for name in dict.fromkeys(row.name for row in used if row.lot is None)]
    if not names:
        return ()
    return (
        Caution(
            "formula",
            "oil-without-lot",
            tr("No lot in use: {oils}.", oils=", ".join(names)),
            tr("Without a lot, the record can't say which delivery went in, and the superfat goes by the table, not by a "
               "certificate."),
        ),
    )


def _stock(setting: BatchSetting, used: Sequence[OilUsed], made: Pours, blocks: int) -> tuple[Caution, ...]:
    """Lots that hold less than all blocks take."""
    wanted: dict[tuple[str, str, float], float] = {}
    for row, pour in zip(used, made.oils, strict=True):
        lot = setting.oil_lots.get(row.key)
        if lot is not None and lot.left_g is not None:
            key = ("formula", lot.code, lot.left_g)
            wanted[key] = wanted.get(key, 0.0) + pour.target_g * blocks
    for alkali, pour in made.alkalis.items():
        alkali_lot = setting.alkali_lots[alkali]
        if alkali_lot.left_g is not None:
            wanted[f"{alkali}_lot", alkali_lot.code, alkali_lot.left_g] = pour.target_g * blocks
    return tuple(
        Caution(
            field,
            "lot-too-small",
            tr(
                "Lot {lot} has {left} left; this sheet takes {wanted}.",
                lot=code, left=weight(left_g, setting.units), wanted=weight(wanted_g, setting.units),
            ),
            tr("Have the next lot ready and check its certificate: its value may differ. A lot is less what closed blocks weighed; "
               "sheets that wait aren't counted."),
        )
        for (field, code, left_g), wanted_g in wanted.items()
        if wanted_g > left_g
    )
