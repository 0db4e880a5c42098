"""What is asked of a cut plan."""

from dataclasses import dataclass

from calc.entry.declare import Range, count, item, length, share, small_mass
from calc.entry.language import later
from calc.entry.shown import percent
from calc.workshop.equipment import MOULD_SIDE
from calc.workshop.shop import LOSS_HIGH, LOSS_LOW


@dataclass(frozen=True, kw_only=True)
class CutQuestion:
    """A mould and its fill, what cuts it, and the bars that are wanted of it."""

    mould: str = item(later("Mold"), kind="mould", lone=True)
    fill_height_mm: float | None = length(
        later("Fill height"), refuse=MOULD_SIDE, optional=True, help=later("Empty: the mold's usual one.")
    )
    formula: str | None = item(
        later("Formula"), kind="formula", lone=True, optional=True, help=later("Tells what the batter weighs, and how far it sinks as it sets.")
    )
    loaf_frame: str | None = item(
        later("Loaf frame"), kind="loaf_frame", optional=True, help=later("None chosen: the one that wastes least.")
    )
    bar_frame: str | None = item(later("Bar frame"), kind="bar_frame", optional=True)
    cutter: str | None = item(later("Cutter"), kind="cutter", optional=True, help=later("Chosen, it alone is counted."))
    bars_wanted: int | None = count(
        later("Bars wanted"), refuse=Range(1, 100_000, later("one order is from a single bar to 100,000")), optional=True
    )
    sold_bar_g: float | None = small_mass(
        later("Each weighs at sale"),
        refuse=Range(5.0, 5000.0, later("bars for sale weigh between 5 g and 5 kg")),
        optional=True,
    )
    cure_loss_fraction: float | None = share(
        later("Weight lost in cure"),
        refuse=Range(0.0, 0.5, later("a bar that loses more than half was mostly water")),
        warn=Range(0.03, 0.25, later("bars usually lose {low} to {high} in cure (common practice, no source)", low=percent(LOSS_LOW), high=percent(LOSS_HIGH))),
        optional=True,
        help=later("Empty: as in Workshop."),
    )
    sinks_fraction: float | None = share(
        later("The block sinks as it sets by"),
        refuse=Range(0.0, 0.3, later("a block that sinks by more than a third was mostly air")),
        optional=True,
        help=later("Of the fill height. Empty: what the batter's weight and the density of your set soap come to."),
    )
