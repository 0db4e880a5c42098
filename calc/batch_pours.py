"""The amounts of one block in the order they are poured, each rounded to the scale that weighs it.

Order: lye that is made apart (caustic into water), oils and then lye into the vessel, late fat, additives and scent at
trace. The lye is reckoned from the oils as rounded, so that rounding one does not add to rounding the other.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from calc.batch_order import BatchSetting
from calc.formula_chemistry import OilUsed, hydroxide_needed, plan_lye
from calc.language import tr
from calc.lye import Hydroxide, hydroxide_fraction
from calc.problems import Caution, InputProblems, Problem
from calc.reference import additives, constant
from calc.shown import percent
from calc.water import AlkaliSource, LyePlan
from calc.weighing import Choice, Scale, choose_scale, round_to_division
from calc.workshop import AlkaliLot, ScaleItem

ALKALI_NAMES = {"naoh": "Caustic soda (NaOH)", "koh": "Caustic potash (KOH)"}


@dataclass(frozen=True)
class Pour:
    """One amount of one block."""

    key: str  # stable within a sheet: "oil:0", "lye:naoh", "water", "lye:made", "additive:0", "scent"
    name: str
    phase: str  # "lye" (made apart, before all else), "vessel", "trace"
    lot: str | None  # code of the lot in use
    exact_g: float
    target_g: float  # rounded to the division of the scale
    scale: str
    unit: str  # the unit its display shows
    division_g: float
    limit_g: float  # the scale's limit of error at this load
    in_vessel: bool  # poured straight into the vessel on its scale, else weighed apart
    running_g: float | None  # net in the vessel after this pour, as the scale under it would show


@dataclass(frozen=True)
class Pours:
    """All pours of one block and what they were reckoned from."""

    rows: tuple[Pour, ...]
    oils: tuple[Pour, ...]  # in the order of the formula's rows
    additives: tuple[Pour, ...]
    alkalis: dict[str, Pour]  # the weighed source of each hydroxide
    scent_g: float
    needed: Hydroxide  # for the oils as rounded
    plan: LyePlan
    cautions: tuple[Caution, ...]

    @property
    def batter_g(self) -> float:
        """All that goes into the vessel [g]."""
        return math.fsum(pour.target_g for pour in self.rows if pour.key != "lye:made")

    @property
    def lye_g(self) -> float:
        """Alkali sources and water [g]."""
        return self.batter_g - math.fsum(pour.target_g for pour in (*self.oils, *self.additives)) - self.scent_g


def scales_of(items: Sequence[ScaleItem], scheme: str) -> dict[str, tuple[Scale, ScaleItem]]:
    """The shop's scales with the limits they are held to; a plate without a class is taken as class III.

    Class IIII has no row in Handbook 44's table here and is held to OIML R 76 under either scheme.
    """
    found = {}
    for entry in items:
        accuracy_class = "III" if entry.accuracy_class == "unmarked" else entry.accuracy_class
        held_to = "R76" if accuracy_class == "IIII" else scheme
        if entry.division_g > entry.capacity_g:
            raise InputProblems(
                Problem(
                    "",
                    "division-over-capacity",
                    tr("{scale}: its division is larger than its capacity.", scale=entry.name),
                    tr("Correct the scale in the Workshop."),
                )
            )
        found[entry.name] = (Scale(entry.name, entry.capacity_g, entry.division_g, held_to, accuracy_class), entry)
    return found


def vessel_scale(scales: Mapping[str, tuple[Scale, ScaleItem]]) -> tuple[Scale, ScaleItem]:
    """The scale that the vessel stands on: the one of largest capacity, of two such the finer."""
    return max(scales.values(), key=lambda pair: (pair[0].capacity_g, -pair[0].division_g))


def alkali_sources(setting: BatchSetting) -> dict[str, AlkaliSource]:
    """The lots that the formula's alkali comes from; a problem for each that is missing or of the wrong kind."""
    wanted = ("naoh", "koh") if setting.formula.alkali == "both" else (setting.formula.alkali,)
    problems = []
    for alkali in wanted:
        lot = setting.alkali_lots.get(alkali)
        if lot is None or lot.alkali != alkali:
            what = ALKALI_NAMES[alkali]
            said = f"The formula uses {what}; no lot of it is chosen." if lot is None else f"{lot.code} is not {what}."
            problems.append(Problem(f"{alkali}_lot", "alkali-lot-missing", said, f"Choose a lot of {what}."))
    if problems:
        raise InputProblems(*problems)
    return {alkali: _source_chosen(setting.alkali_lots[alkali]) for alkali in wanted}


def _source_chosen(lot: AlkaliLot) -> AlkaliSource:
    try:
        return source_of(lot)
    except InputProblems as faults:
        found = [replace(each, field=f"{lot.alkali}_lot", message=f"{lot.code}: {each.message}") for each in faults.problems]
        raise InputProblems(*found) from faults


def source_of(lot: AlkaliLot) -> AlkaliSource:
    """What a lot holds: a solid's assay less what its carbonate accounts for, or a premixed lye's strength.

    Raises InputProblems where the carbonate leaves no hydroxide.
    """
    stated = lot.assay_fraction if lot.form == "solid" else lot.strength_fraction
    assert stated is not None
    carbonate = lot.carbonate_fraction or 0.0
    try:
        return AlkaliSource(lot.form, hydroxide_fraction(stated, carbonate, lot.alkali))
    except ValueError as nothing_left:
        message = tr("{carbonate} of carbonate leaves no hydroxide in {stated}.", carbonate=percent(carbonate), stated=percent(stated))
        remedy = tr("Look at the lot's papers: carbonate is usually under 3 %.")
        raise InputProblems(Problem("carbonate_fraction", "no-hydroxide", message, remedy)) from nothing_left


class _Weigher:
    """Chooses scales one pour after the other and keeps what is in the vessel."""

    def __init__(self, setting: BatchSetting) -> None:
        self._scales = scales_of(setting.scales, setting.shop.tolerance_scheme)
        self._under_vessel, self._under_entry = vessel_scale(self._scales)
        self._tare_g = setting.vessel.tare_g
        self.running_g = 0.0
        self.cautions: list[Caution] = []

    def pour(
        self, key: str, name: str, phase: str, exact_g: float, *, lot: str | None = None, straight: bool = False
    ) -> Pour:
        """One amount; straight into the vessel on its scale, or weighed apart."""
        allowed = constant("allowed_error_small" if phase == "trace" else "allowed_error_main").value
        try:
            choice = choose_scale(
                [scale for scale, _ in self._scales.values()],
                exact_g,
                in_vessel=straight,
                allowed_error_fraction=allowed,
                already_on_g=self._tare_g + self.running_g,
                field=key,
            )
        except InputProblems as faults:
            raise InputProblems(*(_about(name, problem) for problem in faults.problems)) from faults
        self.cautions += [Caution(key, c.code, f"{name}: {c.message}", c.reason) for c in choice.cautions]
        if phase != "lye":
            self.running_g += choice.pour_g
        return self._made(key, name, phase, exact_g, lot, choice, straight and not choice.apart)

    def shows(self, mass_g: float) -> bool:
        """Whether any scale would show this amount at all."""
        return any(mass_g >= scale.division_g / 2.0 for scale, _ in self._scales.values())

    def lye_made(self, parts: Sequence[Pour]) -> Pour:
        """The lye just made, all of it poured into the vessel: nothing is weighed anew.

        Told as the vessel's scale shows it; where that would show nothing, as the scales it was weighed on do.
        """
        mass_g = math.fsum(pour.target_g for pour in parts)
        self.running_g += mass_g
        scale, entry = self._under_vessel, self._under_entry
        if round_to_division(mass_g, scale.division_g) == 0.0:
            scale, entry = self._scales[max(parts, key=lambda pour: pour.division_g).scale]
        return Pour(
            "lye:made",
            "All of the lye just made",
            "vessel",
            None,
            mass_g,
            round_to_division(mass_g, scale.division_g),
            scale.name,
            entry.reads_in,
            scale.division_g,
            0.0,
            True,
            self._shown_running_g(),
        )

    def _shown_running_g(self) -> float:
        return round_to_division(self.running_g, self._under_vessel.division_g)

    def _made(
        self, key: str, name: str, phase: str, exact_g: float, lot: str | None, choice: Choice, in_vessel: bool
    ) -> Pour:
        return Pour(
            key,
            name,
            phase,
            lot,
            exact_g,
            choice.pour_g,
            choice.scale.name,
            self._scales[choice.scale.name][1].reads_in,
            choice.scale.division_g,
            choice.limit_of_error_g,
            in_vessel,
            None if phase == "lye" else self._shown_running_g(),
        )


def pours(
    setting: BatchSetting, used: Sequence[OilUsed], sources: dict[str, AlkaliSource], oils_total_g: float
) -> Pours:
    """Every amount of one block for so many grams of oils. Raises InputProblems when a scale or the lye can't do it."""
    formula = setting.formula
    weigher = _Weigher(setting)
    exact_oils_g = [row.share_fraction * oils_total_g for row in used]
    # Late fat, additives and scent are weighed apart before the vessel's running weight reaches them: size them first.
    trial = _Weigher(setting)
    oils_g = [
        trial.pour(f"oil:{n}", row.name, "trace" if row.late else "vessel", exact_g, straight=not row.late).target_g
        for n, (row, exact_g) in enumerate(zip(used, exact_oils_g, strict=True))
    ]
    additives_exact_g = [row.share_fraction * oils_total_g for row in formula.additives]
    needed = hydroxide_needed(formula, used, oils_g, additives_exact_g)
    plan = plan_lye(formula, needed, math.fsum(oils_g), additives_exact_g, sources)

    weighed = {"naoh": plan.naoh_source_g, "koh": plan.koh_source_g}
    premixed = all(source.form == "premixed" for source in sources.values())
    phase = "vessel" if premixed else "lye"
    rows: list[Pour] = []
    alkalis: dict[str, Pour] = {}

    def pour_lye() -> None:
        if weigher.shows(plan.water_to_add_g):
            name = "Water" if premixed else "Water, into the lye pail first"
            rows.append(weigher.pour("water", name, phase, plan.water_to_add_g, straight=premixed))
        for alkali in sources:
            lot = setting.alkali_lots[alkali]
            name = f"{ALKALI_NAMES[alkali]}{' lye' if lot.form == 'premixed' else ', into the water'}"
            made = weigher.pour(f"lye:{alkali}", name, phase, weighed[alkali], lot=lot.code, straight=premixed)
            alkalis[alkali] = made
            rows.append(made)

    if not premixed:
        pour_lye()
    oil_rows: dict[int, Pour] = {}
    for late in (False, True):
        for n, (row, exact_g) in enumerate(zip(used, exact_oils_g, strict=True)):
            if row.late == late:
                oil_rows[n] = weigher.pour(
                    f"oil:{n}",
                    row.name,
                    "trace" if late else "vessel",
                    exact_g,
                    lot=row.lot,
                    straight=not late,
                )
                rows.append(oil_rows[n])
        if not late:
            if premixed:
                pour_lye()
            else:
                rows.append(weigher.lye_made([pour for pour in rows if pour.phase == "lye"]))
    additive_rows = []
    for n, (extra, exact_g) in enumerate(zip(formula.additives, additives_exact_g, strict=True)):
        additive_rows.append(weigher.pour(f"additive:{n}", additives()[extra.kind].label, "trace", exact_g))
    rows += additive_rows
    scent_g = 0.0
    if formula.scent_fraction > 0.0:
        name, lots = ("Scent", None) if setting.scent is None else (f"Scent {setting.scent.name}", setting.scent.lots)
        rows.append(weigher.pour("scent", name, "trace", formula.scent_fraction * oils_total_g, lot=lots))
        scent_g = rows[-1].target_g
    return Pours(
        tuple(rows),
        tuple(oil_rows[n] for n in range(len(used))),
        tuple(additive_rows),
        alkalis,
        scent_g,
        needed,
        plan,
        (*plan.cautions, *weigher.cautions),
    )


def _about(name: str, problem: Problem) -> Problem:
    return Problem("", problem.code, f"{name}: {problem.message}", problem.remedy)
