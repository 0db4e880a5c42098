"""Every task the pages may ask for, by name."""

from collections.abc import Callable
from typing import Any

from answers.request import Answer, Request
from answers.tasks import at_the_scale, batch, cure, cut, day, formula, fragrance, setup, workshop
from calc.batch.order import BatchOrder, Issue
from calc.cure.declared import By, LabelQuestion, Move, Racked, SoapTest, Weighing
from calc.cut.question import CutQuestion
from calc.day.declared import DayQuestion, Planner
from calc.formula.declaration import Formula
from calc.scent.quick_check import ScentQuestion
from calc.workshop.kinds import KINDS
from calc.workshop.setup import Crew

TASKS: dict[str, Callable[[Request], Answer]] = {
    "formula_list": formula.formula_list,
    "formula": formula.formula,
    "batch_sheet": batch.batch_sheet,
    "issue_batch": batch.issue_batch,
    "cut_plan": cut.cut_plan,
    "at_the_scale": at_the_scale.at_the_scale,
    "fragrance": fragrance.fragrance,
    "cure_rack": cure.cure_rack,
    "cure_batch": cure.cure_batch,
    "cure_racked": cure.cure_racked,
    "cure_test": cure.cure_test,
    "cure_move": cure.cure_move,
    "net_quantity": cure.net_quantity,
    "day": day.day,
    "workshop": workshop.workshop,
    "setup_crew": setup.crew,
    **{kind: workshop.item_task(kind) for kind in KINDS},
}

# What stands in the form that a task is asked with.
FORMS: dict[str, tuple[type[Any], ...]] = {
    "formula_list": (),
    "formula": (Formula,),
    "batch_sheet": (BatchOrder,),
    "issue_batch": (BatchOrder, Issue),
    "cut_plan": (CutQuestion,),
    "at_the_scale": (),
    "fragrance": (ScentQuestion,),
    "cure_rack": (),
    "cure_batch": (Weighing, By),
    "cure_racked": (Racked, By),
    "cure_test": (SoapTest, By),
    "cure_move": (Move, By),
    "net_quantity": (LabelQuestion, By),
    "day": (DayQuestion, Planner),
    "workshop": (),
    "setup_crew": (Crew,),
    **{kind: (declaration,) for kind, (declaration, _, _) in KINDS.items()},
}
