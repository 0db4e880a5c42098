"""What is asked about an oil that is gone or short."""

from dataclasses import dataclass

from calc.entry.declare import Range, item, mass
from calc.entry.language import later
from calc.workshop.deliveries import LOT_MASS


@dataclass(frozen=True, kw_only=True)
class StandInQuestion:
    """A formula, the oil of it that is missing, how much of that is left, and for how much oil in all."""

    formula: str = item(later("Formula"), kind="formula", lone=True)
    oil: str | None = item(later("Which oil is out or short"), kind="oil", optional=True)
    left_g: float | None = mass(
        later("How much is left"), refuse=LOT_MASS, optional=True, help=later("Left empty: what its lots in Workshop say.")
    )
    oils_g: float | None = mass(
        later("All oils, all blocks"),
        refuse=Range(1.0, 2_000_000.0, later("a batch has from 1 g to 2 metric tons of oils")),
        optional=True,
        help=later("With this, no oil goes past what’s on the shelf."),
    )
