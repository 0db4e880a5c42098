"""What the Sources page lists: reference numbers and the safety pages, by table, then by source, so that it stands once."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from answers.rendering import acid
from calc.entry.shown import number
from calc.tables.fragrance import IFRA_CATEGORY, oil_name
from calc.tables.reference import every_number, oils
from calc.tables.rows import SourceRow
from calc.tables.safety import SafetyValue, Statement, every_statement, values

TITLES = {
    "constants": "Constants and general figures",
    "oils": "Oils, fats and waxes",
    "fatty_acids": "Fatty acids of the oils",
    "additives": "Additives",
    "fragrance_limits": "Limits of scent constituents",
    "essential_oil_constituents": "Constituents of essential oils",
    "essential_oil_properties": "Flash point and density of essential oils",
    "fragrance_allergens_eu": "Fragrance allergens that a label names",
    "scale_tolerances": "Limits of error of scales",
    "net_content_tolerances": "By how much a bar may fall short of its label",
    "label_type_heights": "Height of letters on a label",
    "alkali_density_nodes": "Density of lye",
    "naoh_crystallisation": "Where caustic soda lye starts to crystallize",
    "naoh_thermal": "Heat of caustic soda lye",
    "koh_thermal": "Heat of caustic potash lye",
}

MARKS: Mapping[str, str] = {
    "read": "read in the source itself",
    "memory": "recalled from the source, not yet read again",
    "library": "taken from a general scientific library",
    "derived": "worked out from other numbers in these tables",
    "common practice": "common practice, no source",
}

# How a sentence of the safety pages is known; those in our own words alone have no source to name.
UNREAD = ("memory", "common practice")
OWN_WORDING = "own wording"
SAFETY_UNITS = {"s": "seconds", "min": "minutes", "h": "hours", "d": "days", "pH": ""}

ALKALIS = {"NaOH": "Caustic soda", "KOH": "Caustic potash"}
NET_SCHEMES = {"EU_TNE": "Directive 76/211/EEC", "US_MAV": "NIST Handbook 133"}
SCHEMES = {"HB44": "NIST Handbook 44", "R76": "OIML R 76"}


@dataclass(frozen=True)
class Cited:
    """The numbers that come from one source in one way."""

    source: str
    how: str
    rows: tuple[tuple[str, str], ...]  # name, value with unit


@dataclass(frozen=True)
class Table:
    """One reference table. `language`: of the second column, where that holds words."""

    title: str
    numbers: int
    cited: tuple[Cited, ...]
    counted: str = "numbers"
    language: str = ""


def mark(how: str) -> str:
    """How a number was got, spelled out; "read+library" names both ways."""
    return " and ".join(MARKS.get(part, part) for part in how.split("+"))


def _about(row: SourceRow) -> str:
    """What a line of a table is about, in words instead of keys."""
    parts = row.parts
    if row.table == "fatty_acids":
        return f"{oils()[parts[0]].name}, {acid(parts[1])}"
    if row.table == "fragrance_limits":
        return f"{parts[0]}, {'IFRA category 9' if parts[1] == IFRA_CATEGORY else parts[1]}"
    if row.table == "essential_oil_constituents":
        return f"{oil_name(parts[0])}, {parts[1]}"
    if row.table == "essential_oil_properties":
        return oil_name(parts[0])
    if row.table == "scale_tolerances":
        return f"{SCHEMES.get(parts[0], parts[0])}, class {parts[1]}, {parts[2].replace('_', ' ')}"
    if row.table == "net_content_tolerances":
        return f"{NET_SCHEMES[parts[0]]}, label {parts[1]} g to {parts[2]} g"
    if row.table == "label_type_heights":
        # A front in square inches, or a quantity in grams; the last row has no upper end.
        unit = "in²" if parts[0] == "US" else "g"
        return f"{'United States, front' if parts[0] == 'US' else 'European Union, quantity'} over {parts[1]} {unit}{f' to {parts[2]} {unit}' if len(parts) > 2 else ''}"
    if row.table == "alkali_density_nodes":
        return f"{ALKALIS[parts[0]]} lye of {parts[1]} % at {parts[2]} °C"
    if row.table == "naoh_crystallisation":
        return f"Caustic soda lye of {parts[0]} %"
    return " ".join(parts)


def _shown(text: str, unit: str) -> str:
    return text if unit in ("1", "") else f"{text} {unit}"


def _range(low: SourceRow | None, high: SourceRow | None) -> str:
    if low and high:
        return _shown(f"{number(low.value)} to {number(high.value)}", low.unit)
    end = low or high
    assert end
    return f"{'from' if low else 'up to'} {_shown(number(end.value), end.unit)}"


def _rows(line: list[SourceRow]) -> list[tuple[str, str]]:
    """The numbers of one line of a table as rows of name and value; the two ends of a range make one row."""
    about, by_title = _about(line[0]), {row.title: row for row in line}
    if "tolerance" in by_title:
        load = _range(by_title["load above"], by_title.get("load up to"))
        size = number(by_title["tolerance"].value)
        return [(f"{about}, load {load}", f"± {size} {'interval' if size == '1' else 'intervals'}")]
    found: dict[str, str] = {}
    for title, row in by_title.items():
        what, end = title, ""
        if title in ("low", "high") or title.endswith((", low", ", high")):
            what, _, end = title.rpartition(", ")
        ends = {each: by_title.get(f"{what}, {each}" if what else each) for each in ("low", "high")}
        value = _range(ends["low"], ends["high"]) if end else _shown(number(row.value), row.unit)
        found[f"{about}: {what}" if what else about] = value
    return list(found.items())


def _cited(found: Iterable[tuple[SafetyValue | Statement, tuple[str, str]]]) -> tuple[Cited, ...]:
    sources: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for each, row in found:
        sources.setdefault((each.source, each.how), []).append(row)
    return tuple(Cited(source, mark(how), tuple(rows)) for (source, how), rows in sources.items())


def safety_tables() -> tuple[Table, ...]:
    """The figures of the safety pages, then each sentence with its source, in both languages: first what nobody has read."""
    figures = values().values()
    shown = ((each, (each.what, _shown(each.value, SAFETY_UNITS.get(each.unit, each.unit)))) for each in figures)
    return (
        Table("Figures of the safety pages", len(figures), _cited(shown)),
        _sentences("Safety pages: what rests on memory or common practice", lambda how: how in UNREAD),
        _sentences("Safety pages: what was read or follows from what was read", lambda how: how not in UNREAD),
    )


def _sentences(title: str, wanted: Callable[[str], bool]) -> Table:
    found = [each for each in every_statement() if wanted(each.how) and each.source != OWN_WORDING]
    return Table(title, len(found), _cited((each, (each.en, each.es)) for each in found), counted="sentences", language="es")


def source_tables() -> tuple[Table, ...]:
    """What the safety pages say, then every number of the reference tables in the order of the tables."""
    tables: dict[str, dict[tuple[str, str], dict[int, list[SourceRow]]]] = {}
    for row in every_number():
        cited = tables.setdefault(row.table, {}).setdefault((row.source, row.how), {})
        cited.setdefault(row.line, []).append(row)
    reference = tuple(
        Table(
            TITLES[table],
            sum(len(line) for lines in sources.values() for line in lines.values()),
            tuple(
                Cited(source, mark(how), tuple(row for line in lines.values() for row in _rows(line)))
                for (source, how), lines in sources.items()
            ),
        )
        for table, sources in tables.items()
    )
    return safety_tables() + reference
