"""One side of a block under the wires: which pieces it gives, where the cuts lie, what comes off at its two ends.

A thin wire pushes soap aside and removes none; a blade or saw removes its own thickness, the kerf.
"""

import math
from dataclasses import dataclass, replace

from calc.entry.counting import COUNTING_TOLERANCE
from calc.mould.bars import count_fitting


@dataclass(frozen=True)
class Wires:
    """The wires of a frame in one direction.

    spaces_mm: from wire to wire [mm], each above the kerf; one space is repeated as often as it fits, several stand as given.
    kerf_mm: soap that one cut removes [mm], 0 or more.
    number: of wires, 1 or more, each of which cuts once; None where there are as many as a block needs.
    Raises ValueError outside these ranges.
    """

    spaces_mm: tuple[float, ...]
    kerf_mm: float = 0.0
    number: int | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.kerf_mm < math.inf:
            raise ValueError(f"The kerf must be zero or more, not {self.kerf_mm!r} mm.")
        if not self.spaces_mm or not all(self.kerf_mm < space < math.inf for space in self.spaces_mm):
            raise ValueError("Wires need a space between them, wider than what a cut removes.")
        if self.number is not None and self.number < 1:
            raise ValueError(f"A frame has a wire at least, not {self.number!r}.")


@dataclass(frozen=True)
class CutSide:
    """One side of a block, from the stop on: what comes off, the pieces with a cut between each two, what is left."""

    side_mm: float
    first_mm: float  # comes off at the stop, with the cut that takes it off
    pieces_mm: tuple[float, ...]
    kerf_mm: float
    least_last_mm: float  # what is to come off at the far end at least
    number: int | None = None  # of the wires, where that is known
    wireless: int = 0  # pieces that would fit, and that there is no wire for

    @property
    def bars_mm(self) -> float:
        """All pieces together [mm]."""
        return math.fsum(self.pieces_mm)

    @property
    def cut_mm(self) -> float:
        """What the cuts between the pieces remove [mm]."""
        return self.kerf_mm * max(0, len(self.pieces_mm) - 1)

    @property
    def needed_mm(self) -> float:
        """The shortest side that gives these pieces [mm]."""
        return self.first_mm + self.bars_mm + self.cut_mm + self.least_last_mm

    @property
    def last_mm(self) -> float:
        """What comes off at the far end [mm]; of a side that gives no piece, all but what comes off at the stop."""
        return max(0.0, self.side_mm - self.first_mm - self.bars_mm - self.cut_mm)

    @property
    def spare_mm(self) -> float:
        """What is left at the far end beyond what is to come off there [mm]."""
        return max(0.0, self.last_mm - self.least_last_mm)

    @property
    def cuts_mm(self) -> tuple[float, ...]:
        """Where the cuts lie, each by the end of the piece before it, from the stop [mm]."""
        if not self.pieces_mm:
            return ()
        ends = [self.first_mm]
        for number, piece in enumerate(self.pieces_mm):
            ends.append(ends[-1] + piece + (self.kerf_mm if number else 0.0))
        seen = self.side_mm * COUNTING_TOLERANCE
        return tuple(end for end in ends if seen < end < self.side_mm - seen)


def cut_side(side_mm: float, wires: Wires | None, first_mm: float = 0.0, last_mm: float = 0.0) -> CutSide:
    """A side cut by wires, from the stop on.

    side_mm: length of the side [mm], above 0.
    wires: None leaves the side whole, less what comes off at its ends.
    first_mm, last_mm: what is to come off at the stop, and at the far end at least [mm], each 0 or more.
    Raises ValueError outside these ranges.

    >>> len(cut_side(600.0, Wires((25.8,), 0.8), 5.0, 5.0).pieces_mm)
    22
    >>> cut_side(210.0, Wires((60.0, 60.0, 85.0))).pieces_mm
    (60.0, 60.0, 85.0)
    >>> len(cut_side(600.0, Wires((25.0,), number=12)).pieces_mm)
    12
    """
    if not 0.0 < side_mm < math.inf:
        raise ValueError(f"The block's side must be above zero, not {side_mm!r} mm.")
    if not (0.0 <= first_mm < math.inf and 0.0 <= last_mm < math.inf):
        raise ValueError("What comes off at the ends must be zero or more.")
    first_mm = min(first_mm, side_mm)
    usable_mm = side_mm - first_mm - last_mm
    if usable_mm <= 0.0:
        return CutSide(side_mm, first_mm, (), 0.0 if wires is None else wires.kerf_mm, last_mm)
    if wires is None:
        return CutSide(side_mm, first_mm, (usable_mm,), 0.0, last_mm)
    kerf_mm, spaces_mm = wires.kerf_mm, wires.spaces_mm
    if len(spaces_mm) == 1:
        piece_mm = spaces_mm[0] - kerf_mm
        pieces: tuple[float, ...] = (piece_mm,) * count_fitting(usable_mm, piece_mm, kerf_mm)
    else:
        pieces = _as_they_stand(usable_mm, tuple(space - kerf_mm for space in spaces_mm), kerf_mm)
    fits = CutSide(side_mm, first_mm, pieces, kerf_mm, last_mm, wires.number)
    return fits if wires.number is None else _with_wires(fits, wires.number)


def _with_wires(fits: CutSide, number: int) -> CutSide:
    """As many of the pieces as so many wires cut off: N wires make N + 1 at most, fewer where something comes off at the ends."""
    found = fits
    while found.pieces_mm and cuts_for(found) > number:
        found = replace(found, pieces_mm=found.pieces_mm[:-1])
    return replace(found, wireless=len(fits.pieces_mm) - len(found.pieces_mm))


def cuts_for(side: CutSide) -> int:
    """The cuts that part a side's pieces from each other and from what comes off at its two ends."""
    seen = side.side_mm * COUNTING_TOLERANCE
    return len(side.pieces_mm) - 1 + (side.first_mm > seen) + (side.last_mm > seen)


def _as_they_stand(usable_mm: float, pieces_mm: tuple[float, ...], kerf_mm: float) -> tuple[float, ...]:
    """The first of these pieces, as many as fit."""
    fitting = 0
    for number in range(1, len(pieces_mm) + 1):
        taken_mm = math.fsum(pieces_mm[:number]) + kerf_mm * (number - 1)
        if taken_mm > usable_mm * (1.0 + COUNTING_TOLERANCE):
            break
        fitting = number
    return pieces_mm[:fitting]
