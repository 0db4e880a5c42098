"""Every task the pages may ask for, by name."""

from collections.abc import Callable

from answers.request import Answer, Request
from answers.tasks import at_the_scale, batch, formula, fragrance, workshop
from calc.workshop import KINDS

TASKS: dict[str, Callable[[Request], Answer]] = {
    "formula_list": formula.formula_list,
    "formula": formula.formula,
    "batch_sheet": batch.batch_sheet,
    "issue_batch": batch.issue_batch,
    "at_the_scale": at_the_scale.at_the_scale,
    "fragrance": fragrance.fragrance,
    "workshop": workshop.workshop,
    **{kind: workshop.item_task(kind) for kind in KINDS},
}
