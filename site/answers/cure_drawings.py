"""The pictures of the cure rack, as SVG with a text equivalent: a rack with what lies where, and a batch's drying curve."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from answers.drawings import WIDTH, _n, _svg, _text
from calc.cure.drying import Band, Weighed

HEIGHT = 150.0
LEFT, RIGHT, TOP, BOTTOM = 44.0, 8.0, 10.0, 20.0
SHELF = 22.0


@dataclass(frozen=True)
class Sale:
    """The day of sale on a curve: days after the first weighing, and its words."""

    day: float
    words: str


def curve(
    bands: Sequence[tuple[float, Band]], weighings: Sequence[Weighed], sale: Sale, label_g: float | None,
    show: Callable[[float], str], described: str,
) -> Markup:  # fmt: skip
    """The weight of a bar by days, the band behind it, every weighing as a point; the day of sale and the label as lines."""
    last = max(max(day for day, _ in bands), 1.0)
    values = [end for _, band in bands for end in (band.low, band.high)] + [each.bar_g for each in weighings]
    values += [label_g] if label_g else []
    low, high = min(values), max(values)
    span = max(high - low, 1.0)

    def x(day: float) -> float:
        return LEFT + day / last * (WIDTH - LEFT - RIGHT)

    def y(mass_g: float) -> float:
        return TOP + (high - mass_g) / span * (HEIGHT - TOP - BOTTOM)

    outline = [(x(day), y(band.high)) for day, band in bands] + [(x(day), y(band.low)) for day, band in reversed(bands)]
    parts = [
        f'<polygon class="c-band" points="{" ".join(f"{_n(a)},{_n(b)}" for a, b in outline)}"/>',
        f'<polyline class="c-middle" points="{" ".join(f"{_n(x(day))},{_n(y(band.middle))}" for day, band in bands)}"/>',
        f'<line class="c-sale" x1="{_n(x(sale.day))}" y1="{_n(TOP)}" x2="{_n(x(sale.day))}" y2="{_n(HEIGHT - BOTTOM)}"/>',
        *(f'<circle class="c-point" cx="{_n(x(each.day))}" cy="{_n(y(each.bar_g))}" r="3.2"/>' for each in weighings),
        _text(LEFT - 4, y(high) + 4, show(high), "end", "c-text"),
        _text(LEFT - 4, y(low), show(low), "end", "c-text"),
        _text(min(x(sale.day), WIDTH - 34), HEIGHT - 6, sale.words, "middle", "c-text"),
    ]
    if label_g:
        parts.append(f'<line class="c-label" x1="{_n(LEFT)}" y1="{_n(y(label_g))}" x2="{_n(WIDTH - RIGHT)}" y2="{_n(y(label_g))}"/>')
    return _svg(HEIGHT, described, parts, "cure-curve")


def rack(shelves: int, per_shelf: int, marks: Mapping[int, str], described: str) -> Markup:
    """A rack from the front: its trays counted from the top left. marks: by place, the mark of the batch whose tray stands there."""
    width = (WIDTH - 12.0) / per_shelf
    parts = ['<path class="c-frame" d="M4 4V{0}M296 4V{0}"/>'.format(_n(8 + SHELF * shelves))]
    for place in range(1, shelves * per_shelf + 1):
        shelf, column = divmod(place - 1, per_shelf)
        at_x, at_y = 6.0 + column * width, 6.0 + shelf * SHELF
        mark = marks.get(place, "")
        css = "c-tray c-full" if mark else "c-tray"
        parts.append(f'<rect class="{css}" x="{_n(at_x + 1)}" y="{_n(at_y)}" width="{_n(width - 2)}" height="{_n(SHELF - 4)}"/>')
        if mark:
            parts.append(_text(at_x + width / 2, at_y + 13.5, mark, "middle", "c-text"))
    return _svg(12 + SHELF * shelves, described, parts, "cure-rack")
