"""A formula's rows of oils with other shares: what is not touched stays as it was typed, and every sum is exact."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import reduce
from operator import add

from calc.formula.as_text import typed_number, typed_percent


@dataclass(frozen=True)
class OilRow:
    """One row: the oil's key, its share as typed and as a number [%], and whether it goes in late."""

    oil: str
    typed: str
    percent: Fraction
    added: str


def rows_of(values: Mapping[str, str]) -> tuple[OilRow, ...]:
    """The rows of a formula's oils as stored, in order; rows without a share that can be read are left out."""
    numbers = sorted({int(named[1]) for name in values if (named := re.fullmatch(r"oils\.([0-9]{1,4})\.oil", name))})
    found: list[OilRow] = []
    for number in numbers:
        typed = values.get(f"oils.{number}.share_fraction", "").strip()
        percent = typed_percent(typed)
        if percent is not None:
            added = values.get(f"oils.{number}.added", "main")
            found.append(OilRow(values[f"oils.{number}.oil"], typed, percent, added))
    return tuple(found)


def together(percents: Iterable[Fraction]) -> Fraction:
    """Their sum, exact."""
    return reduce(add, percents, Fraction(0))


def shares_of(rows: Sequence[OilRow]) -> dict[str, Fraction]:
    """Each oil's share of all oils [%], with the oils and late together."""
    shares: dict[str, Fraction] = {}
    for row in rows:
        shares[row.oil] = shares.get(row.oil, Fraction(0)) + row.percent
    return shares


def with_shares(rows: Sequence[OilRow], missing: str, shares: Mapping[str, Fraction]) -> tuple[OilRow, ...]:
    """The rows with other shares [%] for some oils, the missing one among them; an oil without any share goes.

    An oil that stands in two rows changes in its larger one. A new one takes the place of the missing oil, and goes in when
    most of that did.
    """
    place = next(number for number, row in enumerate(rows) if row.oil == missing)
    added = _largest([row for row in rows if row.oil == missing]).added
    found: list[OilRow] = []
    for number, row in enumerate(rows):
        if number == place:
            found.extend(_row(oil, share, added) for oil, share in shares.items() if share and oil not in shares_of(rows))
        if row.oil not in shares:
            found.append(row)
            continue
        own = [each for each in rows if each.oil == row.oil]
        largest = _largest(own)
        others = together(each.percent for each in own if each is not largest)
        if row is largest and shares[row.oil] > 0:
            # What is less than the smaller row alone stands in one row.
            rest = shares[row.oil] - others
            found.append(_row(row.oil, rest if rest > 0 else shares[row.oil], row.added))
        elif row is not largest and shares[row.oil] > others:
            found.append(row)
    return tuple(found)


def row_texts(rows: Sequence[OilRow]) -> dict[str, str]:
    """The rows as the form's controls hold them."""
    values: dict[str, str] = {}
    for number, row in enumerate(rows):
        values |= {f"oils.{number}.oil": row.oil, f"oils.{number}.share_fraction": row.typed, f"oils.{number}.added": row.added}
    return values


def _row(oil: str, percent: Fraction, added: str) -> OilRow:
    return OilRow(oil, typed_number(percent), percent, added)


def _largest(rows: Sequence[OilRow]) -> OilRow:
    return max(rows, key=lambda row: row.percent)
