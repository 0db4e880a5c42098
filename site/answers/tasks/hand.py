"""A link as a code that another phone's camera reads."""

from dataclasses import dataclass

from answers.qr import DataOverflowError, code_svg, modules
from answers.request import Answer, Request
from calc.entry.declare import text
from calc.entry.fields import read
from calc.entry.language import later, tr
from calc.entry.problems import InputProblems, Problem

# ISO/IEC 18004, table 7: the largest code holds no more bytes than this.
MOST = 2953


@dataclass(frozen=True, kw_only=True)
class Link:
    """A link to hand to another phone."""

    link: str = text(later("Link"), max_length=MOST)


def hand_code(request: Request) -> Answer:
    """The drawing of the code."""
    link = read(Link, request.values).value.link
    try:
        # A screen is clean and near: the lowest correction gives the largest squares.
        rows = modules(link, "l")
    except DataOverflowError as error:
        message = tr("This is too much for one code.")
        raise InputProblems(Problem("link", "too-much", message, tr("Hand it over as a file."))) from error
    return Answer({"hand_code": code_svg(rows, tr("Code with the link, for another phone’s camera"))})
