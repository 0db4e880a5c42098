"""What can be wrong with an entry, in words for the person who typed it.

A problem stops the answer until it is fixed; a caution lets the work go on and stays in its record.
Faults of our own are ordinary exceptions and never take these shapes.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

_CODE = re.compile(r"[a-z]+(-[a-z]+)*")


def _check(field: str, code: str, *sentences: str) -> None:
    if not isinstance(field, str) or not _CODE.fullmatch(code):
        raise ValueError(f"field {field!r} must be a control's name and code {code!r} kebab-case")
    if not all(sentence.strip() for sentence in sentences):
        raise ValueError(f"{code}: every sentence of a problem must say something")


@dataclass(frozen=True)
class Problem:
    """Something the person can put right: the control's name ("" for the whole form), what is wrong, what to do."""

    field: str
    code: str
    message: str
    remedy: str

    def __post_init__(self) -> None:
        _check(self.field, self.code, self.message, self.remedy)


@dataclass(frozen=True)
class Caution:
    """Something unusual the person may go on with; kept in the record with its reason."""

    field: str
    code: str
    message: str
    reason: str

    def __post_init__(self) -> None:
        _check(self.field, self.code, self.message, self.reason)


class InputProblems(ValueError):
    """Every problem of one form at once; there is at least one."""

    def __init__(self, *problems: Problem) -> None:
        if not problems:
            raise ValueError("InputProblems needs at least one Problem")
        super().__init__(*problems)
        self.problems = problems

    def __str__(self) -> str:
        return "\n".join(f"{problem.field}: {problem.message} {problem.remedy}" for problem in self.problems)


def told_at_once(*steps: Callable[[], Any]) -> list[Any]:
    """What each step gives, in their order; the problems of all of them are raised at once."""
    found: list[Any] = []
    problems: list[Problem] = []
    for step in steps:
        try:
            found.append(step())
        except InputProblems as faults:
            problems.extend(faults.problems)
    if problems:
        raise InputProblems(*problems)
    return found
