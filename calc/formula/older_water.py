"""The lye strength of a formula of before, whose water is stated as a ratio or as a share of the oils, as a text to type.

The form asks for the lye strength alone. A stored formula keeps its own way until its maker takes this one over.
"""

from collections.abc import Mapping
from fractions import Fraction

from calc.chemistry.water import share_from_strength, strength_from_share
from calc.entry.declare import describe
from calc.entry.quantity_text import read_quantity
from calc.formula.as_text import typed_number
from calc.formula.declaration import Formula

# A fraction with a longer denominator is harder to read than its decimals.
LONGEST_DENOMINATOR = 99
DECIMALS = 10
# Decimals of a strength go on until the water agrees with what was stated to this share of the oils.
SAME_SHARE = 5e-9


def strength_typed(formula: Formula, values: Mapping[str, str], oils_g: float, hydroxide_g: float) -> str:
    """The lye strength [%] that gives just the water stated, as text: a ratio of 1.8 is "35 5/7".

    values: the texts that the formula was read from. The masses [g] are what a share of the oils hangs on.
    """
    if formula.water_to_lye_ratio is not None:
        (info,) = (info for info in describe(Formula) if info.name == "water_to_lye_ratio")
        low, high = (info.refuse.low, info.refuse.high) if info.refuse else (0.0, 0.0)
        ratio = read_quantity(values[info.name], info.offered, fits=lambda number, unit: low <= number <= high).number
        exact = 100 / (1 + ratio)
        if exact.denominator <= LONGEST_DENOMINATOR:
            return typed_number(exact)
        return _decimals(float(exact), DECIMALS)
    share = formula.water_share_fraction or 0.0
    strength = strength_from_share(share, oils_g, hydroxide_g)
    for decimals in range(2, DECIMALS):
        typed = _decimals(100.0 * strength, decimals)
        if abs(share_from_strength(float(Fraction(typed) / 100), oils_g, hydroxide_g) - share) <= SAME_SHARE:
            return typed
    return _decimals(100.0 * strength, DECIMALS)


def _decimals(value: float, most: int) -> str:
    text = f"{value:.{most}f}"
    return text.rstrip("0").rstrip(".")
