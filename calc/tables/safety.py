"""The one reader of shared/safety: every sentence of the safety pages, in English and in Spanish, and their figures.

Nobody can show a sentence that lacks its source, its other language or a figure that has no row of its own: loading
refuses it. The pages are made from these tables; in the browser only the figures are there, for the steps at the scale.
"""

import csv
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from calc.shared import SAFETY

STATEMENT_TABLES = ("statements", "daily_words", "page_words", "upkeep_words")
HOW = ("read", "derived", "memory", "common practice")
# Only symbols that both languages share stand with a figure; a unit that is a word ("minutes") stands in the sentence.
SYMBOLS = ("°C", "°F", "%", "mg/m³", "L/min", "gal/min", "L", "kg", "lb", "psi")
NOT_SHOWN = ("", "min", "h", "s", "d", "months", "pH")
PLACEHOLDER = re.compile(r"\{(\w+)\}")
NO_BREAK = "\N{NO-BREAK SPACE}"

Row = Mapping[str, str]


class SafetyDataError(Exception):
    """A table of shared/safety is absent, or a row of it lacks what nobody may leave out."""


@dataclass(frozen=True)
class SafetyValue:
    """One figure of the safety pages as its source has it."""

    key: str
    what: str
    value: str
    unit: str
    source: str
    how: str

    @property
    def symbol(self) -> str:
        """The symbol that stands with the figure; none where the sentence says the unit in words."""
        return self.unit if self.unit in SYMBOLS else ""

    @property
    def shown(self) -> str:
        """The figure with its symbol."""
        return f"{self.value}{NO_BREAK}{self.symbol}" if self.symbol else self.value


@dataclass(frozen=True)
class Statement:
    """One sentence or heading in both languages, its figures filled in. `uses`: the keys of those figures."""

    key: str
    en: str
    es: str
    source: str
    how: str
    uses: tuple[str, ...]


def fault(table: str, line: int, what: str) -> SafetyDataError:
    """The fault of one row, named so that it is found in the file."""
    return SafetyDataError(f"{table}.csv line {line}: {what}")


@cache
def table(name: str) -> tuple[Row, ...]:
    """All rows of a table, cells stripped. Raises SafetyDataError when the file is absent or a row has a cell too many."""
    path = SAFETY / f"{name}.csv"
    if not path.is_file():
        raise SafetyDataError(f"The safety tables are missing: {path.name} should lie in shared/safety beside calc.")
    found = []
    with path.open(encoding="utf-8", newline="") as file:
        for line, row in enumerate(csv.DictReader(file), start=2):
            if None in row or None in row.values():
                raise fault(name, line, "its cells are more or fewer than the headings")
            found.append({column: cell.strip() for column, cell in row.items()})
    return tuple(found)


def need(name: str, line: int, row: Row, columns: Iterable[str]) -> None:
    """Raises SafetyDataError when one of the cells is empty."""
    for column in columns:
        if not row[column]:
            raise fault(name, line, f"{column} is empty")


def _known(name: str, line: int, row: Row, seen: Mapping[str, object]) -> None:
    if row["key"] in seen:
        raise fault(name, line, f"{row['key']} stands twice")
    if row["how"] not in HOW:
        raise fault(name, line, f"does not say how it is known (one of: {', '.join(HOW)})")


@cache
def values() -> Mapping[str, SafetyValue]:
    """Every figure by its key. Raises SafetyDataError at a row without source, number or known unit."""
    found: dict[str, SafetyValue] = {}
    for line, row in enumerate(table("values"), start=2):
        need("values", line, row, ("key", "what", "value", "source", "how"))
        _known("values", line, row, found)
        if not re.fullmatch(r"\d+(\.\d+)?", row["value"]):
            raise fault("values", line, f"'{row['value']}' is no number")
        if row["unit"] not in SYMBOLS + NOT_SHOWN:
            raise fault("values", line, f"'{row['unit']}' is no unit known here")
        found[row["key"]] = SafetyValue(**row)
    return MappingProxyType(found)


def figure(key: str) -> int:
    """A whole figure as a number, in the unit of its row. Raises SafetyDataError for an unknown key."""
    return int(_value(key).value)


def shown(key: str) -> str:
    """A figure as it stands in a sentence, with its symbol. Raises SafetyDataError for an unknown key."""
    return _value(key).shown


def _value(key: str) -> SafetyValue:
    if key not in values():
        raise SafetyDataError(f"values.csv has no {key}")
    return values()[key]


@cache
def statements() -> Mapping[str, Statement]:
    """Every statement by its key, in the order of the files. Raises SafetyDataError at a row that may not be shown."""
    found: dict[str, Statement] = {}
    for name in STATEMENT_TABLES:
        for line, row in enumerate(table(name), start=2):
            need(name, line, row, ("key", "english", "spanish", "source", "how"))
            _known(name, line, row, found)
            found[row["key"]] = _statement(name, line, row)
    return MappingProxyType(found)


def say(key: str) -> Statement:
    """One statement. Raises SafetyDataError for an unknown key."""
    if key not in statements():
        raise SafetyDataError(f"shared/safety has no statement {key}")
    return statements()[key]


def every_statement() -> tuple[Statement, ...]:
    """All statements in the order of the files."""
    return tuple(statements().values())


def _statement(name: str, line: int, row: Row) -> Statement:
    said = {language: PLACEHOLDER.findall(row[language]) for language in ("english", "spanish")}
    if sorted(said["english"]) != sorted(said["spanish"]):
        raise fault(name, line, "the figures of the two languages differ")
    for language in said:
        if re.search(r"\d", PLACEHOLDER.sub("", row[language])):
            raise fault(name, line, f"{language} has a figure of its own: put it into values.csv")
    uses = tuple(dict.fromkeys(said["english"]))
    for key in uses:
        if key not in values():
            raise fault(name, line, f"values.csv has no {key}")
        # A sentence is known no better than its least certain figure, and is marked so.
        if HOW.index(row["how"]) < HOW.index(values()[key].how):
            raise fault(name, line, f"{key} rests on {values()[key].how}, the statement must say so")
    return Statement(row["key"], _filled(row["english"]), _filled(row["spanish"]), row["source"], row["how"], uses)


def _filled(text: str) -> str:
    return PLACEHOLDER.sub(lambda found: shown(found[1]), text)


def rows(name: str, *columns: str) -> Iterator[tuple[int, Row, Callable[[str], Statement]]]:
    """The rows of a table; these columns hold the keys of statements and none of them is empty."""
    for line, row in enumerate(table(name), start=2):
        need(name, line, row, columns)

        def told(column: str, line: int = line, row: Row = row) -> Statement:
            if row[column] not in statements():
                raise fault(name, line, f"there is no statement {row[column]}")
            return say(row[column])

        yield line, row, told


def is_yes(name: str, line: int, row: Row, column: str) -> bool:
    """Whether a cell that may hold "yes" or nothing says yes. Raises SafetyDataError at anything else."""
    if row[column] not in ("", "yes"):
        raise fault(name, line, f"{column} is neither yes nor empty")
    return bool(row[column])
