"""The form of a label: what is kept for a formula, and what is asked each time one is printed."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from calc.entry.declare import NAME_LENGTH, Range, Whole, choice, count, day, item, length, measure, small_mass, text
from calc.entry.language import later, tr
from calc.entry.problems import Problem
from calc.entry.shown import quantity
from calc.tables.reference import constant

BEST_BEFORE_MONTHS = int(constant("label_best_before_months").value)
SIDE = Range(15.0, 250.0, later("a label is from 15 mm to 250 mm (about 5/8 to 10 in) long"))
PACK = Range(10.0, 1000.0, later("a bar's pack is from a centimeter to a meter long"))
LINES = 600
# What bars often say; common practice, no source.
PRECAUTIONS = (
    later("Keep out of eyes. If it gets in, rinse well with water"), later("Stop using it if your skin gets irritated"),
    later("Keep out of reach of children"), later("For external use only"),
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Label(Whole):
    """What the maker keeps for the label of one formula."""

    name: str | None = text(later("Name on the label"), max_length=NAME_LENGTH, optional=True, help=later("Leave it empty for the formula's name."))
    identity: str = text(later("What it is"), max_length=NAME_LENGTH, help=later("The plain name of the goods, like “Bar soap”."))
    words: str | None = text(later("Other words on it"), max_length=LINES, multiline=True, optional=True)
    market: str = choice(later("Sold in"), options={"us": later("United States"), "eu": later("European Union"), "both": later("Both")})
    way: str = choice(
        later("Ingredients listed"),
        options={"added": later("As added: oils, sodium hydroxide"), "bar": later("As in the finished bar: soap, glycerin")},
        help=later("Keep to one on all your labels, and ask whoever answers for them."),
    )
    net_g: float | None = small_mass(
        later("Net weight"), refuse=Range(1.0, 5000.0, later("bars weigh from a gram to 5 kg")), optional=True,
        help=later("Leave it empty for what the bars of the batch, weighed one by one, allow."),
    )  # fmt: skip
    width_mm: float = length(later("Label, width"), refuse=SIDE)
    height_mm: float = length(later("Label, height"), refuse=SIDE)
    parts: str = choice(later("Printed as"), options={"one": later("One label"), "two": later("Two: front and back")})
    shape: str = choice(
        later("Side that faces the buyer"),
        options={"label": later("The label itself"), "flat": later("A flat side of the pack"), "round": later("A round pack"), "other": later("Another shape")},
        help=later("Its area says how high the letters of the net weight are."),
    )
    panel_height_mm: float | None = length(later("Its height"), refuse=PACK, when=("shape", ("flat", "round", "other")))
    panel_width_mm: float | None = length(later("Its width, or the way around"), refuse=PACK, when=("shape", ("flat", "round", "other")))
    keeps_months: int | None = count(
        later("Keeps, months"), refuse=Range(1, 120, later("soap keeps from a month to ten years")), optional=True,
        help=later("Up to {most} months: a best-before date. Longer: the open jar. †", most=BEST_BEFORE_MONTHS),
    )  # fmt: skip
    opened_months: int | None = count(later("After opening, months"), refuse=Range(1, 60, later("after opening it keeps from a month to five years")), optional=True)
    maker: str = text(later("Your name and address"), max_length=LINES, multiline=True)
    responsible: str | None = text(
        later("Responsible person in the EU, with address"), max_length=LINES, multiline=True, optional=True, needed=later("where it's sold in the EU")
    )
    precautions: str | None = text(
        later("Precautions"), max_length=LINES, multiline=True, optional=True, needed=later("where the safety report or the law on an ingredient asks for some"),
        help=later("Printed word for word. The sentences to tap are common practice, no source."), common=PRECAUTIONS,
    )  # fmt: skip
    e_mark: str | None = choice(
        later("e-mark (℮) behind the weight"), options={"yes": later("Print it: we keep to the average system")}, optional=True, when=("market", ("eu", "both")),
        help=later(
            "Never needed. Only for packs of {least} to {most} whose every lot is weighed by samples and kept on record, on average no less than the label (Directive 76/211/EEC).",
            least=quantity(constant("label_e_least").value, "g"), most=quantity(constant("label_e_most").value / 1000.0, "kg"),
        ),
    )  # fmt: skip
    contact: str | None = text(
        later("US phone, mail or web address for reactions"), max_length=200, optional=True, needed=later("for a cosmetic sold in the US")
    )
    claims: str | None = text(
        later("What you say about it elsewhere"), max_length=2000, multiline=True, optional=True,
        help=later("Website, market stall. Not printed: only looked through."),
    )  # fmt: skip

    def whole(self) -> Iterator[Problem]:
        """A side that is described by half."""
        for name in ("panel_height_mm", "panel_width_mm"):
            if self.shape != "label" and getattr(self, name) is None:
                yield Problem(name, "panel-missing", tr("The side's size is missing."), tr("Measure it, or choose the label itself."))

    @property
    def markets(self) -> tuple[str, ...]:
        """The laws it has to keep to."""
        return ("us", "eu") if self.market == "both" else (self.market,)


@dataclass(frozen=True, kw_only=True)
class Printing:
    """What is asked each time: of which batch, on which paper, and how long a line is on this screen."""

    formula: str = item(later("Formula"), kind="formula", lone=True)
    batch: str | None = item(later("Batch"), kind="label_batch", optional=True, help=later("Its code, day and amounts. Without one, the label is for the formula as it stands."))
    made_on: date | None = day(later("Made on"), optional=True, help=later("Leave it empty for the day the sheet was issued."))
    paper: str = choice(later("Paper"), options={"letter": later("Letter, 8½ × 11 in"), "a4": later("A4, 210 × 297 mm")})
    sheets: int | None = count(later("Sheets"), refuse=Range(1, 20, later("more than 20 sheets at once are too much for a browser")), optional=True)
    screen_line_mm: float | None = measure(
        later("The line, measured on this screen"), kind="length", offered=("mm", "in"), us="in",
        refuse=Range(15.0, 150.0, later("the line is 50 mm long; no screen is off by more than three times")), optional=True,
        help=later("Hold a ruler to the 50 mm line under “True size”. Printing doesn't need it."),
    )  # fmt: skip
