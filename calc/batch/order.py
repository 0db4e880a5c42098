"""What a batch is ordered as: formula, mould, how many or how much, vessel, lots; and what is in the shop for it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from calc.batch.soap import SoapLot
from calc.cut.block import Densities
from calc.entry.declare import NAME_LENGTH, Range, choice, count, item, length, mass, rows, text
from calc.entry.language import later
from calc.formula.declaration import Formula
from calc.scent.batch import ChosenScent
from calc.tables.rows import Oil
from calc.workshop.equipment import MOULD_SIDE, Cutter, Mould, ScaleItem, Vessel
from calc.workshop.frames import BarFrame, LoafFrame
from calc.workshop.habits import USUAL_HABITS, Habits
from calc.workshop.lots import AdditiveLot, AlkaliLot, OilLot
from calc.workshop.reasons import REASONS
from calc.workshop.safety_place import NO_LYE_LIMITS, LyeLimits
from calc.workshop.shop import Shop

MOST_BLOCKS = 50
SET_ASIDE = "set_aside"  # what a list of lots of set-aside soap offers


@dataclass(frozen=True, kw_only=True)
class SoapTaken:
    """Soap set aside from an earlier block that goes into each block."""

    lot: str = item(later("Set aside from"), kind=SET_ASIDE)
    taken_g: float = mass(
        later("In one block"), refuse=Range(1.0, 100_000.0, later("what goes into one block is from 1 g to 100 kg"))
    )


@dataclass(frozen=True, kw_only=True)
class BatchOrder:
    """What the maker chooses on the batch sheet."""

    formula: str = item(later("Formula"), kind="formula", lone=True)
    mould: str = item(later("Mold"), kind="mould", lone=True)
    scale_to: str = choice(
        later("Make"),
        options={
            "blocks": "A number of blocks",
            "fill_height": "Blocks filled to a height",
            "batch_mass": "Blocks of a set weight",
            "bars": "A number of bars",
            "oil_left": "As much as an oil in stock allows",
        },
    )
    blocks: int | None = count(
        later("Blocks"),
        refuse=Range(1, MOST_BLOCKS, later("more than 50 blocks on one sheet is too many to keep track of at the pot")),
        when=("scale_to", ("blocks", "fill_height", "batch_mass")),
    )
    fill_height_mm: float | None = length(later("Fill height"), refuse=MOULD_SIDE, when=("scale_to", "fill_height"))
    batch_mass_g: float | None = mass(
        later("Batter in one block"),
        refuse=Range(50.0, 1_000_000.0, later("one block weighs from 50 g to 1 metric ton")),
        when=("scale_to", "batch_mass"),
    )
    bars_wanted: int | None = count(
        later("Bars wanted"),
        refuse=Range(1, 100_000, later("one order is from a single bar to 100,000")),
        when=("scale_to", "bars"),
    )
    oil_left: str | None = item(later("Which oil"), kind="oil", when=("scale_to", "oil_left"))
    oil_left_g: float | None = mass(
        later("How much of it is left"),
        refuse=Range(1.0, 5_000_000.0, later("stock of one oil is from 1 g to 5 metric tons")),
        when=("scale_to", "oil_left"),
    )
    vessel: str = item(later("Vessel"), kind="vessel", lone=True)
    naoh_lot: str | None = item(
        later("Caustic soda lot"),
        kind="alkali_lot",
        only=("alkali", "naoh"),
        lone=True,
        if_item=("formula", "alkali", ("naoh", "both", "")),
        optional=True,
        needed="when the formula uses caustic soda",
    )
    koh_lot: str | None = item(
        later("Caustic potash lot"),
        kind="alkali_lot",
        only=("alkali", "koh"),
        lone=True,
        if_item=("formula", "alkali", ("koh", "both")),
        optional=True,
        needed="when the formula uses caustic potash",
    )
    cutter: str | None = item(later("Cutter"), kind="cutter", lone=True, optional=True, help="For the number of bars.")
    loaf_frame: str | None = item(
        later("Loaf frame"),
        kind="loaf_frame",
        optional=True,
        help="With a bar frame. Chosen, these two count the bars.",
    )
    bar_frame: str | None = item(later("Bar frame"), kind="bar_frame", optional=True)
    soaps: tuple[SoapTaken, ...] = rows(
        later("Soap set aside"),
        of=SoapTaken,
        minimum=0,
        maximum=5,
        help="Trim and bars from earlier blocks, grated into the warm oils before the lye (common practice, no source).",
        add_label="Add set-aside soap",
        adds=True,
    )


@dataclass(frozen=True, kw_only=True)
class Issue:
    """What is added when a sheet is issued."""

    code: str | None = text(
        later("Batch code"), max_length=30, help="Leave it empty to get the next free code.", optional=True
    )
    issued_by: str = text(later("Issued by"), max_length=NAME_LENGTH)
    replaces: str | None = text(
        later("Replaces sheet"), max_length=30, optional=True, help=later("Its batch code, where this sheet is issued in its place.")
    )
    reason: str | None = text(
        later("Reason for going ahead"),
        max_length=500,
        optional=True,
        needed="when free lye is possible, the scent passes its limit, set-aside soap asks for it, or the mold isn't measured",
        multiline=True,
        common=REASONS["issued"],
        help="It stays in the record.",
    )


@dataclass(frozen=True)
class BatchSetting:
    """Everything the order names, looked up."""

    formula: Formula
    revision: int
    mould: Mould
    vessel: Vessel
    scales: tuple[ScaleItem, ...]
    alkali_lots: Mapping[str, AlkaliLot]  # "naoh" and "koh", as far as chosen
    cutter: Cutter | None
    oils: Mapping[str, Oil]
    oil_lots: Mapping[str, OilLot]  # the lot in use, by oil
    shop: Shop
    additive_lots: Mapping[str, AdditiveLot] = field(default_factory=dict)  # the lot in use, by additive
    habits: Habits = USUAL_HABITS  # at the scale
    lye_limits: LyeLimits = NO_LYE_LIMITS  # of its safety form
    scent: ChosenScent | None = None
    frames: tuple[LoafFrame, BarFrame] | None = None  # these two count the bars, whatever the cutter
    own_soap: Densities | None = None  # what earlier blocks of this formula showed
    set_aside: Mapping[str, SoapLot] = field(default_factory=dict)  # what can go in again, by id
    units: str = "metric"  # in which its sentences are written
