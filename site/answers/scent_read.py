"""The scent that a formula names, in a bar of it."""

from answers.state import State
from calc.formula.declaration import Formula
from calc.formula.sheet import OILS_G
from calc.scent.batch import BatchScent, ChosenScent, batch_scent, limits_of


def scent_in_bar(formula: Formula, batter_g: float, state: State, field: str) -> BatchScent | None:
    """The scent for a kilogram of oils and their batter [g]; None where the formula names none.

    What can't be read of it is a problem of the field.
    """
    scent_g = formula.scent_fraction * OILS_G
    if formula.scent is None or scent_g <= 0.0:
        return None
    scent, parts = state.scent(formula.scent, field)
    shop = state.shop() if state.stored("shop") else None
    chosen = ChosenScent(scent.name, parts)
    return batch_scent(chosen, limits_of(chosen, shop), scent_g, OILS_G, batter_g, shop)
