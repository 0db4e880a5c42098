"""A table that lacks what a number needs stops the loading, and says which file, line and column."""

import csv
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from calc.tables import reference

Edit = Callable[[str, int, str, str], None]


def clear_caches() -> None:
    for name in dir(reference):
        clear = getattr(getattr(reference, name), "cache_clear", None)
        if clear is not None:
            clear()


@pytest.fixture
def edit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Edit]:
    """Change one cell of a copy of the tables: edit(table, line, column, text)."""
    folder = tmp_path / "reference"
    shutil.copytree(reference.REFERENCE, folder)
    monkeypatch.setattr(reference, "REFERENCE", folder)
    clear_caches()

    def change(table: str, line: int, column: str, text: str) -> None:
        path = folder / f"{table}.csv"
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        rows[line - 2][column] = text
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)

    yield change
    monkeypatch.undo()
    clear_caches()


LOADERS: dict[str, Callable[[], object]] = {
    "constants": lambda: reference.constant("molar_mass_naoh"),
    "oils": reference.oils,
    "fatty_acids": reference.oils,
    "additives": reference.additives,
    "scale_tolerances": reference.scale_tolerances,
    "net_content_tolerances": lambda: reference.lines_of("net_content_tolerances"),
    "naoh_solution_density": lambda: reference.lye_density_grid("naoh"),
    "naoh_crystallisation": reference.naoh_crystallisation,
    "alkali_density_nodes": reference.every_number,
}


@pytest.mark.parametrize(
    ("table", "line", "column", "text", "said"),
    [
        ("constants", 6, "source", "", "no source"),
        ("constants", 6, "unit", " ", "no unit"),
        ("constants", 6, "high", "", "no sane range"),
        ("constants", 6, "value", "3.9997", "outside the sane range"),
        ("constants", 6, "how", "trust me", "how it was got"),
        ("oils", 2, "sv_source", "", "no source"),
        ("oils", 3, "saponification_value_min", "", "is empty"),
        ("oils", 4, "saponification_value_max", "1900", "outside the sane range"),
        ("oils", 4, "saponification_value_max", "189", "saponification_value_min is above"),
        ("oils", 5, "iodine_value_min", "nan", "outside the sane range"),
        ("oils", 5, "iodine_value_min", "5,6", "no number"),
        ("oils", 2, "ester_kind", "", "ester_kind"),
        ("oils", 3, "key", "olive", "stands twice"),
        ("fatty_acids", 2, "source", "", "no source"),
        ("additives", 2, "how", "", "how it was got"),
        ("scale_tolerances", 2, "tolerance", "inf", "outside the sane range"),
        ("net_content_tolerances", 2, "tolerance_pct", "90", "outside the sane range"),
        ("naoh_solution_density", 100, "rho_g_cm3", "", "is empty"),
        ("naoh_crystallisation", 9, "source", "", "no source"),
        ("alkali_density_nodes", 9, "source", "", "no source"),
    ],
)
def test_a_row_that_lacks_something_is_refused(
    edit: Edit, table: str, line: int, column: str, text: str, said: str
) -> None:
    edit(table, line, column, text)
    with pytest.raises(reference.ReferenceDataError, match=rf"{table}\.csv line {line}: .*{said}"):
        LOADERS[table]()


def test_an_absent_folder_is_told_in_one_plain_sentence(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(reference, "REFERENCE", tmp_path / "nowhere")
    clear_caches()
    with pytest.raises(reference.ReferenceDataError, match=r"^The reference tables are missing: [^.]*\.csv [^.]*\.$"):
        reference.oils()
    monkeypatch.undo()
    clear_caches()


def test_a_gap_in_the_density_grid_is_refused(edit: Edit) -> None:
    edit("naoh_solution_density", 100, "t_C", "16")
    with pytest.raises(reference.ReferenceDataError, match="gaps"):
        reference.lye_density_grid("naoh")


def test_an_unknown_constant_is_named() -> None:
    with pytest.raises(reference.ReferenceDataError, match="molar_mass_of_luck"):
        reference.constant("molar_mass_of_luck")


def test_a_changed_table_changes_its_digest(edit: Edit) -> None:
    before = dict(reference.digests())
    clear_caches()
    edit("oils", 2, "saponification_value_min", "185")
    changed = {name for name, digest in reference.digests().items() if digest != before[name]}
    assert "oils.csv" in changed
    assert "constants.csv" not in changed
