"""What a workshop sees to by days or by blocks: a usual task that it keeps, or one of its own."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from calc.entry.declare import NAME_LENGTH, Range, Whole, count, day, text
from calc.entry.language import later, tr
from calc.entry.problems import Problem


@dataclass(frozen=True, kw_only=True)
class UpkeepTask(Whole):
    """A task. A usual one keeps its built-in danger and steps, whatever stands here: this adds to them."""

    name: str = text(later("What is done"), max_length=NAME_LENGTH)
    every_days: int | None = count(
        later("Every so many days"), refuse=Range(1, 3660, later("from every day to every ten years")), optional=True
    )
    every_blocks: int | None = count(
        later("Every so many blocks"), refuse=Range(1, 10_000, later("from every block to every 10,000")), optional=True,
        help=later("Blocks count once their weighing is closed. With days too, whichever comes first counts."),
    )  # fmt: skip
    counts_from: date | None = day(later("Last done on"), optional=True, past=True, help=later("Before it was recorded here. Days and blocks count from then."))
    danger: str | None = text(later("What can hurt"), max_length=1000, optional=True, multiline=True, help=later("Shown first, above the steps."))
    steps: str | None = text(later("Steps"), max_length=2000, optional=True, multiline=True, help=later("One on a line. A usual task shows its own as well."))

    def whole(self) -> Iterator[Problem]:
        """Nothing that says when."""
        if self.every_days is None and self.every_blocks is None:
            message = tr("Nothing says when it’s due.")
            yield Problem("every_days", "no-interval", message, tr("Type days, blocks or both."))
