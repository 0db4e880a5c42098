"""The shop's ways at the scale: which steps it takes, what still runs on after a valve closes, which ranges it keeps.

Safety steps are not among them: they stand in every block (reference: 29 CFR 1910.132(d), 1910.151(c)).
"""

from collections.abc import Iterator
from dataclasses import dataclass

from calc.entry.declare import Range, Whole, choice, count, mass, share, small_mass, temperature
from calc.entry.language import later, tr
from calc.entry.problems import Problem
from calc.entry.shown import degrees_apart, percent
from calc.tables.reference import constant

POURED_AT = Range(10.0, 90.0, later("oils and lye are poured between 10 and 90 °C (50 and 194 °F)"))
RUNS_ON = Range(0.0, 5000.0, later("more than 5 kg after closing is a leaking valve"))
NARROWEST_C = constant("temperature_range_least").value
HOLD_BACK_USUAL_FRACTION = constant("hold_back_usual").value
YES_NO = {"yes": "Yes", "no": "No"}


@dataclass(frozen=True, kw_only=True)
class Habits(Whole):
    """How blocks are weighed here."""

    tare: str = choice(
        later("Tare"),
        options={"each": "Before each pour", "never": "Never: the display keeps counting"},
        help="This decides what the display shows at each pour.",
    )
    oils: str = choice(
        later("Oils come"),
        options={"each": "One by one", "blend": "From a tank, already blended"},
        help="A blend is one pour for all oils in the vessel. Late oils stay separate.",
    )
    hold_back_fraction: float = share(
        later("Lye held back for the top-up"),
        refuse=Range(0.0, 0.2, later("more than 20 % isn't a top-up anymore")),
        help="Of premixed lye: weighed last, on the finer scale, to match the oils as weighed. "
        f"{percent(HOLD_BACK_USUAL_FRACTION)} is usual (common practice, no source). 0 skips it.",
    )
    top_up: str | None = choice(
        later("Lye is topped up"),
        options={"jug": "In a jug on the finest scale", "vessel": "From the pitcher straight into the vessel"},
        optional=True,
        help="Straight in, it's read on the vessel's own scale, in that scale's coarser steps. Not stated: in a jug.",
    )
    runs_on_oil_g: float | None = small_mass(
        later("Oil that still runs after closing the valve"),
        refuse=RUNS_ON,
        optional=True,
        help="Close the valve, read, wait, read again. Leave empty if you don't know it.",
    )
    runs_on_lye_g: float | None = small_mass(
        later("Lye that still runs after closing the valve"), refuse=RUNS_ON, optional=True
    )
    check_weight_g: float | None = mass(
        later("Check weight"),
        refuse=Range(1.0, 200_000.0, later("check weights run from 1 g to 200 kg")),
        optional=True,
        help="Its true weight. Leave empty if there's none.",
    )
    temperatures: str = choice(later("Read the temperatures of oils and lye"), options=YES_NO)
    oil_lowest_c: float | None = temperature(
        later("Oils poured at, lowest"),
        refuse=POURED_AT,
        optional=True,
        when=("temperatures", "yes"),
        help="A reading outside your range is asked about.",
    )
    oil_highest_c: float | None = temperature(
        later("Oils poured at, highest"), refuse=POURED_AT, optional=True, when=("temperatures", "yes")
    )
    lye_lowest_c: float | None = temperature(
        later("Lye poured at, lowest"), refuse=POURED_AT, optional=True, when=("temperatures", "yes")
    )
    lye_highest_c: float | None = temperature(
        later("Lye poured at, highest"), refuse=POURED_AT, optional=True, when=("temperatures", "yes")
    )
    scent: str | None = choice(
        later("Scent is weighed"),
        options={"before": "Before the lye goes in, and covered", "trace": "At trace"},
        optional=True,
        help="It goes in at trace either way. Not stated: before the lye, so it's ready when the batter thickens.",
    )
    trace_minutes: int | None = count(
        later("Minutes of mixing to trace"),
        refuse=Range(1, 600, later("mixing takes from a minute to ten hours")),
        optional=True,
        help="Starts a timer. Leave empty for none.",
    )
    cover: str = choice(later("Cover the block after pouring"), options=YES_NO)
    unmould_hours: int | None = count(
        later("Hours in the mold"),
        refuse=Range(1, 336, later("a block stays in its mold from an hour to two weeks")),
        optional=True,
        help="Starts a timer. Leave empty for none.",
    )

    def whole(self) -> Iterator[Problem]:
        """Ranges of temperature that nobody can meet."""
        for what, lowest_c, highest_c in (
            ("oil", self.oil_lowest_c, self.oil_highest_c),
            ("lye", self.lye_lowest_c, self.lye_highest_c),
        ):
            if lowest_c is not None and highest_c is not None and highest_c < lowest_c + NARROWEST_C:
                yield Problem(
                    f"{what}_highest_c",
                    "range-too-narrow",
                    tr("The highest temperature must be at least {least} above the lowest.", least=degrees_apart(NARROWEST_C)),
                    tr("Raise it, or lower the lowest."),
                )


# For a shop that has said nothing: every step on.
USUAL_HABITS = Habits(
    tare="each",
    oils="each",
    hold_back_fraction=HOLD_BACK_USUAL_FRACTION,
    top_up=None,
    runs_on_oil_g=None,
    runs_on_lye_g=None,
    check_weight_g=None,
    temperatures="yes",
    oil_lowest_c=None,
    oil_highest_c=None,
    lye_lowest_c=None,
    lye_highest_c=None,
    scent=None,
    trace_minutes=int(constant("trace_usual").value),
    cover="yes",
    unmould_hours=int(constant("unmould_usual").value),
)
