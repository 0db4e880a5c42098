"""The course of a tank's temperature as SVG with a text equivalent: its middle, its band, when it is switched on and ready."""

from collections.abc import Callable, Sequence

from markupsafe import Markup, escape

from answers.drawings import WIDTH, _line, _n, _shape, _svg
from calc.entry.language import tr
from calc.entry.shown import warmth
from calc.tanks.heat_plan import HeatPlan
from calc.tanks.heating import DAY_S
from calc.tanks.spread import Spread

HEIGHT = 150.0
LEFT, RIGHT, TOP, BOTTOM = 52.0, 8.0, 12.0, 20.0
# Two times beside each other need so much room each, and two temperatures above each other.
TIME_WIDE, LINE_TALL = 64.0, 15.0


def course_drawn(plan: HeatPlan, lasting: Callable[[float], str]) -> Markup:
    """The curve of a plan; lasting: says a length of time [s]."""
    at_s, spreads = plan.curve()
    units, wanted_c = plan.around.units, plan.question.wanted_c
    low, high = _ends(spreads, wanted_c)

    def y(at_c: float) -> float:
        return TOP + (high - at_c) / (high - low) * (HEIGHT - TOP - BOTTOM)

    def across(seconds: float) -> float:
        return LEFT + (seconds - at_s[0]) / (at_s[-1] - at_s[0]) * (WIDTH - LEFT - RIGHT)

    outline = [(across(at), y(each.high)) for at, each in zip(at_s, spreads, strict=True)]
    outline += [(across(at), y(each.low)) for at, each in zip(reversed(at_s), reversed(spreads), strict=True)]
    middle = " ".join(f"{_n(across(at))},{_n(y(each.used))}" for at, each in zip(at_s, spreads, strict=True))
    parts = [
        _shape(outline, "h-band"),
        _line(LEFT, y(wanted_c), WIDTH - RIGHT, y(wanted_c), "h-wanted"),
        f'<polyline class="h-middle" points="{middle}"/>',
        _temperature(y(wanted_c), warmth(wanted_c, units)),
    ]
    start_c = spreads[0].used
    if abs(y(start_c) - y(wanted_c)) >= LINE_TALL:
        parts.append(_temperature(y(start_c), warmth(start_c, units)))
    parts += _times(plan, across, at_s[-1])
    last = spreads[-1]
    described = tr(
        "Course of the temperature: {start} at first; {end} after {lasting}, between {low} and {high}.",
        start=warmth(start_c, units), end=warmth(last.used, units), lasting=lasting(at_s[-1] - at_s[0]), low=warmth(last.low, units), high=warmth(last.high, units),
    )  # fmt: skip
    return _svg(HEIGHT, described, parts, "h-course")


def _ends(spreads: Sequence[Spread], wanted_c: float) -> tuple[float, float]:
    found = [end for each in spreads for end in (each.low, each.high)] + [wanted_c]
    return min(found), max(max(found), min(found) + 1.0)


def _temperature(at_y: float, words: str) -> str:
    return f'<text class="h-text" x="{_n(LEFT - 4)}" y="{_n(min(max(at_y + 4, TOP + 4), HEIGHT - BOTTOM))}" text-anchor="end">{escape(words)}</text>'


def _times(plan: HeatPlan, across: Callable[[float], float], last_s: float) -> list[str]:
    """Lines at the switch-on and where it is ready, each with its time of day; the first gives way where both have no room."""
    parts, ready_s = [], plan.ready_s.used
    ready_x = across(ready_s)
    if plan.heats is not None:
        on_x = across(plan.switch_s)
        parts.append(_line(on_x, TOP, on_x, HEIGHT - BOTTOM, "h-on"))
        if ready_x - on_x >= 2.0 * TIME_WIDE or plan.ready_s.used > last_s:
            parts.append(_time(plan, plan.switch_s, on_x))
        elif on_x >= LEFT + TIME_WIDE:
            parts.append(_time(plan, plan.switch_s, on_x, "end"))
    if ready_s <= last_s:
        parts.append(_line(ready_x, TOP, ready_x, HEIGHT - BOTTOM, "h-ready"))
        parts.append(_time(plan, ready_s, ready_x, "start" if ready_x < WIDTH - TIME_WIDE else "end"))
    return parts


def _time(plan: HeatPlan, seconds: float, at_x: float, anchor: str = "start") -> str:
    """A time of day as the page tells it, in the reader's way; after days, the day."""
    at = plan.local(seconds)
    tells, shown = ("time", at[11:]) if seconds < DAY_S else ("day", at[:10])
    return f'<text class="h-text" x="{_n(at_x)}" y="{_n(HEIGHT - 6)}" text-anchor="{anchor}" data-datetime="{at}" data-tells="{tells}">{shown}</text>'
