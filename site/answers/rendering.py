"""Results into HTML: the Jinja environment of the answers, with the filters that write numbers for people."""

from collections.abc import Callable, Sequence
from functools import cache, wraps
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, ModuleLoader, StrictUndefined
from markupsafe import Markup, escape

from answers import drawings
from calc.batch.pours import Pour
from calc.entry import shown
from calc.entry.language import all_of, lower_first, ntr, spoken, tr
from calc.entry.units import convert, show_unit
from calc.formula.chemistry import short_name
from calc.scales.display import display_of
from calc.steps.frozen import Weighing, display_of_step
from calc.steps.words import in_words
from calc.tables.fragrance import essential_oils
from calc.tables.reference import fatty_acid_names
from calc.tables.rows import ValueRange

NO_BREAK_SPACE = "\N{NO-BREAK SPACE}"
TEMPLATES = Path(__file__).resolve().parent / "templates"
# In a bundle for the browser, the same templates as Python: see runtime/made_ready.py.
COMPILED = TEMPLATES.with_name("compiled")

BASES = {
    "certificate": "lot's certificate",
    "range middle": "middle of the published range",
    "composition": "typical composition, which takes less lye than the middle of the range",
}


@cache
def environment() -> Environment:
    """The environment of all answer templates: autoescaped, and a missing name is a fault."""
    made = Environment(
        loader=ModuleLoader(COMPILED) if COMPILED.exists() else FileSystemLoader(TEMPLATES),
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
        tenths=_together(shown.tenths),
        hundredths=_together(shown.hundredths),
        on_display=_together(on_display),
        aim=_together(aim),
        together=together,
        weight=_together(shown.weight),
        plain_weight=_together(shown.plain_weight),
        plain_shortage=_together(shown.plain_shortage),
        bar_weight=_together(shown.bar_weight),
        calendar_day=_together(shown.calendar_day),
        small_weight=_together(shown.small_weight),
        level=_together(shown.level),
        size=_together(shown.size),
        warmth=_together(shown.warmth),
        room=_together(shown.room),
        duration=_together(shown.duration),
        points=shown.points,
        lower_first=lower_first,
        pour_short=pour_short,
        materials_said=materials_said,
        acid=acid,
        in_words=in_words,
        clock_time=clock_time,
        all_of=all_of,
        basis=basis,
        chance=chance,
        sentence=sentence,
        short_name=short_name,
        sentence_start=sentence_start,
        warmth_span=warmth_span,
    )
    target.globals.update(draw=drawings, tr=translated, ntr=ntr, language=spoken)


def translated(message: str, **parts: Any) -> Markup:
    """A message in the language spoken, as HTML; so are the parts that are marked as HTML, others are escaped."""
    return escape(tr(message)).format(**parts)


def _together(show: Callable[..., str]) -> Callable[..., str]:
    """A formatter whose words stay together."""

    @wraps(show)
    def shown_together(*args: Any) -> str:
        return together(show(*args))

    return shown_together


def render(name: str, **context: Any) -> str:
    """One answer as HTML. Raises a Jinja error when the template or a name in it is missing."""
    return environment().get_template(name).render(**context)


def on_display(mass_g: float, unit: str, division_g: float) -> str:
    """A mass [g] as a scale's display shows it that counts by a division [g] in a unit."""
    display = display_of(division_g, unit)
    return display.said(display.counts(mass_g))


def clock_time(local: str, tells: str = "when") -> Markup:
    """A local time or day ("2026-11-25T14:36", "2026-11-25") that the page tells in the reader's way.

    tells: "when" (day and time), "time" or "day". Without a script, and in sheets that only print, it stands as it is.
    """
    at = local[:16].replace(" ", "T")
    shown = {"when": at.replace("T", " "), "time": at[11:], "day": at}[tells]
    return Markup('<time datetime="{}" data-tells="{}">{}</time>').format(at, tells, shown)


def aim(step: Weighing) -> str:
    """What is to stand on the display at a step at the scale."""
    return display_of_step(step).said(step["target"])


def together(text: str) -> str:
    """The same words with no-break spaces: a narrow screen must not part a number from its unit."""
    return text.replace(" ", NO_BREAK_SPACE)


def pour_short(pour: Pour) -> str:
    """What is poured in a word or two: "Olive oil", "Caustic soda lye", "Water"; how it is poured stands elsewhere."""
    named = pour.name.partition(",")[0] if pour.kind in ("alkali", "water") else pour.name
    return drawings.ASIDE.sub("", named)


def materials_said(names: Sequence[str]) -> str:
    """Materials inside a sentence: an oil of the table by its plain name, a lot as its maker has written it."""
    plain = {tr(oil.name) for oil in essential_oils().values()}
    return all_of([lower_first(name) if name in plain else name for name in names])


def acid(code: str) -> str:
    """A fatty acid by its everyday name and its code: "oleic, C18:1"; by its code alone where it has no such name."""
    name = fatty_acid_names().get(code)
    return f"{name.lower()}, {code}" if name else code


def basis(key: str) -> str:
    """Where the saponification value reckoned with comes from, in words."""
    return BASES.get(key, key)


def chance(probability: float) -> str:
    """A probability in per cent; the far tails are not told apart: there the model says nothing any more."""
    if probability < 0.001:
        return f"under {shown.percent(0.001)}"
    if probability > 0.999:
        return f"over {shown.percent(0.999)}"
    return shown.percent(probability)


def sentence_start(text: str) -> str:
    """Words with a capital first."""
    return text[:1].upper() + text[1:]


def warmth_span(found: ValueRange, units: str) -> str:
    """A published range of temperature [°C] in whole degrees: "65 to 75 °C", "71 °C", "from 100 °C"; in US units in °F."""
    unit = "degF" if units == "us" else "degC"
    low, high = (None if end is None else shown.number(convert(end, "degC", unit), 0) for end in (found.low, found.high))
    if low is not None and high is not None:
        words = low if low == high else tr("{low} to {high}", low=low, high=high)
    else:
        words = tr("from {end}", end=low) if low is not None else tr("up to {end}", end=high)
    return f"{words}{NO_BREAK_SPACE}{show_unit(unit)}"


def sentence(text: str) -> str:
    """A reason as a sentence of its own: a capital first, a full stop last."""
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")
