"""Deliveries in stock: oils and alkali by lot, with what their certificates say."""

from dataclasses import dataclass
from typing import NamedTuple

from calc.entry.declare import NAME_LENGTH, Range, choice, count, item, koh_value, share, text
from calc.entry.language import later
from calc.entry.shown import percent, points
from calc.tables.reference import constant
from calc.workshop import deliveries
from calc.workshop.deliveries import Came, Delivery, Left, SmallDelivery, SmallLeft
from calc.workshop.own_oils import SAPONIFICATION_VALUE

PIECES = Range(1, 10_000_000, later("a delivery has at least one piece"))


@dataclass(frozen=True, kw_only=True)
class _Oil:

    code: str = text(later("Lot code"), max_length=NAME_LENGTH, help=later("Your own code, as written on the container."))
    oil: str = item(later("Oil"), kind="oil")
    supplier: str | None = text(later("Supplier and the supplier's lot"), max_length=NAME_LENGTH, optional=True)
    in_use: str = choice(later("In use now"), options={"yes": "Yes", "no": "No"})
    saponification_value: float | None = koh_value(
        later("Saponification value on the certificate"),
        refuse=SAPONIFICATION_VALUE,
        optional=True,
        help="mg KOH per g. Leave empty if you have no certificate for this lot.",
    )
    saponification_plus_minus_value: float | None = koh_value(
        later("Plus or minus on that value"),
        refuse=Range(0.0, 40.0, later("a certificate that leaves more than 40 mg/g open says nothing")),
        optional=True,
        help=f"If the certificate gives none, {percent(constant('certificate_half_width').value)} is assumed (common practice, no source).",
    )


@dataclass(frozen=True, kw_only=True)
class OilLot(Delivery, Left, _Oil):
    """A delivery of one oil; its certificate's saponification value stands above the table."""


@dataclass(frozen=True, kw_only=True)
class _Alkali:

    code: str = text(later("Lot code"), max_length=NAME_LENGTH)
    alkali: str = choice(
        later("Alkali"), options={"naoh": later("Caustic soda (NaOH)"), "koh": later("Caustic potash (KOH)")}
    )
    form: str = choice(
        later("Form"), options={"solid": later("Solid (flake, pearl)"), "premixed": later("Premixed lye")}
    )
    supplier: str | None = text(later("Supplier and the supplier's lot"), max_length=NAME_LENGTH, optional=True)
    assay_fraction: float | None = share(
        later("Assay (total alkali)"),
        refuse=Range(0.5, 1.0, later("caustic below 50 % is a solution; enter it as premixed lye")),
        warn=Range(0.84, 1.0, later("an assay under 84 % is low even for caustic potash (food grade: at least 85 %)")),
        help=later("From the bag or the certificate. Leave it empty and a wide range is used, so the superfat is less sure."),
        optional=True,
        when=("form", "solid"),
    )
    strength_fraction: float | None = share(
        later("Lye strength"),
        refuse=Range(0.05, 0.55, later("lye for bar soap is from 5 to 55 %")),
        help=later("Hydroxide by mass, as mixed or as titrated."),
        when=("form", "premixed"),
    )
    plus_minus_fraction: float | None = share(
        later("Plus or minus on the strength"),
        refuse=Range(0.0, 0.2, later("a plus or minus over 20 % leaves the strength unknown")),
        help=later("Percentage points. Left empty, {points} is used (common practice, no source).", points=points(constant("assay_silent").value)),
        optional=True,
    )
    carbonate_fraction: float | None = share(
        later("Carbonate in it"),
        refuse=Range(0.0, 0.2, later("over 20 % carbonate the lot has gone bad")),
        optional=True,
        help=later("Counts as alkali in an assay by titration but doesn't saponify. Leave it empty if the certificate states hydroxide."),
    )


@dataclass(frozen=True, kw_only=True)
class AlkaliLot(Delivery, Left, _Alkali):
    """A delivery of solid caustic, or a tank of premixed lye."""

    @property
    def stated(self) -> "Stated":
        """What is counted with: the paper's figures, and where they are not known a range about what is usual."""
        known = self.assay_fraction if self.form == "solid" else self.strength_fraction
        if known is not None:
            silent = constant("assay_silent").value
            return Stated(known, silent if self.plus_minus_fraction is None else self.plus_minus_fraction, True)
        what = {"naoh": "soda", "koh": "potash"}[self.alkali]
        return Stated(constant(f"{what}_unknown_assay").value, constant(f"{what}_unknown_half_width").value, False)


class Stated(NamedTuple):
    """An assay or strength as a fraction, its plus-minus, and whether anybody knows it."""

    fraction: float
    plus_minus_fraction: float
    known: bool


@dataclass(frozen=True, kw_only=True)
class _Additive:
    code: str = text(later("Lot code"), max_length=NAME_LENGTH, help=later("Your own code, as written on the container."))
    additive: str = item(later("What it is"), kind="additive")
    name: str | None = text(later("Which one"), max_length=NAME_LENGTH, optional=True, help=later("The color or the clay by its name."))
    supplier: str | None = text(later("Supplier and the supplier's lot"), max_length=NAME_LENGTH, optional=True)
    in_use: str = choice(
        later("In use now"), options={"yes": "Yes", "no": "No"},
        help=later("With one in use, a sheet names it. With more of one kind, it’s read off the container at the scale."),
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class AdditiveLot(SmallDelivery, SmallLeft, _Additive):
    """A delivery of something that goes in beside oil, lye and scent."""


@dataclass(frozen=True, kw_only=True)
class _Packaging:
    code: str = text(later("Lot code"), max_length=NAME_LENGTH)
    name: str = text(later("What it is"), max_length=NAME_LENGTH)
    supplier: str | None = text(later("Supplier and the supplier's lot"), max_length=NAME_LENGTH, optional=True)
    in_use: str = choice(later("In use now"), options={"yes": "Yes", "no": "No"})
    bars: int | None = count(
        later("Bars in one of them"), refuse=Range(1, 10_000, later("a box holds some hundred bars at most")), optional=True,
        help=later("Left empty: one. So much of its price goes on each bar."),
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class PackagingLot(Came, _Packaging):
    """A delivery of boxes, wraps or labels, counted in pieces."""

    received_n: int | None = count(later("How many came"), refuse=PIECES, optional=True)
    price: float | None = deliveries.price()
    status: str | None = deliveries.status()
