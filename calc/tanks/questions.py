"""What is asked of a tank that is to be warmed or left to cool, and of oils and lye that are poured together."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import time

from calc.entry.declare import Range, Whole, choice, item, length, mass, measure, share, temperature, time_of_day
from calc.entry.language import later, tr
from calc.entry.problems import Problem
from calc.entry.shown import degrees
from calc.tables.reference import constant
from calc.workshop.safety_place import SCALDS_C
from calc.workshop.tanks import HEATER, LAGGING, LAGGING_MM, MATERIALS, TANK_VOLUME, YES_NO

IN_A_TANK = Range(0.0, 90.0, later("oils and lye stand between 0 and 90 °C (32 and 194 °F): hotter, oil smokes and lye steams"))
FRESH = Range(0.0, 130.0, later("lye boils at 120 to 146 °C"))
IN_A_ROOM = Range(0.0, 50.0, later("people work in it"))
STRENGTH = Range(0.05, 0.5, later("the heat of lye is known from 5 to 50 %"))
AMOUNT = Range(500.0, 10_000_000.0, later("tanks here hold from half a kilogram to 10 metric tons"))
ROOM_USUAL = (constant("room_usual_low").value, constant("room_usual_high").value)


@dataclass(frozen=True, kw_only=True)
class HeatQuestion(Whole):
    """A tank as it stands, and how warm it is to be at what time."""

    now_c: float | None = temperature(later("Temperature now"), refuse=FRESH, optional=True, help=later("Stir well first. Empty: the last reading."))
    wanted_c: float | None = temperature(later("Wanted"), refuse=IN_A_TANK, optional=True, help=later("Empty: what its soaps are poured at."), warn=Range(0.0, SCALDS_C, later("hotter than that it burns skin in seconds, and oil clings")))
    amount_g: float | None = mass(later("In it now"), refuse=AMOUNT, optional=True, help=later("Empty: what its entries say."))
    ready_at: time | None = time_of_day(later("Ready at"), optional=True)
    tank: str | None = item(later("Tank"), kind="tank", lone=True, optional=True)
    oils_are: str | None = choice(
        later("The oils are"),
        options={"clear": later("Clear"), "cloudy": later("Cloudy, or partly set"), "hard": later("Set hard")},
        optional=True, help=later("Not stated: it goes by how cold they’ll get before it’s on. What’s solid has to melt, and that takes extra heat."),
    )  # fmt: skip
    formula: str | None = item(later("Oils for"), kind="formula", optional=True, help=later("Tells which fats have to melt."))
    strength_fraction: float | None = share(later("Lye strength"), refuse=STRENGTH, optional=True, help=later("For lye. Empty: what its entries say."))
    room_c: float | None = temperature(
        later("Room"), refuse=IN_A_ROOM, optional=True,
        help=later("On average until then. Empty: {low} to {high} is counted.", low=degrees(ROOM_USUAL[0]), high=degrees(ROOM_USUAL[1])),
    )  # fmt: skip
    earlier_c: float | None = temperature(
        later("An earlier temperature"), refuse=FRESH, optional=True,
        help=later("Of the same fill, with the heater off since. Then the heat loss is measured, not estimated."),
    )  # fmt: skip
    earlier_at: time | None = time_of_day(later("Read at"), optional=True, help=later("Within the last 24 hours."))
    kwh_price: float | None = measure(
        later("Price of a kilowatt-hour"), kind="ratio", offered=("",), optional=True,
        refuse=Range(0.001, 10_000.0, later("no kilowatt-hour costs that, in any currency")),
    )  # fmt: skip
    holds: str | None = choice(later("It holds"), options={"oils": later("Oils"), "lye": later("Caustic soda lye"), "potash": later("Caustic potash lye")}, optional=True)
    volume_ml: float | None = measure(later("Tank’s volume"), kind="volume", offered=("l", "gal"), us="gal", refuse=TANK_VOLUME, optional=True)
    material: str | None = choice(later("Made of"), options=MATERIALS, optional=True)
    lagging: str | None = choice(later("Insulated"), options=LAGGING, optional=True)
    lagging_mm: float | None = length(later("Thickness of the insulation"), refuse=LAGGING_MM, optional=True, when=("lagging", "lagged"))
    heater_w: float | None = measure(later("Heater"), kind="power", offered=("W", "kW"), us="W", refuse=HEATER, optional=True)
    thermostat: str | None = choice(later("Thermostat"), options=YES_NO, optional=True)
    timer: str | None = choice(later("Timer"), options=YES_NO, optional=True)

    def whole(self) -> Iterator[Problem]:
        """Half of an earlier reading."""
        if self.earlier_c is not None and self.earlier_at is None:
            yield Problem("earlier_at", "missing", tr("When the earlier temperature was read is missing."), tr("Type the time."))
        if self.earlier_c is None and self.earlier_at is not None:
            yield Problem("earlier_c", "missing", tr("The earlier temperature is missing."), tr("Type it, or clear its time."))


@dataclass(frozen=True, kw_only=True)
class MixQuestion(Whole):
    """Oils and lye that are poured together: two of three temperatures, and how much of each."""

    oils_c: float | None = temperature(later("Oils"), refuse=IN_A_TANK, optional=True)
    lye_c: float | None = temperature(later("Lye"), refuse=IN_A_TANK, optional=True)
    batter_c: float | None = temperature(later("Batter"), refuse=IN_A_TANK, optional=True)
    formula: str | None = item(later("Formula"), kind="formula", lone=True, optional=True, help=later("Tells how much lye goes to the oils, and which fats may set."))
    oils_g: float | None = mass(later("Amount of oils"), refuse=AMOUNT, optional=True, help=later("Empty: what the formula says."))
    lye_g: float | None = mass(later("Amount of lye"), refuse=AMOUNT, optional=True, help=later("All of it, with its water."))
    strength_fraction: float | None = share(later("Lye strength"), refuse=STRENGTH, optional=True, help=later("Empty: what the formula says."))

    def whole(self) -> Iterator[Problem]:
        """Only one of two amounts; amounts that no formula makes up for."""
        given = [self.oils_g is not None, self.lye_g is not None]
        if any(given) and not all(given):
            field = "lye_g" if given[0] else "oils_g"
            yield Problem(field, "one-amount", tr("Only one of the two amounts is there."), tr("Type both, or neither."))
        if self.formula is None:
            if not any(given):
                yield Problem("oils_g", "no-amounts", tr("How much oil and lye there is isn’t known."), tr("Choose a formula, or type both amounts."))
            if self.strength_fraction is None:
                yield Problem("strength_fraction", "missing", tr("How strong the lye is isn’t known."), tr("Type its strength, or choose a formula."))


@dataclass(frozen=True, kw_only=True)
class TankTemperature:
    """How warm a tank is."""

    tank: str = item(later("Tank"), kind="tank", lone=True)
    temperature_c: float = temperature(later("It reads"), refuse=FRESH, help=later("Stir well first."))
    instrument: str = choice(
        later("Read with"),
        options={"probe": later("A probe in it"), "glass": later("A glass thermometer"), "infrared": later("Infrared: the surface only")},
    )
