"""What is worn for each task, what may touch lye, and the labels of containers."""

from dataclasses import dataclass
from functools import cache

from calc.tables.safety import Statement, fault, rows, say, statements

VERDICTS = ("may", "not", "care")
PICTOGRAMS = ("corrosion", "")


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
class LyeContact:
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


@cache
def equipment() -> tuple[Equipment, ...]:
    """What is worn for each task. Raises SafetyDataError at a row amiss."""
    columns = ("task", "eyes", "hands", "body", "air")
    return tuple(Equipment(row["key"], *map(told, columns)) for _, row, told in rows("equipment", "key", *columns))


@cache
def materials() -> tuple[LyeContact, ...]:
    """What may and may not touch lye. Raises SafetyDataError at a row amiss."""
    found = []
    for line, row, told in rows("materials", "key", "name", "verdict", "why"):
        if row["verdict"] not in VERDICTS:
            raise fault("materials", line, f"verdict is none of {', '.join(VERDICTS)}")
        found.append(LyeContact(row["key"], told("name"), row["verdict"], told("why")))
    return tuple(found)


@cache
def labels() -> tuple[ContainerLabel, ...]:
    """The labels for containers. Raises SafetyDataError at a row amiss."""
    found = []
    for line, row, told in rows("labels", "key", "product", "signal", "hazards", "blanks"):
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
