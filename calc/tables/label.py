"""What a label is made of by the tables: ingredient names, heights of letters, words that change a product's class."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple

from calc.tables.reference import from_tables, lines_of

# Found in a copy of the inventory, or only recalled.
READ = "read"


@dataclass(frozen=True)
class InciName:
    """One ingredient by the European inventory and in the American style, each with how it is known."""

    key: str
    kind: str  # "raw", "sodium_salt" or "potassium_salt"
    eu: str
    eu_how: str
    us: str
    us_how: str
    note: str


class TypeHeight(NamedTuple):
    """Letters at least so high [mm] from above one amount up to another: of square inches ("US") or of grams ("EU")."""

    scheme: str
    above: float
    up_to: float
    height_mm: float
    how: str


class ClaimWord(NamedTuple):
    """How a word of a claim begins, and what it makes of the product: "cosmetic", "drug", or one that needs "proof".

    whole: it is that word alone, with no other ending.
    """

    begins: str
    whole: bool
    makes: str
    how: str


@from_tables
def inci_names() -> Mapping[tuple[str, str], InciName]:
    """Every name of inci_names.csv by its key and kind."""
    rows = [line.text for line in lines_of("inci_names")]
    found = [InciName(row["key"], row["kind"], row["inci_name"], row["how"], row["us_name"], row["us_name_how"], row["note"]) for row in rows]
    return MappingProxyType({(each.key, each.kind): each for each in found})


@from_tables
def type_heights() -> tuple[TypeHeight, ...]:
    """Every row of label_type_heights.csv."""
    found = []
    for line in lines_of("label_type_heights"):
        of = "panel_{}_in2" if line.text["scheme"] == "US" else "net_{}_g"
        above, up_to = line.value(of.format("above")), line.value(of.format("up_to"))
        found.append(TypeHeight(line.text["scheme"], above or 0.0, up_to or math.inf, line.numbers["height_mm"].value, line.text["how"]))
    return tuple(found)


@from_tables
def claim_words() -> tuple[ClaimWord, ...]:
    """Every word of claim_words.csv, of all languages: a maker may mix them."""
    rows = [line.text for line in lines_of("claim_words")]
    return tuple(ClaimWord(row["begins"], row["whole"] == "yes", row["makes"], row["how"]) for row in rows)
