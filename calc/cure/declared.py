"""The forms of the cure rack: what is asked when a batch is racked, weighed, tested, moved or taken off, and of its label."""

from dataclasses import dataclass
from datetime import date

from calc.entry.declare import NAME_LENGTH, Range, choice, count, day, item, mass, measure, share, small_mass, text
from calc.entry.language import later

ON_RACK = "on_rack"
# What no bar for sale weighs less or more than [g], and the most water that fresh soap holds [g/g].
LIGHTEST_G, HEAVIEST_G = 5.0, 5000.0
WETTEST = 0.6
BARS = Range(1, 100_000, later("a batch has at least one bar, and at most some ten thousand"))
LABEL = Range(LIGHTEST_G, 1000.0, later("the law’s table for bars runs from 5 g to 1 kg"))
TITRATED = ("free_caustic", "total_free")


@dataclass(frozen=True, kw_only=True)
class By:
    """Whoever writes something down."""

    person: str = text(later("Who does it"), max_length=NAME_LENGTH)


@dataclass(frozen=True, kw_only=True)
class Racked:
    """A block's bars put on a rack."""

    code: str = text(later("Batch code"), max_length=NAME_LENGTH)
    block: int = count(later("Block"), refuse=Range(1, 999, later("a batch has at most 999 blocks")))
    bars: int = count(later("Bars on the trays"), refuse=BARS)
    rack: str | None = item(later("Rack"), kind="rack", lone=True, optional=True)
    cutter: str | None = item(later("Cut with"), kind="cutter", lone=True, optional=True, help=later("For the size of a bar. Leave it empty to go by the batch sheet."))
    stands: str = choice(later("Bars"), options={"yes": later("Stand on edge"), "no": later("Lie flat")})
    trays: int | None = count(
        later("Trays"), refuse=Range(1, 800, later("a rack holds at most some hundred trays")), optional=True,
        help=later("Leave it empty for as many as the bars need."),
    )  # fmt: skip
    cut_on: date | None = day(later("Cut on"), optional=True, help=later("Leave it empty for today."))
    formula: str | None = item(
        later("Formula"), kind="formula", optional=True, help=later("If its batch sheet isn’t on this device.")
    )
    water_fraction: float | None = share(
        later("Water in the fresh soap"),
        refuse=Range(0.02, WETTEST, later("batter is from a fiftieth to three fifths water")),
        optional=True,
        help=later("Only if neither the sheet nor the formula says. No bar can lose more."),
    )
    label_g: float | None = small_mass(later("Weight on the label"), refuse=LABEL, optional=True)
    sell_on: date | None = day(later("On sale from"), optional=True, help=later("Leave it empty for the day it’s ready."))


@dataclass(frozen=True, kw_only=True)
class Weighing:
    """The sample group of a batch, weighed together; the answer comes without a weight too."""

    batch: str = item(later("Batch"), kind=ON_RACK, lone=True)
    total_g: float | None = mass(
        later("Sample bars, together"), refuse=Range(1.0, 500_000.0, later("a sample group weighs between a gram and half a metric ton")), optional=True,
        help=later("The same bars each time, net."),
    )  # fmt: skip
    bars: int | None = count(
        later("Bars on the scale"), refuse=Range(1, 1000, later("a sample group is a part of a batch")), optional=True,
        help=later("Leave it empty for as many as last time, ten at first."),
    )  # fmt: skip
    scale: str | None = item(later("Scale"), kind="scale", lone=True, optional=True)
    weighed_on: date | None = day(later("Weighed on"), optional=True, help=later("Leave it empty for today."))


MILLILITRES = Range(0.0, 200.0, later("a burette holds at most some hundred milliliters"))
NORMALITY = Range(0.001, 5.0, later("titrants run from a thousandth to a few moles per liter"))


@dataclass(frozen=True, kw_only=True)
class SoapTest:
    """Free alkali or moisture, from burette and balance."""

    batch: str = item(later("Batch"), kind=ON_RACK, lone=True)
    method: str = choice(
        later("Method"),
        options={
            "free_caustic": later("Free caustic alkali (ISO 456)"),
            "total_free": later("Total free alkali (ISO 684)"),
            "moisture": later("Moisture (ISO 672)"),
        },
    )
    sample_g: float = measure(later("Sample"), kind="mass", offered=("g",), refuse=Range(0.1, 500.0, later("a sample is some grams")))
    alkali: str | None = choice(later("Counted as"), options={"naoh": "NaOH", "koh": "KOH"}, when=("method", TITRATED))
    acid_ml: float | None = measure(later("Acid used"), kind="volume", offered=("ml",), refuse=MILLILITRES, when=("method", TITRATED))
    acid_mol_per_l: float | None = measure(
        later("Acid, H⁺ it gives"), kind="concentration", offered=("mol/l",), refuse=NORMALITY, when=("method", TITRATED),
        help=later("Sulfuric acid gives twice its moles."),
    )  # fmt: skip
    back_ml: float | None = measure(
        later("Alkali to titrate back"), kind="volume", offered=("ml",), refuse=MILLILITRES, when=("method", "total_free")
    )
    back_mol_per_l: float | None = measure(
        later("Alkali, OH⁻ it gives"), kind="concentration", offered=("mol/l",), refuse=NORMALITY, when=("method", "total_free")
    )
    dried_g: float | None = measure(
        later("Sample, dried"), kind="mass", offered=("g",), refuse=Range(0.01, 500.0, later("a sample is some grams")),
        when=("method", "moisture"),
    )  # fmt: skip
    tested_on: date | None = day(later("Tested on"), optional=True, help=later("Leave it empty for today."))


@dataclass(frozen=True, kw_only=True)
class Move:
    """A batch that goes to another rack, or off the racks."""

    batch: str = item(later("Batch"), kind=ON_RACK, lone=True)
    to: str = choice(later("Where to"), options={"ready": later("Off the rack: it’s ready"), "rack": later("To another rack")})
    rack: str | None = item(later("Rack"), kind="rack", when=("to", "rack"))
    trays: int | None = count(
        later("Trays"), refuse=Range(1, 800, later("a rack holds at most some hundred trays")), optional=True, when=("to", "rack"),
        help=later("Leave it empty for as many as now."),
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class LabelQuestion:
    """Bars weighed one by one, and when they are sold."""

    batch: str | None = item(
        later("Batch"), kind=ON_RACK, optional=True, lone=True, help=later("Its drying curve says what they’ll still lose.")
    )
    weights: str | None = text(
        later("Bars, weighed one by one"), max_length=2000, multiline=True, optional=True,
        help=later("A space or a new line between two weights: 121.5 119.8 122.0"),
    )  # fmt: skip
    weighed_in: str = choice(later("Weighed in"), options={"g": "g", "oz": "oz"})
    label_g: float | None = small_mass(
        later("Weight on the label"), refuse=LABEL, optional=True, help=later("What you print, if you know it. The checks before a sale go by it.")
    )
    market: str | None = choice(
        later("Sold in"),
        options={"us": later("United States"), "eu": later("European Union"), "both": later("Both")},
        optional=True,
        help=later("Leave it empty to go by Workshop."),
    )
    weighed_on: date | None = day(later("Weighed on"), optional=True, help=later("Leave it empty for today."))
    sell_on: date | None = day(later("On sale from"), optional=True, help=later("Leave it empty for the day it’s ready."))
