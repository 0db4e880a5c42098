"""What a workshop works with, set up once: moulds, scales, vessels, the cutter.

Each class is the one declaration of its form: label, units, limits with their reason and help stand here only.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from calc.entry.declare import NAME_LENGTH, Range, Whole, choice, length, mass, measure, small_mass, text
from calc.entry.language import later, tr
from calc.entry.problems import Problem

MOULD_SIDE = Range(30.0, 3000.0, later("moulds for bar soap run from a single bar to a few metres"))


@dataclass(frozen=True, kw_only=True)
class Mould(Whole):
    """A block mould, inner measures with the liner in."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    length_mm: float = length(later("Inner length"), refuse=MOULD_SIDE, help="With the liner in.")
    width_mm: float = length(later("Inner width"), refuse=MOULD_SIDE)
    height_mm: float = length(later("Inner height"), refuse=MOULD_SIDE)
    fill_height_mm: float = length(
        later("Usual fill height"),
        refuse=MOULD_SIDE,
        help="From the bottom to the level you pour to. Leave room: hot batter can rise.",
    )

    def whole(self) -> Iterator[Problem]:
        """A fill that runs over."""
        if self.fill_height_mm > self.height_mm:
            message = tr("The usual fill height is above the mould's inner height.")
            yield Problem("fill_height_mm", "fill-over-height", message, tr("Type a level inside the mould."))


@dataclass(frozen=True, kw_only=True)
class ScaleItem(Whole):
    """A scale as its plate describes it."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    capacity_g: float = mass(
        later("Capacity (Max)"),
        refuse=Range(10.0, 2_000_000.0, later("scales used here carry from 10 g to 2 tonnes")),
        help="On the plate as Max.",
    )
    division_g: float = small_mass(
        later("Division (d)"),
        refuse=Range(0.001, 5000.0, later("divisions run from 1 mg to 5 kg")),
        help="The step in which the display counts.",
    )
    reads_in: str = choice(
        later("Display shows"), options={"kg": "kg", "g": "g", "lb": "lb", "oz": "oz"}, help="Targets are given in this unit."
    )
    accuracy_class: str = choice(
        later("Accuracy class"),
        options={"unmarked": "No class on the plate", "II": "II", "III": "III", "IIII": "IIII"},
        help="In an oval on the plate. Without one, class III limits are assumed and the sheet says so.",
    )

    def whole(self) -> Iterator[Problem]:
        """A plate that was read wrong."""
        if self.division_g > self.capacity_g:
            message = tr("{scale}: its division is larger than its capacity.", scale=self.name)
            # Of no one field: a sheet says it too, where the scale's form is not in sight.
            yield Problem("", "division-over-capacity", message, tr("Correct the scale in the Workshop."))


@dataclass(frozen=True, kw_only=True)
class Vessel:
    """A pot that is weighed into and mixed in."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    capacity_ml: float = measure(
        later("Brim volume"),
        kind="volume",
        offered=("l", "ml", "gal"),
        us="gal",
        refuse=Range(100.0, 2_000_000.0, later("mixing vessels here hold from 0.1 to 2000 litres")),
    )
    tare_g: float = mass(
        later("Empty weight (tare)"),
        refuse=Range(1.0, 1_000_000.0, later("an empty vessel weighs between 1 g and 1 tonne")),
        help="Clean and dry, with what always stays on it.",
    )


@dataclass(frozen=True, kw_only=True)
class Cutter:
    """Wire frames: the pitch of the wires along each side of the block."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    pitch_length_mm: float = length(
        later("Wire pitch along the block's length"),
        refuse=Range(3.0, 1000.0, later("pieces thinner than 3 mm do not hold together")),
        help="Wire to wire. One of a bar's three sizes, plus the wire's own width where it removes soap.",
    )
    pitch_width_mm: float = length(
        later("Wire pitch along the block's width"),
        refuse=Range(3.0, 1000.0, later("pieces thinner than 3 mm do not hold together")),
    )
    pitch_height_mm: float = length(
        later("Wire pitch along the block's height"),
        refuse=Range(3.0, 1000.0, later("pieces thinner than 3 mm do not hold together")),
    )
    trim_mm: float = length(
        later("Trim per side"),
        refuse=Range(0.0, 200.0, later("more than 200 mm of trim a side is no longer a trim")),
        help="Planed or cut off each face of the block. 0 when nothing is trimmed.",
    )
    kerf_mm: float = length(
        later("Soap a cut removes (kerf)"),
        offered=("mm", "in"),
        refuse=Range(0.0, 10.0, later("a cut wider than 10 mm is a saw for wood")),
        help="A thin wire pushes soap aside and removes none: 0 is usual for wire.",
    )
