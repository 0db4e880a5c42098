"""A tank as SVG with a text equivalent: its level, what won't run out, and how far down each block takes it."""

from collections.abc import Sequence

from markupsafe import Markup, escape

from calc.entry.shown import number

# About as many as its pixels on a phone, so that its letters are as large as those beside it.
WIDTH, HEIGHT = 96.0, 120.0
LEFT, RIGHT, TOP, BOTTOM = 4.0, 84.0, 10.0, 114.0
# The room of a line of letters of 14, and where it stands below the middle.
LETTERS, BASE = 16.0, 5.0


def _n(value: float) -> str:
    return number(value, 1)


def tank(level: float, dead: float, marks: Sequence[tuple[float, float, str]], described: str) -> Markup:
    """One tank from the front.

    level, dead: how high it is filled, and up to where nothing runs out, as shares of its height (0..1).
    marks: for each block to come, from where to where it takes the level, and what stands there.
    """

    def y(share: float) -> float:
        return BOTTOM - min(max(share, 0.0), 1.0) * (BOTTOM - TOP)

    parts = [f'<rect class="t-filled" x="{_n(LEFT)}" y="{_n(y(level))}" width="{_n(RIGHT - LEFT)}" height="{_n(BOTTOM - y(level))}"/>']
    if dead > 0.0:
        lines = range(int(LEFT), int(RIGHT), 8)
        top = y(min(dead, level))
        parts.append(f'<path class="t-dead" d="{"".join(f"M{x} {_n(BOTTOM)}L{_n(min(x + BOTTOM - top, RIGHT))} {_n(max(top, BOTTOM - (RIGHT - x)))}" for x in lines)}"/>')
    for upper, lower, words in marks:
        parts.append(f'<path class="t-mark" d="M{_n(LEFT)} {_n(y(lower))}H{_n(RIGHT)}"/>')
        if y(lower) - y(upper) >= LETTERS:
            parts.append(f'<text class="t-text" x="{_n((LEFT + RIGHT) / 2)}" y="{_n((y(upper) + y(lower)) / 2 + BASE)}" text-anchor="middle">{escape(words)}</text>')
    parts.append(f'<path class="t-wall" d="M{_n(LEFT)} {_n(TOP - 8)}V{_n(BOTTOM)}H{_n(RIGHT)}V{_n(TOP - 8)}M{_n(RIGHT)} {_n(BOTTOM - 6)}h8v8"/>')
    parts.append(f'<path class="t-level" d="M{_n(LEFT)} {_n(y(level))}H{_n(RIGHT)}"/>')
    return Markup('<svg class="drawing tank-drawn" role="img" viewBox="0 0 {} {}" aria-label="{}">{}</svg>').format(
        _n(WIDTH), _n(HEIGHT), described, Markup("".join(parts))
    )
