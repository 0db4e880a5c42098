"""Scent in the reference tables: what is allowed, what oils hold, what a label must name; each row with its source.

IFRA figures are those of category 9 (soap and other products that are rinsed off); EU figures those of Regulation (EC)
1223/2009. No row for an oil means that nothing is known of it, never that nothing limits it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from calc.tables.reference import ReferenceDataError, from_tables, lines_of
from calc.tables.rows import ValueRange

IFRA_CATEGORY = "9"
RULES = ("restriction", "prohibition", "specification", "none")
WHOLE = "the oil or extract itself"
# Rules whose one limit holds for several constituents together: by the rule's market and key, the keys that count. The
# notes of these rows in fragrance_limits.csv say so.
TOGETHER = {
    ("IFRA", "oakmoss"): frozenset({"oakmoss", "treemoss"}),
    ("IFRA", "treemoss"): frozenset({"oakmoss", "treemoss"}),
    ("EU", "methyl_2_octynoate"): frozenset({"methyl_2_octynoate", "methyl_2_nonynoate"}),
}
# It states the most that is to be expected in an oil; no figure from memory overrules it.
ANNEX = "IFRA, Annex on contributions from other sources"


@dataclass(frozen=True)
class FragranceRule:
    """One rule about a constituent or a whole material. most_fraction: of the finished product (0..1)."""

    constituent: str
    cas: frozenset[str]
    market: str  # "IFRA" or "EU"
    scope: str
    most_fraction: float | None
    kind: str  # one of RULES
    edition: str
    source: str
    how: str
    note: str
    limit_key: str

    @property
    def summed_keys(self) -> frozenset[str]:
        """What counts against the limit: the rule's own key, with others where one limit holds for all together."""
        return TOGETHER.get((self.market, self.limit_key), frozenset({self.limit_key}))


@dataclass(frozen=True)
class Content:
    """One constituent of one oil, as fraction of the oil (0..1); an open upper end counts as all of it."""

    name: str
    low_fraction: float
    high_fraction: float
    source: str
    how: str
    note: str
    limit_key: str
    cas: frozenset[str]
    counts: bool  # False for a second source, a total whose parts stand in rows of their own, and all that is recalled

    @property
    def recalled(self) -> bool:
        """Whether it was recalled and not read: then it says what to ask for, and never what limits or completes."""
        return self.how == "memory"

    @property
    def of_annex(self) -> bool:
        """Whether it is a figure of the IFRA annex on what natural oils hold."""
        return self.source.startswith(ANNEX)

    @property
    def whole(self) -> bool:
        """Whether the row is the oil itself, which a rule names as a whole."""
        return self.name == WHOLE

    @property
    def stated_fraction(self) -> float:
        """The largest share that the source states; where it gives a minimum alone, that (0..1)."""
        return self.low_fraction if self.high_fraction == 1.0 and self.low_fraction > 0.0 else self.high_fraction

    def is_of(self, other: "Content") -> bool:
        """Whether both tell of one substance, or of one family with a limit of its own; of a whole oil never."""
        if self.whole or other.whole:
            return False
        if self.limit_key and other.limit_key:
            return self.limit_key == other.limit_key
        return bool(self.cas & other.cas)


@dataclass(frozen=True, kw_only=True)
class EssentialOil:
    """One essential oil, absolute or resin oil. Temperatures in °C; relative density as published."""

    key: str
    name: str
    latin_name: str = ""
    inci_name: str = ""
    contents: tuple[Content, ...] = ()
    analyses: tuple[str, ...] = ()  # sources in which an analysis of the whole oil was read
    flash_point: ValueRange | None = None
    relative_density: ValueRange | None = None
    behaviour: str = ""


@dataclass(frozen=True)
class Allergen:
    """A fragrance allergen that a label names. above_fraction: of the rinsed-off product (0..1)."""

    label_name: str
    cas: frozenset[str]
    above_fraction: float
    status: str
    placing_until: str
    available_until: str
    limit_key: str
    oil_keys: frozenset[str]
    source: str
    how: str
    note: str

    @property
    def since_2023(self) -> bool:
        """Whether Regulation (EU) 2023/1545 made it one that a label names; the others were named before."""
        return self.status.startswith("label duty added")


@dataclass(frozen=True)
class Irritant:
    """A substance that burns skin (corrosive) or irritates it."""

    name: str
    cas: frozenset[str]
    corrosive: bool
    source: str
    how: str


def oil_name(key: str) -> str:
    """An oil's key in words: "clove_bud" -> "Clove bud", "lemongrass_east_indian" -> "Lemongrass East Indian"."""
    words = key.capitalize().replace("_", " ")
    for part in ("East", "West", "Indian", "Java", "Ceylon", "Paraguay", "Siam", "Sumatra", "Virginia", "Texas", "FCF"):
        words = words.replace(f" {part.lower()}", f" {part}")
    return words


def _parts(text: str) -> frozenset[str]:
    return frozenset(part.strip() for part in text.split(";") if part.strip())


@from_tables
def fragrance_rules() -> tuple[FragranceRule, ...]:
    """Every rule of fragrance_limits.csv, in the order of the table."""
    found = []
    for number, line in enumerate(lines_of("fragrance_limits"), start=2):
        text, most = line.text, line.value("max_percent_in_product")
        kind, scope = text["rule_type"], text["category"]
        if kind not in RULES or (kind == "restriction") != (most is not None and most > 0.0):
            raise ReferenceDataError(f"fragrance_limits.csv line {number}: rule type and figure don't fit together")
        found.append(
            FragranceRule(
                text["constituent"],
                _parts(text["cas"]),
                "IFRA" if scope == IFRA_CATEGORY else "EU",
                scope,
                None if most is None else most / 100.0,
                kind,
                text["amendment"],
                text["source"],
                text["how"],
                text["note"],
                text["limit_key"],
            )
        )
    return tuple(found)


@from_tables
def fragrance_allergens() -> tuple[Allergen, ...]:
    """Every allergen of fragrance_allergens_eu.csv, in the order of the table."""
    return tuple(
        Allergen(
            line.text["label_name"],
            _parts(line.text["cas"]),
            line.numbers["threshold_rinse_off_percent"].value / 100.0,
            line.text["status"],
            line.text["placing_on_market_until"],
            line.text["making_available_until"],
            line.text["limit_key"],
            _parts(line.text["oil_keys"]),
            line.text["source"],
            line.text["how"],
            line.text["note"],
        )
        for line in lines_of("fragrance_allergens_eu")
    )


@from_tables
def skin_irritants() -> tuple[Irritant, ...]:
    """Every substance of skin_irritants.csv, in the order of the table."""
    return tuple(
        Irritant(text["constituent"], _parts(text["cas"]), text["effect"] == "corrosive", text["source"], text["how"])
        for text in (line.text for line in lines_of("skin_irritants"))
    )


@from_tables
def _contents() -> Mapping[str, tuple[Content, ...]]:
    known = {rule.limit_key for rule in fragrance_rules()}
    found: dict[str, list[Content]] = {}
    for number, line in enumerate(lines_of("essential_oil_constituents"), start=2):
        text = line.text
        if text["limit_key"] and text["limit_key"] not in known:
            raise ReferenceDataError(f"essential_oil_constituents.csv line {number}: no rule has the key {text['limit_key']}")
        rows = found.setdefault(text["oil_key"], [])
        if not line.numbers:
            continue  # an oil about which the source lists nothing
        low, high = line.value("min_percent"), line.value("max_percent")
        counts = text["use_in_sum"] == "yes"
        if counts and text["how"] == "memory":
            raise ReferenceDataError(f"essential_oil_constituents.csv line {number}: what is recalled is never counted")
        rows.append(
            Content(
                text["constituent"],
                (low or 0.0) / 100.0,
                1.0 if high is None else high / 100.0,
                text["source"],
                text["how"],
                text["note"],
                text["limit_key"],
                _parts(text["cas"]),
                counts,
            )
        )
    return {key: tuple(rows) for key, rows in found.items()}


@from_tables
def essential_oils() -> Mapping[str, EssentialOil]:
    """Every oil of which constituents or properties are known, by key, in the order of their names."""
    properties = {line.text["oil_key"]: line for line in lines_of("essential_oil_properties")}
    analyses: dict[str, list[str]] = {}
    for read in lines_of("essential_oil_analyses"):
        analyses.setdefault(read.text["oil_key"], []).append(read.text["source"])
    found = {}
    for key in sorted({*_contents(), *properties}):
        line = properties.get(key)
        found[key] = EssentialOil(
            key=key,
            name=oil_name(key),
            contents=_contents().get(key, ()),
            analyses=tuple(analyses.get(key, ())),
            latin_name="" if line is None else line.text["latin_name"],
            inci_name="" if line is None else line.text["inci_name"],
            flash_point=None if line is None else line.span("flash_point_c_min", "flash_point_c_max"),
            relative_density=None if line is None else line.span("relative_density_min", "relative_density_max"),
            behaviour="" if line is None else line.text["cold_process_note"],
        )
    return MappingProxyType(found)
