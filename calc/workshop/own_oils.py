"""Oils that the table lacks, as the maker enters them. `calc.formula.chemistry.oil_of` makes a row like the table's of one."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from calc.entry.declare import NAME_LENGTH, Range, Whole, choice, item, koh_value, rows, share, text
from calc.entry.language import later, tr
from calc.entry.problems import Problem
from calc.entry.quantity_text import quoted
from calc.entry.shown import percent
from calc.tables.reference import constant, fatty_acid_names

ACID_VALUE = Range(0.0, 60.0, later("waxes hold free acids of 0 to about 25 mg KOH/g"))
SAPONIFICATION_VALUE = Range(50.0, 400.0, later("fats and waxes are from 50 to 400 mg KOH/g"))


@dataclass(frozen=True, kw_only=True)
class OwnFattyAcid:
    """One fatty acid of the maker's own oil."""

    acid: str = item(later("Fatty acid"), kind="fatty_acid")
    share_fraction: float = share(later("Share"), refuse=Range(0.0, 1.0, later("a share is from 0 to 100 %")))


@dataclass(frozen=True, kw_only=True)
class OwnOil(Whole):
    """An oil that the table lacks, entered by the maker."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    source: str = text(
        later("Where the values come from"), max_length=120, help="Certificate, supplier's sheet, book and page."
    )
    ester: str = choice(later("Kind"), options={"triglyceride": later("An oil, fat or butter"), "wax": later("A wax or liquid wax")})
    saponification_low_value: float = koh_value(
        later("Saponification value, lowest"),
        refuse=SAPONIFICATION_VALUE,
        help="mg KOH per g. If you only have one value, enter it twice.",
    )
    saponification_high_value: float = koh_value(
        later("Saponification value, highest"), refuse=SAPONIFICATION_VALUE
    )
    acid_value: float | None = koh_value(
        later("Acid value, lowest"),
        refuse=ACID_VALUE,
        when=("ester", "wax"),
        optional=True,
        help="mg KOH per g. The part of a wax that lye takes for sure. Leave it empty if you don't know: it counts as none.",
    )
    fatty_acids: tuple[OwnFattyAcid, ...] = rows(
        later("Fatty acids (if you know them)"), of=OwnFattyAcid, minimum=0, maximum=30, add_label="Add a fatty acid"
    )

    def whole(self) -> Iterator[Problem]:
        """Values that don't go together."""
        if self.saponification_low_value > self.saponification_high_value:
            message = tr("The highest saponification value is below the lowest.")
            yield Problem("saponification_high_value", "range-turned-round", message, tr("Swap the two."))
        if self.acid_value is not None and self.acid_value > self.saponification_low_value:
            message = tr("The acid value is above the saponification value, but it's only part of it.")
            yield Problem("acid_value", "acid-over-saponification", message, tr("Check both on the certificate."))
        for number, row in enumerate(self.fatty_acids):
            if row.acid not in fatty_acid_names():
                message = tr("{acid} is no fatty acid of the list.", acid=quoted(row.acid))
                yield Problem(f"fatty_acids.{number}.acid", "acid-unknown", message, tr("Choose one from the list."))
        listed = math.fsum(row.share_fraction for row in self.fatty_acids)
        if listed > constant("acids_known_most").value:
            message = tr("The fatty acids add up to {percent}.", percent=percent(listed))
            remedy = tr("Correct the shares; together they can't pass 100 %.")
            yield Problem("fatty_acids", "acids-over-100", message, remedy)
