"""What a task is given and what it gives back."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from answers.state import State
from calc.entry.problems import Caution, InputProblems, Problem


@dataclass(frozen=True)
class Request:
    """The strings of a form, the workshop, and the local time."""

    values: Mapping[str, str]
    state: State
    now: str
    id: str = ""  # of the item that is being changed; "" for a new one
    check: bool = False  # it is about to be saved


@dataclass(frozen=True)
class Answer:
    """HTML by region, cautions that stay in the record, and a record to store where the task makes one.

    notes: by control, what an empty field was counted as; it stands where else is said what was understood.
    puts: by control, what follows from what was typed in others; a row it names stands for all rows of that table.
    """

    html: Mapping[str, str]
    cautions: tuple[Caution, ...] = ()
    record: Mapping[str, Any] | None = field(default=None)
    notes: Mapping[str, str] = field(default_factory=dict)
    puts: Mapping[str, str] = field(default_factory=dict)


class PartlyAnswered(InputProblems):
    """Problems of a form of which some regions have an answer all the same; html and puts as in `Answer`."""

    def __init__(self, problems: Iterable[Problem], html: Mapping[str, str], puts: Mapping[str, str]) -> None:
        super().__init__(*problems)
        self.html, self.puts = html, puts
