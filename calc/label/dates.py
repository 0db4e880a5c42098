"""How long a soap keeps, as its label says it: a best-before month, or the open jar with months after opening."""

from calendar import monthrange
from datetime import date

from calc.label.declared import BEST_BEFORE_MONTHS


def best_before(made_on: date, keeps_months: int) -> tuple[int, int] | None:
    """Month and year by whose end it is best; None where it keeps so long that no date is asked for. keeps_months: from 1 on.

    The last month that ends before the time is up: a whole one is never given away.

    >>> best_before(date(2026, 12, 1), 24), best_before(date(2026, 12, 31), 24)
    ((11, 2028), (12, 2028))
    """
    if keeps_months > BEST_BEFORE_MONTHS:
        return None
    whole = made_on.day == monthrange(made_on.year, made_on.month)[1]
    months = made_on.year * 12 + made_on.month - (1 if whole else 2) + keeps_months
    return months % 12 + 1, months // 12
