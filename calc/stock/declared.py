"""The form about what is left: counted, thrown away or given away, of a lot or of the bars of a block."""

from collections.abc import Iterator
from dataclasses import dataclass

from calc.entry.declare import NAME_LENGTH, Range, Whole, choice, count, item, mass, text
from calc.entry.language import later, tr
from calc.entry.problems import Problem
from calc.workshop.deliveries import LOT_MASS

# Lots of the workshop, packaging among them, and blocks whose bars are in store.
IN_STOCK = "oil_lot alkali_lot scent_lot additive_lot packaging_lot in_store"


@dataclass(frozen=True, kw_only=True)
class StockEntry(Whole):
    """One lot or one block's bars: what was found or what went."""

    lot: str = item(later("Lot, or bars"), kind=IN_STOCK)
    what: str = choice(later("What happened"), options={"counted": later("Counted: so much is there"), "thrown": later("Thrown away or given away")})
    mass_g: float | None = mass(
        later("How much, without its container"), refuse=LOT_MASS, optional=True, help=later("Of a lot that is weighed. Bars and packaging are counted below.")
    )
    bars: int | None = count(
        later("How many bars or pieces"), refuse=Range(0, 1_000_000, later("a shop here keeps at most a million bars")), optional=True,
    )  # fmt: skip
    reason: str | None = text(
        later("Why it differs, or went"), max_length=NAME_LENGTH, optional=True,
        common=(later("Spilled"), later("Stuck to the container"), later("Gone off"), later("Given away"), later("Not written down before")),
    )  # fmt: skip

    def whole(self) -> Iterator[Problem]:
        """Nothing, or nothing thrown."""
        if self.what == "thrown" and 0 in (self.mass_g, self.bars):
            yield Problem("bars" if self.bars == 0 else "mass_g", "nothing-thrown", tr("Nothing went."), tr("Type how much, or count what’s there."))
