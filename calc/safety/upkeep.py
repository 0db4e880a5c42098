"""The usual tasks, from shared/safety/upkeep.csv: what can hurt first, then the few steps, then how often."""

from dataclasses import dataclass
from functools import cache

from calc.tables.safety import Statement, fault, rows, say, statements, values


@dataclass(frozen=True)
class UsualTask:
    """One task. How often is a habit, in days or in blocks made; the workshop sets its own."""

    key: str
    title: Statement
    danger: tuple[Statement, ...]
    steps: tuple[Statement, ...]
    every: Statement
    every_days: int | None
    every_blocks: int | None


@cache
def usual_tasks() -> tuple[UsualTask, ...]:
    """Every usual task in the order of the table. Raises SafetyDataError at a row amiss."""
    found: dict[str, UsualTask] = {}
    for line, row, told in rows("upkeep", "key", "title", "danger", "steps", "every"):
        if row["key"] in found:
            raise fault("upkeep", line, f"{row['key']} stands twice")
        said = {column: row[column].split() for column in ("danger", "steps")}
        missing = [key for keys in said.values() for key in keys if key not in statements()]
        if missing:
            raise fault("upkeep", line, f"there is no statement {missing[0]}")
        every = told("every")
        if len(every.uses) != 1:
            raise fault("upkeep", line, "every says how often by one figure")
        often = values()[every.uses[0]]
        days = int(often.value) if often.unit == "d" else None
        blocks = int(often.value) if often.unit == "" else None
        danger, steps = (tuple(map(say, said[column])) for column in ("danger", "steps"))
        found[row["key"]] = UsualTask(row["key"], told("title"), danger, steps, every, days, blocks)
    return tuple(found.values())
