"""The one reader of shared/reference: every number with a physical or legal meaning, each with its source.

Each result that uses one of its numbers brings that number's source along, and the Sources page lists them all. What a
column holds, its unit and its sane range stand in columns.csv; a row that lacks source, unit or range stops the loading.
The Sources page shows a value in the unit of its table.
"""

import csv
import hashlib
import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from sys import intern
from types import MappingProxyType
from typing import TypeVar

from calc.shared import REFERENCE
from calc.tables.rows import (
    Additive,
    CrystalPoint,
    DensityGrid,
    FattyAcidShare,
    Known,
    Oil,
    OilOrigin,
    ScaleTolerance,
    SourceRow,
    ThermalPoint,
    ValueRange,
)

T = TypeVar("T")

HOW = ("read", "memory", "library", "derived", "common practice")
ALKALIS = {"naoh": "w_pct_NaOH", "koh": "w_pct_KOH"}
ESTER_KINDS = ("triglyceride", "wax", "free_acid")
ORIGIN_KINDS = ("animal", "allergen")


class ReferenceDataError(Exception):
    """A table of shared/reference is absent or a row of it lacks what every number needs."""


Row = Mapping[str, str]


def _fault(table: str, line: int, what: str) -> ReferenceDataError:
    return ReferenceDataError(f"{table}.csv line {line}: {what}")


@cache
def _raw(table: str) -> tuple[Row, ...]:
    path = REFERENCE / f"{table}.csv"
    if not path.is_file():
        raise ReferenceDataError(
            f"The reference tables are missing: {path.name} should lie in shared/reference beside calc."
        )
    with path.open(encoding="utf-8", newline="") as file:
        # Equal cells share one string: the tables are part of the memory snapshot that every start in a browser loads.
        return tuple({name: intern(cell) for name, cell in row.items()} for row in csv.DictReader(file))


def _cited(row: Row, column: str) -> str:
    """The text of a source or how column; '=text' in columns.csv holds for the whole table."""
    return column[1:] if column.startswith("=") else row.get(column, "").strip()


def _number(table: str, line: int, row: Row, column: Row) -> Known | None:
    """One cell, checked; None when it is empty and may be."""
    name = column["column"]
    if name not in row:
        raise _fault(table, line, f"there is no column {name}")
    text = row[name].strip()
    if not text:
        if column["required"] == "yes":
            raise _fault(table, line, f"{name} is empty")
        return None
    # constants.csv states unit and sane range on each row, every other table once for the column.
    limits = row if table == "constants" else column
    unit, low, high = (limits.get(part, "").strip() for part in ("unit", "low", "high"))
    source, how = _cited(row, column["source_column"]), _cited(row, column["how_column"])
    for part, is_there in (("unit", unit), ("sane range", low and high), ("source", source)):
        if not is_there:
            raise _fault(table, line, f"{name} has no {part}")
    if not all(word in HOW for word in how.split("+")):
        raise _fault(table, line, f"{name} does not say how it was got (one of: {', '.join(HOW)})")
    try:
        value = float(text)
    except ValueError:
        raise _fault(table, line, f"{name} is '{text}', which is no number") from None
    if not (math.isfinite(value) and float(low) <= value <= float(high)):
        raise _fault(table, line, f"{name} is {text} {unit}, outside the sane range {low} to {high}")
    return Known(value, unit, source, how)


@dataclass(frozen=True)
class Line:
    """One row of a table: its texts, and its numbers with their sources, by column."""

    text: Row
    numbers: Mapping[str, Known]

    def value(self, column: str) -> float | None:
        """The number in a column; None where it is empty."""
        known = self.numbers.get(column)
        return None if known is None else known.value

    def span(self, low: str, high: str) -> ValueRange | None:
        """Two columns as the ends of a range; None where both are empty."""
        known = self.numbers.get(low) or self.numbers.get(high)
        if known is None:
            return None
        return ValueRange(self.value(low), self.value(high), known.unit, known.source, known.how)


@cache
def lines_of(table: str) -> tuple[Line, ...]:
    """A whole table, every number of it checked against columns.csv."""
    columns = [column for column in _raw("columns") if column["table"] == table]
    lines = []
    for line, row in enumerate(_raw(table), start=2):
        found = {column["column"]: _number(table, line, row, column) for column in columns}
        lines.append(Line(row, {name: known for name, known in found.items() if known is not None}))
        for low, high in (
            ("saponification_value_min", "saponification_value_max"),
            ("acid_value_min", "acid_value_max"),
            ("min_percent", "max_percent"),
            ("flash_point_c_min", "flash_point_c_max"),
            ("iodine_value_min", "iodine_value_max"),
            ("relative_density_min", "relative_density_max"),
            ("melting_min_c", "melting_max_c"),
        ):
            ends = lines[-1].value(low), lines[-1].value(high)
            if ends[0] is not None and ends[1] is not None and ends[0] > ends[1]:
                raise _fault(table, line, f"{low} is above {high}")
    return tuple(lines)


_makers: list[Callable[[], object]] = []


def from_tables(make: Callable[[], T]) -> Callable[[], T]:
    """A function that is called once, reads rows of tables, and keeps what it makes of them: nothing else reads rows."""
    remembered = cache(make)
    _makers.append(remembered)
    return remembered


def make_all_and_forget_rows() -> None:
    """Makes all that is made of the tables, then gives their rows back: the memory snapshot needs them no more."""
    for make in _makers:
        make()
    for alkali in ALKALIS:
        lye_density_grid(alkali)
    lines_of.cache_clear()
    _raw.cache_clear()


@from_tables
def _constants() -> Mapping[str, Known]:
    return MappingProxyType({line.text["id"]: line.numbers["value"] for line in lines_of("constants")})


def constant(key: str) -> Known:
    """The constant of that id in constants.csv; an unknown id raises ReferenceDataError."""
    try:
        return _constants()[key]
    except KeyError:
        raise ReferenceDataError(f"constants.csv has no row '{key}'.") from None


def density_temperatures(text: str) -> tuple[float | None, float | None]:
    """Temperatures [°C] of the oil and of the water in a density reference: '40/20C' -> (40, 20); (None, None) if unsaid.

    '20C' names the oil's temperature only.
    """
    found = re.match(r"(\d+(?:\.\d+)?)(?:/(\d+(?:\.\d+)?))?C", text)
    if not found:
        return None, None
    return float(found[1]), float(found[2]) if found[2] else None


@from_tables
def _fatty_acids() -> Mapping[str, tuple[FattyAcidShare, ...]]:
    shares: dict[str, list[FattyAcidShare]] = {}
    for line in lines_of("fatty_acids"):
        if not line.numbers:
            continue  # an acid named without any figure
        text = line.text
        shares.setdefault(text["oil_key"], []).append(
            FattyAcidShare(
                text["fatty_acid"],
                line.value("min_percent"),
                line.value("max_percent"),
                line.value("typical_percent"),
                text["source"],
                text["how"],
                text["typical_source"],
                text["typical_how"],
            )
        )
    return {key: tuple(found) for key, found in shares.items()}


@from_tables
def oils() -> Mapping[str, Oil]:
    """All oils, fats, waxes and free acids of oils.csv by key, in the order of the table."""
    found: dict[str, Oil] = {}
    for number, line in enumerate(lines_of("oils"), start=2):
        text, sv = line.text, line.numbers["saponification_value_min"]
        if text["ester_kind"] not in ESTER_KINDS:
            raise _fault("oils", number, f"ester_kind is none of {', '.join(ESTER_KINDS)}")
        if text["ester_kind"] == "wax" and line.value("acid_value_min") is None:
            raise _fault("oils", number, "a wax needs its acid value: lye takes no more of it for sure")
        if text["key"] in found:
            raise _fault("oils", number, f"the key {text['key']} stands twice")
        at, water = density_temperatures(text["density_reference"])
        found[text["key"]] = Oil(
            key=text["key"],
            name=text["common_name"],
            kind=text["ester_kind"],
            saponification_low=sv.value,
            saponification_high=line.numbers["saponification_value_max"].value,
            saponification_source=sv.source,
            saponification_how=sv.how,
            acid_value=line.span("acid_value_min", "acid_value_max"),
            calculated=line.value("sv_calculated"),
            calculated_from=text["calculated_from"],
            iodine=line.span("iodine_value_min", "iodine_value_max"),
            iodine_calculated=line.value("iv_calculated"),
            relative_density=line.span("relative_density_min", "relative_density_max"),
            density_reference=text["density_reference"],
            density_at_c=at,
            density_water_c=water,
            unsaponifiable=line.numbers.get("unsaponifiable_max_g_per_kg"),
            melting=line.span("melting_min_c", "melting_max_c"),
            fatty_acids=_fatty_acids().get(text["key"], ()),
            inci_name=text["inci_name"],
            inci_sodium_salt=text["inci_sodium_salt"],
            cas=text["cas"],
            notes=text["notes"],
        )
    return MappingProxyType(found)


@from_tables
def oil_origins() -> Mapping[str, OilOrigin]:
    """What an oil is made from by its key, for oils from animals and from what food law counts as an allergen."""
    found: dict[str, OilOrigin] = {}
    for number, row in enumerate(_raw("oil_origins"), start=2):
        if row["kind"] not in ORIGIN_KINDS:
            raise _fault("oil_origins", number, f"kind is none of {', '.join(ORIGIN_KINDS)}")
        found[row["oil_key"]] = OilOrigin(row["origin"], row["kind"])
    return MappingProxyType(found)


@from_tables
def fatty_acid_names() -> Mapping[str, str]:
    """Trivial name of every fatty acid by its carbon:double bond notation, in rising length."""
    return MappingProxyType({row["acid"]: row["name"] for row in _raw("fatty_acid_names")})


@from_tables
def additives() -> Mapping[str, Additive]:
    """All additives of additives.csv by key, in the order of the table."""
    return MappingProxyType(
        {
            line.text["key"]: Additive(
                line.text["key"],
                line.text["label"],
                line.text["in_solution"] == "yes",
                line.value("molar_mass_g_per_mol"),
                int(line.numbers["basicity"].value),
                line.value("default_water_percent"),
                line.text["heat_warning"],
                line.text["source"],
                line.text["how"],
            )
            for line in lines_of("additives")
        }
    )


@from_tables
def scale_tolerances() -> tuple[ScaleTolerance, ...]:
    """Permitted errors of scales (NIST Handbook 44, OIML R 76), one row per load step; the last step is open."""
    return tuple(
        ScaleTolerance(
            line.text["scheme"],
            line.text["class"],
            line.text["kind"],
            line.numbers["load_above_intervals"].value,
            line.value("load_up_to_intervals") or math.inf,
            line.numbers["tolerance"].value,
            line.text["unit"],
            line.text["source"],
            line.text["how"],
        )
        for line in lines_of("scale_tolerances")
    )


@cache
def lye_density_grid(alkali: str) -> DensityGrid:
    """Density of lye, alkali 'naoh' or 'koh': 0-50 % by mass in steps of 1, 15-80 °C in steps of 5."""
    table = f"{alkali}_solution_density"
    strength = ALKALIS[alkali]
    at: dict[tuple[float, float], Line] = {
        (float(line.text[strength]), float(line.text["t_C"])): line for line in lines_of(table)
    }
    strengths = tuple(sorted({w for w, _ in at}))
    temperatures = tuple(sorted({t for _, t in at}))
    if len(at) != len(strengths) * len(temperatures):
        raise ReferenceDataError(f"{table}.csv has gaps in its grid.")
    density = tuple(tuple(at[w, t].numbers["rho_g_cm3"].value for t in temperatures) for w in strengths)
    stable = tuple(tuple(at[w, t].text.get("liquid_stable", "1") == "1" for t in temperatures) for w in strengths)
    first = at[strengths[0], temperatures[0]].numbers["rho_g_cm3"]
    return DensityGrid(strengths, temperatures, density, stable, first.source, first.how)


@from_tables
def naoh_crystallisation() -> tuple[CrystalPoint, ...]:
    """Where NaOH lye begins to crystallise, 0.3 to 79 % by mass, in rising strength."""
    return tuple(
        CrystalPoint(float(line.text["w_pct_NaOH"]), line.numbers["t_C"].value, line.text["source"], line.text["how"])
        for line in lines_of("naoh_crystallisation")
    )


@from_tables
def naoh_thermal() -> tuple[ThermalPoint, ...]:
    """Heat and boiling of NaOH lye, 5 to 50 % by mass, in rising strength; heat capacities at 25, 40, 60 and 80 °C."""
    columns = ((25.0, "cp25_kJ_kgK"), (40.0, "cp40"), (60.0, "cp60"), (80.0, "cp80"))
    return tuple(
        ThermalPoint(
            float(line.text["w_pct_NaOH"]),
            line.numbers["dHsol_int_kJ_per_mol"].value,
            tuple((at_c, line.numbers[column].value) for at_c, column in columns),
            line.numbers["boiling_C_1atm"].value,
        )
        for line in lines_of("naoh_thermal")
    )


@from_tables
def koh_heat_capacity() -> tuple[tuple[float, float], ...]:
    """Heat capacity of KOH lye at 25 °C: (% by mass, kJ/(kg K)), 0 to 46 %, in rising strength."""
    return tuple((float(line.text["w_pct_KOH"]), line.numbers["cp25_kJ_kgK"].value) for line in lines_of("koh_thermal"))


def _listed() -> Iterator[SourceRow]:
    for column in _raw("columns"):
        if column["listed"] != "yes":
            continue
        for index, line in enumerate(lines_of(column["table"])):
            known = line.numbers.get(column["column"])
            if known is None:
                continue
            parts = tuple(line.text[part] for part in column["name_columns"].split() if line.text[part])
            yield SourceRow(
                column["table"], index, parts, column["title"], known.value, known.unit, known.source, known.how
            )


@cache
def every_number() -> tuple[SourceRow, ...]:
    """Every number the app may use, with its source; the density grids by the published nodes behind them."""
    return tuple(_listed())


@from_tables
def digests() -> Mapping[str, str]:
    """SHA-256 of every table by file name: an issued batch record keeps them."""
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(REFERENCE.glob("*.csv"))}
