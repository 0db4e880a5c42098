"""Two items that people could not tell apart: refused before the second is saved."""

from answers.request import Request
from calc.entry.language import tr
from calc.entry.problems import InputProblems, Problem

# A lot is told by its code on every sheet, whichever kind of lot it is; everything else by its name.
LOTS = ("oil_lot", "alkali_lot", "scent_lot", "additive_lot", "packaging_lot")


def refuse_double(request: Request, kind: str) -> None:
    """Raises InputProblems when an item is about to be saved whose name or lot code another one bears."""
    if not request.check:
        return
    field, kinds = ("code", LOTS) if kind in LOTS else ("name", (kind,))
    typed = _plain(request.values.get(field, ""))
    for other_kind in kinds:
        for entry in request.state.stored(other_kind):
            own = other_kind == kind and entry.id == request.id
            if typed and not own and _plain(entry.values.get(field, "")) == typed:
                bears = entry.values[field]
                if kind in LOTS:
                    message = tr("Another lot already has the code {code}.", code=bears)
                    remedy = tr("Choose a code that tells the two apart.")
                else:
                    message = tr("The name {name} is already taken.", name=bears)
                    remedy = tr("Choose a name that tells the two apart.")
                raise InputProblems(Problem(field, "double", message, remedy))


def _plain(text: str) -> str:
    return "".join(text.split()).casefold()
