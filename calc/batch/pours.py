"""The amounts of one block in the order they are poured, each rounded to the scale that weighs it.

Order: lye that is made apart (caustic into water), oils, soap set aside from earlier blocks and then lye into the vessel,
late fat, additives and scent at trace. The lye is reckoned from the oils, soap and acids as rounded, so that rounding one does not add to rounding the other,
and the scale, which knows no other amounts, reckons the same.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from calc.batch.hold_back import hold_back
from calc.batch.order import BatchSetting
from calc.batch.soap import SoapLot
from calc.chemistry.lye import Hydroxide, hydroxide_fraction, koh_per_g
from calc.chemistry.set_soap import brought_koh_g
from calc.chemistry.water import AlkaliSource, LyePlan
from calc.entry.language import tr
from calc.entry.problems import Caution, InputProblems, Problem
from calc.entry.shown import mass, percent, weight
from calc.formula.chemistry import OilUsed, hydroxide_needed, plan_lye
from calc.scales.display import Display
from calc.scales.weighing import ScaleChoice, choose_scale, limit_of_error_g
from calc.scent.batch import scent_within_g
from calc.tables.reference import additives, constant
from calc.workshop.lots import AlkaliLot
from calc.workshop.scales import scales_of, vessel_scale

# Caustic that is too much for the finest scale at once is weighed on it twice; more often, and one is forgotten.
MOST_PORTIONS = int(constant("portions_most").value)

BLEND = "oil:blend"  # key of the one pour of all oils of the vessel, where they come blended out of a tank

ALKALI_NAMES = {"naoh": "Caustic soda (NaOH)", "koh": "Caustic potash (KOH)"}


@dataclass(frozen=True)
class Portion:
    """What is weighed in one go: whole counts of one scale's display. Grams and words follow from the counts."""

    scale: str
    display: Display
    count: int

    @property
    def grams(self) -> float:
        """The mass that the display then shows [g]."""
        return self.display.grams(self.count)

    @property
    def text(self) -> str:
        """What the display then shows, with its unit."""
        return self.display.said(self.count)


Kind = Literal["oil", "alkali", "water", "lye made", "additive", "scent", "soap"]
Phase = Literal["lye", "vessel", "trace"]  # lye: made apart, before all else


@dataclass(frozen=True)
class Pour:
    """One amount of one block, weighed in one portion or more."""

    kind: Kind
    key: str  # stable within a sheet; beside those below "water", "lye:made", "scent"
    name: str
    phase: Phase
    lot: str | None  # code of the lot in use
    exact_g: float
    portions: tuple[Portion, ...]  # none of its own: all of the lye just made, and an oil that comes in a blend
    division_g: float  # of the scale of its first portion, as its plate states it
    limit_g: float  # the scale's limit of error at this load
    in_vessel: bool  # poured straight into the vessel on its scale, else weighed apart
    running: Portion | None  # net in the vessel after this pour, as the scale under it would show
    scent: str | None = None  # of a scent, what the maker calls it
    blend_share: float = 1.0  # of an oil that comes in a blend: its share of that one weighing
    blend_portion: Portion | None = None  # of such an oil: that weighing, perhaps on another scale than the vessel's
    additive: str | None = None  # of an additive, its key in the table

    @property
    def step_g(self) -> float:
        """What the display's division adds to the doubt about it [g].

        The oils of a blend err together, but sums take them as independent: roots of the shares keep the sum whole.
        """
        return math.sqrt(self.blend_share) * self.division_g

    @property
    def target_g(self) -> float:
        """What the displays show of it in all [g]."""
        return math.fsum(portion.grams for portion in self.portions) if self.portions else self.exact_g

    @property
    def texts(self) -> tuple[str, ...]:
        """What is to stand on the display, portion by portion; of what has no weighing of its own, what it adds there."""
        if self.portions:
            return tuple(portion.text for portion in self.portions)
        adds = self.display.counts(self.exact_g)
        return (self.display.said(adds) if adds else mass(self.exact_g, self.display.unit),)

    @property
    def scales(self) -> tuple[str, ...]:
        """Its scales, each once, in the order of use."""
        return tuple(dict.fromkeys(portion.scale for portion in self.portions))

    @property
    def scale(self) -> str:
        """The scale of its first portion; of an oil that comes in a blend the blend's, else the vessel's."""
        return self._first.scale

    @property
    def display(self) -> Display:
        """The display of that scale."""
        return self._first.display

    @property
    def _first(self) -> Portion:
        first = self.portions[0] if self.portions else self.blend_portion or self.running
        assert first is not None
        return first

    @property
    def total_text(self) -> str:
        """All that is weighed of it, as the display of its first portion would show it."""
        if len({portion.display for portion in self.portions}) > 1:
            return mass(self.target_g, self.display.unit, self.division_g)
        return self.display.said(int(math.fsum(portion.count for portion in self.portions)))

    def times_text(self, blocks: int, units: str) -> str:
        """All blocks together: as its display would show it, or to its decimals where no one display shows it all."""
        if len({portion.display for portion in self.portions}) > 1:
            return weight(blocks * self.target_g, units, self.division_g)
        counts = [portion.count for portion in self.portions] or [self.display.counts(self.exact_g)]
        return self.display.said(blocks * int(math.fsum(counts)))

    @property
    def limit_text(self) -> str:
        """The limit of error with the decimals of its display."""
        return mass(self.limit_g, self.display.unit, self.division_g)


def oil_key(row: int) -> str:
    """Of the pour of a row of the formula's oils."""
    return f"oil:{row}"


def soap_key(row: int) -> str:
    """Of the pour of a row of the order's set-aside soap."""
    return f"soap:{row}"


def lye_key(alkali: str) -> str:
    """Of the pour of an alkali's source, "naoh" or "koh"."""
    return f"lye:{alkali}"


def additive_key(row: int) -> str:
    """Of the pour of a row of the formula's additives."""
    return f"additive:{row}"


@dataclass(frozen=True)
class Pours:
    """All pours of one block and what they were reckoned from."""

    rows: tuple[Pour, ...]
    blend: Pour | None  # the one weighing of the vessel's oils, which stand in `rows` each with its share; None without one
    oils: tuple[Pour, ...]  # in the order of the formula's rows
    soaps: tuple[Pour, ...]  # in the order of the order's rows
    additives: tuple[Pour, ...]
    alkalis: dict[str, Pour]  # the weighed source of each hydroxide
    scent_g: float
    needed: Hydroxide  # for the oils as rounded
    plan: LyePlan
    cautions: tuple[Caution, ...]

    @property
    def batter_g(self) -> float:
        """All that goes into the vessel [g]."""
        return math.fsum(pour.target_g for pour in self.rows if pour.kind != "lye made")

    @property
    def hydroxide(self) -> Hydroxide:
        """The pure hydroxide in what the displays show."""
        of_it = {alkali: self.needed.of(alkali) * pour.target_g / pour.exact_g for alkali, pour in self.alkalis.items()}
        return Hydroxide(of_it.get("naoh", 0.0), of_it.get("koh", 0.0))

    @property
    def lye_g(self) -> float:
        """Alkali sources and water [g]."""
        others_g = math.fsum(pour.target_g for pour in (*self.oils, *self.soaps, *self.additives))
        return self.batter_g - others_g - self.scent_g


def alkali_sources(setting: BatchSetting) -> dict[str, AlkaliSource]:
    """The lots that the formula's alkali comes from; a problem for each that is missing or of the wrong kind."""
    wanted = ("naoh", "koh") if setting.formula.alkali == "both" else (setting.formula.alkali,)
    problems = []
    for alkali in wanted:
        lot = setting.alkali_lots.get(alkali)
        if lot is None or lot.alkali != alkali:
            what = tr(ALKALI_NAMES[alkali])
            said = tr("The formula uses {alkali}, but no lot is chosen.", alkali=what)
            if lot is not None:
                said = tr("{lot} isn't {alkali}.", lot=lot.code, alkali=what)
            problems.append(Problem(f"{alkali}_lot", "alkali-lot-missing", said, tr("Choose a lot of {alkali}.", alkali=what)))
    if problems:
        raise InputProblems(*problems)
    return {alkali: _source_chosen(setting.alkali_lots[alkali]) for alkali in wanted}


def _source_chosen(lot: AlkaliLot) -> AlkaliSource:
    try:
        return source_of(lot)
    except InputProblems as faults:
        found = [replace(each, field=f"{lot.alkali}_lot", message=f"{lot.code}: {each.message}") for each in faults.problems]
        raise InputProblems(*found) from faults


def stated_as(lot: AlkaliLot) -> Literal["assay", "strength"]:
    """What its papers state of a lot: the assay of a solid, the strength of a premixed lye."""
    return "assay" if lot.form == "solid" else "strength"


def source_of(lot: AlkaliLot) -> AlkaliSource:
    """What a lot holds: a solid's assay less what its carbonate accounts for, or a premixed lye's strength.

    Raises InputProblems where the carbonate leaves no hydroxide.
    """
    stated = lot.stated.fraction
    carbonate = lot.carbonate_fraction or 0.0
    try:
        return AlkaliSource(lot.form, hydroxide_fraction(stated, carbonate, lot.alkali))
    except ValueError as nothing_left:
        message = tr("{carbonate} of carbonate leaves no hydroxide in {stated}.", carbonate=percent(carbonate), stated=percent(stated))
        remedy = tr("Look at the lot's papers: carbonate is usually under {most}.", most=percent(constant("carbonate_usual_most").value))
        raise InputProblems(Problem("carbonate_fraction", "no-hydroxide", message, remedy)) from nothing_left


@dataclass(frozen=True)
class _Wanted:
    """An amount as reckoned [g], before a scale is chosen for it."""

    kind: Kind
    key: str
    name: str
    phase: Phase
    exact_g: float
    lot: str | None = None
    scent: str | None = None
    additive: str | None = None
    down: bool = False  # rounded down to its display, for what there is no more of or what must never be too much
    most_g: float = math.inf  # rounding may not take it over this, what its limit allows
    makes_up_g: float = 0.0  # of a lye: what it adds for the lye before it, whose display can't show all of its share

    @property
    def straight(self) -> bool:
        """Whether it is meant to go straight into the vessel on its scale."""
        return self.phase == "vessel"

    @property
    def is_alkali(self) -> bool:
        """Whether it is lye or caustic; where solid, it goes on the finest scale that there is."""
        return self.kind == "alkali"


class _Weigher:
    """Chooses scales one pour after the other and keeps what is in the vessel."""

    def __init__(self, setting: BatchSetting) -> None:
        scales = scales_of(setting.scales, setting.shop.tolerance_scheme)
        self._scales = [scale for scale, _ in scales.values()]
        self._under_vessel = vessel_scale(scales)[0]
        self._tare_g = setting.vessel.tare_g
        self._held_back_fraction = setting.habits.hold_back_fraction
        # Straight out of the pitcher into the vessel, the top-up too is read on the vessel's scale.
        self._for_top_up = [self._under_vessel] if setting.habits.top_up == "vessel" else self._scales
        self.running_g = 0.0
        self.cautions: list[Caution] = []

    def pour(self, wanted: _Wanted) -> Pour:
        """One amount; straight into the vessel on its scale, or weighed apart."""
        try:
            choice = self._choice(wanted, wanted.exact_g + wanted.makes_up_g, down=wanted.down)
            if choice.pour_g > wanted.most_g:
                choice = self._choice(wanted, min(wanted.exact_g, wanted.most_g), down=True)
        except InputProblems as faults:
            raise InputProblems(*(_about(wanted.name, problem) for problem in faults.problems)) from faults
        self.cautions += [Caution(wanted.key, c.code, f"{wanted.name}: {c.message}", c.reason) for c in choice.cautions]
        portions, limit_g = self._portions(choice, wanted)
        if wanted.phase != "lye":
            self.running_g += math.fsum(portion.grams for portion in portions)
        return Pour(
            wanted.kind,
            wanted.key,
            wanted.name,
            wanted.phase,
            wanted.lot,
            wanted.exact_g,
            portions,
            choice.scale.division_g,
            limit_g,
            wanted.straight and not choice.apart,
            None if wanted.phase == "lye" else self._running(self.running_g),
            wanted.scent,
            additive=wanted.additive,
        )

    def _choice(self, wanted: _Wanted, mass_g: float, *, down: bool) -> ScaleChoice:
        return choose_scale(
            self._scales,
            mass_g,
            in_vessel=wanted.straight,
            allowed_error_fraction=constant("allowed_error_small" if wanted.phase == "trace" else "allowed_error_main").value,
            already_on_g=self._tare_g + self.running_g,
            field=wanted.key,
            down=down,
            most_portions=MOST_PORTIONS if wanted.is_alkali and not wanted.straight else 1,
        )

    def lyes(self, lyes: Sequence[_Wanted], sources: dict[str, AlkaliSource]) -> list[Pour]:
        """Water and lyes straight from their tanks: of two lyes the last makes up what the first one's display can't show.

        So does the scale, once the first is weighed.
        """
        per_g = {lye_key(alkali): koh_per_g(alkali, source.hydroxide_fraction) for alkali, source in sources.items()}
        found, missing_koh_g = [], 0.0
        for each in lyes:
            if each.is_alkali:
                each = replace(each, makes_up_g=missing_koh_g / per_g[each.key])
            found.append(self.pour(each))
            if each.is_alkali:
                missing_koh_g += (each.exact_g - found[-1].target_g) * per_g[each.key]
        return found

    def oils(self, oils: Sequence[_Wanted], *, blended: bool) -> tuple[list[Pour], Pour | None]:
        """The oils of the vessel: one by one, or all in one weighing that is shared out among them by the formula."""
        if not blended or len(oils) < 2:
            return [self.pour(oil) for oil in oils], None
        before_g, exact_g = self.running_g, math.fsum(oil.exact_g for oil in oils)
        blend = self.pour(_Wanted("oil", BLEND, "Oil blend", "vessel", exact_g, down=any(oil.down for oil in oils)))
        found, running_g = [], before_g
        for oil in oils:
            share = oil.exact_g / exact_g
            of_it_g = share * blend.target_g
            running_g += of_it_g
            found.append(
                Pour(
                    oil.kind,
                    oil.key,
                    oil.name,
                    oil.phase,
                    oil.lot,
                    of_it_g,
                    (),
                    blend.division_g,
                    math.sqrt(share) * blend.limit_g,
                    blend.in_vessel,
                    self._running(running_g),
                    blend_share=share,
                    blend_portion=blend.portions[0],
                )
            )
        return found, blend

    def shows(self, mass_g: float) -> bool:
        """Whether any scale would show this amount at all."""
        return any(scale.display.counts(mass_g) > 0 for scale in self._scales)

    def lye_made(self, mass_g: float) -> Pour:
        """The lye just made, all of it poured into the vessel: nothing is weighed anew."""
        self.running_g += mass_g
        name, division_g = "All of the lye just made", self._under_vessel.division_g
        return Pour("lye made", "lye:made", name, "vessel", None, mass_g, (), division_g, 0.0, True, self._running(self.running_g))

    def _portions(self, choice: ScaleChoice, wanted: _Wanted) -> tuple[tuple[Portion, ...], float]:
        """What is weighed in each go, and the limit of error [g] of all: lye poured into the vessel keeps some back."""
        scale = choice.scale
        parted = None
        if wanted.is_alkali and not choice.apart:
            parted = hold_back(wanted.exact_g + wanted.makes_up_g, self._held_back_fraction, self._under_vessel, self._for_top_up)
        if parted is None:
            return tuple(Portion(scale.name, scale.display, count) for count in choice.counts), choice.limit_of_error_g
        short = Portion(scale.name, scale.display, parted.short)
        top_up = Portion(parted.scale.name, parted.scale.display, parted.top_up)
        limits_g = limit_of_error_g(scale, short.grams), limit_of_error_g(parted.scale, top_up.grams)
        return (short, top_up), math.hypot(*limits_g)

    def _running(self, net_g: float) -> Portion:
        scale = self._under_vessel
        return Portion(scale.name, scale.display, scale.display.counts(net_g))


def pours(
    setting: BatchSetting,
    used: Sequence[OilUsed],
    sources: dict[str, AlkaliSource],
    oils_total_g: float,
    most_scent_fraction: float = 1.0,
    scarce: str | None = None,
    soaps: Sequence[tuple[SoapLot, float]] = (),
) -> Pours:
    """Every amount of one block for so many grams of oils. Raises InputProblems when a scale or the lye can't do it.

    most_scent_fraction: the share of the cured bar (0..1) that rounding may not take its scent over. scarce: the oil that is
    rounded down, since there is no more of it. soaps: what goes in of soap set aside before [g].
    """
    formula, weigher = setting.formula, _Weigher(setting)
    oils = _oils(used, oils_total_g, scarce)
    into_vessel = [oil for oil in oils if oil.phase == "vessel"]
    at_trace = [oil for oil in oils if oil.phase == "trace"]
    added = _additives(setting, [row.share_fraction * oils_total_g for row in formula.additives])
    blended = setting.habits.oils == "blend"
    old = _soaps(soaps)
    # Late fat, soap and additives are weighed apart before the vessel's running weight reaches them: size them first.
    trial = _Weigher(setting)
    first = trial.oils(into_vessel, blended=blended)[0]
    sized = {pour.key: pour.target_g for pour in (*first, *map(trial.pour, old), *map(trial.pour, at_trace))}
    oils_g = [sized[oil.key] for oil in oils]
    additives_g = [trial.pour(additive).target_g for additive in added]
    amounts = [lot.amount(sized[each.key]) for each, (lot, _) in zip(old, soaps, strict=True)]
    brought_g = brought_koh_g(amounts, formula.superfat_fraction)
    needed = hydroxide_needed(formula, used, oils_g, additives_g, brought_g)
    plan = plan_lye(formula, needed, math.fsum(oils_g), additives_g, sources)
    lye = [each for each in _lye(setting, sources, plan) if each.is_alkali or weigher.shows(each.exact_g)]

    rows = [weigher.pour(each) for each in lye if each.phase == "lye"]
    made_apart_g = math.fsum(pour.target_g for pour in rows)
    made_apart = bool(rows)
    poured, blend = weigher.oils(into_vessel, blended=blended)
    rows += poured
    rows += [weigher.pour(each) for each in old]
    rows += [weigher.lye_made(made_apart_g)] if made_apart else weigher.lyes(lye, sources)
    rows += [weigher.pour(each) for each in (*at_trace, *added)]
    most_scent_g = scent_within_g(most_scent_fraction, weigher.running_g, setting.shop)
    rows += [weigher.pour(replace(each, most_g=most_scent_g)) for each in _scent(setting, oils_total_g)]

    by_key = {pour.key: pour for pour in rows}
    return Pours(
        tuple(rows),
        blend,
        tuple(by_key[oil.key] for oil in oils),
        tuple(by_key[each.key] for each in old),
        tuple(pour for pour in rows if pour.kind == "additive"),
        {alkali: by_key[lye_key(alkali)] for alkali in sources},
        math.fsum(pour.target_g for pour in rows if pour.kind == "scent"),
        needed,
        plan,
        (*plan.cautions, *weigher.cautions),
    )


def _oils(used: Sequence[OilUsed], oils_total_g: float, scarce: str | None) -> list[_Wanted]:
    """In the order of the formula's rows, late fat among them."""
    return [
        _Wanted(
            "oil",
            oil_key(n),
            row.name,
            "trace" if row.late else "vessel",
            row.share_fraction * oils_total_g,
            row.lot,
            down=row.key == scarce,
        )
        for n, row in enumerate(used)
    ]


def _soaps(soaps: Sequence[tuple[SoapLot, float]]) -> list[_Wanted]:
    """Rounded down: there may be no more of it."""
    return [
        _Wanted("soap", soap_key(n), "Set-aside soap", "vessel", mass_g, lot.lot, down=True)
        for n, (lot, mass_g) in enumerate(soaps)
    ]


def _lye(setting: BatchSetting, sources: dict[str, AlkaliSource], plan: LyePlan) -> list[_Wanted]:
    """Water first, then the alkalis: made apart as soon as one of them is solid, else all straight from their tanks."""
    premixed = all(source.form == "premixed" for source in sources.values())
    phase: Phase = "vessel" if premixed else "lye"
    found = [_Wanted("water", "water", "Water" if premixed else "Water, into the lye pail first", phase, plan.water_to_add_g)]
    weighed_g = {"naoh": plan.naoh_source_g, "koh": plan.koh_source_g}
    for alkali in sources:
        lot = setting.alkali_lots[alkali]
        name = f"{ALKALI_NAMES[alkali]}{' lye' if lot.form == 'premixed' else ', into the water'}"
        found.append(_Wanted("alkali", lye_key(alkali), name, phase, weighed_g[alkali], lot.code, down=True))
    return found


def _additives(setting: BatchSetting, exact_g: Sequence[float]) -> list[_Wanted]:
    return [
        _Wanted("additive", additive_key(n), additives()[row.kind].label, "trace", mass_g, _lot_of(setting, row.kind), additive=row.kind)
        for n, (row, mass_g) in enumerate(zip(setting.formula.additives, exact_g, strict=True))
    ]


def _lot_of(setting: BatchSetting, additive: str) -> str | None:
    lot = setting.additive_lots.get(additive)
    return None if lot is None else lot.code


def _scent(setting: BatchSetting, oils_total_g: float) -> list[_Wanted]:
    if setting.formula.scent_fraction <= 0.0:
        return []
    mass_g, scent = setting.formula.scent_fraction * oils_total_g, setting.scent
    if scent is None:
        return [_Wanted("scent", "scent", "Scent", "trace", mass_g)]
    return [_Wanted("scent", "scent", f"Scent {scent.name}", "trace", mass_g, scent.lots, scent.name)]


def _about(name: str, problem: Problem) -> Problem:
    return Problem("", problem.code, f"{name}: {problem.message}", problem.remedy)
