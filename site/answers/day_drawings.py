"""A day as a timeline, as SVG: a row for each tank, block and the hoist, hours across."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from calc.entry.shown import number

WIDTH, LEFT, RIGHT, TOP, ROW = 320.0, 6.0, 6.0, 22.0, 38.0
# How high each stage's bar stands: told apart without colour, and by a letter where that has room.
HEIGHTS = {
    "weigh": 12.0, "mix": 16.0, "pour": 14.0, "unmould": 16.0, "loaves": 14.0, "change": 5.0, "bars": 16.0, "rack": 12.0, "on": 6.0, "hoist": 10.0,
}  # fmt: skip
HIGHEST = 16.0
# Of a letter as it is drawn.
LETTER = 11.5


@dataclass(frozen=True)
class Row:
    """One row: its words, its stages with their minutes of the day and whether they are done, and whether it then rests in its mold."""

    words: str
    bars: tuple[tuple[str, int, int, bool], ...]
    rests: bool = False


def _n(value: float) -> str:
    return number(value, 1)


def timeline(rows: Sequence[Row], end: int, now: int | None, described: str, letters: Mapping[str, str], *, twelve: bool) -> Markup:
    """The rows from the hour in which the first of them begins to the one in which the day ends.

    letters: by stage, what marks its bar. twelve: hours as on a dial.
    """
    first = min(begin for row in rows for _, begin, _, _ in row.bars) // 60
    last = max(-(-max(end, max(over for row in rows for _, _, over, _ in row.bars)) // 60), first + 1)
    height = TOP + ROW * len(rows)

    def x(minute: float) -> float:
        return LEFT + (minute / 60.0 - first) / (last - first) * (WIDTH - LEFT - RIGHT)

    every = next(step for step in (1, 2, 3, 6, 12, 24) if (last - first) / step <= 14)
    parts = []
    for hour in range(first, last + 1):
        if hour % every == 0:
            said = ((hour - 1) % 12 + 1) if twelve else hour % 24
            anchor = "start" if hour == first else "end" if hour == last else "middle"
            parts.append(f'<line class="t-hour" x1="{_n(x(60 * hour))}" y1="{_n(TOP - 4)}" x2="{_n(x(60 * hour))}" y2="{_n(height)}"/>')
            parts.append(f'<text class="t-text" x="{_n(x(60 * hour))}" y="13" text-anchor="{anchor}">{said}</text>')
    for n, row in enumerate(rows):
        top = TOP + ROW * n
        parts.append(f'<text class="t-text t-name" x="{_n(LEFT)}" y="{_n(top + 13)}">{escape(row.words)}</text>')
        floor = top + 17 + HIGHEST
        for stage, begin, over, done in row.bars:
            letter, high = letters.get(stage, ""), HEIGHTS[stage]
            wide = max(x(over) - x(begin), 1.5)
            css = f"t-bar t-{stage}{' t-done' if done else ''}"
            parts.append(f'<rect class="{css}" x="{_n(x(begin))}" y="{_n(floor - high)}" width="{_n(wide)}" height="{_n(high)}"/>')
            if letter and wide >= LETTER:
                parts.append(f'<text class="t-letter t-{stage}-letter" x="{_n(x(begin) + wide / 2)}" y="{_n(floor - high / 2 + 3.5)}" text-anchor="middle">{letter}</text>')
        if row.rests and row.bars:
            rest = max(over for _, _, over, _ in row.bars)
            parts.append(f'<line class="t-rest" x1="{_n(x(rest) + 2)}" y1="{_n(floor - 2)}" x2="{_n(WIDTH - RIGHT)}" y2="{_n(floor - 2)}"/>')
    if now is not None and 60 * first <= now <= 60 * last:
        parts.append(f'<line class="t-now" x1="{_n(x(now))}" y1="{_n(TOP - 6)}" x2="{_n(x(now))}" y2="{_n(height)}"/>')
    return Markup('<svg class="drawing day-timeline" role="img" viewBox="0 0 {} {}" aria-label="{}">{}</svg>').format(
        _n(WIDTH), _n(height), described, Markup("".join(parts))
    )
