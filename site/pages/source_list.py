"""The reference numbers as the Sources page lists them: by table, then by source, so that a source stands once."""

from collections.abc import Mapping
from dataclasses import dataclass

from calc.reference import SourceRow, every_number
from calc.shown import number

TITLES = {
    "constants": "Constants and general figures",
    "oils": "Oils, fats and waxes",
    "fatty_acids": "Fatty acids of the oils",
    "additives": "Additives",
    "scale_tolerances": "Limits of error of scales",
    "alkali_density_nodes": "Density of lye",
    "naoh_crystallisation": "Where caustic soda lye begins to crystallise",
}

MARKS: Mapping[str, str] = {
    "read": "read in the source itself",
    "memory": "recalled from the source, not yet read again",
    "library": "taken from a general scientific library",
    "derived": "worked out from other numbers of these tables",
    "common practice": "common practice, no source",
}


@dataclass(frozen=True)
class Cited:
    """The numbers that come from one source in one way."""

    source: str
    how: str
    rows: tuple[tuple[str, str], ...]  # name, value with unit


@dataclass(frozen=True)
class Table:
    """One reference table."""

    title: str
    numbers: int
    cited: tuple[Cited, ...]


def mark(how: str) -> str:
    """How a number was got, spelled out; "read+library" names both ways."""
    return " and ".join(MARKS.get(part, part) for part in how.split("+"))


def _value(row: SourceRow) -> str:
    unit = "" if row.unit in ("1", "") else f" {row.unit}"
    return f"{number(row.value)}{unit}"


def source_tables() -> tuple[Table, ...]:
    """Every number of the reference tables, in the order of the tables."""
    tables: dict[str, dict[tuple[str, str], list[tuple[str, str]]]] = {}
    for row in every_number():
        cited = tables.setdefault(row.table, {})
        cited.setdefault((row.source, row.how), []).append((row.name, _value(row)))
    return tuple(
        Table(
            TITLES.get(table, table.replace("_", " ")),
            sum(len(rows) for rows in cited.values()),
            tuple(Cited(source, mark(how), tuple(rows)) for (source, how), rows in cited.items()),
        )
        for table, cited in tables.items()
    )
