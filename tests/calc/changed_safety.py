"""A copy of the safety tables with cells changed, for tests of what is refused."""

import csv
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from calc.safety import cards, equipment, limits, points, upkeep
from calc.tables import safety as tables

Edit = Callable[[str, str, str, str], int]


@contextmanager
def tables_in(folder: Path) -> Iterator[None]:
    """The safety tables are read from this folder meanwhile, and nothing of it is remembered."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tables, "SAFETY", folder)
        _forget()
        yield
    _forget()


@contextmanager
def changed_tables(parent: Path) -> Iterator[Edit]:
    """Change one cell of the row with this key in a copy of the tables; gives the row's line."""
    folder = parent / "safety"
    shutil.copytree(tables.SAFETY, folder)

    def change(table: str, key: str, column: str, text: str) -> int:
        path = folder / f"{table}.csv"
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        index = next(index for index, row in enumerate(rows) if key in (row.get("key"), row.get("statement"), row.get("phase")))
        rows[index][column] = text
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
        return index + 2

    with tables_in(folder):
        yield change


def _forget() -> None:
    for module in (cards, equipment, limits, points, upkeep, tables):
        for name in dir(module):
            clear = getattr(getattr(module, name), "cache_clear", None)
            if clear is not None:
                clear()
