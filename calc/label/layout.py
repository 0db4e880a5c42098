"""Where everything stands on a label, in millimeters; and how many labels a sheet of paper takes.

The net weight stands in the foot of the front, with as much room above and below it as it is high, and twice the width of
an N at each side (16 CFR 500.20 and its state twin); the sign ℮ stands behind that room. What is smaller goes between the
weight and the name.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc.label.lettering import CAPITALS, SMALL, width, wrapped
from calc.tables.reference import constant

# Sizes that the name takes, the largest that fits [mm]; and how large is beside it what the goods are.
NAME_SIZES = (9.0, 8.0, 7.0, 6.0, 5.0, 4.4)
IDENTITY = 0.62
LEAST_IDENTITY = 3.4
LEADING = 1.18
# ISO/IEC 18004: the light margin that a reader needs on each side, in dots.
QUIET = 4
PAPERS = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}
# The line that shows whether the printer kept the size, and the strip at a sheet's foot for it [mm].
RULER_MM, RULER_STRIP_MM = 100.0, 10.0


@dataclass(frozen=True)
class Line:
    """A line of text: its left end (or middle) and its foot, its size [mm]."""

    text: str
    x_mm: float
    y_mm: float
    size_mm: float
    bold: bool = False
    middle: bool = False
    role: str = ""


@dataclass(frozen=True)
class Square:
    """A code: its upper left corner and its side with the light margin [mm], and its dots."""

    x_mm: float
    y_mm: float
    side_mm: float
    dots: tuple[tuple[bool, ...], ...]


@dataclass(frozen=True)
class Jar:
    """The open jar with months in it: its upper left corner and its side [mm]."""

    x_mm: float
    y_mm: float
    side_mm: float
    words: str


@dataclass(frozen=True)
class Estimated:
    """The sign ℮: its upper left corner and its height, which is its width too [mm]."""

    x_mm: float
    y_mm: float
    height_mm: float


@dataclass(frozen=True)
class Face:
    """One printed label. needed_mm: how high it must be for all of it; more than its height where it doesn't fit."""

    width_mm: float
    height_mm: float
    needed_mm: float
    lines: tuple[Line, ...]
    square: Square | None = None
    jar: Jar | None = None
    estimated: Estimated | None = None

    @property
    def fits(self) -> bool:
        return self.needed_mm <= self.height_mm + 1e-6


@dataclass(frozen=True)
class Content:
    """The words of a label. Each of `small` is a paragraph in the letters of the ingredient list."""

    name: str
    identity: str
    words: str
    net: str
    small: tuple[str, ...]
    dots: tuple[tuple[bool, ...], ...] = ()
    jar: str = ""
    estimated: bool = False


@dataclass(frozen=True)
class Heights:
    """The least heights of letters [mm]: of the net weight's small letters and of its figures; of the list's small letters."""

    net_small_mm: float
    net_figures_mm: float
    list_small_mm: float

    @property
    def net_size_mm(self) -> float:
        return max(self.net_small_mm / SMALL, self.net_figures_mm / CAPITALS)

    @property
    def list_size_mm(self) -> float:
        return self.list_small_mm / SMALL


def laid_out(content: Content, heights: Heights, width_mm: float, height_mm: float, *, two: bool) -> tuple[Face, ...]:
    """One face with everything, or a front and a back, each of this width and height."""
    if not two:
        return (_face(content, heights, width_mm, height_mm),)
    front = Content(content.name, content.identity, content.words, content.net, (), estimated=content.estimated)
    back = Content("", "", "", "", content.small, content.dots, content.jar)
    return _face(front, heights, width_mm, height_mm), _face(back, heights, width_mm, height_mm)


def _face(content: Content, heights: Heights, width_mm: float, height_mm: float) -> Face:
    edge = constant("label_edge").value
    room, small = width_mm - 2.0 * edge, heights.list_size_mm
    lines: list[Line] = []
    y = edge
    if content.name:
        y = _head(content, width_mm, room, y, lines)
    for paragraph in content.small:
        for text in wrapped(paragraph, small, room):
            y += LEADING * small
            lines.append(Line(text, edge, y - (LEADING - 1.0) * small - 0.2 * small, small, role="small"))
        y += 0.35 * small
    # The foot: the net weight at the left of the code, each as high as it must be.
    square_mm = constant("label_code_dot").value * (len(content.dots) + 2 * QUIET) if content.dots else 0.0
    jar_mm = max(4.5 * small, 9.0) if content.jar else 0.0
    foot_mm = max(square_mm, jar_mm)
    net_lines: list[str] = []
    # Behind the weight, in one view with it, as high as its figures or more.
    sign_mm = max(constant("label_e_height").value, CAPITALS * heights.net_size_mm) if content.estimated else 0.0
    clear_mm = 2.0 * width("N", heights.net_size_mm, bold=True)
    if content.net:
        size = heights.net_size_mm
        beside = room + 2.0 * edge - square_mm - jar_mm - 2.0 * clear_mm - sign_mm - (edge if square_mm or jar_mm or sign_mm else 0.0)
        net_lines = list(wrapped(content.net, size, max(beside, size), bold=True))
        foot_mm = max(foot_mm, (len(net_lines) - 1) * LEADING * size + 3.0 * CAPITALS * size)
    needed = y + foot_mm + (edge if square_mm or jar_mm or not content.net else 0.0)
    bottom = max(height_mm, needed)
    if content.net:
        middle = (width_mm - square_mm - jar_mm - sign_mm - (edge if square_mm or jar_mm or sign_mm else 0.0)) / 2.0
        foot = bottom - CAPITALS * heights.net_size_mm
        for n, text in enumerate(reversed(net_lines)):
            lines.append(Line(text, middle, foot - n * LEADING * heights.net_size_mm, heights.net_size_mm, bold=True, middle=True, role="net"))
    estimated = None
    if content.estimated and net_lines:
        behind = middle + max(width(text, heights.net_size_mm, bold=True) for text in net_lines) / 2.0 + clear_mm
        estimated = Estimated(behind, bottom - CAPITALS * heights.net_size_mm - sign_mm, sign_mm)
    square = Square(width_mm - edge - square_mm, bottom - edge - square_mm, square_mm, content.dots) if content.dots else None
    jar = Jar(width_mm - edge - square_mm - jar_mm, bottom - edge - jar_mm, jar_mm, content.jar) if content.jar else None
    return Face(width_mm, height_mm, needed, tuple(lines), square, jar, estimated)


def _head(content: Content, width_mm: float, room: float, y: float, lines: list[Line]) -> float:
    """The name as large as it fits on one line, else wrapped at the least size, then what it is, then the maker's other words; gives the foot of it."""
    size = next((s for s in NAME_SIZES if len(list(wrapped(content.name, s, room, bold=True))) <= 1), NAME_SIZES[-1])
    for text, each, bold in (
        (content.name, size, True), (content.identity, max(IDENTITY * size, LEAST_IDENTITY), False), (content.words, LEAST_IDENTITY, False),
    ):  # fmt: skip
        for line in wrapped(text, each, room, bold=bold) if text else ():
            y += LEADING * each
            lines.append(Line(line, width_mm / 2.0, y - 0.3 * each, each, bold=bold, middle=True, role="head"))
    return y + 0.6 * LEAST_IDENTITY


def net_is_low(face: Face, low_part: float) -> bool:
    """Whether the net weight stands wholly in the lowest part of its face."""
    net = [line for line in face.lines if line.role == "net"]
    return bool(net) and min(line.y_mm - CAPITALS * line.size_mm for line in net) >= (1.0 - low_part) * face.height_mm - 1e-6


@dataclass(frozen=True)
class Sheet:
    """Where labels stand on a sheet of paper: the upper left corner of each [mm]."""

    paper: str
    width_mm: float
    height_mm: float
    places: tuple[tuple[float, float], ...]


def sheet_of(paper: str, width_mm: float, height_mm: float) -> Sheet:
    """As many labels as go on a sheet, upright, with room to cut between them and the edge that printers leave blank; none where one alone is too large."""
    page_w, page_h = PAPERS[paper]
    margin, gap = constant("label_sheet_margin").value, constant("label_sheet_gap").value
    across = _fit(page_w - 2.0 * margin, width_mm, gap)
    down = _fit(page_h - 2.0 * margin - RULER_STRIP_MM, height_mm, gap)
    places = [(margin + i * (width_mm + gap), margin + j * (height_mm + gap)) for j in range(down) for i in range(across)]
    return Sheet(paper, page_w, page_h, tuple(places))


def _fit(room: float, size: float, gap: float) -> int:
    return max(math.floor((room + gap) / (size + gap) + 1e-9), 0)


def filled(faces: Sequence[Face], sheet: Sheet, sheets: int) -> tuple[tuple[tuple[float, float, int], ...], ...]:
    """For each sheet of paper, where which face stands: fronts and backs in turn, so that each has its fellow on the same sheet."""
    places = sheet.places[: len(sheet.places) // len(faces) * len(faces)]
    return tuple(tuple((x, y, n % len(faces)) for n, (x, y) in enumerate(places)) for _ in range(sheets))
