"""QR codes (ISO/IEC 18004), which the camera of any phone reads: the dark squares, and a drawing of them.

Only `segno.encoder` is there in the browser, so it is imported by that name.
"""

from collections.abc import Sequence

from markupsafe import Markup
from segno.encoder import DataOverflowError, encode

from calc.label.layout import QUIET

__all__ = ["QUIET", "DataOverflowError", "code_path", "code_svg", "modules"]

Rows = tuple[tuple[bool, ...], ...]


def modules(text: str, error: str = "m") -> Rows:
    """The squares of a code, true where dark, without its margin; raises DataOverflowError where no code holds so much.

    `error`: the level of correction, "l" to "h"; a higher one is taken where it makes the code no larger.
    """
    return tuple(tuple(value == 1 for value in row) for row in encode(text, error=error, micro=False).matrix)  # type: ignore[no-untyped-call]


def code_path(rows: Sequence[Sequence[bool]]) -> str:
    """The dark squares as a path, one unit a square, inside the margin."""
    return "".join(_runs(row, y) for y, row in enumerate(rows, start=QUIET))


def code_svg(rows: Sequence[Sequence[bool]], words: str) -> Markup:
    """The drawing, dark on light in either theme, with its margin; `words` tell what it holds."""
    size = len(rows) + 2 * QUIET
    return Markup(
        '<svg class="qr" role="img" viewBox="0 0 {0} {0}" aria-label="{1}" shape-rendering="crispEdges">'
        '<rect class="qr-light" width="{0}" height="{0}"/><path class="qr-dark" d="{2}"/></svg>'
    ).format(size, words, code_path(rows))


def _runs(row: Sequence[bool], y: int) -> str:
    """The dark stretches of one row, each as one rectangle."""
    drawn, begin = "", None
    for x, dark in enumerate((*row, False)):
        if dark and begin is None:
            begin = x
        elif not dark and begin is not None:
            drawn += f"M{begin + QUIET} {y}h{x - begin}v1h-{x - begin}z"
            begin = None
    return drawn
