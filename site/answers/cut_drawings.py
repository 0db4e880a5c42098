"""Pictures of the cut block: as it stands, and its three faces to one scale, each cut telling its measure at a tap.

Trim is hatched, so that it differs from bars without colour. The table of cuts beside them is their text equivalent.
"""

import math
from collections.abc import Callable, Iterator
from typing import NamedTuple

from markupsafe import Markup, escape

from answers.drawings import LETTER, WIDTH, _line, _n, _rect, _shape, _svg, _text
from calc.cut.ways import HEIGHT, LENGTH, Way
from calc.cut.ways import WIDTH as ACROSS
from calc.entry.language import tr
from calc.entry.shown import level, size
from calc.mould.cuts import CutSide

# Of an isometric drawing: a side runs off at 30 degrees.
COS_30, SIN_30 = 0.866, 0.5
HATCH = 5.0
# More lines than that are no longer told apart on a phone.
MOST_LINES = 120
HALF_FINGER = 9.0
# So that the picture and what stands above it share a phone's first screen.
HIGHEST = 190.0

Point = tuple[float, float]
Project = Callable[[float, float], Point]


class Face(NamedTuple):
    """One face to look at: its name, the picture."""

    name: str
    picture: Markup


def block_cut(way: Way, units: str) -> Markup:
    """The block seen from a corner, with its cuts on three faces and the trim hatched."""
    length, width, height = (side.side_mm for side in way.sides)
    words = [level(side.side_mm, units) for side in way.sides]
    beside = LETTER * len(words[HEIGHT])
    room = WIDTH - beside - 16.0
    scale = min(room / ((length + width) * COS_30), HIGHEST / ((length + width) * SIN_30 + height))
    left, top = beside + (room - (length + width) * COS_30 * scale) / 2.0, 4.0
    near = (left + length * COS_30 * scale, top + ((length + width) * SIN_30 + height) * scale)

    def at(x: float, y: float, z: float) -> Point:
        return (
            near[0] + (y - length + x) * COS_30 * scale,
            near[1] - ((length - x + y) * SIN_30 + z) * scale,
        )

    faces: tuple[tuple[str, int, int, Project], ...] = (
        ("d-soap-top", LENGTH, ACROSS, lambda u, v: at(u, v, height)),
        ("d-soap", LENGTH, HEIGHT, lambda u, v: at(u, 0.0, v)),
        ("d-soap-side", ACROSS, HEIGHT, lambda u, v: at(length, u, v)),
    )
    parts: list[str] = []
    for css, first, second, project in faces:
        u, v = way.sides[first], way.sides[second]
        corners = [(0.0, 0.0), (u.side_mm, 0.0), (u.side_mm, v.side_mm), (0.0, v.side_mm)]
        parts.append(_shape([project(*corner) for corner in corners], f"{css} d-edge"))
        parts.append(_path(_hatched(u, v, HATCH / scale), project, "d-trim"))
        parts.append(_path(_cuts(u, v), project, "d-cut"))
    middle_left, middle_right = at(length / 2.0, 0.0, 0.0), at(length, width / 2.0, 0.0)
    # As far left as it has to stand to have room, it stands below the edge all the same.
    beside_right = min(middle_right[0] + 4.0, WIDTH - 0.9 * LETTER * len(words[ACROSS]))
    below_right = near[1] - max(0.0, beside_right - near[0]) * SIN_30 / COS_30 + 16.0
    parts += [
        _text(middle_left[0] - 4.0, middle_left[1] + 16.0, words[LENGTH], "end"),
        _text(beside_right, below_right, words[ACROSS]),
        _text(left - 6.0, at(0.0, 0.0, height / 2.0)[1] + 5.0, words[HEIGHT], "end"),
    ]
    along, across, up = way.grid
    described = tr(
        "Block {length} long, {width} wide and {height} high, cut into {along} along its length, {across} across its width and {up} up its height. What is hatched comes off.",
        length=words[LENGTH], width=words[ACROSS], height=words[HEIGHT], along=along, across=across, up=up,
    )
    return _svg(max(near[1], below_right) + 8.0, described, parts, "d-block-cut")


def faces(way: Way, units: str) -> tuple[Face, ...]:
    """Front, end and top to one scale; each cut can be tapped."""
    scale = (WIDTH - 4.0) / max(side.side_mm for side in way.sides)
    named = ((tr("Front"), LENGTH, HEIGHT), (tr("End"), ACROSS, HEIGHT), (tr("Top"), LENGTH, ACROSS))
    return tuple(Face(name, _face(name, way, first, second, scale, units)) for name, first, second in named)


def _face(name: str, way: Way, first: int, second: int, scale: float, units: str) -> Markup:
    u, v = way.sides[first], way.sides[second]
    wide, high = u.side_mm * scale, v.side_mm * scale

    def project(along: float, up: float) -> Point:
        return 2.0 + along * scale, 2.0 + high - up * scale

    parts = [
        _rect(2.0, 2.0, wide, high, "d-soap d-edge"),
        _path(_hatched(u, v, HATCH / scale), project, "d-trim"),
        *(_tapped(project(cut, 0.0), project(cut, v.side_mm), measure(first, cut, units)) for cut in _drawn(u)),
        *(_tapped(project(0.0, cut), project(u.side_mm, cut), measure(second, cut, units)) for cut in _drawn(v)),
    ]
    described = tr(
        "{face}, {along} by {up}, to scale. Its cuts stand in the table below.",
        face=name, along=size(u.side_mm, units), up=size(v.side_mm, units),
    )
    return _svg(high + 4.0, described, parts, "d-face")


def measure(axis: int, cut_mm: float, units: str) -> str:
    """Where a cut lies, in words."""
    where = size(cut_mm, units)
    if axis == HEIGHT:
        return tr("{measure} up from the bottom", measure=where)
    if axis == LENGTH:
        return tr("{measure} along the length, from the stop", measure=where)
    return tr("{measure} across the width, from the stop", measure=where)


def _tapped(start: Point, end: Point, words: str) -> str:
    """A cut, and around it what a finger hits."""
    ends = (*start, *end)
    wide = f'<line class="d-finger" x1="{_n(ends[0])}" y1="{_n(ends[1])}" x2="{_n(ends[2])}" y2="{_n(ends[3])}" stroke-width="{_n(HALF_FINGER * 2.0)}"/>'
    return f'<g data-measure="{escape(words)}">{wide}{_line(*ends, "d-cut")}</g>'


def _drawn(side: CutSide) -> tuple[float, ...]:
    return side.cuts_mm if len(side.cuts_mm) <= MOST_LINES else (side.cuts_mm[0], side.cuts_mm[-1])


def _cuts(u: CutSide, v: CutSide) -> Iterator[tuple[Point, Point]]:
    for cut in _drawn(u):
        yield (cut, 0.0), (cut, v.side_mm)
    for cut in _drawn(v):
        yield (0.0, cut), (u.side_mm, cut)


def _hatched(u: CutSide, v: CutSide, step: float) -> Iterator[tuple[Point, Point]]:
    """Slanted strokes [mm] over what comes off a face: strips at both ends of each side; all of it where no bar comes out."""
    first_u, last_u = _ends(u)
    first_v, last_v = _ends(v)
    strips = (
        (0.0, first_u, 0.0, v.side_mm), (last_u, u.side_mm, 0.0, v.side_mm),
        (first_u, last_u, 0.0, first_v), (first_u, last_u, last_v, v.side_mm),
    )  # fmt: skip
    for left, right, low, high in strips:
        if right <= left or high <= low:
            continue
        # Strokes run along u - v = c, at the same places on the whole face.
        c = (math.floor((left - high) / step) + 1) * step
        while c < right - low:
            start, end = max(left, c + low), min(right, c + high)
            if end > start:
                yield (start, start - c), (end, end - c)
            c += step


def _ends(side: CutSide) -> tuple[float, float]:
    """Where the bars begin and end on a side."""
    return side.first_mm, side.first_mm + side.bars_mm + side.cut_mm


def _path(lines: Iterator[tuple[Point, Point]], project: Project, css: str) -> str:
    drawn = "".join(
        f"M{_n(x1)} {_n(y1)}L{_n(x2)} {_n(y2)}"
        for (x1, y1), (x2, y2) in ((project(*start), project(*end)) for start, end in lines)
    )
    return f'<path class="{css}" d="{drawn}"/>' if drawn else ""
