"""What the workshop asks of bars before it sells them, and where they go."""

from dataclasses import dataclass

from calc.entry.declare import NAME_LENGTH, Range, choice, count, share, text
from calc.entry.language import later
from calc.entry.shown import number
from calc.tables.reference import constant

SAMPLE_BARS, SAMPLE_YEARS = constant("sample_bars_usual").value, constant("sample_years_usual").value
ASKED = {"yes": later("Must pass")}


@dataclass(frozen=True, kw_only=True)
class ReleaseChecks:
    """What must hold before bars are sold. What is left empty is not asked."""

    free_caustic_most_fraction: float | None = share(
        later("Free caustic alkali, at most"),
        refuse=Range(0.0, 0.02, later("soap with more than 2 % of free caustic burns")),
        optional=True,
        help=later("By the test that is kept on the cure rack (ISO 456). Empty: not asked."),
    )
    moisture_most_fraction: float | None = share(
        later("Moisture, at most"),
        refuse=Range(0.01, 0.6, later("soap is from dry to three fifths water")),
        optional=True,
        help=later("By the oven test that is kept on the cure rack (ISO 672). Empty: not asked."),
    )
    loss_least_fraction: float | None = share(
        later("Weight lost on the rack, at least"),
        refuse=Range(0.001, 0.5, later("a bar that loses more than half was mostly water")),
        optional=True,
        help=later("From the first weighing of the sample bars to the last. Empty: not asked."),
    )
    superfat_least_fraction: float | None = share(
        later("Lower end of the superfat, at least"),
        refuse=Range(0.0, 0.2, later("the lower end lies between 0 and 20 %: below 0 there is free lye")),
        optional=True,
        help=later("As it was really weighed. 0: no free lye by any of the doubts. Empty: not asked."),
    )
    weight: str | None = choice(
        later("Weight on the label"), options=ASKED, optional=True,
        help=later("The average and the lightest bar, by the law where you sell: bars weighed one by one."),
    )  # fmt: skip
    scent: str | None = choice(later("Scent within law"), options=ASKED, optional=True, help=later("By the limits that the batch sheet was issued with."))
    look: str | None = choice(later("Look and smell"), options=ASKED, optional=True, help=later("Whoever releases the bars says so."))
    sample_bars: int | None = count(
        later("Bars kept as a sample"), refuse=Range(0, 1000, later("a sample is a few bars of a block")), optional=True,
        help=later("Of each block. {bars} is usual (common practice, no source).", bars=number(SAMPLE_BARS)),
    )  # fmt: skip
    sample_years: int | None = count(
        later("Years they are kept"), refuse=Range(1, 30, later("no bar is kept for longer than 30 years")), optional=True,
        help=later("{years} is usual (common practice, no source).", years=number(SAMPLE_YEARS)),
    )  # fmt: skip
    sample_place: str | None = text(later("Where samples lie"), max_length=NAME_LENGTH, optional=True)


@dataclass(frozen=True, kw_only=True)
class Outlet:
    """Where bars are sold: a shop, a market, one customer."""

    name: str = text(later("Name of the outlet"), max_length=NAME_LENGTH, help=later("A shop, a market stall, one customer."))
    reach: str | None = text(
        later("How to reach them"), max_length=300, optional=True, multiline=True,
        help=later("Phone or address. It stands on the recall list."),
    )  # fmt: skip
