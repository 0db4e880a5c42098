"""Tanks: what oils or premixed lye stand in, ready for the blocks of a day."""

from collections.abc import Iterator
from dataclasses import dataclass

from calc.entry.declare import NAME_LENGTH, Range, Whole, choice, item, length, measure, text
from calc.entry.language import later, tr
from calc.entry.problems import Problem

YES_NO = {"yes": later("Yes"), "no": later("No")}
# What a tank for lye may be of: lye eats aluminum, zinc and brass, and gives off hydrogen.
MATERIALS = {
    "polypropylene": later("Polypropylene (PP)"),
    "polyethylene": later("Polyethylene (HDPE)"),
    "stainless_steel": later("Stainless steel"),
}
TANK_VOLUME = Range(1_000.0, 5_000_000.0, later("tanks here hold from 1 liter to 5 cubic meters"))
HEATER = Range(10.0, 100_000.0, later("tank heaters run from 10 W to 100 kW"))
LAGGING_MM = Range(1.0, 500.0, later("insulation is from 1 mm to half a meter thick"))
LAGGING = {"none": later("Bare"), "lagged": later("Insulated")}


@dataclass(frozen=True, kw_only=True)
class Tank(Whole):
    """A tank for oils or lye."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    holds: str = choice(later("What it’s for"), options={"oils": later("Oils"), "lye": later("Lye")})
    volume_ml: float = measure(
        later("Volume to its full mark"), kind="volume", offered=("l", "gal"), us="gal", refuse=TANK_VOLUME,
        help=later("As high as you fill it, with room left to stir."),
    )  # fmt: skip
    dead_ml: float = measure(
        later("Left below the valve"), kind="volume", offered=("l", "gal"), us="gal",
        refuse=Range(0.0, 5_000_000.0, later("no tank here holds more than 5 cubic meters")),
        help=later("What won't run out by itself, with what stays in the hose. Type 0 if it drains empty."),
    )  # fmt: skip
    material: str = choice(later("Made of"), options=MATERIALS)
    heater_w: float | None = measure(
        later("Heater"), kind="power", offered=("W", "kW"), us="W", optional=True,
        refuse=HEATER,
        help=later("Off its plate. Leave it empty if the tank has none."),
    )  # fmt: skip
    thermostat: str | None = choice(later("Thermostat"), options=YES_NO, optional=True)
    timer: str | None = choice(later("Timer"), options=YES_NO, optional=True)
    lagging: str = choice(later("Insulated"), options=LAGGING)
    lagging_mm: float | None = length(
        later("Thickness of the insulation"), refuse=LAGGING_MM,
        optional=True, when=("lagging", "lagged"),
    )  # fmt: skip
    scale: str | None = item(
        later("Scale it stands on"), kind="scale", optional=True, help=later("Leave it empty if it stands on the floor.")
    )
    valve: str | None = text(later("Valve and hose"), max_length=NAME_LENGTH, optional=True)

    def whole(self) -> Iterator[Problem]:
        """A tank that gives nothing."""
        if self.dead_ml >= self.volume_ml:
            message = tr("What stays below the valve is as much as the whole tank.")
            yield Problem("dead_ml", "dead-over-volume", message, tr("Type only what won't run out by itself."))
