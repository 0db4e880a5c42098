"""Pictures of the things of a workshop: what is asked about each, and where it stands on its plate or label.

Colours come from the style sheet by class name; the shapes carry the meaning without them. The figures on them are examples.
"""

from collections.abc import Callable

from markupsafe import Markup, escape

from calc.entry.language import tr

WIDTH, HEIGHT = 300, 122


def _picture(described: str, parts: str) -> Markup:
    return Markup('<svg class="drawing s-picture" role="img" viewBox="0 0 {} {}" aria-label="{}">{}</svg>').format(
        WIDTH, HEIGHT, described, Markup(parts)
    )


def _text(x: int, y: int, words: str, anchor: str = "start", css: str = "s-small") -> str:
    return f'<text class="{css}" x="{x}" y="{y}" text-anchor="{anchor}">{escape(words)}</text>'


def _path(d: str, css: str) -> str:
    return f'<path class="{css}" d="{d}"/>'


def _box(x: int, y: int, width: int, height: int, css: str) -> str:
    return f'<rect class="{css}" x="{x}" y="{y}" width="{width}" height="{height}" rx="3"/>'


def mould() -> Markup:
    """An open mould with its four measures."""
    words = tr("A mold from the front and above: inner length, inner width, inner height, and the level you pour to.")
    return _picture(
        words,
        _path("M60 50h130l40-28H100z", "d-soap-top")
        + _path("M60 50h130v42H60z", "d-soap")
        + _path("M190 50l40-28v42l-40 28z", "d-soap-side")
        + _path("M60 32v60h130V32M190 92l40-28V4M60 32h130l40-28H100z", "d-mould")
        + _path("M60 50h130", "s-dash")
        + _path("M60 100h130M60 96v8M190 96v8M198 99l40-28M48 32v60M44 32h8M44 92h8", "d-measure")
        + _text(125, 118, tr("length"), "middle")
        + _text(224, 98, tr("width"))
        + _text(42, 67, tr("height"), "end")
        + _text(125, 70, tr("filled to"), "middle"),
    )


def _in(units: str, drawn: str) -> str:
    """Shown to those only who work in these units."""
    return f'<g data-system="{units}">{drawn}</g>'


def _plate(*plates: tuple[str, str, str, str]) -> str:
    """A scale's plate: what stands on it, in pounds and in kilograms, and what that is."""
    return (
        _box(128, 8, 84, 106, "s-plate")
        + "".join(
            _in(units, _text(136, 38, f"Max {most} {unit}") + _text(136, 68, f"d={step} {unit}"))
            for units, unit, most, step in plates
        )
        + '<ellipse class="s-oval" cx="156" cy="92" rx="18" ry="12"/>'
        + _text(156, 97, "III", "middle", "s-print")
        + _path("M212 33h8M212 63h8M176 92h44", "d-lead")
        + _text(223, 38, tr("most"))
        + _text(223, 68, tr("step"))
        + _text(223, 97, tr("class"))
    )


def floor() -> Markup:
    """A floor scale with a pot on it, and its plate."""
    words = tr("A floor scale with a pot on it, and its plate: Max is the most it weighs, d is the step of its display.")
    return _picture(
        words,
        _path("M22 40h52v46H22z", "d-soap")
        + _path("M22 34v52h52V34", "d-vessel")
        + _box(8, 90, 82, 14, "s-body")
        + _path("M98 104V28", "d-vessel")
        + _box(70, 6, 52, 24, "s-display")
        + _text(96, 24, "28.3", "middle", "s-digits")
        + _plate(("metric", "kg", "300", "0.1"), ("us", "lb", "600", "0.2")),
    )


def small() -> Markup:
    """A small scale with a cup on it, and its plate."""
    words = tr("A small scale with a cup on it, and its plate: Max is the most it weighs, d is the step of its display.")
    return _picture(
        words,
        _path("M40 26l5 32h28l5-32z", "d-soap")
        + _path("M40 26l5 32h28l5-32", "d-vessel")
        + _box(24, 62, 70, 8, "s-body")
        + _path("M20 74h78l8 32H12z", "s-body")
        + _box(34, 80, 50, 22, "s-display")
        + _text(59, 97, "0.472", "middle", "s-digits")
        + _plate(("metric", "kg", "5", "0.001"), ("us", "lb", "10", "0.002")),
    )


def vessel() -> Markup:
    """A pot full to the brim, and the same pot empty on the scale."""
    words = tr("Two pots: one full to the brim, for what it holds; one empty on the floor scale, for its empty weight.")
    return _picture(
        words,
        _path("M24 22h76v66H24z", "d-soap")
        + _path("M24 18v70h76V18", "d-vessel")
        + _path("M14 22h96", "s-dash")
        + _text(62, 110, tr("full to the brim"), "middle")
        + _path("M186 14v60h60V14", "d-vessel")
        + _box(172, 78, 88, 12, "s-body")
        + _path("M266 90V40", "d-vessel")
        + _box(250, 18, 48, 22, "s-display")
        + _text(274, 35, "4.2", "middle", "s-digits")
        + _text(216, 110, tr("empty"), "middle"),
    )


def caustic() -> Markup:
    """The bag that caustic comes in, and what its label says."""
    words = tr("A bag of caustic with its label: which caustic it is, its assay in percent, and its lot.")
    return _picture(
        words,
        _path("M40 10h88l-6 14 10 84a6 6 0 0 1-6 8H42a6 6 0 0 1-6-8l10-84z", "s-body")
        + _box(52, 36, 64, 68, "s-plate")
        + _text(84, 56, "NaOH", "middle", "s-print")
        + _text(84, 77, "98 %", "middle", "s-print")
        + _text(84, 97, "L 412", "middle", "s-print")
        + _path("M116 51h34M116 72h34M116 92h34", "d-lead")
        + _text(154, 56, tr("which caustic"))
        + _text(154, 77, tr("assay"))
        + _text(154, 97, tr("its lot")),
    )


def crew() -> Markup:
    """Two people at work, each with an initial."""
    words = tr("Two people, each with an initial on the apron.")
    person = '<g transform="translate({x} 0)"><circle class="s-body" cx="40" cy="28" r="18"/>' + _path(
        "M10 116V76a24 24 0 0 1 24-24h12a24 24 0 0 1 24 24v40z", "d-soap"
    ) + _path("M10 116V76a24 24 0 0 1 24-24h12a24 24 0 0 1 24 24v40", "d-vessel") + "{letter}</g>"  # fmt: skip
    return _picture(
        words,
        "".join(
            person.format(x=x, letter=_text(40, 96, letter, "middle", "s-initial")) for x, letter in ((70, "A"), (152, "J"))
        ),
    )


def cutter() -> Markup:
    """The frame of wires over a block, and the bar that it cuts."""
    words = tr("A frame of wires over a block: the pitch is the distance from wire to wire. Beside it, a bar with its three measures.")
    return _picture(
        words,
        _path("M30 60h112l22-16H52z", "d-soap-top")
        + _path("M30 60h112v46H30z", "d-soap")
        + _path("M142 60l22-16v46l-22 16z", "d-soap-side")
        + _path("M20 12h132v12H20z", "s-body")
        + "".join(_path(f"M{x} 24v82", "d-cut") for x in (30, 58, 86, 114, 142))
        + _path("M58 34h28M58 30v8M86 30v8", "d-measure")
        + _text(72, 52, tr("pitch"), "middle")
        + _path("M200 60h46l14-12h-46z", "d-soap-top")
        + _path("M200 60h46v34h-46z", "d-soap")
        + _path("M246 60l14-12v34l-14 12z", "d-soap-side")
        + _path("M200 60h46v34h-46zM246 60l14-12v34l-14 12M200 60l14-12h46", "d-mould")
        + _text(230, 112, tr("one bar"), "middle"),
    )


# By question of the set-up, then by kind of thing.
PICTURES: dict[str, Callable[[], Markup]] = {
    "mould": mould, "floor": floor, "small": small, "vessel": vessel, "caustic": caustic, "crew": crew,
}  # fmt: skip
OF_KIND: dict[str, Callable[[], Markup]] = {
    "mould": mould, "cutter": cutter, "vessel": vessel, "scale": floor, "alkali_lot": caustic,
}  # fmt: skip
