"""The built-in limits that a workshop may hold more strictly, and where each of them is shown."""

from dataclasses import dataclass
from functools import cache

from calc.entry.declare import describe
from calc.entry.units import show_unit
from calc.safety.points import Check
from calc.tables.safety import Statement, fault, rows, table, values
from calc.workshop.safety_place import SafetyPlace

SIDES = ("most", "least")


@dataclass(frozen=True)
class Limit:
    """A built-in limit that a workshop may hold more strictly. `key`: its field of the workshop's form.

    `side`: "most" where the stricter one is lower, "least" where it is higher. `figures`: for each unit in which it may be
    typed ("" where there is only one), that unit's symbol and the built-in figure. `points`: where it is shown besides the
    statements that name its figure.
    """

    key: str
    side: str
    name: Statement
    built_in: Statement
    uses: tuple[str, ...]
    figures: tuple[tuple[str, str, float], ...]
    points: tuple[str, ...]


@cache
def limits() -> tuple[Limit, ...]:
    """The limits that a workshop may tighten. Raises SafetyDataError at a row amiss."""
    offered = {info.name: info.offered for info in describe(SafetyPlace)}
    points = {row["key"] for row in table("walk")}
    found = []
    for line, row, told in rows("limits", "key", "side", "figures", "name", "built_in"):
        if row["key"] not in offered:
            raise fault("limits", line, f"the workshop's form has no field {row['key']}")
        if row["side"] not in SIDES:
            raise fault("limits", line, f"side is none of {', '.join(SIDES)}")
        uses, extra = tuple(row["figures"].split()), tuple(row["points"].split())
        missing = [*({*uses} - {*values()}), *({*extra} - points)]
        if missing:
            raise fault("limits", line, f"there is no {missing[0]}")
        units = offered[row["key"]] or ("",)
        # A count has its symbol, where there is one, by its figure alone.
        symbols = [show_unit(unit) if unit else values()[key].symbol for unit, key in zip(units, uses, strict=True)]
        figures = tuple(
            (unit, symbol, float(values()[key].value)) for unit, symbol, key in zip(units, symbols, uses, strict=True)
        )
        found.append(Limit(row["key"], row["side"], told("name"), told("built_in"), uses, figures, extra))
    return tuple(found)


def limits_with(*said: Statement | None) -> tuple[Limit, ...]:
    """The limits whose built-in figure stands in one of these statements."""
    used = {key for each in said if each for key in each.uses}
    return tuple(limit for limit in limits() if used & {*limit.uses})


def limits_of(check: Check) -> tuple[Limit, ...]:
    """The limits that belong to a point of the walk."""
    named = limits_with(check.what, check.why, check.question, check.stop, check.if_no, check.teach, check.teach_answer)
    return tuple(limit for limit in limits() if limit in named or check.key in limit.points)
