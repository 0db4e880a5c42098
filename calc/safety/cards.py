"""The Emergency card: what to do in each kind of accident, when to call, and the figures to look up."""

from dataclasses import dataclass
from functools import cache

from calc.tables.safety import Statement, every_statement, fault, figure, rows, say

# The figures that a card may count down, and what the keys of that timer's words begin with.
TIMED = {"flush_minutes": "flush", "cool_minutes": "cool"}


@dataclass(frozen=True)
class Card:
    """What to do in one kind of accident. `first`: how many lines are the first move, before the timer and the call.

    `flush_minutes`: the least time under water [min], where there is one; `timed`: "flush" where caustic is rinsed off, "cool"
    where a burn by heat is cooled; the keys of the timer's words begin with it. "" where there is none.
    """

    key: str
    title: Statement
    lines: tuple[Statement, ...]
    first: int
    flush_minutes: int | None
    flush_source: Statement | None
    timed: str


@cache
def cards() -> tuple[Card, ...]:
    """The cards in the order of the table, each with its lines in order. Raises SafetyDataError at a row amiss."""
    lines: dict[str, list[Statement]] = {}
    first: dict[str, int] = {}
    minutes: dict[str, str] = {}
    for line, row, told in rows("emergency", "card", "statement"):
        mine = lines.setdefault(row["card"], [])
        if row["order"] != str(len(mine) + 1):
            raise fault("emergency", line, f"order is not {len(mine) + 1}")
        if (row["first"] == "yes") != (first.get(row["card"], 0) == len(mine)) and (row["first"] or not mine):
            raise fault("emergency", line, "the first moves are not the card's first lines")
        mine.append(told("statement"))
        if row["first"]:
            first[row["card"]] = len(mine)
        if row["flush_value"]:
            if row["flush_value"] not in TIMED:
                raise fault("emergency", line, f"flush_value is none of {', '.join(TIMED)}")
            minutes[row["card"]] = row["flush_value"]
    made = []
    for key, found in lines.items():
        timed = TIMED.get(minutes.get(key, ""), "")
        least, source = (figure(minutes[key]), say(f"{timed}_source")) if timed else (None, None)
        made.append(Card(key, say(f"card_{key}"), tuple(found), first[key], least, source, timed))
    return tuple(made)


@cache
def call_when_lines() -> tuple[Statement, ...]:
    """When emergency services are called at once, one case a line."""
    return tuple(each for each in every_statement() if each.key.startswith("call_when_"))


@cache
def facts() -> tuple[Statement, ...]:
    """Limits and figures to look up: air, eyewash, hot water, waste, lifting."""
    return tuple(each for each in every_statement() if each.key.startswith("fact_"))
