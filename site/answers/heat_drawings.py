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
LEFT, RIGHT, TOP, BOTTOM = 62.0, 8.0, 12.0, 20.0
# A time of day needs so much room beside another, a day somewhat more, and two temperatures above each other so much.
TIME_WIDE, DAY_WIDE, LINE_TALL = 82.0, 96.0, 15.0


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
    parts, taken = [], (0.0, 0.0)
    # Where it is surely ready; else, likely.
    ready_s = plan.wanted_s if plan.switch_s > 0.0 and plan.wanted_s is not None else plan.ready_s.used
    if ready_s <= last_s:
        ready_x = across(ready_s)
        parts.append(_line(ready_x, TOP, ready_x, HEIGHT - BOTTOM, "h-ready"))
        words, taken = _time(plan, ready_s, ready_x, ("start", "end"), taken)
        parts.append(words)
    if plan.heats is not None and plan.switch_s >= 0.0:
        on_x = across(plan.switch_s)
        parts.append(_line(on_x, TOP, on_x, HEIGHT - BOTTOM, "h-on"))
        parts.append(_time(plan, plan.switch_s, on_x, ("end", "start"), taken)[0])
    return parts


def _time(plan: HeatPlan, seconds: float, at_x: float, anchors: Sequence[str], taken: tuple[float, float]) -> tuple[str, tuple[float, float]]:
    """A time of day as the page tells it, in the reader's way; after days, the day. Where it stands; nothing where there is no room."""
    at = plan.local(seconds)
    tells, shown, wide = ("time", at[11:], TIME_WIDE) if seconds < DAY_S else ("day", at[:10], DAY_WIDE)
    for anchor in anchors:
        low, high = (at_x, at_x + wide) if anchor == "start" else (at_x - wide, at_x)
        if low >= 0.0 and high <= WIDTH and (high <= taken[0] or low >= taken[1]):
            words = f'<text class="h-text" x="{_n(at_x)}" y="{_n(HEIGHT - 6)}" text-anchor="{anchor}" data-datetime="{at}" data-tells="{tells}">{shown}</text>'
            return words, (low, high)
    return "", taken
