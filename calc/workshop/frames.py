"""What a block is cut with: the frame that makes loaves of it, and the frame that makes bars of the loaves.

Both are declared alike; each is the one declaration of its form.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from calc.entry.declare import NAME_LENGTH, Range, Whole, choice, count, length, rows, text
from calc.entry.language import later, tr
from calc.entry.problems import Problem
from calc.entry.shown import level
from calc.tables.reference import constant

SPACE = Range(3.0, 1000.0, later("pieces thinner than 3 mm don't hold together"))
TRIM = Range(0.0, 200.0, later("more than 200 mm of trim a side isn't trim anymore"))
ROOM = Range(10.0, 3000.0, later("cutting frames take from one bar to three meters"))
GAP_MM = constant("bar_frame_gap_usual").value
MOST_SPACES = 60
CUTS_WITH = {"wire": later("Wire: pushes soap aside"), "blade": later("Blade or saw: removes its own thickness")}


@dataclass(frozen=True, kw_only=True)
class Space:
    """One space between two wires."""

    space_mm: float = length(later("From wire to wire"), refuse=SPACE)


def _pitch(label: str, help: str) -> Any:
    return length(label, refuse=SPACE, optional=True, help=help)


def _spaces() -> Any:
    return rows(
        later("Spaces that differ, from the stop on"),
        of=Space,
        minimum=0,
        maximum=MOST_SPACES,
        help=later("Instead of one distance."),
        add_label=later("Add a space"),
    )


def _first() -> Any:
    return length(
        later("From the stop to the first wire"),
        refuse=TRIM,
        optional=True,
        help=later("Where it is more than the trim, that much comes off. Empty: the trim."),
    )


def _number(label: str) -> Any:
    return count(
        label,
        refuse=Range(1, 300, later("a frame has a wire at least, and at most some hundred")),
        optional=True,
        help=later("Empty: as many as a block needs."),
    )


def _cuts_with() -> Any:
    return choice(later("It cuts with"), options=CUTS_WITH)


def _thickness() -> Any:
    return length(
        later("Thickness of the wire or blade"),
        refuse=Range(0.0, 10.0, later("a cut wider than 10 mm is a saw for wood")),
        when=("cuts_with", "blade"),
        help=later("Each cut removes that much soap."),
    )


class _Frame(Whole):
    """What both frames have; how far apart their wires stand is said in one of two ways."""

    pitch_mm: float | None
    spaces: tuple[Space, ...]
    cuts_with: str
    thickness_mm: float | None

    @property
    def kerf_mm(self) -> float:
        """Soap that one cut removes [mm]."""
        return self.thickness_mm or 0.0 if self.cuts_with == "blade" else 0.0

    @property
    def spaces_mm(self) -> tuple[float, ...]:
        """From wire to wire [mm]; one space stands for all."""
        return (self.pitch_mm,) if self.pitch_mm is not None else tuple(each.space_mm for each in self.spaces)

    def _faults(self, crossing_mm: float | None, crossing: str) -> Iterator[Problem]:
        if (self.pitch_mm is None) == (not self.spaces):
            yield Problem(
                "pitch_mm",
                "one-way-of-spacing",
                tr("Say how far apart the wires stand: one distance, or each space."),
                tr("Fill in one of the two."),
            )
        narrowest = min((*self.spaces_mm, *(() if crossing_mm is None else (crossing_mm,))), default=None)
        if narrowest is not None and narrowest <= self.kerf_mm:
            field = crossing if crossing_mm is not None and narrowest == crossing_mm else "pitch_mm"
            yield Problem(
                field,
                "kerf-over-pitch",
                tr("Each cut removes more soap than the wires are apart."),
                tr("Correct the distance or the thickness."),
            )


@dataclass(frozen=True, kw_only=True)
class LoafFrame(_Frame):
    """The frame that the whole block goes through."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    pitch_mm: float | None = _pitch(later("Upright wires, from wire to wire"), later("One of a bar's three sizes."))
    spaces: tuple[Space, ...] = _spaces()
    wires: int | None = _number(later("How many upright wires"))
    level_pitch_mm: float | None = _pitch(
        later("Level wires, from wire to wire"), later("Another of a bar's sizes. Empty: it has none, and cuts slices as high as the block.")
    )
    level_wires: int | None = _number(later("How many level wires"))
    first_mm: float | None = _first()
    cuts_with: str = _cuts_with()
    thickness_mm: float | None = _thickness()
    trim_mm: float = length(later("Trim on each side"), refuse=TRIM, help=later("0 when nothing is trimmed."))
    trim_top_mm: float | None = length(
        later("Trim off the top"), refuse=TRIM, optional=True, help=later("With what is skimmed. Empty: as on the sides.")
    )
    trim_bottom_mm: float | None = length(
        later("Trim off the bottom"), refuse=TRIM, optional=True, help=later("Empty: as on the sides.")
    )

    def whole(self) -> Iterator[Problem]:
        """Wires that stand nowhere, in two ways, or closer than they cut."""
        yield from self._faults(self.level_pitch_mm, "level_pitch_mm")


@dataclass(frozen=True, kw_only=True)
class BarFrame(_Frame):
    """The frame that comes down on the loaves."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    pitch_mm: float | None = _pitch(later("Wires, from wire to wire"), later("The size of a bar along the loaf."))
    spaces: tuple[Space, ...] = _spaces()
    wires: int | None = _number(later("How many wires"))
    cross_pitch_mm: float | None = _pitch(
        later("Wires across those, from wire to wire"), later("Only for loaves that are still as wide as the block is high. Empty: it has none.")
    )
    cross_wires: int | None = _number(later("How many wires across those"))
    first_mm: float | None = _first()
    cuts_with: str = _cuts_with()
    thickness_mm: float | None = _thickness()
    trim_mm: float = length(later("Trim at the loaf's ends"), refuse=TRIM, help=later("0 when nothing is trimmed."))
    opening_mm: float | None = length(
        later("From its table up to the wires"),
        refuse=ROOM,
        optional=True,
        help=later("Raised. Tells how many layers of loaves go under it."),
    )
    bed_mm: float | None = length(
        later("Width of its table"), refuse=ROOM, optional=True, help=later("Tells how many loaves lie side by side.")
    )
    longest_mm: float | None = length(later("Longest loaf it takes"), refuse=ROOM, optional=True)

    def whole(self) -> Iterator[Problem]:
        """Wires as of the other frame; and no room under them."""
        yield from self._faults(self.cross_pitch_mm, "cross_pitch_mm")
        if self.opening_mm is not None and self.opening_mm <= GAP_MM:
            yield Problem(
                "opening_mm",
                "no-room-under-frame",
                tr("Of that, {gap} stay free between the loaves and the wires: nothing goes under it.", gap=level(GAP_MM, "metric")),
                tr("Measure from the table up to the wires, raised."),
            )
