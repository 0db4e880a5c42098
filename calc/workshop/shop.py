"""The workshop itself: its name, its codes, whose law it keeps to, and what its soap is like."""

from dataclasses import dataclass

from calc.entry.declare import NAME_LENGTH, Range, choice, count, measure, share, text
from calc.entry.language import later
from calc.entry.shown import number, percent, quantity
from calc.tables.reference import constant
from calc.workshop.deliveries import MONEY

SOAP_RANGE = Range(0.5, 1.5, later("bar soap that floats or sinks hard is outside what a cold-process block gives"))
SET_LOW, SET_HIGH = constant("set_soap_density_low").value, constant("set_soap_density_high").value
LOSS_LOW, LOSS_HIGH = constant("cure_loss_usual_low").value, constant("cure_loss_usual_high").value
# The European Union, the United States, and any other country; its words are typed.
MADE_WHERE = {"eu": later("European Union"), "us": later("United States"), "else": later("Another country")}
CURE_LOW, CURE_HIGH = constant("cure_weeks_usual_low").value, constant("cure_weeks_usual_high").value


@dataclass(frozen=True, kw_only=True)
class Shop:
    """The workshop itself."""

    name: str = text(later("Workshop name"), max_length=NAME_LENGTH, help="Printed at the top of each batch sheet.")
    code_prefix: str = text(
        later("Batch code prefix"), max_length=6, help="Two or three letters. A batch code is this, the date and a number."
    )
    tolerance_scheme: str = choice(
        later("Scale limits follow"),
        options={"R76": "OIML R 76, in service", "HB44": "NIST Handbook 44, maintenance"},
        help="The legal limits of error for a scale in use. Used for the superfat interval.",
    )
    set_density_g_per_ml: float | None = measure(
        later("Density of set soap"),
        kind="density",
        offered=("g/ml", "kg/l"),
        refuse=SOAP_RANGE,
        warn=Range(0.95, 1.12, later("set cold-process soap is usually {low} to {high} (common practice, no source)", low=number(SET_LOW, 1), high=quantity(SET_HIGH, "g/ml", 1))),
        help=f"Weigh one fresh bar and divide by its volume. If it's empty, {number(SET_LOW, 1)} to {number(SET_HIGH, 1)} is used (common practice, no source). Blocks of a formula whose first bar you weighed at the cutter come before it.",
        optional=True,
    )
    market: str | None = choice(
        later("Soap is sold in"),
        options={"us": "United States", "eu": "European Union", "both": "Both"},
        optional=True,
        help="Whose law applies to scent and label. Not stated: both.",
    )
    made_where: str | None = choice(
        later("Soap is made in"),
        options=MADE_WHERE,
        optional=True,
        help="A label names the country only where the soap is imported: sold in the EU or the US, and made outside it. For the US that is from memory: check.",
    )
    made_in: str | None = text(
        later("Country it's made in"), max_length=NAME_LENGTH, optional=True, when=("made_where", ("eu", "else")),
        needed=later("where it's sold elsewhere"),
    )  # fmt: skip
    scent_rules: str | None = choice(
        later("Scent follows"),
        options={"both": "EU law and IFRA Standards", "eu": "EU law", "ifra": "IFRA Standards"},
        optional=True,
        help="Where you sell decides about EU law, if you said so above. Not stated: both.",
    )
    cure_loss_fraction: float | None = share(
        later("Weight lost in cure"),
        refuse=Range(0.0, 0.5, later("a bar that loses more than half was mostly water")),
        warn=Range(0.03, 0.25, later("bars usually lose {low} to {high} in cure (common practice, no source)", low=percent(LOSS_LOW), high=percent(LOSS_HIGH))),
        optional=True,
        help="From fresh block to sold bar. Needed to tell how much of the bar is scent.",
    )

    cure_weeks: int | None = count(
        later("Weeks on the rack"),
        refuse=Range(1, 104, later("nobody cures soap for more than two years")),
        warn=Range(2, 52, later("{low} to {high} weeks are usual (common practice, no source)", low=number(CURE_LOW), high=number(CURE_HIGH))),
        optional=True,
        help="Your own rule for when a batch is ready. With a weekly loss below as well, both must hold.",
    )
    cure_weekly_loss_fraction: float | None = share(
        later("Ready when a week takes at most"),
        refuse=Range(0.0005, 0.1, later("a bar that loses a tenth in a week is fresh")),
        optional=True,
        help="Of the bar's weight. Read off the drying curve of the batch.",
    )

    currency: str | None = text(
        later("Money is in"), max_length=5, optional=True, help=later("Its sign or letters, as you want them before a price: $, EUR.")
    )
    labor_per_hour: float | None = measure(
        later("An hour's work costs"), kind="ratio", offered=("",), refuse=MONEY, optional=True, help=later("Left empty: a bar's cost has no labor in it.")
    )
    energy_per_kwh: float | None = measure(
        later("A kilowatt-hour costs"), kind="ratio", offered=("",), refuse=MONEY, optional=True
    )
    block_kwh: float | None = measure(
        later("Power a block takes, kWh"), kind="ratio", offered=("",), optional=True,
        refuse=Range(0.0, 1000.0, later("a block takes some kilowatt-hours")),
        help=later("Off your meter: melting, tanks and mixing. Left empty: a bar's cost has no power in it."),
    )  # fmt: skip

    @property
    def set_densities_g_per_ml(self) -> tuple[float, float]:
        """The lowest and highest density [g/ml] that its set soap may have: one figure where it was measured."""
        if self.set_density_g_per_ml is not None:
            return self.set_density_g_per_ml, self.set_density_g_per_ml
        return SET_LOW, SET_HIGH
