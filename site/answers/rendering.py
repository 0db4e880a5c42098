"""Results into HTML: the Jinja environment of the answers, with the filters that write numbers for people."""

from collections.abc import Callable
from functools import cache, wraps
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from answers import drawings
from calc import shown
from calc.language import all_of, spoken, tr
from calc.pour_names import pour_name
from calc.reference import ValueRange
from calc.step_words import in_words
from calc.units import convert

NO_BREAK_SPACE = "\N{NO-BREAK SPACE}"
TEMPLATES = Path(__file__).resolve().parent / "templates"

BASES = {
    "certificate": "lot's certificate",
    "range middle": "middle of the published range",
    "composition": "typical composition, which asks for less lye than the middle of the range",
}

# Everyday names of fatty acids beside carbon atoms and double bonds; names of common use (IUPAC lists them as retained).
ACID_NAMES = {
    "C6:0": "caproic",
    "C8:0": "caprylic",
    "C10:0": "capric",
    "C12:0": "lauric",
    "C14:0": "myristic",
    "C16:0": "palmitic",
    "C16:1": "palmitoleic",
    "C18:0": "stearic",
    "C18:1": "oleic",
    "C18:1-OH": "ricinoleic",
    "C18:2": "linoleic",
    "C18:3": "linolenic",
    "C20:0": "arachidic",
    "C22:0": "behenic",
    "C22:1": "erucic",
}


@cache
def environment() -> Environment:
    """The environment of all answer templates: autoescaped, and a missing name is a fault."""
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    add_filters(made)
    return made


def add_filters(target: Environment) -> None:
    """Gives an environment the filters and drawings of the answers; the pages use the same ones."""
    target.filters.update(
        number=shown.number,
        quantity=_together(shown.quantity),
        mass=_together(shown.mass),
        percent=_together(shown.percent),
        percent_down=_together(shown.percent_down),
        tenths=_together(tenths),
        weight=_together(shown.weight),
        level=_together(shown.level),
        warmth=_together(shown.warmth),
        room=_together(shown.room),
        duration=_together(shown.duration),
        points=points,
        lower_first=lower_first,
        acid=acid,
        in_words=in_words,
        pour_name=pour_name,
        all_of=all_of,
        basis=basis,
        chance=chance,
        sentence=sentence,
        sentence_start=sentence_start,
        span=span,
    )
    target.globals.update(draw=drawings, tr=translated, language=spoken)


def translated(message: str, **parts: Any) -> Markup:
    """A message in the language spoken, as HTML; so are the parts that are marked as HTML, others are escaped."""
    return escape(tr(message)).format(**parts)


def _together(show: Callable[..., str]) -> Callable[..., str]:
    """The same words with no-break spaces: a narrow screen must not part a number from its unit."""

    @wraps(show)
    def shown_together(*args: Any) -> str:
        return show(*args).replace(" ", NO_BREAK_SPACE)

    return shown_together


def render(name: str, **context: Any) -> str:
    """One answer as HTML. Raises a Jinja error when the template or a name in it is missing."""
    return environment().get_template(name).render(**context)


def tenths(fraction: float) -> str:
    """A fraction in per cent with one decimal always, so that the two ends of an interval look alike."""
    return shown.quantity(convert(fraction, "fraction", "%"), "%", 1)


def points(fraction: float, decimals: int = 1) -> str:
    """A difference of two percentages, without its unit: 0.024 is "2.4" (percentage points)."""
    return shown.number(convert(fraction, "fraction", "%"), decimals)


def lower_first(text: str) -> str:
    """A label inside a sentence: "Olive oil" is "olive oil"; "NaOH" and "LYE-1121" stay as they are."""
    return text[:1].lower() + text[1:] if text[1:2].islower() else text


def acid(code: str) -> str:
    """A fatty acid by its everyday name and its code: "oleic, C18:1"; by its code alone where it has no such name."""
    name = ACID_NAMES.get(code)
    return f"{name}, {code}" if name else code


def basis(key: str) -> str:
    """Where the saponification value reckoned with comes from, in words."""
    return BASES.get(key, key)


def chance(probability: float) -> str:
    """A probability in per cent; the far tails are not told apart: there the model says nothing any more."""
    if probability < 0.001:
        return "under 0.1 %"
    if probability > 0.999:
        return "over 99.9 %"
    return shown.percent(probability)


def sentence_start(text: str) -> str:
    """Words with a capital first."""
    return text[:1].upper() + text[1:]


def span(found: ValueRange, unit: str) -> str:
    """A published range with its unit: "65 to 75 °C", "71 °C", "from 100 °C"."""
    ends = [shown.number(end) for end in (found.low, found.high) if end is not None]
    if len(ends) == 2:
        words = ends[0] if ends[0] == ends[1] else tr("{low} to {high}", low=ends[0], high=ends[1])
    else:
        words = tr("from {end}", end=ends[0]) if found.low is not None else tr("up to {end}", end=ends[0])
    return f"{words}{NO_BREAK_SPACE}{unit}"


def sentence(text: str) -> str:
    """A reason as a sentence of its own: a capital first, a full stop last."""
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")
