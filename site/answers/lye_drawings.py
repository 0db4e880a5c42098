"""The picture of where caustic soda lye crystallises: its curve, the lye in hand on it, and the room's coldest hour."""

from collections.abc import Callable, Sequence

from markupsafe import Markup, escape

from calc.entry.shown import number, percent

WIDTH, HEIGHT = 300.0, 150.0
LEFT, RIGHT, TOP, BOTTOM = 44.0, 10.0, 10.0, 22.0
# What stands in a tank, and what is bought.
WEAKEST, STRONGEST = 0.20, 0.52
COLDEST_C, WARMEST_C = -30.0, 30.0
MARKED = (0.20, 0.30, 0.40, 0.50)


def _n(value: float) -> str:
    return number(value, 1)


def _x(strength_fraction: float) -> float:
    within = min(max(strength_fraction, WEAKEST), STRONGEST)
    return LEFT + (within - WEAKEST) / (STRONGEST - WEAKEST) * (WIDTH - LEFT - RIGHT)


def _y(temperature_c: float) -> float:
    within = min(max(temperature_c, COLDEST_C), WARMEST_C)
    return TOP + (WARMEST_C - within) / (WARMEST_C - COLDEST_C) * (HEIGHT - TOP - BOTTOM)


def _text(x: float, y: float, words: str, anchor: str = "middle") -> str:
    return f'<text class="c-text" x="{_n(x)}" y="{_n(y)}" text-anchor="{anchor}">{escape(words)}</text>'


def crystals(
    curve: Sequence[tuple[float, float]], lye: tuple[float, float] | None, room_c: float | None,
    show: Callable[[float], str], described: str,
) -> Markup:  # fmt: skip
    """Crystals form below the curve. curve and lye: strength [g/g] and temperature [°C]; room_c: the coldest hour [°C]."""
    inside = [(x, y) for x, y in curve if WEAKEST <= x <= STRONGEST]
    line = " ".join(f"{_n(_x(x))},{_n(_y(y))}" for x, y in inside)
    bottom = HEIGHT - BOTTOM
    parts = [
        f'<polygon class="c-band" points="{_n(_x(inside[0][0]))},{_n(bottom)} {line} {_n(_x(inside[-1][0]))},{_n(bottom)}"/>',
        f'<polyline class="c-middle" points="{line}"/>',
        *(_text(_x(each), HEIGHT - 7, percent(each, 0)) for each in MARKED),
        *(_text(LEFT - 4, _y(each) + 4, show(each), "end") for each in (WARMEST_C, 10.0, -10.0, COLDEST_C)),
    ]
    if room_c is not None:
        parts.append(f'<line class="c-label" x1="{_n(LEFT)}" y1="{_n(_y(room_c))}" x2="{_n(WIDTH - RIGHT)}" y2="{_n(_y(room_c))}"/>')
    if lye is not None:
        parts.append(f'<line class="c-sale" x1="{_n(_x(lye[0]))}" y1="{_n(TOP)}" x2="{_n(_x(lye[0]))}" y2="{_n(bottom)}"/>')
        parts.append(f'<circle class="c-point" cx="{_n(_x(lye[0]))}" cy="{_n(_y(lye[1]))}" r="4"/>')
    return Markup('<svg class="drawing lye-crystals" role="img" viewBox="0 0 {} {}" aria-label="{}">{}</svg>').format(
        _n(WIDTH), _n(HEIGHT), described, Markup("".join(parts))
    )
