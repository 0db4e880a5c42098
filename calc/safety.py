"""The Emergency card and the Safety walk as the tables of shared/safety have them."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache

from calc.fields import describe
from calc.safety_place import SafetyPlace
from calc.safety_tables import (
    Row,
    SafetyDataError,
    SafetyValue,
    Statement,
    every_statement,
    fault,
    figure,
    need,
    say,
    statements,
    table,
    values,
)
from calc.units import show_unit

__all__ = [
    "Card",
    "Check",
    "ContainerLabel",
    "DailyPoint",
    "Equipment",
    "Limit",
    "Material",
    "Phase",
    "SafetyDataError",
    "SafetyValue",
    "Statement",
    "call_when_lines",
    "cards",
    "daily",
    "equipment",
    "every_statement",
    "facts",
    "labels",
    "limits",
    "limits_of",
    "limits_with",
    "materials",
    "phases",
    "say",
    "statements",
    "values",
]

VERDICTS = ("may", "not", "care")
SIDES = ("most", "least")
PICTOGRAMS = ("corrosion", "")
# The figures that a card may count down, by what the words of that time begin with.
TIMED = {"flush_minutes": "flush", "cool_minutes": "cool"}
# Points between two pauses. Boorman's advice as told by Gawande, The Checklist Manifesto (2009), ch. 6.
FEWEST, MOST = 5, 9
# More points than these do not fit one screen of a phone, and nobody reads them every day; common practice, no source.
MOST_DAILY = 7


@dataclass(frozen=True)
class Limit:
    """A built-in limit that a workshop may hold more strictly. `key`: its field of the workshop's form.

    `side`: "most" where the stricter one is lower, "least" where it is higher. `figures`: the built-in one by the unit in
    which it may be typed ("" where there is one alone), and that unit's symbol. `points`: where it is shown besides the
    statements that name its figure.
    """

    key: str
    side: str
    name: Statement
    built_in: Statement
    uses: tuple[str, ...]
    figures: tuple[tuple[str, str, float], ...]
    points: tuple[str, ...]


@dataclass(frozen=True)
class Card:
    """What to do in one kind of accident. `first`: how many lines are the first move, before the timer and the call.

    `flush_minutes`: the least time under water [min], where there is one; `timed`: "flush" where caustic is rinsed off, "cool"
    where a burn by heat is cooled, which the words of the time and its figure begin with; "" where there is none.
    """

    key: str
    title: Statement
    lines: tuple[Statement, ...]
    first: int
    flush_minutes: int | None
    flush_source: Statement | None
    timed: str


@dataclass(frozen=True)
class Check:
    """One point of the walk. `pause`: its group inside the phase; people pause between two groups.

    `other_day`: nobody can put its "no" right on the same day. `place`: its "no" is of the workshop, not of the person who
    said it, and keeps everybody from lye.
    """

    key: str
    what: Statement
    why: Statement
    question: Statement
    stop: Statement
    if_no: Statement
    teach: Statement | None
    teach_answer: Statement | None
    pause: int
    other_day: bool
    place: bool


@dataclass(frozen=True)
class Phase:
    """A part of the walk, done on its own."""

    key: str
    title: Statement
    checks: tuple[Check, ...]


@dataclass(frozen=True)
class DailyPoint:
    """One point of the daily check of somebody who is trained. `other_day`, `place`: as in `Check`."""

    key: str
    what: Statement
    question: Statement
    if_no: Statement
    other_day: bool
    place: bool


@dataclass(frozen=True)
class Equipment:
    """What is worn for a task."""

    key: str
    task: Statement
    eyes: Statement
    hands: Statement
    body: Statement
    air: Statement


@dataclass(frozen=True)
class Material:
    """Whether a material may touch lye: "may", "not", or with "care"."""

    key: str
    name: Statement
    verdict: str
    why: Statement


@dataclass(frozen=True)
class ContainerLabel:
    """The words of one container's label; `pictogram` is "corrosion" or empty; `blanks`: what is written in by hand."""

    key: str
    product: Statement
    signal: Statement
    hazards: tuple[Statement, ...]
    pictogram: str
    blanks: tuple[Statement, ...]


def _rows(name: str, *columns: str) -> Iterator[tuple[int, Row, Callable[[str], Statement]]]:
    """The rows of a table; these columns hold the keys of statements and none of them is empty."""
    for line, row in enumerate(table(name), start=2):
        need(name, line, row, columns)

        def told(column: str, line: int = line, row: Row = row) -> Statement:
            if row[column] not in statements():
                raise fault(name, line, f"there is no statement {row[column]}")
            return say(row[column])

        yield line, row, told


@cache
def limits() -> tuple[Limit, ...]:
    """The limits that a workshop may tighten. Raises SafetyDataError at a row amiss."""
    offered = {info.name: info.offered for info in describe(SafetyPlace)}
    points = {row["key"] for row in table("walk")}
    found = []
    for line, row, told in _rows("limits", "key", "side", "figures", "name", "built_in"):
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


@cache
def cards() -> tuple[Card, ...]:
    """The cards in the order of the table, each with its lines in order. Raises SafetyDataError at a row amiss."""
    lines: dict[str, list[Statement]] = {}
    first: dict[str, int] = {}
    minutes: dict[str, str] = {}
    for line, row, told in _rows("emergency", "card", "statement"):
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


@cache
def phases() -> tuple[Phase, ...]:
    """The phases of the walk in order. Raises SafetyDataError at a row amiss, or a pause not after 5 to 9 points."""
    checks: dict[str, list[Check]] = {row["phase"]: [] for _, row, _ in _rows("phases", "phase", "title")}
    seen: set[str] = set()
    for line, row, told in _rows("walk", "phase", "key", "what", "why", "question", "stop", "if_no"):
        if row["phase"] not in checks:
            raise fault("walk", line, f"there is no phase {row['phase']}")
        if row["key"] in seen:
            raise fault("walk", line, f"{row['key']} stands twice")
        if bool(row["teach"]) != bool(row["teach_answer"]):
            raise fault("walk", line, "a question to the helper needs its answer")
        if not row["pause"].isdigit():
            raise fault("walk", line, "pause is no number")
        lasts, place = _is_yes("walk", line, row, "other_day"), _is_yes("walk", line, row, "place")
        seen.add(row["key"])
        teach, answer = (told("teach"), told("teach_answer")) if row["teach"] else (None, None)
        what, why, question, stop, if_no = map(told, ("what", "why", "question", "stop", "if_no"))
        marks = int(row["pause"]), lasts, place
        checks[row["phase"]].append(Check(row["key"], what, why, question, stop, if_no, teach, answer, *marks))
    for phase, found in checks.items():
        groups = [each.pause for each in found]
        if groups != sorted(groups) or not all(FEWEST <= groups.count(group) <= MOST for group in {*groups} or {0}):
            raise SafetyDataError(f"walk.csv: {phase} does not pause after {FEWEST} to {MOST} points")
    return tuple(Phase(row["phase"], told("title"), tuple(checks[row["phase"]])) for _, row, told in _rows("phases"))


def _is_yes(name: str, line: int, row: Row, column: str) -> bool:
    if row[column] not in ("", "yes"):
        raise fault(name, line, f"{column} is neither yes nor empty")
    return bool(row[column])


@cache
def daily() -> tuple[DailyPoint, ...]:
    """The daily check, in order. Raises SafetyDataError at a row amiss, or where it is longer than one screen."""
    found: dict[str, DailyPoint] = {}
    for line, row, told in _rows("daily", "key", "what", "question", "if_no"):
        if row["key"] in found:
            raise fault("daily", line, f"{row['key']} stands twice")
        if len(found) == MOST_DAILY:
            raise fault("daily", line, f"the daily check has more than {MOST_DAILY} points")
        said = told("what"), told("question"), told("if_no")
        marks = _is_yes("daily", line, row, "other_day"), _is_yes("daily", line, row, "place")
        found[row["key"]] = DailyPoint(row["key"], *said, *marks)
    return tuple(found.values())


@cache
def equipment() -> tuple[Equipment, ...]:
    """What is worn for each task. Raises SafetyDataError at a row amiss."""
    columns = ("task", "eyes", "hands", "body", "air")
    return tuple(Equipment(row["key"], *map(told, columns)) for _, row, told in _rows("equipment", "key", *columns))


@cache
def materials() -> tuple[Material, ...]:
    """What may and may not touch lye. Raises SafetyDataError at a row amiss."""
    found = []
    for line, row, told in _rows("materials", "key", "name", "verdict", "why"):
        if row["verdict"] not in VERDICTS:
            raise fault("materials", line, f"verdict is none of {', '.join(VERDICTS)}")
        found.append(Material(row["key"], told("name"), row["verdict"], told("why")))
    return tuple(found)


@cache
def labels() -> tuple[ContainerLabel, ...]:
    """The labels for containers. Raises SafetyDataError at a row amiss."""
    found = []
    for line, row, told in _rows("labels", "key", "product", "signal", "hazards", "blanks"):
        if row["pictogram"] not in PICTOGRAMS:
            raise fault("labels", line, f"there is no pictogram {row['pictogram']}")
        hazards = row["hazards"].split()
        blanks = [f"page_label_{each}" for each in row["blanks"].split()]
        missing = [key for key in hazards + blanks if key not in statements()]
        if missing:
            raise fault("labels", line, f"there is no statement {missing[0]}")
        words = tuple(map(say, hazards)), row["pictogram"], tuple(map(say, blanks))
        found.append(ContainerLabel(row["key"], told("product"), told("signal"), *words))
    return tuple(found)
