"""What a workshop works with, set up once: moulds, scales, vessels, the cutter.

Each class is the one declaration of its form: label, units, limits with their reason and help stand here only.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from calc.entry.declare import NAME_LENGTH, Range, Whole, choice, count, length, mass, measure, small_mass, text
from calc.entry.language import later, tr
from calc.entry.problems import Caution, Problem
from calc.entry.shown import length as length_shown
from calc.entry.shown import number
from calc.scales.display import Display, display_of
from calc.tables.reference import constant

MOST_STEPS = constant("display_steps_most").value
# A plate's capacity is a whole number of its divisions (OIML R 76-1, n = Max/e, from memory). Conversion leaves less than this.
WHOLE = 0.01
ASSUMED = "assumed"


def figures(label: str) -> Any:
    """Whether somebody knows an item's figures; older items say nothing of it, and theirs were typed in as known."""
    return choice(
        label,
        options={"known": later("Measured, or read off the plate"), ASSUMED: later("Assumed for now")},
        optional=True,
        help=later("Anything assumed is named on each batch sheet until you correct it."),
    )


MOULD_SIDE = Range(30.0, 3000.0, later("molds for bar soap run from a single bar to a few meters"))


@dataclass(frozen=True, kw_only=True)
class Mould(Whole):
    """A block mould, inner measures with the liner in."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    length_mm: float = length(later("Inner length"), refuse=MOULD_SIDE, help=later("With the liner in."))
    width_mm: float = length(later("Inner width"), refuse=MOULD_SIDE)
    height_mm: float = length(later("Inner height"), refuse=MOULD_SIDE)
    fill_height_mm: float = length(
        later("Usual fill height"),
        refuse=MOULD_SIDE,
        help=later("From the bottom to the level you pour to. Leave room: hot batter can rise."),
    )
    figures: str | None = figures(later("Inside size: how you know it"))
    tare_g: float | None = mass(
        later("Empty weight of the mold"),
        refuse=Range(1.0, 1_000_000.0, later("an empty mold weighs between 1 g and 1 metric ton")),
        optional=True,
        help=later("With liner and dolly, as the hoist lifts it. Told with the block before it is lifted."),
    )

    def whole(self) -> Iterator[Problem]:
        """A fill that runs over."""
        if self.fill_height_mm > self.height_mm:
            message = tr("The usual fill height is above the mold's inner height.")
            yield Problem("fill_height_mm", "fill-over-height", message, tr("Type a level inside the mold."))


@dataclass(frozen=True, kw_only=True)
class ScaleItem(Whole):
    """A scale as its plate describes it."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    capacity_g: float = mass(
        later("Capacity (Max)"),
        refuse=Range(10.0, 2_000_000.0, later("scales used here weigh from 10 g to 2 metric tons")),
        leads=("division_g.unit", "reads_in"),
        help=later("On the plate as Max."),
    )
    division_g: float = small_mass(
        later("Division (d)"),
        us="lb",
        refuse=Range(0.001, 5000.0, later("divisions run from 1 mg to 5 kg")),
        help=later("The step the display counts in."),
    )
    reads_in: str = choice(
        later("Display shows"), options={"kg": "kg", "g": "g", "lb": "lb", "oz": "oz"}, help=later("Targets are given in this unit.")
    )
    accuracy_class: str = choice(
        later("Accuracy class"),
        options={"unmarked": later("No class on the plate"), "II": "II", "III": "III", "IIII": "IIII"},
        help=later("In an oval on the plate. Without one, class III limits are assumed and the sheet says so."),
    )
    figures: str | None = figures(later("Plate: how you know it"))
    plate_says: str | None = choice(
        later("Checked again"), options={"yes": later("Yes, the plate says exactly that")}, optional=True,
        asked_back=("capacity_g", "division_g", "reads_in"),
    )

    @property
    def display(self) -> Display:
        """What its display can show."""
        return display_of(self.division_g, self.reads_in)

    def whole(self) -> Iterator[Problem | Caution]:
        """A plate that was read wrong, or that reads as if it was."""
        if self.division_g > self.capacity_g:
            message = tr("{scale}: its division is larger than its capacity.", scale=self.name)
            # Of no one field: a sheet says it too, where the scale's form is not in sight.
            yield Problem("", "division-over-capacity", message, tr("Correct the scale in the Workshop."))
        elif self.plate_says is None:
            yield from self._odd()

    def _odd(self) -> Iterator[Caution]:
        """What is asked back before it is saved."""
        steps, division_g = self.capacity_g / self.division_g, self.display.grams(self.display.division)
        if abs(steps - round(steps)) > WHOLE or abs(division_g - self.division_g) > WHOLE * division_g:
            yield Caution(
                "plate_says",
                "mixed-units",
                tr("Capacity and step don't go together on a display in {unit}.", unit=self.reads_in),
                tr("A scale has one unit: read both off the plate in the unit its display shows."),
            )
        if steps > MOST_STEPS + WHOLE:
            yield Caution(
                "plate_says",
                "many-steps",
                tr("That would be {steps} steps. Only lab scales have that many.", steps=number(steps, 0)),
                tr("Over 10,000, the step is most often in another unit than the capacity."),
            )


@dataclass(frozen=True, kw_only=True)
class Vessel:
    """A pot that is weighed into and mixed in."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    capacity_ml: float = measure(
        later("Brim volume"),
        kind="volume",
        offered=("l", "ml", "gal"),
        us="gal",
        refuse=Range(100.0, 2_000_000.0, later("mixing vessels here hold from 0.1 to 2000 liters")),
    )
    tare_g: float = mass(
        later("Empty weight (tare)"),
        refuse=Range(1.0, 1_000_000.0, later("an empty vessel weighs from 1 g to 1 metric ton")),
        help=later("Clean and dry, with what always stays on it."),
    )
    figures: str | None = figures(later("Empty weight: how you know it"))


@dataclass(frozen=True, kw_only=True)
class Cutter:
    """Wire frames: the pitch of the wires along each side of the block."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    pitch_length_mm: float = length(
        later("Wire pitch along the block's length"),
        refuse=Range(3.0, 1000.0, later("pieces thinner than 3 mm don't hold together")),
        help="Wire to wire. One of a bar's three sizes, plus the wire's own width if it takes out soap.",
    )
    pitch_width_mm: float = length(
        later("Wire pitch along the block's width"),
        refuse=Range(3.0, 1000.0, later("pieces thinner than 3 mm don't hold together")),
    )
    pitch_height_mm: float = length(
        later("Wire pitch along the block's height"),
        refuse=Range(3.0, 1000.0, later("pieces thinner than 3 mm don't hold together")),
    )
    trim_mm: float = length(
        later("Trim per side"),
        refuse=Range(0.0, 200.0, later("more than 200 mm of trim a side isn't trim anymore")),
        help="Planed or cut off each face of the block. 0 if nothing is trimmed.",
    )
    kerf_mm: float = length(
        later("Soap a cut removes (kerf)"),
        offered=("mm", "in"),
        refuse=Range(0.0, 10.0, later("a cut wider than 10 mm is a saw for wood")),
        help="A thin wire pushes soap aside and takes out none: 0 is usual for wire.",
    )


@dataclass(frozen=True, kw_only=True)
class Rack:
    """A cure rack: its trays are alike, and counted from the top left."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    shelves: int = count(
        later("Shelves"), refuse=Range(1, 40, later("a rack has at most some forty shelves")), help=later("One above the other.")
    )
    trays_per_shelf: int = count(
        later("Trays on a shelf"), refuse=Range(1, 20, later("more than twenty trays on one shelf are several racks"))
    )
    tray_length_mm: float = length(
        later("Inner length of a tray"), refuse=Range(50.0, 3000.0, later("trays run from a hand's breadth to a few meters"))
    )
    tray_width_mm: float = length(
        later("Inner width of a tray"), refuse=Range(50.0, 3000.0, later("trays run from a hand's breadth to a few meters"))
    )
    gap_mm: float | None = length(
        later("Gap between bars"),
        refuse=Range(0.0, 100.0, later("bars 100 mm apart leave the tray empty")),
        help=later("Air has to pass. Left empty, {gap} is counted (common practice, no source).", gap=length_shown(constant("drying_gap").value, "mm", 1)),
        optional=True,
    )

    @property
    def places(self) -> int:
        """How many trays it holds."""
        return self.shelves * self.trays_per_shelf
