"""Pictures as SVG, each with a text equivalent: block with its cuts, superfat against zero, vessel, fatty acids.

Colours come from the style sheet by class name; shapes and words carry the meaning without them. Coordinates are
user units of a box about as wide as a phone, so that text in a picture is as large as text beside it.
"""

import math
import re
from collections.abc import Iterable, Sequence
from itertools import count
from typing import Protocol

from markupsafe import Markup, escape

from calc.chemistry.oils import AcidPercent
from calc.entry.language import tr
from calc.entry.shown import hundredths, number, tenths
from calc.mould.bars import BarYield

WIDTH = 300.0
STRIPE = 8.0
# As wide as a letter of a label is at most: a picture makes room for its words before it knows how they are drawn.
LETTER = 10.0
# "Olive oil (virgin and refined)" is "Olive oil" beside a layer; the list of pours has the whole name.
ASIDE = re.compile(r" \([^)]*\)")


class Poured(Protocol):
    """What the vessel's picture needs of a pour."""

    @property
    def name(self) -> str: ...
    @property
    def target_g(self) -> float: ...


def _svg(height: float, described: str, parts: Iterable[str], name: str) -> Markup:
    body = Markup("").join(Markup(part) for part in parts)
    return Markup(
        '<svg class="drawing {}" role="img" viewBox="0 0 {} {}" aria-label="{}">{}</svg>'
    ).format(name, _n(WIDTH), _n(height), described, body)  # fmt: skip


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _line(x1: float, y1: float, x2: float, y2: float, css: str) -> str:
    return f'<line class="{css}" x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}"/>'


def _rect(x: float, y: float, width: float, height: float, css: str) -> str:
    return f'<rect class="{css}" x="{_n(x)}" y="{_n(y)}" width="{_n(max(width, 0))}" height="{_n(max(height, 0))}"/>'


def _shape(points: Sequence[tuple[float, float]], css: str) -> str:
    return f'<polygon class="{css}" points="{" ".join(f"{_n(x)},{_n(y)}" for x, y in points)}"/>'


def _text(x: float, y: float, words: str, anchor: str = "start", css: str = "d-text") -> str:
    return f'<text class="{css}" x="{_n(x)}" y="{_n(y)}" text-anchor="{anchor}">{escape(words)}</text>'


def block(
    size_mm: tuple[float, float, float],
    fill_mm: float,
    sizes_shown: tuple[str, str, str],
    fill_shown: str,
    bars: BarYield | None,
) -> Markup:
    """The block in its mould, seen from the front and above.

    size_mm: length, width and height of the mould [mm]; fill_mm: level of the batter [mm].
    sizes_shown: the length, the width and the mould's height in words; bars: cuts are drawn when they are known.
    """
    length, width, height = size_mm
    left, top, gap = 32.0 + LETTER * len(fill_shown), 6.0, 28.0
    right = 12.0 + LETTER * len(sizes_shown[1])
    # Depth runs up to the right at half its true size: the usual oblique view of a box.
    lean_x, lean_y = 0.36, 0.26
    scale = min(
        (WIDTH - left - right) / (length + width * lean_x), 170.0 / (max(height, fill_mm) + width * lean_y)
    )  # fmt: skip
    long, deep_x, deep_y = length * scale, width * lean_x * scale, width * lean_y * scale
    full, fill = height * scale, fill_mm * scale
    base = top + max(full, fill) + deep_y
    level = base - fill
    rim = base - full

    def on_top(along: float, across: float) -> tuple[float, float]:
        return left + along * long + across * deep_x, level - across * deep_y

    parts = [
        _shape([on_top(0, 0), on_top(1, 0), on_top(1, 1), on_top(0, 1)], "d-soap-top"),
        _rect(left, level, long, fill, "d-soap"),
        _shape([on_top(1, 0), on_top(1, 1), (left + long + deep_x, base - deep_y), (left + long, base)], "d-soap-side"),
    ]
    if bars is not None and bars.total > 0:
        parts += _cuts(size_mm, fill_mm, bars, left, level, base, (long, fill), (deep_x, deep_y))
    parts += [
        f'<path class="d-mould" d="M{_n(left)} {_n(rim)}V{_n(base)}H{_n(left + long)}V{_n(rim)}"/>',
        f'<path class="d-mould" d="M{_n(left + long)} {_n(base)}l{_n(deep_x)} {_n(-deep_y)}V{_n(rim - deep_y)}"/>',
        _line(left - 12, level, left - 12, base, "d-measure"),
        _line(left - 17, level, left - 3, level, "d-measure"),
        _line(left - 17, base, left - 3, base, "d-measure"),
        _text(left - 20, (level + base) / 2 + 5, fill_shown, "end", "d-text d-strong"),
        _text(left + long / 2, base + 19, sizes_shown[0], "middle"),
        _text(left + long + deep_x / 2 + 7, base - deep_y / 2 + 15, sizes_shown[1]),
    ]
    cut = (
        f" Cut into {bars.along} along the length, {bars.across} across the width and {bars.up} up the height:"
        f" {bars.total} bars."
        if bars is not None
        else ""
    )
    described = (
        f"Block {sizes_shown[0]} long and {sizes_shown[1]} wide, filled to {fill_shown} of the mold's "
        f"{sizes_shown[2]}.{cut}"
    )
    return _svg(base + gap, described, parts, "d-block")


def _cuts(
    size_mm: tuple[float, float, float],
    fill_mm: float,
    bars: BarYield,
    left: float,
    level: float,
    base: float,
    front: tuple[float, float],
    depth: tuple[float, float],
) -> list[str]:
    long, fill = front
    used = (
        1 - bars.leftover_length_mm / size_mm[0],
        1 - bars.leftover_width_mm / size_mm[1],
        1 - bars.leftover_height_mm / fill_mm,
    )
    parts: list[str] = []
    for number_ in range(1, bars.along + 1):
        x = left + long * used[0] * number_ / bars.along
        parts.append(_line(x, base, x, level, "d-cut"))
        parts.append(_line(x, level, x + depth[0], level - depth[1], "d-cut"))
    for number_ in range(1, bars.up + 1):
        y = base - fill * used[2] * number_ / bars.up
        parts.append(_line(left, y, left + long, y, "d-cut"))
        parts.append(_line(left + long, y, left + long + depth[0], y - depth[1], "d-cut"))
    for number_ in range(1, bars.across + 1):
        share = used[1] * number_ / bars.across
        x, y = depth[0] * share, level - depth[1] * share
        parts.append(_line(left + x, y, left + long + x, y, "d-cut"))
        parts.append(_line(left + long + x, y, left + long + x, y + fill, "d-cut"))
    return parts


def superfat(stated: float, low: float, high: float, mean: float | None = None, *, small: bool = False) -> Markup:
    """The 95 % interval of the superfat [fractions] on a line that shows zero; the part under zero has its own shape.

    mean: drawn as a stroke across the interval where one is given. small: low enough for a first screen, and without the
    words at both ends.
    """
    ends = (min(low, 0.0), max(high, stated))
    first = min(-2, int(ends[0] * 100) - 1)
    last = max(4, int(ends[1] * 100) + 2)
    step = _axis_step(last - first)
    left, right = 14.0, 14.0
    top, axis = (3.0, 21.0) if small else (20.0, 60.0)
    across, size = (top + axis) / 2, 0.5 if small else 1.0

    def at(fraction: float) -> float:
        return left + (fraction * 100 - first) / (last - first) * (WIDTH - left - right)

    def stroke(fraction: float, reach: float, css: str) -> str:
        return _line(at(fraction), across - reach * size, at(fraction), across + reach * size, css)

    zero = at(0.0)
    lean = 9.0 * size
    parts = [
        _rect(left, top, zero - left, axis - top, "d-lye"),
        _rect(zero, top, WIDTH - right - zero, axis - top, "d-fat"),
        # Slanted strokes: the side of free lye differs without colour too.
        *(_line(x, axis, x + lean, top, "d-hatch") for x in _steps(left, zero - lean, 9.0)),
        _line(zero, top, zero, axis, "d-zero"),
        _line(left, axis, WIDTH - right, axis, "d-axis"),
    ]
    if not small:
        # Each at its own end and over the line of zero, which would else go through a word that has little room.
        parts += [_text(WIDTH - right, 14, tr("oil left over"), "end"), _text(left, 14, tr("free lye"))]
    tick = -(-first // step) * step
    while tick <= last:
        parts.append(_line(at(tick / 100), axis, at(tick / 100), axis + 5 * size, "d-axis"))
        parts.append(_text(at(tick / 100), axis + (14 if small else 19), number(float(tick)), "middle", "d-small" if small else "d-text"))
        tick += step
    parts.append(_rect(at(max(low, 0.0)), across - 7 * size, at(max(high, 0.0)) - at(max(low, 0.0)), 14 * size, "d-interval"))
    if low < 0:
        under, point = at(min(high, 0.0)), min(at(low) + 12 * size, at(min(high, 0.0)))
        parts.append(_shape([(at(low), across), (point, across - 11 * size), (under, across - 11 * size),
                             (under, across + 11 * size), (point, across + 11 * size)], "d-under"))  # fmt: skip
    else:
        parts.append(stroke(low, 12, "d-end"))
    parts.append(stroke(high, 12, "d-end"))
    if mean is not None:
        parts.append(stroke(mean, 15, "d-typical"))
    middle, corner = at(stated), 7.0 if small else 10.0
    parts.append(_shape([(middle, across - corner), (middle + corner, across), (middle, across + corner), (middle - corner, across)], "d-stated"))
    words = [hundredths(stated), tenths(low), tenths(high)]
    interval = tr(
        "Superfat stated {stated}. Interval from {low} to {high} on a line that shows zero.",
        stated=words[0],
        low=words[1],
        high=words[2],
    )
    average = "" if mean is None else tr("On average {mean}.", mean=tenths(mean))
    side = tr("It goes below zero: free lye is possible.") if low < 0 else tr("All of it is above zero.")
    described = " ".join(filter(None, (interval, average, side)))
    return _svg(axis + (17 if small else 23), described, parts, f"d-superfat{' d-low' if small else ''}")


def _axis_step(length: int) -> int:
    """1, 2 or 5 of a decimal place, so that at most ten numbers stand on an axis; four where they are long.

    A misread lye may put the superfat at thousands of per cent below zero.
    """
    most = 10 if length <= 200 else 4
    return next(int(step * 10**place) for place in count() for step in (1, 2, 5) if length <= most * step * 10**place)


def _steps(start: float, stop: float, step: float) -> list[float]:
    return [start + step * count for count in range(int(max(0.0, stop - start) / step) + 1)] if stop > start else []


def vessel(capacity_ml: float, batter_ml: float, layers: Sequence[Poured], words: str) -> Markup:
    """The vessel with everything in it, a layer for each pour, up to its share of the brim volume.

    layers: in the order poured; words: the sentence beside the picture, used as its text equivalent.
    """
    left, top, wide, tall = 6.0, 8.0, 104.0, 150.0
    base = top + tall
    filled = tall * min(batter_ml / capacity_ml, 1.0)
    total = sum(layer.target_g for layer in layers) or 1.0
    parts, y, label_y = [], base, base + 8.0
    for index, layer in enumerate(layers):
        height = filled * layer.target_g / total
        y -= height
        # Three shades, and stripes on every second layer: neighbours always differ, and six in a row are all unlike.
        shade = index % 3
        parts.append(_rect(left, y, wide, height, f"d-layer d-layer-{shade}"))
        if index % 2:
            stripes = _steps(left + STRIPE, left + wide - STRIPE / 2, STRIPE)
            parts += [_line(x, y, x, y + height, f"d-stripe-{shade}") for x in stripes]
        middle = y + height / 2
        label_y = min(middle + 5, label_y - 19)
        parts.append(
            f'<path class="d-lead" d="M{_n(left + wide)} {_n(middle)}L{_n(left + wide + 12)} {_n(label_y - 5)}h8"/>'
        )
        parts.append(_text(left + wide + 24, label_y, ASIDE.sub("", layer.name)))
    parts.append(f'<path class="d-vessel" d="M{_n(left)} {_n(top)}V{_n(base)}H{_n(left + wide)}V{_n(top)}"/>')
    return _svg(base + 12, words, parts, "d-pot")


def vessel_glyph(share: float) -> Markup:
    """A small vessel filled to a share of the whole batter; the words beside it say the same."""
    share = min(max(share, 0.0), 1.0)
    return Markup(
        '<svg class="glyph" viewBox="0 0 36 44" aria-hidden="true" focusable="false">'
        '<rect class="d-layer" x="4" y="{}" width="28" height="{}"/>'
        '<path class="d-vessel" d="M4 4v36h28V4"/></svg>'
    ).format(_n(40 - 32 * share), _n(32 * share))  # fmt: skip


def span(low: float, high: float, typical: float | None, full: float) -> Markup:
    """One range on a line from 0 to full, with a mark for the typical value; the figures stand beside it."""
    scale = 100.0 / full
    parts = [
        _line(0, 8, 100, 8, "d-rule"),
        _rect(low * scale, 3, max((high - low) * scale, 1.0), 10, "d-span"),
        *([] if typical is None else [_line(typical * scale, 0, typical * scale, 16, "d-typical")]),
    ]
    return Markup(
        '<svg class="span" viewBox="0 0 100 16" preserveAspectRatio="none" aria-hidden="true" focusable="false">{}</svg>'
    ).format(Markup("".join(parts)))  # fmt: skip


def scale_end(parts: Sequence[AcidPercent]) -> float:
    """The percentage at which the lines of all fatty acids end: the next full ten."""
    return max(10.0, math.ceil(max((part.high for part in parts), default=0.0) / 10.0) * 10.0)


def sign(kind: str) -> Markup:
    """A shape for a state: "danger" eight-sided, "caution" a triangle."""
    outline = {
        "danger": "M9 2h10l7 7v10l-7 7H9l-7-7V9z",
        "caution": "M14 2.5 26.5 25h-25z",
    }[kind]
    top = "7.5" if kind == "danger" else "10.5"
    return Markup(
        '<svg class="sign" viewBox="0 0 28 28" aria-hidden="true" focusable="false">'
        '<path d="{}" fill="none" stroke="currentColor" stroke-width="2.4" stroke-linejoin="round"/>'
        '<path d="M14 {}V17" stroke="currentColor" stroke-width="2.8" stroke-linecap="round"/>'
        '<circle cx="14" cy="21" r="1.7" fill="currentColor"/></svg>'
    ).format(outline, top)  # fmt: skip
