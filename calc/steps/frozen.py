"""What is frozen with a sheet, as the plain values that a store holds, and what follows from them.

Here alone stands which keys an older sheet may lack (`NotRequired`) and what then holds in their place.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from typing import Any, Literal, NotRequired, TypedDict, cast

from calc.batch.pours import Kind as PourKind
from calc.scales.display import Display
from calc.scales.questions import Question
from calc.steps.keys import MADE, TARE_AGAIN, TARE_EMPTY
from calc.steps.step import WeighStep


class AskedBack(TypedDict):
    """As `Question`."""

    code: str
    low: int
    high: int
    text: str


class FinerScale(TypedDict):
    """As `Fine`."""

    scale: str
    unit: str
    decimals: int
    division: int
    from_text: str


class StepWords(TypedDict):
    """A step's words in another language; `from_text` is that of its finer scale."""

    title: str
    how: str
    how_around: NotRequired[Sequence[str] | None]  # not in sheets from before it stood by itself
    stop: str | None
    band_text: str | None
    close_valve_text: str | None
    next: str | None
    from_text: str | None
    questions: list[str]


class _AnyStep(TypedDict):
    key: str
    safety: bool
    title: str
    how: str
    how_around: NotRequired[Sequence[str] | None]  # where there is none, `how` may hold the plan's sentence
    stop: str | None
    pour: str | None
    pour_kind: NotRequired[PourKind | None]
    lot: str | None
    most: NotRequired[int | None]  # not in sheets from before a scale's capacity was kept
    band_text: str | None
    gross: NotRequired[int | None]  # where it lacks, it is read of `gross_text`
    gross_text: str | None
    close_valve: int | None
    close_valve_text: str | None
    fine: FinerScale | None
    twice: bool
    questions: list[AskedBack]
    seconds: int | None
    next: str | None
    es: NotRequired[StepWords]  # not in sheets from before steps stood in Spanish: their English is shown


class Weighing(_AnyStep):
    """A step that weighs."""

    kind: Literal["weigh"]
    scale: str
    unit: str
    decimals: int
    division: int
    target: int
    low: int
    high: int
    target_text: str


class OtherStep(_AnyStep):
    """A step that is confirmed, timed, or reads a temperature; after the pour also one that is told, measured or counted."""

    kind: Literal["confirm", "temperature", "timer", "cover", "gel", "lift", "measure", "rack"]
    scale: str | None
    unit: str | None
    decimals: int | None
    division: int | None
    target: int | None
    low: int | None
    high: int | None
    target_text: str | None


Step = Weighing | OtherStep


class FrozenDisplay(TypedDict):
    """As `Display`."""

    unit: str
    decimals: int
    division: int


class FrozenPortion(TypedDict):
    """As `Portion`."""

    scale: str
    display: FrozenDisplay
    count: int


class FrozenPour(TypedDict):
    """A pour of the sheet."""

    key: str
    kind: NotRequired[PourKind]  # where it lacks, its key tells it
    name: str
    scent: NotRequired[str | None]  # where it lacks, a scent's own name follows SCENT_BEGINS in `name`
    additive: NotRequired[str | None]  # its key in the table; not in sheets from before additives had lots
    phase: Literal["lye", "vessel", "trace"]
    lot: str | None
    exact_g: float
    target_g: float
    portions: NotRequired[list[FrozenPortion]]  # not in sheets of before the third version of the rules
    scale: str
    unit: str
    division_g: float
    limit_g: float
    in_vessel: bool
    running_g: float | None


class FrozenOil(TypedDict):
    """What an oil's pour is reckoned with: saponification value used and its ends [mg KOH/g]."""

    pour: str
    name: str
    used: float
    low: float
    high: float
    acid_value: NotRequired[float | None]  # of a wax; not in sheets from before waxes were told apart
    density_g_per_ml: float


class FrozenAlkali(TypedDict):
    """What an alkali's pour is reckoned with.

    form: asked for by the scripts alone; where it lacks, they tell it by `relative` (scale/ready.mjs).
    relative: each unknown of its fraction and its half width as a share of it: the "assay" of a solid, the "strength" of a
    premixed lye.
    """

    pour: str
    name: str
    alkali: str
    form: NotRequired[Literal["solid", "premixed"]]
    hydroxide_fraction: float
    relative: list[tuple[str, float]]


class FrozenAcid(TypedDict):
    """What the pour of an acid is reckoned with."""

    pour: str
    name: str
    acid_value: float
    strength_fraction: float


class FrozenSoap(TypedDict):
    """What the pour of soap set aside before is reckoned with: what the oils in a gram of it take [g KOH], and its superfat."""

    pour: str
    name: str
    demand_low_koh_per_g: float
    demand_high_koh_per_g: float
    superfat: "FrozenSuperfat"
    density_g_per_ml: float


class FrozenChemistry(TypedDict):
    """What turns grams poured into superfat and litres."""

    oils: list[FrozenOil]
    alkalis: list[FrozenAlkali]
    acids: list[FrozenAcid]
    soaps: NotRequired[list[FrozenSoap]]  # only where some goes in
    lye_density_g_per_ml: float
    lye_strength_fraction: float
    other_density_g_per_ml: float


class FrozenSuperfat(TypedDict):
    """As the sheet promises it."""

    value: float
    low: float
    high: float


class FrozenMould(TypedDict):
    """The mould of the sheet."""

    name: str
    length_mm: float
    width_mm: float
    height_mm: float
    tare_g: NotRequired[float | None]  # not in sheets from before a mould's own weight was asked for


class FrozenVessel(TypedDict):
    """The vessel of the sheet."""

    name: str
    tare_g: float
    capacity_ml: float


class FrozenInputs(TypedDict):
    """What the sheet was made from, as far as it is read at the scale."""

    shop: Mapping[str, Mapping[str, str]]


class FrozenBars(TypedDict):
    """What the cutter was to give of one block, and the size of such a bar from wire to wire, fresh [mm].

    What frames and molds of the workshop become later changes nothing of it. Sheets from before hold the first two alone.
    """

    total: int
    bar_mm: list[float]
    bar_g: NotRequired[list[float]]  # a fresh bar: the least, the likeliest, the most
    tools: NotRequired[list[str]]  # the names of both frames, or of the cutter
    loaves: NotRequired[int]
    layers: NotRequired[int | None]  # of loaves under the bar frame; None where the frame's measures don't tell
    trim_g: NotRequired[float]
    set_g_per_ml: NotRequired[float]
    own_blocks: NotRequired[int]  # so many of the workshop's own that density is from; 0: what it states, or the usual


class FrozenRecord(TypedDict):
    """An issued sheet, as far as a block is weighed by it."""

    code: str
    steps: list[Step]
    after: NotRequired[list[Step]]  # from the mould to the rack; not in sheets from before a block went on after the pour
    planned: NotRequired[FrozenBars | None]  # not in those either; None where no cutter was chosen
    pours: list[FrozenPour]
    scales: list[Mapping[str, Any]]  # each as `ScaleItem`
    chemistry: FrozenChemistry
    inputs: FrozenInputs
    mould: FrozenMould
    vessel: FrozenVessel
    superfat: FrozenSuperfat
    superfat_stated_fraction: float
    fill_height_mm: NotRequired[float]


def frozen(step: WeighStep) -> Step:
    """A step as plain JSON values, lists where the record has lists."""
    found = asdict(step)
    around = found["how_around"]
    return cast(Step, {**found, "how_around": around and list(around), "questions": list(found["questions"])})


def asked_back(question: Question) -> AskedBack:
    """A question as plain JSON values."""
    return {"code": question.code, "low": question.low, "high": question.high, "text": question.text}


def weighing(step: Step) -> Weighing:
    """A step that is known to weigh."""
    if step["kind"] != "weigh":
        raise ValueError(f"{step['key']} weighs nothing")
    return step


def display_of_step(step: Weighing) -> Display:
    """The display a weighing is read on."""
    return Display(step["unit"], step["decimals"], step["division"])


def target_g(step: Weighing) -> float:
    """The target of a weighing [g]."""
    return display_of_step(step).grams(step["target"])


def gross(step: Weighing) -> int | None:
    """What stands on the display without tare at its target by plan [counts]; None of what is weighed apart."""
    if "gross" in step:
        return step["gross"]
    return None if step["gross_text"] is None else round(float(step["gross_text"]) * 10 ** step["decimals"])


def with_gross(step: Weighing, count: int) -> Weighing:
    """A weighing before which something else stands on the scale than planned: the display without tare at its target [counts]."""
    if count == gross(step):
        return step
    return {**step, "gross": count, "gross_text": display_of_step(step).text(count)}


def gross_before(step: Weighing) -> int | None:
    """What stands on the display without tare before it is poured, by plan [counts]; None of what is weighed apart."""
    found = gross(step)
    return None if found is None else found - step["target"]


def tares(steps: Iterable[Step]) -> bool:
    """Whether the display is tared before each pour in this work."""
    return any(step["key"] in (TARE_EMPTY, TARE_AGAIN) for step in steps)


def kind_of(pour: FrozenPour) -> PourKind:
    """What a pour is."""
    if "kind" in pour:
        return pour["kind"]
    return "lye made" if pour["key"] == MADE else _KINDS.get(pour["key"].partition(":")[0], "additive")


def scent_of(pour: FrozenPour) -> str | None:
    """What the maker calls a scent; None of any other pour, and of a scent without a name."""
    if "scent" in pour or kind_of(pour) != "scent" or not pour["name"].startswith(SCENT_BEGINS):
        return pour.get("scent")
    return pour["name"].removeprefix(SCENT_BEGINS)


# Of a pour that was frozen without them: its kind by how its key begins, and a scent's own name by what comes before it.
_KINDS: Mapping[str, PourKind] = {"oil": "oil", "lye": "alkali", "water": "water", "additive": "additive", "scent": "scent", "soap": "soap"}
SCENT_BEGINS = "Scent "


def is_made_apart(pour: FrozenPour) -> bool:
    """Whether a pour goes into the lye pail, where caustic is dissolved, and only with the lye into the vessel."""
    return pour["phase"] == "lye"


def is_at_trace(pour: FrozenPour) -> bool:
    """Whether a pour goes in at trace, also where it is weighed ahead: all such are small."""
    return pour["phase"] == "trace"


def is_rounded_down(pour: FrozenPour) -> bool:
    """Whether a pour of alkali is never more than reckoned. Sheets that name no portions were issued to the nearest, and stay so."""
    return "portions" in pour
