"""The points of the Safety walk, by phase, and those of the daily check."""

from dataclasses import dataclass
from functools import cache

from calc.tables.reference import constant
from calc.tables.safety import SafetyDataError, Statement, fault, is_yes, rows


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


@cache
def phases() -> tuple[Phase, ...]:
    """The phases of the walk in order. Raises SafetyDataError at a row amiss, or a pause after too few or too many points."""
    fewest, most = int(constant("pause_fewest").value), int(constant("pause_most").value)
    checks: dict[str, list[Check]] = {row["phase"]: [] for _, row, _ in rows("phases", "phase", "title")}
    seen: set[str] = set()
    for line, row, told in rows("walk", "phase", "key", "what", "why", "question", "stop", "if_no"):
        if row["phase"] not in checks:
            raise fault("walk", line, f"there is no phase {row['phase']}")
        if row["key"] in seen:
            raise fault("walk", line, f"{row['key']} stands twice")
        if bool(row["teach"]) != bool(row["teach_answer"]):
            raise fault("walk", line, "a question to the helper needs its answer")
        if not row["pause"].isdigit():
            raise fault("walk", line, "pause is no number")
        lasts, place = is_yes("walk", line, row, "other_day"), is_yes("walk", line, row, "place")
        seen.add(row["key"])
        teach, answer = (told("teach"), told("teach_answer")) if row["teach"] else (None, None)
        what, why, question, stop, if_no = map(told, ("what", "why", "question", "stop", "if_no"))
        marks = int(row["pause"]), lasts, place
        checks[row["phase"]].append(Check(row["key"], what, why, question, stop, if_no, teach, answer, *marks))
    for phase, found in checks.items():
        groups = [each.pause for each in found]
        if groups != sorted(groups) or not all(fewest <= groups.count(group) <= most for group in {*groups} or {0}):
            raise SafetyDataError(f"walk.csv: {phase} does not pause after {fewest} to {most} points")
    return tuple(Phase(row["phase"], told("title"), tuple(checks[row["phase"]])) for _, row, told in rows("phases"))


@cache
def daily() -> tuple[DailyPoint, ...]:
    """The daily check, in order. Raises SafetyDataError at a row amiss, or where it is longer than one screen."""
    most = int(constant("daily_most").value)
    found: dict[str, DailyPoint] = {}
    for line, row, told in rows("daily", "key", "what", "question", "if_no"):
        if row["key"] in found:
            raise fault("daily", line, f"{row['key']} stands twice")
        if len(found) == most:
            raise fault("daily", line, f"the daily check has more than {most} points")
        said = told("what"), told("question"), told("if_no")
        marks = is_yes("daily", line, row, "other_day"), is_yes("daily", line, row, "place")
        found[row["key"]] = DailyPoint(row["key"], *said, *marks)
    return tuple(found.values())
