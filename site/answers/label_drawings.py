"""Labels drawn at their true size: every length in millimeters, on the screen as on paper."""

from collections.abc import Sequence

from markupsafe import Markup

from answers.qr import code_path
from calc.entry.language import tr
from calc.entry.shown import number
from calc.label.layout import QUIET, RULER_MM, RULER_STRIP_MM, Face, Sheet
from calc.label.lettering import width

# The sign ℮ in a square of 100, drawn from memory of Directive 2009/34/EC: an e of two ellipses, its bar thin.
ESTIMATED = (
    "M99.96 52H22.03A28 46 0 0 0 71.45 79.57L90.45 79.39A50 50 0 1 1 99.96 52Z"
    "M22.03 48A28 46 0 0 1 77.97 48Z"
)
# A page as high as its sheet to the last digit spills onto a second one.
SLACK_MM = 0.3
SCREEN_LINE_MM = 50.0


def _n(value: float) -> str:
    return number(value, 3).rstrip("0").rstrip(".")


def face(found: Face, described: str, scale: float, draft: str, language: str) -> Markup:
    """One label at life size on a screen that shows a millimeter as `scale` of its own. language: of its words, perhaps not the page's."""
    size = Markup('width="{}mm" height="{}mm"').format(_n(found.width_mm * scale), _n(found.height_mm * scale))
    return Markup('<svg class="soap-label" role="img" lang="{}" aria-label="{}" {} viewBox="0 0 {} {}">{}</svg>').format(
        language, described, size, _n(found.width_mm), _n(found.height_mm), _inside(found, draft)
    )


def _inside(found: Face, draft: str) -> Markup:
    parts = [Markup('<rect class="label-ground" x="0.1" y="0.1" width="{}" height="{}"/>').format(_n(found.width_mm - 0.2), _n(found.height_mm - 0.2))]
    for line in found.lines:
        parts.append(
            Markup('<text x="{}" y="{}" font-size="{}"{}{} data-role="{}">{}</text>').format(
                _n(line.x_mm), _n(line.y_mm), _n(line.size_mm), Markup(' font-weight="700"') if line.bold else "",
                Markup(' text-anchor="middle"') if line.middle else "", line.role, line.text,
            )
        )  # fmt: skip
    if found.square:
        side = len(found.square.dots) + 2 * QUIET
        parts.append(
            Markup('<svg class="label-code" x="{}" y="{}" width="{}" height="{}" viewBox="0 0 {} {}" shape-rendering="crispEdges"><path d="{}"/></svg>').format(
                _n(found.square.x_mm), _n(found.square.y_mm), _n(found.square.side_mm), _n(found.square.side_mm), side, side, code_path(found.square.dots)
            )
        )
    if found.jar:
        # An open jar, its lid beside it, the months in it.
        parts.append(
            Markup('<svg class="label-jar" x="{}" y="{}" width="{}" height="{}" viewBox="0 0 24 24"><path d="M4 9h16v11a2 2 0 0 1-2 2H6a2 2 0 0 1-2-2zM3 7h18M9 2l13 2"/><text x="12" y="18" font-size="7" text-anchor="middle">{}</text></svg>').format(
                _n(found.jar.x_mm), _n(found.jar.y_mm), _n(found.jar.side_mm), _n(found.jar.side_mm), found.jar.words
            )
        )
    if found.estimated:
        height = _n(found.estimated.height_mm)
        parts.append(
            Markup('<svg class="label-estimated" x="{}" y="{}" width="{}" height="{}" viewBox="0 0 100 100"><path fill-rule="evenodd" d="{}"/></svg>').format(
                _n(found.estimated.x_mm), _n(found.estimated.y_mm), height, height, ESTIMATED
            )
        )
    if draft:
        size = min(0.9 * found.width_mm / width(draft, 1.0, bold=True), found.height_mm / 2.2)
        parts.append(
            Markup('<text class="label-draft" x="{}" y="{}" font-size="{}" text-anchor="middle">{}</text>').format(
                _n(found.width_mm / 2), _n(found.height_mm / 2 + size * 0.35), _n(size), draft
            )
        )
    return Markup("").join(parts)


def screen_line(scale: float) -> Markup:
    """The line to hold a ruler to."""
    length = SCREEN_LINE_MM * scale
    return Markup('<svg class="label-line" role="img" aria-label="{}" width="{}mm" height="4mm" viewBox="0 0 {} 4"><path d="{}"/></svg>').format(
        tr("A line of 50 mm"), _n(length), _n(length), _ticks(0.0, 1.0, length, SCREEN_LINE_MM)
    )


def _ticks(x: float, y: float, drawn: float, length_mm: float) -> str:
    """A line with a tick each centimeter."""
    steps = round(length_mm / 10.0)
    return f"M{_n(x)} {_n(y + 1)}h{_n(drawn)}" + "".join(f"M{_n(x + n * drawn / steps)} {_n(y)}v2" for n in range(steps + 1))


def sheets(faces: Sequence[Face], sheet: Sheet, placed: Sequence[Sequence[tuple[float, float, int]]], draft: str, language: str) -> Markup:
    """The sheets as they print; the first one holds what all of them show."""
    symbols = Markup("").join(
        Markup('<symbol id="label-face-{}" lang="{}" viewBox="0 0 {} {}">{}</symbol>').format(n, language, _n(each.width_mm), _n(each.height_mm), _inside(each, draft))
        for n, each in enumerate(faces)
    )
    height = sheet.height_mm - SLACK_MM
    foot = sheet.height_mm - RULER_STRIP_MM - 2.0
    words = tr("This line is 100 mm long (3 15/16 in). If it isn't, print at 100 %, not “fit to page”.")
    ruler = Markup('<path class="label-ruler" d="{}"/><text class="label-ruler-words" x="{}" y="{}" font-size="3">{}</text>').format(
        _ticks(sheet.width_mm / 2 - RULER_MM / 2, foot, RULER_MM, RULER_MM), _n(sheet.width_mm / 2 - RULER_MM / 2), _n(foot + 5.5), words
    )
    practice = Markup('<text class="label-practice" x="{}" y="{}" font-size="5" text-anchor="end">{}</text>').format(
        _n(sheet.width_mm - 10.0), _n(foot + 3.0), tr("Practice")
    )
    drawn = []
    for n, places in enumerate(placed):
        uses = Markup("").join(
            Markup('<use href="#label-face-{}" x="{}" y="{}" width="{}" height="{}"/>').format(
                which, _n(x), _n(y), _n(faces[which].width_mm), _n(faces[which].height_mm)
            )
            for x, y, which in places
        )
        drawn.append(
            Markup('<svg class="label-sheet label-{}" width="{}mm" height="{}mm" viewBox="0 0 {} {}">{}{}{}</svg>').format(
                sheet.paper, _n(sheet.width_mm), _n(height), _n(sheet.width_mm), _n(height), symbols if n == 0 else "", uses, ruler + practice
            )
        )
    return Markup("").join(drawn)
