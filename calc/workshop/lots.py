"""Deliveries in stock: oils and alkali by lot, with what their certificates say."""

from dataclasses import dataclass

from calc.entry.declare import NAME_LENGTH, Range, choice, item, koh_value, mass, share, text
from calc.entry.language import later
from calc.entry.shown import percent, points
from calc.tables.reference import constant
from calc.workshop.own_oils import SAPONIFICATION_VALUE

LOT_MASS = Range(0.0, 5_000_000.0, later("a lot of more than 5 tonnes is outside a small workshop"))
NOT_DEDUCTED = "Issuing a sheet takes nothing off: put in what is left yourself."


@dataclass(frozen=True, kw_only=True)
class OilLot:
    """A delivery of one oil; its certificate's saponification value stands above the table."""

    code: str = text(later("Lot code"), max_length=NAME_LENGTH, help="Your own code, as written on the container.")
    oil: str = item(later("Oil"), kind="oil")
    supplier: str | None = text(later("Supplier and the supplier's lot"), max_length=NAME_LENGTH, optional=True)
    in_use: str = choice(later("In use now"), options={"yes": "Yes", "no": "No"})
    saponification_value: float | None = koh_value(
        later("Saponification value on the certificate"),
        refuse=SAPONIFICATION_VALUE,
        optional=True,
        help="mg KOH per g. Leave empty when you have no certificate for this lot.",
    )
    saponification_plus_minus_value: float | None = koh_value(
        later("Its plus-minus"),
        refuse=Range(0.0, 40.0, later("a certificate that leaves more than 40 mg/g open says nothing")),
        optional=True,
        help=f"When the certificate gives none, {percent(constant('certificate_half_width').value)} is assumed (common practice, no source).",
    )
    left_g: float | None = mass(later("Left in stock"), refuse=LOT_MASS, optional=True, help=NOT_DEDUCTED)


@dataclass(frozen=True, kw_only=True)
class AlkaliLot:
    """A delivery of solid caustic, or a tank of premixed lye."""

    code: str = text(later("Lot code"), max_length=NAME_LENGTH)
    alkali: str = choice(later("Alkali"), options={"naoh": "Caustic soda (NaOH)", "koh": "Caustic potash (KOH)"})
    form: str = choice(later("Form"), options={"solid": "Solid (flake, pearl)", "premixed": "Premixed lye"})
    supplier: str | None = text(later("Supplier and the supplier's lot"), max_length=NAME_LENGTH, optional=True)
    assay_fraction: float | None = share(
        later("Assay (total alkali)"),
        refuse=Range(0.5, 1.0, later("caustic below 50 % is a solution; enter it as premixed lye")),
        warn=Range(0.84, 1.0, later("an assay under 84 % is low even for caustic potash (food grade: at least 85 %)")),
        help="From the certificate. Caustic potash is often 85 to 92 %.",
        when=("form", "solid"),
    )
    strength_fraction: float | None = share(
        later("Lye strength"),
        refuse=Range(0.05, 0.55, later("lye of bar soap is between 5 and 55 %")),
        help="Hydroxide by mass, as mixed or as titrated.",
        when=("form", "premixed"),
    )
    plus_minus_fraction: float = share(
        later("Plus-minus of that"),
        refuse=Range(0.0, 0.2, later("a plus-minus over 20 % leaves the strength unknown")),
        help=f"Percentage points. {points(constant('assay_silent').value)} when the certificate is silent (common practice, no source).",
    )
    carbonate_fraction: float | None = share(
        later("Carbonate in it"),
        refuse=Range(0.0, 0.2, later("over 20 % carbonate the lot is spoiled")),
        optional=True,
        help="Counts as alkali in an assay by titration but does not saponify. Leave empty if the "
        "certificate states hydroxide.",
    )
    left_g: float | None = mass(later("Left in stock"), refuse=LOT_MASS, optional=True, help=NOT_DEDUCTED)
